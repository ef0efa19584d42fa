#include "tileflux/studies/duty.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "support/sample_tiles.h"
#include "tileflux/studies/run.h"

namespace tileflux::studies {
namespace {

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

/// The burst plate in the dark with a battery that nothing asks for.
tile::Case with_battery(tile::Case plate) {
  plate.sun.tilt_rad = 2.0;
  plate.surfaces.push_back({.name = "cover", .node = "plate", .area_m2 = 1.0, .emittance = 0.0, .absorptance = 0.9, .facing = tile::Surface::Facing::front});
  plate.cells = tile::Cells{.surface = "cover", .node = "plate", .efficiency = 0.3};
  plate.battery = tile::Battery{.node = "plate", .law = {.capacity_J = 1e5, .resistance_loss_per_W = 1e-3, .most_charge_W = 50.0, .most_discharge_W = 50.0}, .start_percent = 60.0};
  return plate;
}

TEST(Recovery, DoesNotWaitForABatteryThatRests) {
  // Its charge stays at the start: no excess, yet no reason never to recover.
  tile::TileSystem system(with_battery(test::burst_plate(2500.0, 100.0)));
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

TEST(Duty, NeedsABeamAndLimits) {
  tile::Case plate = test::burst_plate(2500.0, 250.0);
  plate.limits.clear();
  tile::TileSystem unlimited(plate);
  EXPECT_THROW(duty(unlimited), Error);
  plate = test::burst_plate(2500.0, 250.0);
  plate.beam.reset();
  tile::TileSystem dark(plate);
  EXPECT_THROW(duty(dark), Error);
}

TEST(Duty, WithoutAPeriodHasNoSustainableFraction) {
  tile::Case plate = test::burst_plate(2500.0, 250.0);
  plate.beam->pattern.reset();
  tile::TileSystem system(plate);
  const Duty result = duty(system);
  EXPECT_FALSE(result.sustainable.has_value());
  EXPECT_TRUE(result.burst.length_s.has_value());
}

TEST(Duty, RatesTheDriveAtWhichTheSteadyStateJustMeetsTheLimit) {
  tile::TileSystem system(test::burst_plate(2500.0, 250.0));
  const Duty result = duty(system);
  EXPECT_NEAR(result.rating.drive, 0.88 * stefan_boltzmann_W_per_m2_K4 * std::pow(313.0, 4) / 2500.0, 1e-8);
  EXPECT_TRUE(result.feasible());
}

TEST(Duty, OfATileWhoseIdleStateBreaksALimitIsNotFeasible) {
  tile::Case plate = test::burst_plate(2500.0, 600.0);
  plate.loads[0].when = tile::Load::When::always;
  plate.limits[0].below_K = 280.0;
  tile::TileSystem system(plate);
  const Duty result = duty(system);
  EXPECT_FALSE(result.feasible());
  EXPECT_EQ(result.sustainable->fraction, 0.0);
  EXPECT_EQ(result.sustainable->binding->node, "plate");
  EXPECT_EQ(result.rating.binding->node, "plate");
}

TEST(Duty, TellsThatTheBatteryRests) {
  tile::TileSystem system(with_battery(test::burst_plate(2500.0, 100.0)));
  const Duty result = duty(system);
  EXPECT_EQ(std::count_if(result.warnings.begin(), result.warnings.end(), [](const Diagnostic& d) { return d.code == Code::battery_rests; }), 1);
  EXPECT_NEAR(result.start_x.back(), 60.0, 1e-9);
}

TEST(Duty, WarnsOfLoadsWithAPatternOfTheirOwn) {
  tile::TileSystem system(test::everything());
  const Duty result = duty(system);
  const bool told = std::any_of(result.warnings.begin(), result.warnings.end(), [](const Diagnostic& d) { return d.code == Code::pattern_contradicts; });
  EXPECT_TRUE(told);
}

}  // namespace
}  // namespace tileflux::studies
