#pragma once
/// The steady operating point: temperatures, power chain, usable laser power, what limits it.

#include <optional>
#include <string>
#include <vector>

#include "tileflux/studies/limits.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::studies {

/// What sets the light at an operating point.
enum class Regime {
  beam_off,       ///< nothing is asked of the lasers
  sun_limited,    ///< the cells cannot feed the commanded drive
  heat_limited,   ///< a temperature limit throttles the drive, or is broken at the commanded drive
  drive_limited,  ///< the commanded drive is delivered and every limit is met
};
std::string_view name_of(Regime regime);

/// A steady state, accepted only after every node's balance, put together independently, has closed.
struct OperatingPoint {
  bool beam = false;
  double drive = 0.0;                 ///< commanded share of rated drive
  std::vector<double> x;              ///< temperatures of unknown nodes, K
  devices::ChainFlows<double> chain;  ///< W
  tile::Ledger ledger;                ///< W
  tile::SkyState sky;                 ///< what arrives, and the tilt that the tile takes
  std::vector<double> heater_W;       ///< of each heater, thermostats averaged, as far as the bus feeds it
  std::vector<double> infrared_W;     ///< in the order of TileSystem::infrared_names
  std::vector<Margin> margins;
  std::optional<Margin> binding;  ///< the limit with the smallest margin, or the one that throttles
  std::optional<Margin> next;     ///< the limit after it
  bool throttling = false;
  Regime regime = Regime::beam_off;
  std::vector<double> loop_gains;  ///< per laser bank; 1 or more: thermal runaway
  double slowest_s = 0.0;          ///< longest time constant of the tile near this state; 0 if none, or not asked for
  double ledger_relative = 0.0;    ///< |residual| over what comes in
  double worst_node_W = 0.0;       ///< largest heat left over at a node
  double error_K = 0.0;            ///< what that residual amounts to in temperature
  int newton_steps = 0;
  int continuation_steps = 0;

  bool limits_met() const { return !binding || binding->margin >= 0.0; }
};

/// A steady state must close to this share of what comes in, over the whole tile and at every node; to the last digit
/// of the temperatures where conductances are so large that this digit is worth more.
inline constexpr double steady_ledger_bound = 1e-9;

/// A heater keeps a quarter in hand: a duty of at most 80 % in the cold case (SMC-S-016 (2014), 4.4.2.2).
inline constexpr double most_heater_duty = 0.8;

/// Solves the steady state under the system's present mode, from a guess (empty: a uniform temperature).
/// Throws Error: steady_not_found, thermal_runaway, node_isolated, ledger_open.
OperatingPoint operating_point(const tile::TileSystem& system, std::vector<double> guess = {});

/// The same without the time constant, which costs about as much as the state.
OperatingPoint operating_state(const tile::TileSystem& system, std::vector<double> guess = {});

/// The largest drive, up to full, whose steady state meets every limit without any throttle.
struct ContinuousRating {
  double drive = 0.0;  ///< 0 if there is none
  double light_W = 0.0;
  std::optional<Margin> binding;  ///< the limit that binds at the rating (or the one nearest at full drive)
  std::optional<Margin> next;     ///< the limit after it
  bool limited = false;           ///< whether a limit, not the rated drive, ends it
  Regime regime = Regime::drive_limited;
};
ContinuousRating continuous_rating(tile::TileSystem& system);

/// Where the light of a bank ends to grow with the drive, its mount held at one temperature.
struct RollOver {
  double drive = 0.0;  ///< share of rated current; may lie above 1
  double light_W = 0.0;
};

/// Both operating points in the same sun, and what they mean together.
struct Balance {
  OperatingPoint beam_off;
  std::optional<OperatingPoint> beam_on;  ///< none if the case has no beam
  /// Light that can be used without a pause: light_out with the beam on if every limit is met, otherwise the light at
  /// the largest drive at which every limit is met (0 if there is none).
  double usable_laser_W = 0.0;
  double usable_drive = 0.0;  ///< the drive that goes with it
  std::optional<ContinuousRating>
      rating;  ///< without throttle; only where the beam-on point throttles or breaks a limit
  std::vector<std::optional<RollOver>> roll_over;  ///< per bank at the beam-on mount; none where it never comes
  std::vector<Diagnostic> warnings;
  bool limits_met = true;  ///< at both points
};

/// States to begin two searches at; empty: a uniform temperature.
struct SteadyGuess {
  std::vector<double> off_x, on_x;
};

/// Both operating points alone, for those who ask many times: what Balance says of them but for time constants, second
/// branches, roll-over and warnings.
struct SteadyStates {
  OperatingPoint beam_off;
  std::optional<OperatingPoint> beam_on;
  double usable_laser_W = 0.0, usable_drive = 0.0;
  std::optional<ContinuousRating> rating;  ///< only where the beam-on point breaks a limit
  bool limits_met = true;
};

/// Throws what operating_point throws. Where a tile has several steady states, the guess decides which one is found.
SteadyStates steady_states(tile::TileSystem& system, SteadyGuess guess = {});

/// A margin and the state that it is of.
struct StateMargin {
  Margin margin;
  bool beam = false;
};

/// Binding and next limit over both states: the smallest margin, or the limit that throttles where all are kept by it;
/// then the smallest of the other limits.
struct LimitsOverStates {
  std::optional<StateMargin> binding, next;
};
LimitsOverStates limits_over_states(const OperatingPoint& beam_off, const std::optional<OperatingPoint>& beam_on);

/// Throws what operating_point throws.
Balance balance(tile::TileSystem& system);
Balance balance(const tile::Case& description);

}  // namespace tileflux::studies
