#include "tileflux/network/heat_pipe.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "support/network_system.h"
#include "support/random_values.h"
#include "tileflux/solvers/steady.h"
#include "tileflux/solvers/transient.h"

namespace tileflux::network::heat_pipe_test {

/// Products and quotients of a few doubles.
constexpr double round_off = 1e-14;

/// Rows of an invented fluid that freezes at 195 K: 120 W m at most.
PropertyTable capability() { return PropertyTable({195.0, 215.0, 280.0, 340.0, 360.0}, {0.0, 80.0, 120.0, 50.0, 0.0}); }
VapourTransport two_pipes() { return vapour_transport(2, capability(), 0.8, 500.0); }

TEST(VapourTransport, ConductsBelowItsLimit) {
  EXPECT_DOUBLE_EQ(two_pipes().flow(280.1, 280.0), 1000.0 * (280.1 - 280.0));
}

TEST(VapourTransport, CarriesNoMoreThanItsWeakestSectionAllows) {
  // 2 pipes, 0.8 m: at 280 K 2 x 120/0.8 = 300 W; at 290 K 2 x (120 - 70/6)/0.8.
  EXPECT_NEAR(two_pipes().flow(290.0, 280.0), 2.0 * (120.0 - 70.0 / 6.0) / 0.8, 300.0 * round_off);
  EXPECT_NEAR(two_pipes().flow(280.0, 250.0), 2.0 * (80.0 + 40.0 * 35.0 / 65.0) / 0.8, 300.0 * round_off);
}

TEST(VapourTransport, CarriesNothingOutsideItsTable) {
  EXPECT_EQ(two_pipes().flow(190.0, 180.0), 0.0);
  EXPECT_EQ(two_pipes().flow(400.0, 370.0), 0.0);
  EXPECT_EQ(two_pipes().flow(280.0, 190.0), 0.0);  // the liquid is frozen in the condenser
  EXPECT_EQ(two_pipes().flow(365.0, 280.0), 0.0);  // no liquid in the evaporator
}

TEST(VapourTransport, WithNoPipeLeftCarriesNothing) {
  EXPECT_EQ(vapour_transport(0, capability(), 0.8, 500.0).flow(281.0, 280.0), 0.0);
}

TEST(VapourTransport, WithOnePipeOutKeepsItsShare) {
  const VapourTransport all = two_pipes(), one = vapour_transport(1, capability(), 0.8, 500.0);
  EXPECT_NEAR(one.flow(300.0, 280.0), 0.5 * all.flow(300.0, 280.0), 300.0 * round_off);
  EXPECT_NEAR(one.flow(280.01, 280.0), 0.5 * all.flow(280.01, 280.0), 300.0 * round_off);
}

RC_GTEST_PROP(VapourTransport, CarriesTheOppositeWithItsEndsExchanged, ()) {
  const double a = test::temperature_between(150, 400), b = test::temperature_between(150, 400);
  RC_ASSERT(two_pipes().flow(a, b) == -two_pipes().flow(b, a));
  RC_ASSERT(two_pipes().flow(a, b) * (a - b) >= 0.0);
}

RC_GTEST_PROP(VapourTransport, HasDerivativesThatEqualDifferenceQuotients, ()) {
  // Half of the pairs within the working difference, half beyond the limit.
  const double b = test::temperature_between(150, 400);
  const double a = *rc::gen::arbitrary<bool>() ? b + test::between(-0.5, 0.5) : test::temperature_between(150, 400);
  const VapourTransport law = two_pipes();
  const auto at_kink = [&](double x_K) {
    for (const double row : {195.0, 215.0, 280.0, 340.0, 360.0}) {
      if (std::abs(x_K - row) < 2.0 * test::difference_step(x_K)) return true;
    }
    return false;
  };
  const double to_clip_W = std::abs(law.axial_W_per_K * (a - b)) - law.limit_W(a, b);
  const double step_W = law.axial_W_per_K * 2.0 * test::difference_step(400.0);
  RC_PRE(!at_kink(a) && !at_kink(b) && std::abs(to_clip_W) > step_W);
  RC_PRE(std::abs(law.greatest_W.value(a) - law.greatest_W.value(b)) > steepest_limit_W_per_K(law) * 2.0 * test::difference_step(400.0) ||
         to_clip_W < 0.0 || law.limit_W(a, b) == 0.0);
  const Dual<2> q = law.flow(variable<2>(a, 0), variable<2>(b, 1));
  const double error = test::difference_error(law.axial_W_per_K * 400.0, 150.0);
  RC_ASSERT(q.value() == law.flow(a, b));
  RC_ASSERT(std::abs(q.derivatives()[0] - test::difference_quotient([&](double t) { return law.flow(t, b); }, a)) <= error);
  RC_ASSERT(std::abs(q.derivatives()[1] - test::difference_quotient([&](double t) { return law.flow(a, t); }, b)) <= error);
}

TEST(VapourTransport, BeyondItsLimitHasTheDerivativeOfTheLimit) {
  const Dual<2> q = two_pipes().flow(variable<2>(300.0, 0), variable<2>(285.0, 1));
  EXPECT_NEAR(q.derivatives()[0], 2.0 / 0.8 * (50.0 - 120.0) / 60.0, 10.0 * round_off);  // the warm end is the weaker one
  EXPECT_EQ(q.derivatives()[1], 0.0);
}

TEST(VapourTransport, RefusesTablesAndSizesThatAreNone) {
  const auto code_of = [](auto make) {
    try {
      make();
    } catch (const Error& error) {
      return error.code();
    }
    return Code::internal;
  };
  const PropertyTable open_below({200.0, 300.0}, {10.0, 0.0}), negative({200.0, 250.0, 300.0}, {0.0, -1.0, 0.0});
  EXPECT_EQ(code_of([&] { vapour_transport(1, PropertyTable(100.0), 1.0, 1.0); }), Code::table_shape);
  EXPECT_EQ(code_of([&] { vapour_transport(1, open_below, 1.0, 1.0); }), Code::value_out_of_range);
  EXPECT_EQ(code_of([&] { vapour_transport(1, negative, 1.0, 1.0); }), Code::value_out_of_range);
  EXPECT_EQ(code_of([&] { vapour_transport(-1, capability(), 1.0, 1.0); }), Code::value_out_of_range);
  EXPECT_EQ(code_of([&] { vapour_transport(1, capability(), 0.0, 1.0); }), Code::value_out_of_range);
  EXPECT_EQ(code_of([&] { vapour_transport(1, capability(), 1.0, 0.0); }), Code::value_out_of_range);
}

TEST(VapourTransport, KnowsItsSteepestSlope) {
  EXPECT_NEAR(steepest_limit_W_per_K(two_pipes()), 2.0 / 0.8 * 4.0, 10.0 * round_off);  // 80 W m over 20 K
}

/// Evaporator wall - vapour - vapour - condenser wall, the walls held.
test::NetworkSystem pipe_between(double hot_K, double cold_K, VapourTransport law) {
  Network network;
  const NodeId hot = network.add({.name = "hot", .kind = NodeKind::fixed, .fixed_temperature_K = hot_K});
  const NodeId a = network.add({.name = "evaporator vapour", .kind = NodeKind::massless});
  const NodeId b = network.add({.name = "condenser vapour", .kind = NodeKind::massless});
  const NodeId cold = network.add({.name = "cold", .kind = NodeKind::fixed, .fixed_temperature_K = cold_K});
  network.connect(hot, a, Conductance{40.0}, "evaporator");
  network.connect(a, b, std::move(law), "vapour");
  network.connect(b, cold, Conductance{60.0}, "condenser");
  return test::NetworkSystem(std::move(network));
}

double carried_W(const test::NetworkSystem& system) {
  const solvers::SteadySolution solution = solvers::find_steady(system, std::vector<double>{280.0, 280.0}, {});
  EXPECT_TRUE(solution.found()) << solution.trouble;
  return system.network().flows(solution.x)[0].power_W;
}

/// What the steady solver leaves of a residual, times a few.
constexpr double solved_to_W = 1e-9;

TEST(HeatPipe, BelowItsLimitIsThreeResistancesInSeries) {
  EXPECT_NEAR(carried_W(pipe_between(285.0, 275.0, two_pipes())), 10.0 / (1.0 / 40.0 + 1.0 / 1000.0 + 1.0 / 60.0), solved_to_W);
}

TEST(HeatPipe, BeyondItsLimitCarriesTheLimitOfItsHotEnd) {
  // Ta from 40 (340 - Ta) = 2.5 (120 - (Ta - 280) 70/60).
  const double per_K = 2.5 * 70.0 / 60.0;
  const double a_K = (40.0 * 340.0 - 2.5 * 120.0 - per_K * 280.0) / (40.0 - per_K);
  EXPECT_NEAR(carried_W(pipe_between(340.0, 270.0, two_pipes())), 40.0 * (340.0 - a_K), 1e3 * solved_to_W);
}

TEST(HeatPipe, FrozenCarriesNothing) { EXPECT_NEAR(carried_W(pipe_between(190.0, 150.0, two_pipes())), 0.0, solved_to_W); }

/// A heated lump on the evaporator of a pipe whose condenser is held at 270 K.
struct HeatedPipe {
  test::NetworkSystem system{[] {
    Network network;
    const NodeId hot = network.add({.name = "hot", .capacity_J_per_K = PropertyTable(1000.0)});
    const NodeId a = network.add({.name = "evaporator vapour", .kind = NodeKind::massless});
    const NodeId b = network.add({.name = "condenser vapour", .kind = NodeKind::massless});
    const NodeId cold = network.add({.name = "cold", .kind = NodeKind::fixed, .fixed_temperature_K = 270.0});
    network.connect(hot, a, Conductance{40.0}, "evaporator");
    network.connect(a, b, two_pipes(), "vapour");
    network.connect(b, cold, Conductance{60.0}, "condenser");
    return network;
  }()};
  solvers::Transient transient{system, nullptr, nullptr, {}};
  std::vector<double> x{270.0, 270.0, 270.0};

