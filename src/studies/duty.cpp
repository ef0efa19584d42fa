#include "tileflux/studies/duty.h"

#include <algorithm>

#include "studies/modes.h"
#include "studies/warning.h"
#include "tileflux/solvers/transient.h"
#include "tileflux/studies/run.h"

namespace tileflux::studies {

Duty duty(tile::TileSystem& system, const std::function<void(double)>& progress) {
  const tile::Case& description = system.description();
  if (!description.beam) throw Error(Code::key_missing, "`duty` needs `beam` in the case");
  if (description.limits.empty() && description.differences.empty())
    throw Error(Code::key_missing, "`duty` needs `limits` in the case: without them every duty is allowed");
  const auto tell = [&](double share) {
    if (progress) progress(share);
  };
  Duty result;
  const std::vector<double> stated = starting_state(system);
  system.set_mode(steady_mode(system.description(), false, false));
  result.start_x = stated;
  std::vector<double> rate(stated.size());
  solvers::make_consistent(system, 0.0, result.start_x, rate);
  result.burst = burst(system, stated);
  tell(0.2);
  result.recovery = recovery(system, result.start_x, result.burst.end_x, result.burst.length_s.value_or(0.0));
  tell(0.3);
  result.rating = continuous_rating(system);
  tell(0.4);
  if (description.beam->pattern) {
    result.sustainable = sustainable_duty(system, description.beam->pattern->every_s);
    result.warnings = validity_warnings(system, result.sustainable->state.ranges, result.sustainable->state.lit_ranges);
  }
  tell(1.0);
  if (description.battery) {
    result.warnings.push_back(warning_of(
        Code::battery_rests, battery_acts(system)
                                 ? "the battery acts in burst and recovery; the continuous rating and the sustainable "
                                   "duty hold for sunlight alone"
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
