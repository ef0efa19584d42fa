#pragma once
/// What heat pipes and stores do at a state, for people and programs alike.

#include <span>
#include <string>
#include <vector>

#include "tileflux/tile/tile_system.h"

namespace tileflux::cli {

/// What a set of heat pipes carries from evaporator to condenser, and the most that it can carry as it is.
struct PipeLoad {
  std::string name;
  double carried_W = 0.0;
  double limit_W = 0.0;

  /// At the limit the pipes are frozen, dry, or have failed.
  bool at_limit() const;
};
std::vector<PipeLoad> pipe_loads(const tile::TileSystem& system, std::span<const double> x);

struct StoreState {
  std::string name;
  double melted_share = 0.0;
};
std::vector<StoreState> store_states(const tile::TileSystem& system, std::span<const double> x);

}  // namespace tileflux::cli
