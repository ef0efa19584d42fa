#pragma once
/// Duty limits: how long a burst may last, how long the recovery takes, which drive can go on for ever, and which share
/// of the time the beam may be on at the case's period. All at the commanded drive, without throttle or trip. A battery
/// that feeds the lasers acts in bursts and recoveries, from the charge of the start; elsewhere it rests. Surroundings
/// that move do so in bursts and recoveries, from 0 s of the case on; elsewhere they rest in their mean.

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "tileflux/studies/balance.h"
#include "tileflux/studies/limits.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::studies {

/// From the stated starting state with the beam on to the *first* limit of any kind. Where a battery acts and the
/// commanded drive is delivered at the beginning, the burst ends when it no longer is: by the charge, below which the
/// battery gives less, or by the power (LimitKind::power) if the charge is not the reason.
struct Burst {
  std::optional<double> length_s;  ///< none: no limit was met within the longest wait
  std::optional<Margin> binding;   ///< the limit that ends it, or the nearest one at its end
  std::optional<Margin> next;      ///< the limit after it, at the end
  /// C (T_limit - T_start) / q for the tile as one lump that loses nothing: heat capacity of all nodes, heat of sun,
  /// loads and electricity less light at the start. A bound for orientation; none without an upper limit or net heat.
  std::optional<double> adiabatic_s;
  std::optional<Margin> adiabatic_limit;  ///< its limit: the binding one, or the nearest temperature
  double light_J = 0.0;                   ///< delivered during the burst
  std::vector<double> end_x;              ///< state at its end
};

/// From the end of the burst with the beam off until no node is warmer than at the start by more than the stated
/// amount and, where a battery acts, its charge is back but for the stated share.
struct Recovery {
  std::optional<double> time_s;  ///< none: never, or not within the longest wait
  bool never = false;            ///< the background holds `node` above its starting temperature or below its charge
  std::string node;              ///< the last node to recover or `battery`, or the one that never does
  double held_K = 0.0;           ///< temperature at which the background holds the node, if never
  double charging_W = 0.0;       ///< what a battery that acts gains at the end of its recovery; never: none, or a loss
};

/// The state that a duty cycle repeats.
struct PeriodicState {
  std::vector<double> x;                     ///< at the moment the beam goes on
  std::vector<TemperatureRange> ranges;      ///< over one cycle, per node of the network
  std::vector<TemperatureRange> lit_ranges;  ///< the same while the beam was on; empty if it never was
  std::vector<Peak> peaks;                   ///< of rates and differences over one cycle
  double light_J = 0.0;                      ///< per cycle
  std::vector<double> age_change;            ///< of the states of ageing over one cycle
  int cycles = 0;                            ///< cycle evaluations used
  double slowest_multiplier = 0.0;           ///< of the linearised cycle map
  double error_K = 0.0;                      ///< estimated distance to the true periodic state
};

/// The largest on-fraction whose periodic steady state meets every limit.
struct SustainableDuty {
  double period_s = 0.0;
  double fraction = 0.0;          ///< 0: none
  bool limited = false;           ///< whether a limit ends it (otherwise 1)
  std::optional<Margin> binding;  ///< the limit that binds, over the cycle
  std::optional<Margin> next;     ///< the limit after it
  double mean_light_W = 0.0;
  double short_period_fraction = 0.0;  ///< the bound for periods going to zero
  std::optional<Margin> short_period_binding;
  PeriodicState state;  ///< at `fraction`
  int cycles = 0;       ///< cycle evaluations of the whole search
};

struct Duty {
  std::vector<double> start_x;  ///< the starting state, beam off
  Burst burst;
  Recovery recovery;
  ContinuousRating rating;
  std::optional<SustainableDuty> sustainable;  ///< none if the case's beam has no period
  std::vector<Diagnostic> warnings;

  /// Whether anything at all can be done: some drive or duty meets every limit.
  bool feasible() const {
    return rating.drive > 0.0 || (sustainable && sustainable->fraction > 0.0) ||
           (burst.length_s && *burst.length_s > 0.0);
  }
};

/// Whether a battery takes part in bursts and recoveries: one that feeds the lasers.
bool battery_acts(const tile::TileSystem& system);

Burst burst(tile::TileSystem& system, const std::vector<double>& start_x);
/// `begin_s` is the time at which it begins: what moves in the surroundings has moved on.
Recovery recovery(tile::TileSystem& system, const std::vector<double>& start_x, const std::vector<double>& burst_end_x,
                  double begin_s = 0.0);

/// The periodic state of `on_s` with the beam in every `period_s`, by fixed-point steps on the cycle map,
/// preconditioned by (I - M)^-1 with M the linearised map. `guess` (may be empty) is a state at the moment the beam
/// goes on. With `throttled` the throttle laws act. Throws Error(periodic_not_found).
PeriodicState periodic_state(tile::TileSystem& system, double period_s, double on_s, std::vector<double> guess = {},
                             bool throttled = false);

/// Throws Error; a tile whose idle state breaks a limit has fraction 0 and names the limit.
SustainableDuty sustainable_duty(tile::TileSystem& system, double period_s);

/// Everything above for a case. Throws Error(key_missing) if the case has no limits or no beam.
Duty duty(tile::TileSystem& system, const std::function<void(double)>& progress = {});

}  // namespace tileflux::studies
