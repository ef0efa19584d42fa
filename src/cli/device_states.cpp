#include "cli/device_states.h"

#include <cmath>

#include "tileflux/network/heat_pipe.h"

namespace tileflux::cli {

bool PipeLoad::at_limit() const {
  constexpr double round_off = 1e-9;
  return std::abs(carried_W) >= (1.0 - round_off) * limit_W;
}

std::vector<PipeLoad> pipe_loads(const tile::TileSystem& system, std::span<const double> x) {
  std::vector<PipeLoad> loads;
  for (const tile::HeatPipe& pipe : system.description().pipes) {
    const auto temperature_K = [&](const char* end) {
      return system.network().temperature_K(system.members(pipe.name + end, "heat pipe").front().node, x);
    };
    const double from_K = temperature_K(".evaporator"), to_K = temperature_K(".condenser");
    const network::VapourTransport law =
        network::vapour_transport(pipe.pipes, pipe.transport_W_m, pipe.effective_length_m, pipe.vapour_W_per_K);
    loads.push_back({pipe.name, law.flow(from_K, to_K), law.limit_W(from_K, to_K)});
  }
  return loads;
}

std::vector<StoreState> store_states(const tile::TileSystem& system, std::span<const double> x) {
  std::vector<StoreState> states;
  for (const tile::Store& store : system.description().stores) {
    double molten = 0.0;
    for (int i = 1; i <= store.slices; ++i) {
      const std::string node = store.slices == 1 ? store.name : store.name + '.' + std::to_string(i);
      molten += system.network().melted_share(system.members(node, "store").front().node, x);
    }
    states.push_back({store.name, molten / store.slices});
  }
  return states;
}

}  // namespace tileflux::cli
