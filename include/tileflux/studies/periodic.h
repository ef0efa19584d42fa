#pragma once
/// The state that a cycle of beam and surroundings repeats, solved and not waited for.

#include <Eigen/Core>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "tileflux/studies/limits.h"
#include "tileflux/studies/run.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::studies {

/// How a cycle goes: the beam is on for `on_s`, then off until the pulse is over. Loads with a pattern follow it where
/// their period divides the cycle and are at their mean elsewhere.
struct CycleSettings {
  double period_s = 0.0;              ///< above zero
  double on_s = 0.0;                  ///< in each pulse, from none to all of it
  int pulses = 1;                     ///< the beam goes on so many times, evenly spaced
  bool throttled = true;              ///< throttle laws act
  bool trips = true;                  ///< trips act, with hysteresis and minimum off time
  bool thermostats_switch = true;     ///< false: each heater is on for its mean share of the time
  bool battery_acts = true;           ///< false: it rests at the charge of the start
  bool loads_follow_patterns = true;  ///< false: all of them at their mean
  /// Whether shadows come and distances change over the cycle; they should repeat with it. False: as in steady states.
  bool surroundings_move = true;
  double first_s = 0.0;  ///< time of the case at which the cycle begins, with the beam going on
};

/// What is left of a small disturbance after one cycle, for one of the modes of the linearised cycle.
struct Multiplier {
  double magnitude = 0.0;  ///< 1 or more: the cycle does not settle
  std::string unknown;     ///< the one that holds most of the mode: a node, or `battery.charge`
};

/// Where the charge of a battery that acts ends up.
enum class ChargeEnd {
  no_battery,  ///< or it rests
  between,     ///< gains and losses meet between both ends
  near_full,   ///< where less is accepted
  near_least,  ///< where less is given
  anywhere     ///< every charge repeats: the one of the guess was kept
};

struct PeriodicState {
  std::vector<double> x;                              ///< just after the beam went on
  std::vector<TemperatureRange> ranges;               ///< over one cycle, per node of the network
  std::vector<TemperatureRange> lit_ranges;           ///< the same while the beam was on; empty if it never was
  std::vector<Peak> peaks;                            ///< of rates and differences over one cycle
  double light_J = 0.0;                               ///< per cycle
  double lasers_asked_J = 0.0, lasers_given_J = 0.0;  ///< at the bus, per cycle: what the drive asks for, what it gets
  std::vector<double> age_change;                     ///< of the states of ageing over one cycle
  int cycles = 0;                                     ///< cycle evaluations used
  double error_K = 0.0;  ///< estimated distance to the true periodic state, also in % of charge

  std::vector<Multiplier> multipliers;  ///< the largest ones, falling; at most `most_multipliers`
  double slowest_multiplier = 0.0;      ///< magnitude of the largest (without a charge that may be anything)
  std::string slowest_unknown;          ///< that dominates its mode; empty if nothing stores
  double slowest_s = 0.0;               ///< -period / ln(magnitude); infinite from 1 on, 0 from 0
  /// Cycles until 5 % are left of a disturbance in the slowest mode: ln 0.05 / ln(magnitude).
  double cycles_to_95_percent = 0.0;
  Eigen::MatrixXd map;            ///< the linearised cycle M: distances before a cycle to those after it
  std::vector<int> map_unknowns;  ///< of its rows and columns

  EnergyBooks books;  ///< of one cycle, closed
  std::optional<BatteryUse> battery;
  ChargeEnd charge_end = ChargeEnd::no_battery;
  double heaters_J = 0.0;
  long switchings = 0;                ///< of thermostats and trips in one cycle
  long trips = 0;                     ///< in one cycle
  bool averaged_thermostats = false;  ///< they were to switch, but no pattern of switching repeats
  bool averaged_trips = false;        ///< the same; a throttle over the hysteresis stands for the trip
  std::vector<Diagnostic> warnings;
};

inline constexpr std::size_t most_multipliers = 4;

/// More switchings of thermostats and trips than this in one cycle are chatter.
inline constexpr long most_switchings = 200;

/// The periodic state of a cycle. `guess` (may be empty) is a state at the moment the beam goes on. Where thermostats
/// or trips chatter, or their switching does not repeat with the cycle, their averages take their place and a warning
/// says so. Throws Error: periodic_not_found, ledger_open, and what the transient throws.
PeriodicState periodic_state(tile::TileSystem& system, const CycleSettings& settings, std::vector<double> guess = {});

/// As it is asked for by duty limits: battery and surroundings at rest, thermostats averaged, no trips, loads at their
/// mean; throttle laws only with `throttled`.
PeriodicState periodic_state(tile::TileSystem& system, double period_s, double on_s, std::vector<double> guess = {},
                             bool throttled = false);

/// Cycles from a starting state (at the moment the beam goes on) until its largest distance to the periodic state is
/// below 5 % of what it was at first, by the linearised cycle. None: not within 2^40 cycles.
std::optional<double> cycles_to_95_percent(const PeriodicState& state, std::span<const double> start_x);

}  // namespace tileflux::studies
