#include "studies/modes.h"

#include <algorithm>

namespace tileflux::studies {

std::vector<double> mean_pattern_shares(const tile::Case& description) {
  std::vector<double> shares;
  for (const tile::Load& load : description.loads) {
    shares.push_back(load.when == tile::Load::When::pattern ? load.pattern.on_s / load.pattern.every_s : 0.0);
  }
  return shares;
}

tile::Mode steady_mode(const tile::Case& description, bool beam, bool throttled) {
  tile::Mode mode;
  mode.beam = beam;
  mode.drive = description.beam ? description.beam->drive : 0.0;
  mode.throttled = throttled;
  mode.pattern_share = mean_pattern_shares(description);
  mode.battery = false;
  mode.surroundings = tile::Mode::Surroundings::mean;
  if (description.steady_at_s) {
    mode.surroundings = tile::Mode::Surroundings::instant;
    mode.instant_s = *description.steady_at_s;
  }
  return mode;
}

solvers::TransientOptions transient_options(const tile::TileSystem& system, double finer) {
  const tile::Accuracy& accuracy = system.description().accuracy;
  solvers::TransientOptions options;
  // Coarser than this the energy books would not close to what they must, and little time would be saved.
  constexpr double coarsest = 1e-6, coarsest_K = 1e-4;
  options.relative_tolerance = std::min(accuracy.relative / finer, coarsest);
  options.absolute_tolerance = std::min(accuracy.absolute_K / finer, coarsest_K);
  return options;
}

}  // namespace tileflux::studies
