/// Identities of power and heat over random states: the chain, the balance of every node, the ledger of the whole tile.

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <numeric>

#include "support/random_values.h"
#include "support/sample_tiles.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::tile {
namespace {

/// Sums of dozens of terms, relative to the largest of them.
constexpr double round_off = 1e-12;

struct RandomState {
  Case description = test::everything();
  TileSystem system;
  std::vector<double> x, rate;

  RandomState() : description(random_case()), system(description) {
    Mode mode;
    mode.beam = *rc::gen::arbitrary<bool>();
    mode.drive = test::between(0.0, 1.0);
    mode.throttled = *rc::gen::arbitrary<bool>();
    mode.pattern_share = {0.0, 0.0, 0.0, test::between(0.0, 1.0), 0.0};
    system.set_mode(mode);
    for (int i = 0; i < system.size(); ++i) {
      x.push_back(test::between(150.0, 450.0));
      rate.push_back(test::between(-2.0, 2.0));
    }
  }

  static Case random_case() {
    Case description = test::everything();
    description.sun.tilt_rad = test::between(0.0, 1.7);
    if (*rc::gen::arbitrary<bool>()) description.cells->shunt_node.reset();
    if (*rc::gen::arbitrary<bool>()) description.housekeeping->node = "bus";
    return description;
  }

  /// The largest flow that any sum is made of.
  double size_W() const {
    double most = 1.0 + system.ledger(x).sunlight_met_W;
    for (const network::Flow& flow : system.network().flows(x)) most = std::max(most, std::abs(flow.power_W));
    for (int i = 0; i < system.size(); ++i) {
      const network::Node& node = system.network().node(system.network().node_of_unknown(i));
      const auto k = static_cast<std::size_t>(i);
      if (system.differential()[k]) most = std::max(most, std::abs(node.capacity_J_per_K.value(x[k]) * rate[k]));
    }
    return most;
  }
};

RC_GTEST_PROP(PowerChainIdentity, EveryWattDrawnIsSpent, ()) {
  const RandomState state;
  const auto flows = state.system.chain_flows(state.x);
  const double bound = round_off * (1.0 + flows.available);
  RC_ASSERT(std::abs(flows.drawn - flows.conditioning_loss - flows.housekeeping - flows.laser_input) <= bound);
  RC_ASSERT(std::abs(flows.available - flows.drawn - flows.undrawn) <= bound);
  RC_ASSERT(flows.undrawn >= -bound && flows.drawn >= 0.0 && flows.conditioning_loss >= -bound && flows.laser_input >= -bound);
  RC_ASSERT(flows.laser_input <= flows.laser_demand + bound);
}

RC_GTEST_PROP(PowerChainIdentity, EveryWattOfLightComesFromABank, ()) {
  const RandomState state;
  const auto flows = state.system.chain_flows(state.x);
  const double bound = round_off * (1.0 + flows.available);
  double input = 0.0, light = 0.0;
  for (std::size_t b = 0; b < 2; ++b) {
    input += flows.bank_input[b];
    light += flows.bank_light[b];
    RC_ASSERT(std::abs(flows.bank_input[b] - flows.bank_light[b] - flows.bank_heat[b]) <= bound);
    RC_ASSERT(flows.bank_light[b] >= 0.0);
  }
  RC_ASSERT(std::abs(input - flows.laser_input) <= bound);
  RC_ASSERT(std::abs(light - flows.light_out - flows.optics_loss) <= bound);
  RC_ASSERT(std::abs(flows.light_out - 0.96 * light) <= bound);
}

RC_GTEST_PROP(NodeBalance, PutTogetherPathByPathEqualsTheResidual, ()) {
  const RandomState state;
  std::vector<double> residual(state.x.size());
  RC_ASSERT(state.system.residual(0.0, state.x, state.rate, residual));
  const std::vector<double> balance = state.system.node_balance(state.x, state.rate);
  const double bound = round_off * state.size_W();
  for (std::size_t i = 0; i < residual.size(); ++i) RC_ASSERT(std::abs(residual[i] - balance[i]) <= bound);
}

RC_GTEST_PROP(Ledger, ResidualIsTheSumOfWhatIsLeftAtNodes, ()) {
  const RandomState state;
  const std::vector<double> balance = state.system.node_balance(state.x, state.rate);
  const double sum = std::accumulate(balance.begin(), balance.end(), 0.0);
  RC_ASSERT(std::abs(state.system.ledger(state.x, state.rate).residual_W() - sum) <= round_off * state.size_W() * static_cast<double>(balance.size()));
}

RC_GTEST_PROP(Ledger, WhatIsAbsorbedLeavesAsLightOrInfraredOrIsStored, ()) {
  // With the rates that the state really has, the residual is zero: every node's heat goes into its capacity.
  RandomState state;
  const std::vector<double> heat = state.system.node_balance(state.x);
  for (int i = 0; i < state.system.size(); ++i) {
    const auto k = static_cast<std::size_t>(i);
    const network::Node& node = state.system.network().node(state.system.network().node_of_unknown(i));
    state.rate[k] = state.system.differential()[k] ? heat[k] / node.capacity_J_per_K.value(state.x[k]) : 0.0;
  }
  double massless = 0.0;  // a random state leaves heat over where nothing can store it
  for (std::size_t k = 0; k < heat.size(); ++k) massless += state.system.differential()[k] ? 0.0 : heat[k];
  const tile::Ledger books = state.system.ledger(state.x, state.rate);
  const double out = books.light_out_W + books.to_space_W + books.to_fixed_W + books.stored_W;
  RC_ASSERT(std::abs(books.absorbed_W + books.loads_W - out - massless) <= round_off * 100.0 * state.size_W());
  RC_ASSERT(std::abs(books.sunlight_met_W - books.reflected_W - books.absorbed_W) <= round_off * books.sunlight_met_W);
}

RC_GTEST_PROP(Ledger, InfraredOfAllSurfacesIsWhatGoesToSpace, ()) {
  const RandomState state;
  const std::vector<double> infrared = state.system.infrared_by_surface_W(state.x);
  RC_ASSERT(infrared.size() >= state.description.surfaces.size());  // and the open faces of enclosures
  RC_ASSERT(std::abs(std::accumulate(infrared.begin(), infrared.end(), 0.0) - state.system.ledger(state.x).to_space_W) <= round_off * state.size_W());
}

RC_GTEST_PROP(IsothermalTile, WithoutSourcesCarriesNoHeat, ()) {
  const double T = test::between(5.0, 600.0);
  Case still = test::everything();
  still.sun.irradiance_at_1AU_W_per_m2 = 0.0;
  still.loads.clear();
  still.space_K = T;
  still.parts[4].fixed_K = T;
  TileSystem system(still);
  const std::vector<double> x(static_cast<std::size_t>(system.size()), T), no_rate(x.size(), 0.0);
  std::vector<double> residual(x.size());
  RC_ASSERT(system.residual(0.0, x, no_rate, residual));
  // The sink of a fin is a fourth root: equal to T but for its last digits. All other laws carry exactly nothing.
  const double emission_W_per_m2 = stefan_boltzmann_W_per_m2_K4 * T * T * T * T;
  for (const double heat : residual) RC_ASSERT(std::abs(heat) <= round_off * emission_W_per_m2);
  for (const network::Flow& flow : system.network().flows(x)) {
    if (flow.path != "infrared: sail") RC_ASSERT(flow.power_W == 0.0);
  }
}

}  // namespace
}  // namespace tileflux::tile
