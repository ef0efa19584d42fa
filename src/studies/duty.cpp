#include "tileflux/studies/duty.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "studies/modes.h"
#include "studies/warning.h"
#include "tileflux/solvers/transient.h"
#include "tileflux/studies/run.h"

namespace tileflux::studies {

namespace {

void warn_of_period(const tile::TileSystem& system, Duty& result) {
  const double asked_s = system.description().beam->pattern->every_s, taken_s = result.sustainable->period_s;
  constexpr double the_same = 1e-9;
  if (std::abs(asked_s - taken_s) > the_same * asked_s) {
    char text[160];
    std::snprintf(text, sizeof text,
                  "a period of %.6g s does not repeat with the surroundings: the sustainable duty is that of %.6g s",
                  asked_s, taken_s);
    result.warnings.push_back(warning_of(Code::mean_surroundings, text));
  }
  if (system.sky_moves() && !result.sustainable->cycle.moving)
    result.warnings.push_back(warning_of(Code::mean_surroundings,
                                         "the surroundings do not repeat with the beam: the sustainable duty holds for "
                                         "their mean"));
}

/// Ten, twenty ... ninety per cent.
std::vector<double> lines_of_the_map() {
  std::vector<double> fractions;
  for (int i = 1; i < 10; ++i) fractions.push_back(0.1 * i);
  return fractions;
}

void add_map(const tile::Case& description, Duty& result, const std::function<bool(double)>& tell) {
  std::vector<double> drives;
  for (int i = 1; i <= map_drives; ++i) drives.push_back(description.beam->drive * i / map_drives);
  result.map = duty_map(description, drives, spaced_periods(shortest_map_period_s, longest_period_s, map_periods),
                        lines_of_the_map(), tell);
}

}  // namespace

Duty duty(tile::TileSystem& system, const DutyOptions& options) {
  const tile::Case& description = system.description();
  if (!description.beam) throw Error(Code::key_missing, "`duty` needs `beam` in the case");
  if (description.limits.empty() && description.differences.empty())
    throw Error(Code::key_missing, "`duty` needs `limits` in the case: without them every duty is allowed");
  // Shares of the time as they usually come out.
  const bool more = options.curve_points > 0 || options.map;
  const double alone = more ? 0.1 : 1.0, with_curve = options.map ? 0.4 : 1.0;
  bool go_on = true;
  const auto tell = [&](double share) {
    if (options.progress) go_on = options.progress(share) && go_on;
    return go_on;
  };
  Duty result;
  const std::vector<double> stated = starting_state(system);
  system.set_mode(steady_mode(system.description(), false, false));
  result.start_x = stated;
  std::vector<double> rate(stated.size());
  solvers::make_consistent(system, 0.0, result.start_x, rate);
  result.burst = burst(system, stated);
  tell(0.2 * alone);
  result.recovery = recovery(system, result.start_x, result.burst.end_x, result.burst.length_s.value_or(0.0));
  tell(0.3 * alone);
  result.rating = continuous_rating(system);
  tell(0.4 * alone);
  if (description.beam->pattern) {
    result.sustainable = sustainable_duty(system, description.beam->pattern->every_s);
    result.warnings = validity_warnings(system, Uses::transient, result.sustainable->state.ranges,
                                        result.sustainable->state.lit_ranges);
    const std::vector<Diagnostic>& of_state = result.sustainable->state.warnings;
    result.warnings.insert(result.warnings.end(), of_state.begin(), of_state.end());
    warn_of_period(system, result);
  }
  tell(alone);
  if (options.curve_points > 0 && go_on)
    result.curve = duty_curve(system, spaced_periods(shortest_period_s, longest_period_s, options.curve_points),
                              [&](double share) { return tell(alone + share * (with_curve - alone)); });
  if (options.map && go_on)
    add_map(description, result, [&](double share) { return tell(with_curve + share * (1.0 - with_curve)); });
  const std::vector<double> drives(description.lasers.size(), description.beam->drive);
  for (Diagnostic& warning : drive_warnings(system, drives)) result.warnings.push_back(std::move(warning));
  if (description.battery) {
    result.warnings.push_back(warning_of(
        Code::battery_rests, battery_acts(system)
                                 ? "the battery acts in burst, recovery and sustainable duty; the continuous rating "
                                   "holds for sunlight alone"
                                 : "the battery rests in duty limits: they hold for sunlight alone"));
  }
  const bool patterned = std::any_of(description.loads.begin(), description.loads.end(),
                                     [](const tile::Load& l) { return l.when == tile::Load::When::pattern; });
  if (patterned) {
    result.warnings.push_back(warning_of(
        Code::pattern_contradicts, "loads with a pattern of their own are taken at their mean power in duty limits"));
  }
  return result;
}

}  // namespace tileflux::studies
