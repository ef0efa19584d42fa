/// Identities of power and heat over random states: the chain, the balance of every node, the ledger of the whole tile.

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <array>
#include <numeric>

#include "support/random_values.h"
#include "support/sample_tiles.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::tile::books_test {

/// Sums of dozens of terms, relative to the largest of them.
constexpr double round_off = 1e-12;

/// A random value for an unknown: a temperature, an enthalpy below, in or above melting, or a charge.
double random_unknown(const TileSystem& system, int i) {
  if (i >= system.network().unknown_count()) return test::between(0.0, 100.0);
  const network::Node& node = system.network().node(system.network().node_of_unknown(i));
  if (node.kind != network::NodeKind::melting) return test::between(150.0, 450.0);
  return test::between(node.melting.solidus_K() - 40.0, node.melting.molten_unknown() + 40.0);
}

/// Joules per unit of each unknown, from the description and not from the system's Jacobian; 0 where nothing is stored.
double capacity_of(const TileSystem& system, int i, double x) {
  if (i >= system.network().unknown_count()) return system.description().battery->law.capacity_J / 100.0;
  const network::Node& node = system.network().node(system.network().node_of_unknown(i));
  return node.differential() ? node.capacity_J_per_K.value(x) : 0.0;
}

struct RandomState {
  Case description;
  TileSystem system;
  std::vector<double> x, rate;

  RandomState() : description(random_case()), system(description) {
    Mode mode;
    mode.beam = *rc::gen::arbitrary<bool>();
    mode.drive = test::between(0.0, 1.0);
    mode.throttled = *rc::gen::arbitrary<bool>();
    for (std::size_t i = 0; i < description.loads.size(); ++i) mode.pattern_share.push_back(test::between(0.0, 1.0));
    if (*rc::gen::arbitrary<bool>()) {
      for (std::size_t h = 0; h < description.heaters.size(); ++h) mode.heater_on.push_back(*rc::gen::arbitrary<bool>() ? 1.0 : 0.0);
    }
    mode.surroundings = Mode::Surroundings::instant;
    mode.instant_s = test::between(0.0, 2e4);
    system.set_mode(mode);
    for (int i = 0; i < system.size(); ++i) {
      x.push_back(random_unknown(system, i));
      rate.push_back(test::between(-2.0, 2.0));
    }
  }

  static Case random_case() {
    const bool other = *rc::gen::arbitrary<bool>();
    Case description = other ? test::everything_else() : test::everything();
    description.sun.tilt_rad = test::between(0.0, 1.7);
    if (*rc::gen::arbitrary<bool>()) description.cells->shunt_node.reset();
    if (*rc::gen::arbitrary<bool>()) description.housekeeping->node = "bus";
    if (*rc::gen::inRange(0, 3) == 0) description = test::in_orbit(description);
    if (!other) return description;
    std::array<devices::Consumer, devices::consumers>& order = description.priorities;
    for (int turn = *rc::gen::inRange(0, 24); turn > 0; --turn) std::next_permutation(order.begin(), order.end());
    if (*rc::gen::arbitrary<bool>()) description.battery->node = "bus";
    if (*rc::gen::arbitrary<bool>()) description.beam->light_W.reset();
    description.lasers[0].devices.remaining = test::between(0.0, 1.0);
    return description;
  }

  /// The largest flow that any sum is made of.
  double size_W() const {
    double most = 1.0 + system.ledger(x).sunlight_met_W;
    for (const network::Flow& flow : system.network().flows(x)) most = std::max(most, std::abs(flow.power_W));
    for (int i = 0; i < system.size(); ++i) {
      const auto k = static_cast<std::size_t>(i);
      most = std::max(most, std::abs(capacity_of(system, i, x[k]) * rate[k]));
    }
    return most;
  }
};

RC_GTEST_PROP(PowerChainIdentity, EveryWattDrawnIsSpent, ()) {
  const RandomState state;
  const auto flows = state.system.chain_flows(state.x);
  const double bound = round_off * (100.0 + flows.available);
  RC_ASSERT(std::abs(flows.drawn - flows.conditioning_loss - flows.housekeeping - flows.heaters - flows.laser_bus - flows.battery_power) <= bound);
  RC_ASSERT(std::abs(flows.laser_bus - flows.laser_input - flows.driver_loss) <= bound);
  RC_ASSERT(std::abs(flows.available - flows.drawn - flows.undrawn) <= bound);
  RC_ASSERT(flows.undrawn >= -bound && flows.drawn >= 0.0 && flows.conditioning_loss >= -bound && flows.laser_input >= -bound);
  RC_ASSERT(flows.laser_bus <= flows.laser_demand + bound);
  const std::vector<double> heaters_W = state.system.heater_powers_W(state.x);
  RC_ASSERT(std::abs(std::accumulate(heaters_W.begin(), heaters_W.end(), 0.0) - flows.heaters) <= bound);
}

