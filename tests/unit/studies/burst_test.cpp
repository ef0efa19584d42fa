/// Bursts and recoveries against closed forms: one node that radiates, two nodes with a conductance between them, a battery at
/// constant power.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "support/sample_tiles.h"
#include "tileflux/base/constants.h"
#include "tileflux/studies/duty.h"
#include "tileflux/studies/run.h"

namespace tileflux::studies::burst_test {

/// Times are printed to 1e-4 s (bursts) and 1e-3 s (recoveries).
constexpr double half_a_printed_burst_s = 5e-5, half_a_printed_recovery_s = 5e-4;
/// Located to the accuracy of temperatures, 1e-5 K, over slopes down to 0.0068 K/s.
constexpr double located_s = 1.5e-3;

TEST(Burst, OfOneNodeHasTheClosedFormLength) {
  tile::TileSystem system(test::burst_plate(2500.0, 250.0));
  const Burst result = burst(system, {293.0});
  ASSERT_TRUE(result.length_s.has_value());
  EXPECT_NEAR(*result.length_s, 96.2468, half_a_printed_burst_s + 1e-4);
  EXPECT_EQ(result.binding->node, "plate");
  EXPECT_NEAR(*result.adiabatic_s, 1e4 * 20.0 / 2500.0, 1e-9);
  EXPECT_NEAR(result.end_x[0], 313.0, 1e-5);
}

TEST(Burst, ThatMeetsNoLimitIsUnlimited) {
  tile::Case plate = test::burst_plate(300.0, 250.0);
  tile::TileSystem system(plate);
  const Burst result = burst(system, {270.0});
  EXPECT_FALSE(result.length_s.has_value());
  EXPECT_EQ(result.binding->node, "plate");
}

TEST(Burst, FromAStateBeyondTheLimitHasNoLength) {
  tile::TileSystem system(test::burst_plate(2500.0, 250.0));
  EXPECT_EQ(burst(system, {314.0}).length_s, 0.0);
}

TEST(Burst, FromExactlyTheLimitHasNoLength) {
  tile::TileSystem system(test::burst_plate(2500.0, 250.0));
  EXPECT_EQ(burst(system, {313.0}).length_s, 0.0);
}

TEST(Recovery, OfOneNodeHasTheClosedFormTime) {
  for (const auto& [idle_W, expected_s] : {std::pair{100.0, 628.326}, {250.0, 1209.093}, {300.0, 1774.860}}) {
    tile::TileSystem system(test::burst_plate(2500.0, idle_W));
    const Recovery result = recovery(system, {293.0}, {313.0});
    ASSERT_TRUE(result.time_s.has_value()) << idle_W;
    EXPECT_NEAR(*result.time_s, expected_s, half_a_printed_recovery_s + located_s);
    EXPECT_EQ(result.node, "plate");
  }
}

TEST(Recovery, IsNeverWhereTheBackgroundHoldsTheNodeAboveItsStart) {
  tile::TileSystem system(test::burst_plate(2500.0, 370.0));
  const Recovery result = recovery(system, {293.0}, {313.0});
  EXPECT_TRUE(result.never);
  EXPECT_FALSE(result.time_s.has_value());
  EXPECT_EQ(result.node, "plate");
  EXPECT_NEAR(result.held_K, std::pow(370.0 / (0.88 * stefan_boltzmann_W_per_m2_K4), 0.25), 1e-6);
}

TEST(Recovery, FromWithinTheToleranceTakesNoTime) {
  tile::Case plate = test::burst_plate(2500.0, 250.0);
  plate.duty.recovered_within_K = 0.5;
  tile::TileSystem system(plate);
  EXPECT_EQ(recovery(system, {293.0}, {293.4}).time_s, 0.0);
}

TEST(Recovery, BeyondTheLongestWaitIsNotGiven) {
  tile::Case plate = test::burst_plate(2500.0, 250.0);
  plate.duty.longest_wait_s = 1000.0;
  tile::TileSystem system(plate);
  const Recovery result = recovery(system, {293.0}, {313.0});
  EXPECT_FALSE(result.never);
  EXPECT_FALSE(result.time_s.has_value());
}

TEST(Recovery, DoesNotWaitForABatteryThatRests) {
  // Its charge stays at the start: no excess, yet no reason never to recover.
  tile::TileSystem system(test::with_idle_battery(test::burst_plate(2500.0, 100.0)));
  const Recovery result = recovery(system, {293.0, 60.0}, {313.0, 60.0});
  EXPECT_FALSE(result.never);
  ASSERT_TRUE(result.time_s.has_value());
  EXPECT_NEAR(*result.time_s, 628.326, half_a_printed_recovery_s + located_s);
  EXPECT_EQ(result.node, "plate");
}

TEST(Recovery, OfAStoreIsToldInTemperaturesWhereItNeverComes) {
  tile::Case plate = test::burst_plate(2500.0, 420.0);
  plate.stores = {{.name = "wax", .node = "plate", .material = "wax", .mass_kg = 1.0, .area_m2 = 1.0, .thickness_m = 1e-3, .contact_W_per_m2_K = 500.0,
                   .solid_J_per_kg_K = 2000.0, .liquid_J_per_kg_K = 2200.0, .latent_J_per_kg = 1e5, .melt_K = 296.0, .range_K = 0.2,
                   .solid_W_per_m_K = 0.4, .liquid_W_per_m_K = 0.2}};
  tile::TileSystem system(plate);
  const std::vector<double> start = system.uniform_state(293.0);
  const Recovery result = recovery(system, start, system.uniform_state(313.0));
  EXPECT_TRUE(result.never);
  EXPECT_NEAR(result.held_K, std::pow(420.0 / (0.88 * stefan_boltzmann_W_per_m2_K4), 0.25), 1e-6);
}

/// Two equal nodes of heat capacity C with a conductance G between them and to nothing else, q into the first:
/// T_a - T_b = q/(2G) (1 - exp(-2Gt/C)), dT_b/dt = q/(2C) (1 - exp(-2Gt/C)), dT_a/dt = q/(2C) (1 + exp(-2Gt/C)).
constexpr double pair_J_per_K = 500.0, pair_W_per_K = 2.0, pair_W = 100.0;
constexpr double pair_s = pair_J_per_K / (2.0 * pair_W_per_K);

tile::Case heated_pair() {
  tile::Case pair;
  pair.parts = {{.name = "hot", .capacity_J_per_K = PropertyTable(pair_J_per_K)}, {.name = "cool", .capacity_J_per_K = PropertyTable(pair_J_per_K)}};
  pair.joins = {{.a = "hot", .b = "cool", .conductance_W_per_K = pair_W_per_K}};
  pair.loads = {{.node = "hot", .power_W = pair_W, .when = tile::Load::When::beam_on}};
  pair.beam = tile::Beam{};
  pair.duty.longest_wait_s = 3600.0;
  return pair;
}

/// Temperatures to 1e-6 K and rates to that over a second or so, over the slopes at which the limits are met.
constexpr double located_pair_s = 1e-3;

TEST(Burst, EndsWhereADifferenceMeetsItsLimit) {
  tile::Case pair = heated_pair();
  pair.differences = {{.a = "cool", .b = "hot", .below_K = 20.0}};
  tile::TileSystem system(pair);
  const Burst result = burst(system, {300.0, 300.0});
  ASSERT_TRUE(result.length_s);
  EXPECT_NEAR(*result.length_s, -pair_s * std::log(1.0 - 2.0 * pair_W_per_K * 20.0 / pair_W), located_pair_s);
  EXPECT_EQ(result.binding->kind, LimitKind::difference);
  EXPECT_EQ(result.binding->where(), "cool - hot");
  EXPECT_FALSE(result.next.has_value());
}

TEST(Burst, GoesOnWhereADifferenceNeverMeetsItsLimit) {
  tile::Case pair = heated_pair();
  pair.differences = {{.a = "hot", .b = "cool", .below_K = 25.1}};  // the most is q/(2G) = 25 K
  tile::TileSystem system(pair);
  const Burst result = burst(system, {300.0, 300.0});
  EXPECT_FALSE(result.length_s.has_value());
  EXPECT_NEAR(result.binding->margin, 0.1, 1e-4);
}

TEST(Burst, EndsWhereAGradientMeetsItsLimit) {
  tile::Case pair = heated_pair();
  pair.differences = {{.a = "hot", .b = "cool", .distance_m = 0.25, .gradient_below_K_per_m = 80.0}};
  tile::TileSystem system(pair);
  const Burst result = burst(system, {300.0, 300.0});
  ASSERT_TRUE(result.length_s);
  EXPECT_NEAR(*result.length_s, -pair_s * std::log(1.0 - 2.0 * pair_W_per_K * 20.0 / pair_W), located_pair_s);
  EXPECT_EQ(result.binding->kind, LimitKind::gradient);
  EXPECT_NEAR(result.binding->value, 80.0, 1e-4);
}

TEST(Burst, EndsWhereARateThatGrowsMeetsItsLimit) {
  tile::Case pair = heated_pair();
  pair.limits = {{.node = "cool", .rate_below_K_per_s = 0.06}, {.node = "hot", .below_K = 400.0}};
  tile::TileSystem system(pair);
  const Burst result = burst(system, {300.0, 300.0});
  ASSERT_TRUE(result.length_s);
  EXPECT_NEAR(*result.length_s, -pair_s * std::log(1.0 - 2.0 * pair_J_per_K * 0.06 / pair_W), located_pair_s);
  EXPECT_EQ(result.binding->kind, LimitKind::rate);
  EXPECT_EQ(result.binding->node, "cool");
  EXPECT_EQ(result.next->kind, LimitKind::temperature);
  EXPECT_EQ(result.adiabatic_limit->node, "hot");
  EXPECT_NEAR(*result.adiabatic_s, 2.0 * pair_J_per_K * 100.0 / pair_W, 1e-6);
}

TEST(Burst, HasNoLengthWhereTheFirstRateIsBeyondItsLimit) {
  // (2500 - 0.88 sigma 293^4) / 1e4 = 0.2132 K/s, and it only falls from there.
  const double first_K_per_s = (2500.0 - 0.88 * stefan_boltzmann_W_per_m2_K4 * std::pow(293.0, 4)) / 1e4;
  tile::Case plate = test::burst_plate(2500.0, 250.0);
  plate.limits[0].rate_below_K_per_s = 0.999 * first_K_per_s;
  tile::TileSystem fast(plate);
  const Burst none = burst(fast, {293.0});
  EXPECT_EQ(none.length_s, 0.0);
  EXPECT_EQ(none.binding->kind, LimitKind::rate);
  EXPECT_NEAR(none.binding->value, first_K_per_s, 1e-12);
  plate.limits[0].rate_below_K_per_s = 1.001 * first_K_per_s;
  tile::TileSystem slow(plate);
  const Burst whole = burst(slow, {293.0});
  EXPECT_EQ(whole.binding->kind, LimitKind::temperature);
  EXPECT_NEAR(*whole.length_s, 96.2468, half_a_printed_burst_s + 1e-4);
  EXPECT_EQ(whole.next->kind, LimitKind::rate);
}

TEST(Burst, FromADifferenceThatFallsFromItsLimitGoesOn) {
  tile::Case pair = heated_pair();
  pair.loads[0].power_W = 0.0;
  pair.differences = {{.a = "hot", .b = "cool", .below_K = 20.0}};
  tile::TileSystem system(pair);
  EXPECT_FALSE(burst(system, {320.0, 300.0}).length_s.has_value());
  EXPECT_EQ(burst(system, {320.5, 300.0}).length_s, 0.0);
}

/// A node of 1 kJ/K that takes 90 % of the sunlight on 1 m2 and gives nothing away, except in two windows edge-on to the Sun.
tile::Case stowed_node() {
  tile::Case node;
  node.parts = {{.name = "node", .capacity_J_per_K = PropertyTable(1000.0)}};
  node.surfaces = {{.name = "face", .node = "node", .area_m2 = 1.0, .emittance = 0.0, .absorptance = 0.9, .facing = tile::Surface::Facing::front}};
  node.stow = {{10.0, 110.0}, {120.0, 220.0}};
  node.beam = tile::Beam{};
  node.limits = {{.node = "node", .below_K = 323.0}};
  return node;
}

TEST(Burst, GoesOnThroughTheEdgesOfSurroundingsThatMove) {
  const tile::Case node = stowed_node();
  tile::TileSystem system(node);
  const double sun_W = 0.9 * node.sun.irradiance_W_per_m2();
  // Sunlit for 10 s, in the dark until 110 s, sunlit again.
  const double lit_s = 23.0 * 1000.0 / sun_W;
  ASSERT_GT(lit_s, 10.0);
  ASSERT_LT(lit_s, 20.0);
  const Burst result = burst(system, {300.0});
  ASSERT_TRUE(result.length_s);
  EXPECT_NEAR(*result.length_s, 100.0 + lit_s, 1e-3);
}

TEST(Burst, EndsAtAnEdgeWhereARateJumpsBeyondItsLimit) {
  tile::Case node = stowed_node();
  node.stow = {{0.0, 50.0}};
  node.limits = {{.node = "node", .rate_below_K_per_s = 1.0}};  // 1.2 K/s in the sun
  tile::TileSystem system(node);
  const Burst result = burst(system, {300.0});
  ASSERT_TRUE(result.length_s);
  EXPECT_NEAR(*result.length_s, 50.0, 1e-9);
  EXPECT_EQ(result.binding->kind, LimitKind::rate);
}

/// In the dark a bank of 30 W lives on a battery that gives at most 60 W and less over the last 10 % above 20 %. The loss is
/// P^2/1000, so the store loses 30.9 W; half of the most is given where half of the width is left, at 25 %.
tile::Case lit_by_battery(double capacity_J) {
  tile::Case tile;
  tile.sun.tilt_rad = 2.0;
  tile.parts = {{.name = "node", .capacity_J_per_K = PropertyTable(1000.0)}, {.name = "wall", .fixed_K = 300.0}};
  tile.joins = {{.a = "node", .b = "wall", .conductance_W_per_K = 5.0}};
  tile.surfaces = {{.name = "face", .node = "node", .area_m2 = 1.0, .emittance = 0.01, .absorptance = 0.9, .facing = tile::Surface::Facing::front}};
  tile.cells = tile::Cells{.surface = "face", .node = "node", .efficiency = 0.3};
  tile.lasers = {{.name = "bank", .mount = "wall", .devices = {1, devices::EfficiencyLaw{30.0, {250.0, 350.0}, {0.1, 1.0}, {0.5, 0.5, 0.5, 0.5}}}, .resistance_K_per_W = 0.1}};
  tile.battery = tile::Battery{.node = "node",
                               .law = {.capacity_J = capacity_J, .resistance_loss_per_W = 1e-3, .most_charge_W = 50.0, .most_discharge_W = 60.0, .taper_percent = 10.0,
                                       .least_percent = 20.0, .derating_percent = 10.0},
                               .start_percent = 90.0, .least_percent = 20.0};
  tile.limits = {{.node = "node", .below_K = 310.0}};
  tile.beam = tile::Beam{};
  tile.start.temperature_K = 300.0;
  tile.duty.recovered_within_K = 50.0;
  return tile;
}
constexpr double lit_W = 30.0, drain_W = lit_W + 1e-3 * lit_W * lit_W;
/// A charge is carried to 1e-8 of 100 percent, and some hundred steps add up.
constexpr double charge_percent = 1e-4;

TEST(Burst, EndsWhereTheBatteryNoLongerFeedsTheDrive) {
  constexpr double capacity_J = 1e5;
  tile::TileSystem system(lit_by_battery(capacity_J));
  const Burst result = burst(system, {300.0, 300.0, 90.0});
  ASSERT_TRUE(result.length_s);
  EXPECT_NEAR(*result.length_s, (90.0 - 25.0) / 100.0 * capacity_J / drain_W, charge_percent / 100.0 * capacity_J / drain_W);
  EXPECT_EQ(result.binding->kind, LimitKind::charge);
  EXPECT_EQ(result.binding->node, "battery");
  EXPECT_NEAR(result.binding->value, 25.0, charge_percent);
  EXPECT_EQ(result.next->kind, LimitKind::temperature);
  EXPECT_NEAR(result.light_J, 15.0 * *result.length_s, 1e-3);
}

TEST(Burst, OnALargeBatteryEndsByHeatFirst) {
  tile::Case tile = lit_by_battery(1e7);
  tile.loads = {{.node = "node", .power_W = 100.0, .when = tile::Load::When::beam_on}};
  tile::TileSystem system(tile);
  const Burst result = burst(system, {300.0, 300.0, 90.0});
  ASSERT_TRUE(result.length_s);
  EXPECT_EQ(result.binding->kind, LimitKind::temperature);
  EXPECT_EQ(result.next->kind, LimitKind::charge);
}

TEST(Burst, WhoseDriveIsNotDeliveredAtTheBeginningDoesNotEndByIt) {
  tile::Case tile = lit_by_battery(1e5);
  tile.lasers[0].devices.law = devices::EfficiencyLaw{70.0, {250.0, 350.0}, {0.1, 1.0}, {0.5, 0.5, 0.5, 0.5}};
  tile.duty.longest_wait_s = 3600.0;
  tile::TileSystem system(tile);
  EXPECT_FALSE(burst(system, {300.0, 300.0, 90.0}).length_s.has_value());
}

TEST(Burst, OfATileWhoseBatteryDoesNotFeedItsLasersLeavesItAtRest) {
  tile::Case tile = lit_by_battery(1e5);
  tile.battery->feeds_lasers = false;
  tile.duty.longest_wait_s = 3600.0;
  tile::TileSystem system(tile);
  EXPECT_FALSE(battery_acts(system));
  const Burst result = burst(system, {300.0, 300.0, 90.0});
  EXPECT_FALSE(result.length_s.has_value());
  EXPECT_NEAR(result.end_x.back(), 90.0, charge_percent);
}

/// Sunlit: 50 W at the battery's terminals until the taper begins at 90 %, of which 47.5 W are stored.
TEST(Recovery, OfABatteryAtConstantPowerTakesItsEnergyOverThatPower) {
  constexpr double capacity_J = 1e5, stored_W = 50.0 - 1e-3 * 50.0 * 50.0;
  tile::Case tile = lit_by_battery(capacity_J);
  tile.sun.tilt_rad = 0.0;
  tile.duty.charge_within_percent = 1.0;
  tile.duty.recovered_within_K = 500.0;  // a node in the sun is hot; what is looked at is the charge
  tile.joins[0].conductance_W_per_K = 50.0;
  tile::TileSystem system(tile);
  const Recovery result = recovery(system, {300.0, 300.0, 90.0}, {300.0, 300.0, 40.0});
  ASSERT_TRUE(result.time_s) << result.node;
  EXPECT_NEAR(*result.time_s, (89.0 - 40.0) / 100.0 * capacity_J / stored_W, charge_percent / 100.0 * capacity_J / stored_W);
  EXPECT_EQ(result.node, "battery");
  EXPECT_NEAR(result.charging_W, stored_W, 1e-9);
  tile.duty.charge_within_percent = 50.0;
  tile::TileSystem lenient(tile);
  EXPECT_EQ(recovery(lenient, {300.0, 300.0, 90.0}, {300.0, 300.0, 40.0}).time_s, 0.0);
}

TEST(Recovery, IsNeverWhereTheSunDoesNotFeedHousekeeping) {
  tile::Case tile = lit_by_battery(1e5);
  tile.housekeeping = tile::Housekeeping{"node", 5.0};
  tile::TileSystem dark(tile);
  const Recovery never = recovery(dark, {300.0, 300.0, 90.0}, {300.0, 300.0, 40.0});
  EXPECT_TRUE(never.never);
  EXPECT_EQ(never.node, "battery");
  EXPECT_NEAR(never.charging_W, -(5.0 + 1e-3 * 25.0), 1e-9);
  EXPECT_FALSE(never.time_s.has_value());
}

}  // namespace tileflux::studies::burst_test
