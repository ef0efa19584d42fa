#include "tileflux/network/melting.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "support/network_system.h"
#include "support/random_values.h"
#include "tileflux/solvers/steady.h"
#include "tileflux/solvers/transient.h"

namespace tileflux::network::melting_test {

constexpr double round_off = 1e-12;  // sums of a few hundred, relative to terms of order one

/// 2 kg of paraffin; the range in u is from 300 K to 300 + 450e3/3800 = 418.4 K.
MeltingLaw paraffin() { return {.solid_J_per_K = 3800.0, .liquid_J_per_K = 4400.0, .latent_J = 450e3, .melt_K = 300.5, .range_K = 1.0}; }
/// Every phase, and the melting range, with corners at whole kelvins: solidus 300, liquidus 302, molten at u = 400.
MeltingLaw round_numbers() { return {.solid_J_per_K = 10.0, .liquid_J_per_K = 20.0, .latent_J = 1000.0, .melt_K = 301.0, .range_K = 2.0}; }

TEST(MeltingLaw, IsTheTemperatureBelowTheRange) {
  EXPECT_EQ(paraffin().temperature_K(280.0), 280.0);
  EXPECT_EQ(paraffin().melted_share(280.0), 0.0);
}

TEST(MeltingLaw, RisesEvenlyOverTheRangeWithTheLatentHeat) {
  EXPECT_NEAR(round_numbers().temperature_K(350.0), 301.0, round_off * 300.0);
  EXPECT_NEAR(round_numbers().melted_share(350.0), 0.5, round_off);
  EXPECT_NEAR(round_numbers().temperature_K(400.0), 302.0, round_off * 300.0);
}

TEST(MeltingLaw, RisesWithTheLiquidsCapacityAboveTheRange) {
  EXPECT_NEAR(round_numbers().temperature_K(420.0), 302.0 + 200.0 / 20.0, round_off * 300.0);
  EXPECT_EQ(round_numbers().melted_share(420.0), 1.0);
}

RC_GTEST_PROP(MeltingLaw, IsInvertedByUnknownOf, ()) {
  const double u = test::temperature_between(200, 600);
  const MeltingLaw law = round_numbers();
  RC_ASSERT(std::abs(law.unknown_of(law.temperature_K(u)) - u) <= 100.0 * round_off * u);  // the range magnifies by 50
}

RC_GTEST_PROP(MeltingLaw, RisesFromAnyUnknownToAnyHigherOne, ()) {
  const double u = test::temperature_between(200, 600), v = test::temperature_between(200, 600);
  RC_PRE(u < v);
  RC_ASSERT(round_numbers().temperature_K(u) < round_numbers().temperature_K(v));
  RC_ASSERT(round_numbers().melted_share(u) <= round_numbers().melted_share(v));
}

RC_GTEST_PROP(MeltingLaw, HasDerivativesThatEqualDifferenceQuotients, ()) {
  const double u = test::temperature_between(200, 600);
  const MeltingLaw law = round_numbers();
  const auto temperature = [&](double x) { return law.temperature_K(x); };
  const auto share = [&](double x) { return law.melted_share(x); };
  RC_ASSERT(std::abs(law.temperature_K(variable<1>(u, 0)).derivatives()[0] - test::difference_quotient(temperature, u)) <= test::difference_error(u, u));
  RC_ASSERT(std::abs(law.melted_share(variable<1>(u, 0)).derivatives()[0] - test::difference_quotient(share, u)) <= test::difference_error(1.0, u));
}

TEST(MeltingLaw, RefusesWhatDoesNotMelt) {
  const auto refused = [](auto change) {
    MeltingLaw law = paraffin();
    change(law);
    try {
      law.check();
    } catch (const Error& error) {
      return error.code() == Code::value_out_of_range;
    }
    return false;
  };
  EXPECT_TRUE(refused([](MeltingLaw& law) { law.latent_J = 0.0; }));
  EXPECT_TRUE(refused([](MeltingLaw& law) { law.range_K = 0.0; }));
  EXPECT_TRUE(refused([](MeltingLaw& law) { law.solid_J_per_K = -1.0; }));
  EXPECT_TRUE(refused([](MeltingLaw& law) { law.liquid_J_per_K = 0.0; }));
  EXPECT_TRUE(refused([](MeltingLaw& law) { law.melt_K = 0.4; }));
  EXPECT_NO_THROW(paraffin().check());
}

MeltFront front() { return {.contact_K_per_W = 0.1, .liquid_K_per_W = 2.0, .solid_K_per_W = 0.5, .store = round_numbers()}; }
MeltFace face() { return {.contact_K_per_W = 0.1, .half = {0.5, 2.0}, .store = round_numbers()}; }
MeltLayer layer() { return {.between = {1.0, 4.0}, .store_a = round_numbers(), .store_b = round_numbers()}; }

TEST(MeltFront, PassesTheLiquidLayerWhileItMelts) {
  EXPECT_NEAR(front().flow(311.0, 350.0), 10.0 / (0.1 + 2.0 * 0.5), round_off * 100.0);
}

TEST(MeltFront, PassesTheSolidLayerWhileItFreezes) {
  EXPECT_NEAR(front().flow(291.0, 375.0), (291.0 - 301.5) / (0.1 + 0.5 * 0.25), round_off * 100.0);
}

TEST(MeltFront, IsContinuousWhereTheWallTurns) {
  const double at_K = round_numbers().temperature_K(340.0);
  constexpr double step_K = 1e-6;
  EXPECT_EQ(front().flow(at_K, 340.0), 0.0);
  EXPECT_NEAR(front().flow(at_K + step_K, 340.0), 0.0, step_K / 0.1);
  EXPECT_NEAR(front().flow(at_K - step_K, 340.0), 0.0, step_K / 0.1);
}

TEST(MeltLayer, ConductsThroughThePhaseOnEitherSideOfTheMeltingPoint) {
  EXPECT_NEAR(layer().flow(290.0, 280.0), 10.0 / 1.0, round_off * 100.0);
  EXPECT_NEAR(layer().flow(420.0, 410.0), (312.0 - 307.0) / 4.0, round_off * 100.0);
  EXPECT_NEAR(layer().flow(420.0, 290.0), 11.0 / 4.0 + 11.0 / 1.0, round_off * 100.0);  // 312 K, 301 K at the front, 290 K
}

TEST(MeltLayer, CarriesTheOppositeWithItsEndsExchanged) { EXPECT_EQ(layer().flow(370.0, 310.0), -layer().flow(310.0, 370.0)); }

TEST(MeltFace, PutsContactAndHalfASliceInSeries) {
  EXPECT_NEAR(face().flow(295.0, 280.0), 15.0 / (0.1 + 0.5), round_off * 100.0);
  EXPECT_NEAR(face().flow(322.0, 420.0), 10.0 / (0.1 + 2.0), round_off * 100.0);
}

TEST(MeltFace, WithoutContactIsTheLayer) {
  const MeltFace bare{.contact_K_per_W = 0.0, .half = layer().between, .store = round_numbers()};
  for (const double b : {280.0, 340.0, 420.0}) {
    EXPECT_NEAR(bare.flow(290.0, b), layer().flow(290.0, b), round_off * 100.0);
    EXPECT_NEAR(bare.flow(312.0, b), layer().flow(420.0, b), round_off * 100.0);
  }
}

TEST(MeltFace, IsContinuousWhereItsFaceMelts) {
  // The face is at the melting point where (Ta - 301)/0.1 + (280 - 301)/0.5 = 0.
  constexpr double step_K = 1e-9;
  const double turn_K = 301.0 + 0.1 * 21.0 / 0.5;
  EXPECT_NEAR(face().flow(turn_K + step_K, 280.0), face().flow(turn_K - step_K, 280.0), 10.0 * step_K / 0.1);
}

/// With a contact that keeps the resistance from changing much over a difference step, so that the general bound on a difference
/// quotient holds.
constexpr double wide_contact_K_per_W = 1.0;
MeltFront wide_front() { return {.contact_K_per_W = wide_contact_K_per_W, .liquid_K_per_W = 2.0, .solid_K_per_W = 0.5, .store = round_numbers()}; }
MeltFace wide_face() { return {.contact_K_per_W = wide_contact_K_per_W, .half = {0.5, 2.0}, .store = round_numbers()}; }

/// Away from the turning of a front, and from where a face or a middle melts: there the derivative jumps.
RC_GTEST_PROP(MeltingPaths, HaveDerivativesThatEqualDifferenceQuotients, ()) {
  const double a = test::temperature_between(250, 500), b = test::temperature_between(250, 500);
  const auto check = [&](const auto& law, double a_K) {
    const double size_W = 1000.0 / 0.5;
    const Dual<2> q = law.flow(variable<2>(a, 0), variable<2>(b, 1));
    const double b_K = round_numbers().temperature_K(b), away_K = 2.0 * test::difference_step(500.0);
    RC_PRE(std::abs(a_K - b_K) > away_K && std::abs(a_K - 301.0) > away_K && std::abs(b_K - 301.0) > away_K);
    RC_PRE(std::abs(a_K - 301.0 + wide_contact_K_per_W * (b_K - 301.0) / (b_K > 301.0 ? 2.0 : 0.5)) > 4.0 * away_K);
    RC_ASSERT(q.value() == law.flow(a, b));
    RC_ASSERT(std::abs(q.derivatives()[0] - test::difference_quotient([&](double t) { return law.flow(t, b); }, a)) <= test::difference_error(size_W, a));
    RC_ASSERT(std::abs(q.derivatives()[1] - test::difference_quotient([&](double t) { return law.flow(a, t); }, b)) <= test::difference_error(size_W, b));
  };
  check(wide_front(), a);
  check(wide_face(), a);
  check(layer(), round_numbers().temperature_K(a));
}

RC_GTEST_PROP(MeltingPaths, CarryHeatFromWarmToCold, ()) {
  const double a = test::temperature_between(250, 500), b = test::temperature_between(250, 500);
  const double b_K = round_numbers().temperature_K(b);
  RC_ASSERT(front().flow(a, b) * (a - b_K) >= 0.0);
  RC_ASSERT(face().flow(a, b) * (a - b_K) >= 0.0);
  RC_ASSERT(layer().flow(a, b) * (round_numbers().temperature_K(a) - b_K) >= 0.0);
}

Node wall_node() { return {.name = "wall", .capacity_J_per_K = PropertyTable(500.0)}; }
Node store_node(const char* name, MeltingLaw law) { return {.name = name, .kind = NodeKind::melting, .melting = law}; }

TEST(MeltingNode, IsReachedByMeltingPathsOnly) {
  Network network;
  const NodeId wall = network.add(wall_node()), store = network.add(store_node("store", paraffin()));
  const auto refused = [](auto connect) {
    try {
      connect();
    } catch (const Error& error) {
      return error.code() == Code::internal;
    }
    return false;
  };
  EXPECT_TRUE(refused([&] { network.connect(wall, store, Conductance{1.0}, "x"); }));
  EXPECT_TRUE(refused([&] { network.connect(store, wall, Conductance{1.0}, "x"); }));
  EXPECT_TRUE(refused([&] { network.connect_to_space(store, RadiationToSpace{1.0, 0.0}, "x"); }));
  EXPECT_TRUE(refused([&] { network.connect(store, wall, front(), "x"); }));
  EXPECT_TRUE(refused([&] { network.connect(wall, store, layer(), "x"); }));
  EXPECT_NO_THROW(network.connect(wall, store, front(), "front"));
  EXPECT_TRUE(refused([&] { network.connect(store, network.add(store_node("other", round_numbers())), layer(), "x"); }));
}

TEST(MeltingNode, TellsTemperatureShareAndStoredHeat) {
  Network network;
  network.add(wall_node());
  const NodeId store = network.add(store_node("store", round_numbers()));
  const std::vector<double> begin{300.0, 280.0}, end{301.0, 350.0};
  EXPECT_NEAR(network.temperature_K(store, end), 301.0, round_off * 300.0);
  EXPECT_NEAR(network.melted_share(store, end), 0.5, round_off);
  EXPECT_EQ(network.melted_share(0, end), 0.0);
  EXPECT_EQ(network.unknown_at(0, 290.0), 290.0);
  EXPECT_NEAR(network.unknown_at(store, 301.0), 350.0, round_off * 300.0);
  EXPECT_NEAR(network.stored_J(begin, end), 500.0 + 200.0 + 500.0, round_off * 1000.0);  // wall, solid to 300 K, half the latent heat
}

RC_GTEST_PROP(MeltingNode, HasExactDerivativesAndFlowsThatAddUpInItsNetwork, ()) {
  Network network;
  const NodeId wall = network.add(wall_node()), top = network.add(store_node("top", round_numbers())), low = network.add(store_node("low", round_numbers()));
  const NodeId cold = network.add({.name = "cold", .kind = NodeKind::fixed, .fixed_temperature_K = 270.0});
  network.connect(wall, top, wide_face(), "wall - top");
  network.connect(top, low, layer(), "top - low");
  network.connect(cold, low, wide_front(), "cold - low");
  const test::NetworkSystem system(std::move(network));
  std::vector<double> x{test::temperature_between(250, 450), test::temperature_between(250, 450), test::temperature_between(250, 450)};
  const auto kink = [&](double away_K) { return std::abs(away_K) < 0.05; };
  const double top_K = system.network().temperature_K(1, x), low_K = system.network().temperature_K(2, x);
  RC_PRE(!kink(low_K - 270.0) && !kink(top_K - 301.0) && !kink(low_K - 301.0));
  RC_PRE(!kink(x[0] - 301.0 + wide_contact_K_per_W * (top_K - 301.0) / (top_K > 301.0 ? 2.0 : 0.5)));
  const std::vector<double> still(3, 0.0);
  std::vector<double> heat(3), by_flow(4, 0.0), values(static_cast<std::size_t>(system.pattern().nonzeros()));
  system.residual(0.0, x, still, heat);
  for (const Flow& flow : system.network().flows(x)) {
    by_flow[static_cast<std::size_t>(flow.from)] -= flow.power_W;
    by_flow[static_cast<std::size_t>(flow.to)] += flow.power_W;
  }
  system.jacobian(0.0, x, still, 0.0, values);
  for (std::size_t row = 0; row < 3; ++row) {
    RC_ASSERT(std::abs(heat[row] - by_flow[row]) <= round_off * 1e4);
    for (std::size_t column = 0; column < 3; ++column) {
      const double quotient = test::difference_quotient([&](double t) {
        std::vector<double> moved = x, out(3);
        moved[column] = t;
        system.residual(0.0, moved, still, out);
        return out[row];
      }, x[column]);
      const int place = system.pattern().position(static_cast<int>(row), static_cast<int>(column));
      RC_ASSERT(std::abs(quotient - (place >= 0 ? values[static_cast<std::size_t>(place)] : 0.0)) <= test::difference_error(1e4, x[column]));  // W: 1000 K over the least resistance
    }
  }
}

/// Wall 500 J/K and a store behind a front; heat into the wall.
test::NetworkSystem heated_store() {
  Network network;
  const NodeId wall = network.add(wall_node()), store = network.add(store_node("store", paraffin()));
  network.connect(wall, store, MeltFront{.contact_K_per_W = 0.01, .liquid_K_per_W = 0.1, .solid_K_per_W = 0.07}, "front");
  return test::NetworkSystem(std::move(network));
}

TEST(MeltingNode, KeepsItsBooksOverMeltingAndRefreezing) {
  test::NetworkSystem system = heated_store();
  solvers::Transient transient(system, nullptr, nullptr, {});
  const std::vector<double> begin{280.0, 280.0};
  transient.start(0.0, begin);
  // 600 kJ in: through the melt and above it; then out again to where it was.
  constexpr double power_W = 100.0, time_s = 6000.0;
  system.heat_W[0] = power_W;
  transient.start(0.0, transient.state());
  transient.advance(time_s);
  const std::vector<double> molten(transient.state().begin(), transient.state().end());
  EXPECT_EQ(system.network().melted_share(1, molten), 1.0);
  constexpr double closes_to = 1e-6;  // of the heat that passed: what the transient's own tolerance of 1e-7 allows
  EXPECT_NEAR(system.network().stored_J(begin, molten), power_W * time_s, closes_to * power_W * time_s);
  system.heat_W[0] = -power_W;
  transient.start(time_s, molten);
  transient.advance(2.0 * time_s);
  const std::vector<double> end(transient.state().begin(), transient.state().end());
  EXPECT_EQ(system.network().melted_share(1, end), 0.0);
  EXPECT_NEAR(system.network().stored_J(begin, end), 0.0, closes_to * power_W * time_s);
}

TEST(MeltingNode, HoldsItsTemperatureWhileItMelts) {
  test::NetworkSystem system = heated_store();
  system.heat_W[0] = 50.0;
  solvers::Transient transient(system, nullptr, nullptr, {});
  transient.start(0.0, std::vector<double>{300.5, 310.0});
  transient.advance(3000.0);
  EXPECT_GT(system.network().temperature_K(1, transient.state()), 300.0);
  EXPECT_LT(system.network().temperature_K(1, transient.state()), 301.0);
  EXPECT_GT(transient.state()[1], 340.0);
}

TEST(MeltingNode, HasASteadyStateWithinItsRange) {
  Network network;
  const NodeId hot = network.add({.name = "hot", .kind = NodeKind::fixed, .fixed_temperature_K = 320.0});
  const NodeId cold = network.add({.name = "cold", .kind = NodeKind::fixed, .fixed_temperature_K = 281.0});
  const NodeId store = network.add(store_node("store", paraffin()));
  network.connect(hot, store, MeltFront{.contact_K_per_W = 0.01, .liquid_K_per_W = 0.1, .solid_K_per_W = 0.07}, "hot front");
  network.connect(cold, store, MeltFront{.contact_K_per_W = 0.01, .liquid_K_per_W = 0.1, .solid_K_per_W = 0.07}, "cold front");
  const test::NetworkSystem system(std::move(network));
  const solvers::SteadySolution solution = solvers::find_steady(system, std::vector<double>{300.5}, {});
  ASSERT_TRUE(solution.found()) << solution.trouble;
  const double share = system.network().melted_share(store, solution.x);
  EXPECT_GT(share, 0.0);
  EXPECT_LT(share, 1.0);
  const std::vector<Flow> flows = system.network().flows(solution.x);
  constexpr double solved_to_W = 1e-9;
  EXPECT_NEAR(flows[0].power_W + flows[1].power_W, 0.0, solved_to_W);
}

}  // namespace tileflux::network::melting_test
