#pragma once
/// Duty limits: how long a burst may last, how long the recovery takes, which drive can go on for ever, and which share
/// of the time the beam may be on at the case's period. All at the commanded drive, without throttle or trip. A battery
/// that feeds the lasers acts in bursts and recoveries, from the charge of the start, and in sustainable duties; in the
/// continuous rating it rests. Surroundings that move do so in bursts and recoveries, from 0 s of the case on.

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "tileflux/studies/balance.h"
#include "tileflux/studies/limits.h"
#include "tileflux/studies/sustainable.h"
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

struct Duty {
  std::vector<double> start_x;  ///< the starting state, beam off
  Burst burst;
  Recovery recovery;
  ContinuousRating rating;
  std::optional<SustainableDuty> sustainable;  ///< none if the case's beam has no period
  std::optional<DutyCurve> curve;              ///< if asked for
  std::optional<DutyMap> map;                  ///< if asked for
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

struct DutyOptions {
  int curve_points = 0;                  ///< periods of the curve from 0.1 s to a day; 0: no curve
  bool map = false;                      ///< over `map_drives` and `map_periods` from 10 s to a day
  std::function<bool(double)> progress;  ///< told how much is done, 0..1; false: what is not begun is left out
};
inline constexpr int map_drives = 8, map_periods = 12;
inline constexpr double shortest_map_period_s = 10.0;

/// Everything above for a case. Throws Error(key_missing) if the case has no limits or no beam.
Duty duty(tile::TileSystem& system, const DutyOptions& options = {});

}  // namespace tileflux::studies