  void heat(double power_W, double for_s) {
    system.heat_W[0] = power_W;
    transient.start(transient.time_s(), x);
    transient.advance(transient.time_s() + for_s);
    x.assign(transient.state().begin(), transient.state().end());
  }
  double carried_W() const { return system.network().flows(x)[0].power_W; }
};

TEST(HeatPipe, RunsDryUnderTooMuchHeatAndStaysDry) {
  HeatedPipe pipe;
  constexpr double settled_W = 1e-3;  // e-folds of 1000 J/K over 24 W/K in 2000 s leave nothing; the transient's 1e-5 K does
  pipe.heat(280.0, 2000.0);
  EXPECT_NEAR(pipe.carried_W(), 280.0, settled_W);
  pipe.heat(330.0, 4000.0);
  EXPECT_GT(pipe.x[1], 360.0);
  EXPECT_NEAR(pipe.carried_W(), 0.0, settled_W);
  pipe.heat(50.0, 1000.0);  // far below the limit, but there is no liquid where it is hot
  EXPECT_NEAR(pipe.carried_W(), 0.0, settled_W);
}

TEST(HeatPipe, RecoversFromTooMuchHeatInTime) {
  HeatedPipe pipe;
  constexpr double settled_W = 1e-3;
  pipe.heat(330.0, 600.0);
  EXPECT_LT(pipe.carried_W(), 310.0);
  EXPECT_LT(pipe.x[1], 340.0);
  pipe.heat(100.0, 4000.0);
  EXPECT_NEAR(pipe.carried_W(), 100.0, settled_W);
}

TEST(EffectiveLength, TakesHalfOfBothEnds) { EXPECT_DOUBLE_EQ(effective_length_m(0.4, 0.6, 0.8), 1.2); }

TEST(CapillaryLimit, FallsToNothingWhereGravityHoldsTheLiquid) {
  const PipeLiquid water{958.0, 279e-6, 58.9e-3, 2.26e6};
  const Wick wick{5.65e-6, 0.3e-10, 20e-6};
  const double suction_Pa = 2.0 * 58.9e-3 / 20e-6;
  EXPECT_GT(capillary_limit_W(water, wick, 0.3), 0.0);
  EXPECT_NEAR(capillary_limit_W(water, wick, 0.3, 0.5 * suction_Pa), 0.5 * capillary_limit_W(water, wick, 0.3), 100.0 * round_off);
  EXPECT_EQ(capillary_limit_W(water, wick, 0.3, 1.1 * suction_Pa), 0.0);
  EXPECT_NEAR(capillary_limit_W(water, wick, 0.6), 0.5 * capillary_limit_W(water, wick, 0.3), 100.0 * round_off);
}

TEST(CapillaryLimit, IsTheMeritTimesTheWick) {
  const PipeLiquid water{958.0, 279e-6, 58.9e-3, 2.26e6};
  const Wick wick{5.65e-6, 0.3e-10, 20e-6};
  const double by_merit = liquid_merit_W_per_m2(water) * 2.0 * wick.permeability_m2 * wick.area_m2 / (wick.pore_radius_m * 0.3);
  EXPECT_NEAR(capillary_limit_W(water, wick, 0.3), by_merit, 100.0 * round_off);
}

}  // namespace tileflux::network::heat_pipe_test
