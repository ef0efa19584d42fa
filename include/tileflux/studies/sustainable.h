#pragma once
/// The share of the time for which the beam can be on at a period, for ever: limits and energy both counted; over
/// periods and drive levels.
///
/// The tile is taken as it is: a battery that feeds the lasers acts, and around a planet shadows come and go. No
/// throttle and no trip: limits are kept by firing less. A tile whose surroundings repeat (with a revolution) fires a
/// whole number of times in each, or once in a whole number of them; `fitting_cycle` says what that makes of a period.

#include <functional>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "tileflux/studies/limits.h"
#include "tileflux/studies/periodic.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::studies {

/// A period of the beam within the cycle that repeats.
struct FittingCycle {
  double period_s = 0.0;  ///< of the beam
  double cycle_s = 0.0;   ///< of beam and surroundings together
  int pulses = 1;         ///< periods in the cycle
  bool moving = false;    ///< whether surroundings move in it; false: they are constant, or taken at their mean
};

/// The nearest period that fits: T/n or n T where the surroundings repeat after T, the period itself where they are
/// constant or never repeat, and where T is longer than ten days (a year around the Sun: their mean is taken).
FittingCycle fitting_cycle(const tile::TileSystem& system, double period_s);

/// The cycle whose periodic state counts, with the beam on for a share of the period.
CycleSettings duty_settings(const tile::TileSystem& system, const FittingCycle& cycle, double share);

/// The largest on-fraction whose periodic state meets every limit and gives the lasers all that the drive asks for.
struct SustainableDuty {
  FittingCycle cycle;
  double period_s = 0.0;          ///< of the beam
  double fraction = 0.0;          ///< 0: none
  bool limited = false;           ///< whether a limit or the energy ends it (otherwise 1)
  std::optional<Margin> binding;  ///< what would be broken by more, as it stands at `fraction`
  std::optional<Margin> next;     ///< the one after it
  double mean_light_W = 0.0;
  /// The bound for periods going to zero, by the limits alone; none in moving surroundings.
  std::optional<double> short_period_fraction;
  std::optional<Margin> short_period_binding;
  /// The same by a closed charge balance alone; none without a battery that feeds the lasers or in moving surroundings.
  std::optional<double> short_period_energy_fraction;
  PeriodicState state;            ///< at `fraction`
  std::optional<double> ratchet;  ///< cycles from the idle tile until 95 % of the way to `state` is gone
  int cycles = 0;                 ///< cycle evaluations of the whole search
};

/// `first_try` (0: none) is a fraction to begin at, such as that of a neighbouring period. Throws Error; a tile whose
/// idle state breaks a limit has fraction 0 and names the limit.
SustainableDuty sustainable_duty(tile::TileSystem& system, double period_s, double first_try = 0.0);

/// The sustainable duty over periods.
struct DutyCurve {
  std::vector<SustainableDuty> points;  ///< by rising period; periods that fit to the same one are there once
  int cycles = 0;
};

/// Rising periods from `shortest_s` to `longest_s`, evenly spaced by ratio.
std::vector<double> spaced_periods(double shortest_s, double longest_s, int count);
inline constexpr double shortest_period_s = 0.1, longest_period_s = 86400.0;
inline constexpr int curve_points = 30;

/// `go_on` is told how much is done, 0..1; false ends it with the points that are complete.
DutyCurve duty_curve(tile::TileSystem& system, std::span<const double> periods_s,
                     const std::function<bool(double)>& go_on = {});

/// The sustainable duty over drive and period, and lines along which it is the same.
struct DutyMap {
  std::vector<double> drives;                               ///< rising
  std::vector<double> periods_s;                            ///< rising, as they fit
  std::vector<std::vector<double>> fraction, mean_light_W;  ///< by drive, then period
  std::vector<std::vector<std::string>> binding;            ///< what binds; empty: nothing
  struct Line {
    double fraction = 0.0;
    std::vector<double> periods_s,
        drives;  ///< found between two drives of the map; periods without such a drive are left out
  };
  std::vector<Line> lines;
  int cycles = 0;
};
DutyMap duty_map(const tile::Case& description, std::span<const double> drives, std::span<const double> periods_s,
                 std::span<const double> fractions, const std::function<bool(double)>& go_on = {});

}  // namespace tileflux::studies