RC_GTEST_PROP(PowerChainIdentity, EveryWattOfLightComesFromABank, ()) {
  const RandomState state;
  const auto flows = state.system.chain_flows(state.x);
  const double bound = round_off * (100.0 + flows.available);
  double input = 0.0, light = 0.0;
  for (std::size_t b = 0; b < 2; ++b) {
    const devices::BankFlows<double>& bank = flows.bank[b];
    input += bank.input;
    light += bank.light;
    RC_ASSERT(std::abs(bank.input - bank.light - bank.junction_heat - bank.fibre_heat - bank.unabsorbed) <= bound);
    RC_ASSERT(bank.light >= 0.0 && bank.unabsorbed >= 0.0 && bank.fibre_heat >= -bound);
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
  // What is left at the battery's charge is part of it: its store grows by other than what arrives.
  const RandomState state;
  const std::vector<double> balance = state.system.node_balance(state.x, state.rate);
  const double sum = std::accumulate(balance.begin(), balance.end(), 0.0);
  RC_ASSERT(std::abs(state.system.ledger(state.x, state.rate).residual_W() - sum) <= round_off * state.size_W() * static_cast<double>(balance.size()));
}

RC_GTEST_PROP(Ledger, WhatIsAbsorbedLeavesAsLightOrInfraredOrIsStored, ()) {
  // With the rates that the state really has, the residual is zero: every node's heat goes into its capacity.
  RandomState state;
  const std::vector<double> heat = state.system.node_balance(state.x);
  double massless = 0.0;  // a random state leaves heat over where nothing can store it
  for (int i = 0; i < state.system.size(); ++i) {
    const auto k = static_cast<std::size_t>(i);
    const double capacity = capacity_of(state.system, i, state.x[k]);
    state.rate[k] = capacity > 0.0 ? heat[k] / capacity : 0.0;
    massless += capacity > 0.0 ? 0.0 : heat[k];
  }
  const tile::Ledger books = state.system.ledger(state.x, state.rate);
  const double out = books.light_out_W + books.to_space_W + books.to_fixed_W + books.to_battery_W + books.stored_W;
  RC_ASSERT(std::abs(books.absorbed_W + books.planet_W + books.loads_W - out - massless) <= round_off * 100.0 * state.size_W());
  RC_ASSERT(std::abs(books.sunlight_met_W - books.reflected_W - books.absorbed_W) <= round_off * books.sunlight_met_W);
  RC_ASSERT(books.fed_W == 0.0);
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

RC_GTEST_PROP(IsothermalTile, CarriesNoHeatThroughPipesStoresZonesAndSwitches, ()) {
  const double T = test::between(5.0, 600.0);
  Case still = test::everything_else();
  still.sun.irradiance_at_1AU_W_per_m2 = 0.0;
  still.loads.clear();
  still.space_K = T;
  still.parts.back().fixed_K = T;
  TileSystem system(still);
  Mode rest;
  rest.battery = false;
  system.set_mode(rest);
  const std::vector<double> x = system.uniform_state(T), no_rate(x.size(), 0.0);
  std::vector<double> residual(x.size());
  RC_ASSERT(system.residual(0.0, x, no_rate, residual));
  // The temperature of a store comes from its enthalpy: good to its last digit, times hundreds of W/K.
  constexpr double conductances_W_per_K = 2000.0;
  for (const double heat : residual) RC_ASSERT(std::abs(heat) <= round_off * conductances_W_per_K * T);
  for (const network::Flow& flow : system.network().flows(x)) RC_ASSERT(std::abs(flow.power_W) <= round_off * conductances_W_per_K * T);
}

RC_GTEST_PROP(BatteryAtRest, TakesAndGivesNothingAndGoesBackToTheChargeOfTheStart, ()) {
  TileSystem system(test::everything_else());
  Mode mode;
  mode.beam = *rc::gen::arbitrary<bool>();
  mode.battery = false;
  system.set_mode(mode);
  std::vector<double> x, residual(static_cast<std::size_t>(system.size()));
  for (int i = 0; i < system.size(); ++i) x.push_back(random_unknown(system, i));
  const std::vector<double> no_rate(x.size(), 0.0);
  RC_ASSERT(system.residual(0.0, x, no_rate, residual));
  const auto flows = system.chain_flows(x);
  RC_ASSERT(flows.battery_power == 0.0 && flows.battery_loss == 0.0);
  RC_ASSERT(system.ledger(x).to_battery_W == 0.0);
  RC_ASSERT(residual.back() * (75.0 - x.back()) >= 0.0);
  x.back() = 75.0;
  RC_ASSERT(system.residual(0.0, x, no_rate, residual));
  RC_ASSERT(residual.back() == 0.0);
}

}  // namespace tileflux::tile::books_test
