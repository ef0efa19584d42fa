#include "tileflux/network/network.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <numeric>

#include "support/random_values.h"

namespace tileflux::network::network_test {

using testing::ElementsAre;
using testing::IsEmpty;

/// Sums of a dozen flows, relative to the largest.
constexpr double round_off = 1e-12;

Node stored(const char* name, double capacity) { return {name, NodeKind::capacity, PropertyTable(capacity), 0.0}; }
Node massless(const char* name) { return {name, NodeKind::massless, PropertyTable(0.0), 0.0}; }
Node fixed(const char* name, double temperature_K) { return {name, NodeKind::fixed, PropertyTable(0.0), temperature_K}; }

/// Every law, with a fixed node at either end of some, and space seen from free and fixed nodes.
Network every_law() {
  Network network;
  const NodeId a = network.add(stored("a", 10.0)), wall = network.add(fixed("wall", 290.0)), b = network.add(massless("b")), c = network.add(stored("c", 20.0));
  const PropertyTable k({100.0, 250.0, 400.0}, {2.0, 5.0, 4.0});
  network.connect(a, b, Conductance{3.0}, "a - b");
  network.connect(wall, a, Conductance{1.0}, "wall - a");
  network.connect(b, c, Conduction{k}, "b - c");
  network.connect(c, wall, Conduction{k}, "c - wall");
  network.connect(a, c, LayerConduction{k, PropertyTable(7.0), 0.1}, "a - c");
  network.connect(b, a, SwitchedConductance{k}, "switch: b - a");
  network.connect(c, a, VapourTransport{4.0, PropertyTable({50.0, 300.0, 700.0}, {0.0, 900.0, 0.0})}, "vapour: c - a");
  network.connect(c, b, RadiationExchange{0.5}, "infrared: c - b");
  network.connect(wall, b, RadiationExchange{0.2}, "infrared: wall - b");
  network.connect_to_space(a, {0.7, 3.0}, "infrared: a");
  network.connect_to_space(wall, {0.3, 3.0}, "infrared: wall");
  network.bind(solvers::Pattern::from_positions(network.unknown_count(), network.positions()));
  return network;
}

std::vector<double> random_state(int size) {
  std::vector<double> x;
  for (int i = 0; i < size; ++i) x.push_back(test::temperature_between(60, 600));
  return x;
}

double size_of_flows(const Network& network, std::span<const double> x) {
  double most = 0.0;
  for (const Flow& flow : network.flows(x)) most = std::max(most, std::abs(flow.power_W));
  return most;
}

TEST(Network, NumbersUnknownsInTheOrderOfAddingWithoutFixedNodes) {
  const Network network = every_law();
  EXPECT_EQ(network.node_count(), 4);
  EXPECT_EQ(network.unknown_count(), 3);
  EXPECT_EQ(network.unknown_of(network.find("a")), 0);
  EXPECT_EQ(network.unknown_of(network.find("wall")), -1);
  EXPECT_EQ(network.unknown_of(network.find("c")), 2);
  EXPECT_EQ(network.node_of_unknown(1), network.find("b"));
  EXPECT_EQ(network.find("nobody"), -1);
  const std::vector<double> x{1.0, 2.0, 3.0};
  EXPECT_EQ(network.temperature_K(network.find("wall"), x), 290.0);
  EXPECT_EQ(network.temperature_K(network.find("c"), x), 3.0);
}

RC_GTEST_PROP(Network, HeatIntoNodesIsMinusWhatLeavesToSpaceAndFixedNodes, ()) {
  const Network network = every_law();
  const std::vector<double> x = random_state(3);
  std::vector<double> heat(3, 0.0);
  network.add_heat(x, heat);
  double out = 0.0;
  for (const Flow& flow : network.flows(x)) {
    if (flow.from >= 0 && network.unknown_of(flow.from) >= 0 && (flow.to < 0 || network.unknown_of(flow.to) < 0)) out += flow.power_W;
    if (flow.to >= 0 && network.unknown_of(flow.to) >= 0 && network.unknown_of(flow.from) < 0) out -= flow.power_W;
  }
  RC_ASSERT(std::abs(std::accumulate(heat.begin(), heat.end(), 0.0) + out) <= round_off * size_of_flows(network, x));
}

RC_GTEST_PROP(Network, HeatIntoEachNodeIsTheSumOfItsFlows, ()) {
  const Network network = every_law();
  const std::vector<double> x = random_state(3);
  std::vector<double> heat(3, 0.0), by_flow(3, 0.0);
  network.add_heat(x, heat);
  for (const Flow& flow : network.flows(x)) {
    if (network.unknown_of(flow.from) >= 0) by_flow[static_cast<std::size_t>(network.unknown_of(flow.from))] -= flow.power_W;
    if (flow.to >= 0 && network.unknown_of(flow.to) >= 0) by_flow[static_cast<std::size_t>(network.unknown_of(flow.to))] += flow.power_W;
  }
  for (std::size_t i = 0; i < 3; ++i) RC_ASSERT(std::abs(heat[i] - by_flow[i]) <= round_off * size_of_flows(network, x));
}

RC_GTEST_PROP(Network, DerivativesEqualDifferenceQuotients, ()) {
  const Network network = every_law();
  const auto pattern = solvers::Pattern::from_positions(3, network.positions());
  std::vector<double> x = random_state(3), values(static_cast<std::size_t>(pattern.nonzeros()), 0.0);
  network.add_derivatives(x, values);
  const double size_W = 20.0 * 600.0;  // all conductances times the temperature they act on
  for (int column = 0; column < 3; ++column) {
    const auto c = static_cast<std::size_t>(column);
    for (int row = 0; row < 3; ++row) {
      const double at = x[c];
      const double quotient = test::difference_quotient([&](double t) {
        std::vector<double> moved = x, heat(3, 0.0);
        moved[c] = t;
        network.add_heat(moved, heat);
        return heat[static_cast<std::size_t>(row)];
      }, at);
      const int place = pattern.position(row, column);
      RC_ASSERT(std::abs(quotient - (place >= 0 ? values[static_cast<std::size_t>(place)] : 0.0)) <= test::difference_error(size_W, at));
    }
  }
}

RC_GTEST_PROP(Network, IsothermalNetworkCarriesNoHeat, ()) {
  const double T = test::temperature_between(3, 900);
  Network network;
  const NodeId a = network.add(stored("a", 1.0)), b = network.add(massless("b")), wall = network.add(fixed("wall", T));
  const PropertyTable k({100.0, 250.0, 400.0}, {2.0, 5.0, 4.0});
  network.connect(a, b, Conduction{k}, "1");
  network.connect(b, wall, LayerConduction{k, k, 0.2}, "2");
  network.connect(a, wall, RadiationExchange{1.0}, "3");
  network.connect(a, b, Conductance{2.0}, "4");
  network.connect_to_space(a, {1.0, T}, "5");
  std::vector<double> heat(2, 0.0);
  network.add_heat(std::vector<double>{T, T}, heat);
  RC_ASSERT(heat[0] == 0.0 && heat[1] == 0.0);
}

TEST(Network, HeatToSpaceCountsFixedNodesToo) {
  Network network;
  network.add(stored("a", 1.0));
  network.add(fixed("wall", 300.0));
  network.connect_to_space(0, {1.0, 0.0}, "a");
  network.connect_to_space(1, {2.0, 0.0}, "wall");
  const std::vector<double> x{300.0};
  EXPECT_DOUBLE_EQ(network.heat_to_space_W(x), 3.0 * stefan_boltzmann_W_per_m2_K4 * 8.1e9);
}

TEST(Network, FindsNodesWithoutAWayOut) {
  Network network;
  const NodeId a = network.add(stored("a", 1.0)), b = network.add(stored("b", 1.0)), c = network.add(stored("c", 1.0)), d = network.add(massless("d"));
  network.connect(a, b, Conductance{1.0}, "a - b");
  network.connect(c, d, RadiationExchange{1.0}, "c - d");
  network.connect_to_space(b, {1.0, 0.0}, "b");
  EXPECT_THAT(network.isolated(), ElementsAre(c, d));
  const NodeId wall = network.add(fixed("wall", 300.0));
  network.connect(wall, d, Conductance{1.0}, "wall - d");
  EXPECT_THAT(network.isolated(), IsEmpty());
}

TEST(Network, ASurfaceThatSeesNoSpaceIsNoWayOut) {
  Network network;
  const NodeId a = network.add(stored("a", 1.0));
  network.connect_to_space(a, {0.0, 3.0}, "a");
  EXPECT_THAT(network.isolated(), ElementsAre(a));
}

TEST(Network, StoredHeatIsTheIntegralOfTheHeatCapacities) {
  Network network;
  network.add(stored("a", 10.0));
  network.add({"b", NodeKind::capacity, PropertyTable({200.0, 300.0}, {1.0, 3.0}), 0.0});
  network.add(massless("m"));
  network.add(fixed("wall", 100.0));
  EXPECT_DOUBLE_EQ(network.stored_J(std::vector<double>{300.0, 200.0, 5.0}, std::vector<double>{301.0, 300.0, 50.0}), 10.0 + 200.0);
}

}  // namespace tileflux::network::network_test
