#include "cli/case_inputs.h"

#include <cmath>

namespace tileflux::cli {

std::vector<studies::GainInput> gain_inputs(const tile::CaseTemplate& cases) {
  std::vector<studies::GainInput> inputs;
  for (const tile::CaseInput& one : cases.inputs()) {
    // What would a better laser do is asked of all of them together; nothing of the tile is that factor.
    if (!one.stated && one.path.ends_with(".light_factor")) continue;
    constexpr double inside = 1e-9;  // of what is excluded
    const input::Range& range = one.range;
    const double least = range.least_excluded ? range.least + inside * std::abs(one.value_si - range.least) : range.least;
    const double most = range.most_excluded ? range.most - inside * std::abs(range.most - one.value_si) : range.most;
    const bool quadratures = one.path.starts_with("orbit.") || one.path.starts_with("materials.bodies.");
    inputs.push_back({one.path, std::string(one.dimension.si_unit), one.value_si, least, most,
                      [&cases, path = one.path](double value) { return cases.with({{path, value}}).description; },
                      quadratures ? studies::GainInput::step_share_of_quadratures : studies::GainInput::usual_step_share});
  }
  return inputs;
}

}  // namespace tileflux::cli
