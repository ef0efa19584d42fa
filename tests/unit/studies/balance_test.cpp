#include "tileflux/studies/balance.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "support/sample_tiles.h"

namespace tileflux::studies {
namespace {

using testing::HasSubstr;

/// A residual of 1e-10 of the power over the slope 4 q / T.
constexpr double steady_K = 1e-7;

template <class Study>
Error error_of(Study&& study) {
  try {
    study();
  } catch (const Error& error) {
    return error;
  }
  return Error(Code::internal, "nothing was thrown");
}

TEST(Balance, OfAPlateIsTheFourthRootOfItsSunlight) {
  // Six printed digits at 0.3, 0.5, 1, 3 and 5 AU.
  constexpr double half_a_printed_digit_K = 5e-4;
  for (const auto& [distance_AU, expected_K] : {std::pair{0.3, 610.309}, {0.5, 472.744}, {1.0, 334.280}, {3.0, 192.997}, {5.0, 149.495}}) {
    tile::Case plate = test::plate_in_the_sun();
    plate.sun.distance_m *= distance_AU;
    const Balance result = balance(plate);
    EXPECT_NEAR(result.beam_off.x[0], expected_K, half_a_printed_digit_K);
    EXPECT_EQ(result.beam_off.regime, Regime::beam_off);
    EXPECT_FALSE(result.beam_on.has_value());
    EXPECT_LE(result.beam_off.ledger_relative, steady_ledger_bound);
  }
}

TEST(Balance, InTheDarkIsTheTemperatureOfSpace) {
  for (const double tilt_rad : {std::numbers::pi / 2.0, 2.0, std::numbers::pi}) {
    tile::Case plate = test::plate_in_the_sun();
    plate.sun.tilt_rad = tilt_rad;
    plate.space_K = 2.72548;
    EXPECT_NEAR(balance(plate).beam_off.x[0], 2.72548, 1e-3) << tilt_rad;
  }
}

TEST(Balance, OfAWholeTileWithTheSunBehindItGivesNoLight) {
  tile::Case tile = test::everything();
  tile.sun.tilt_rad = 2.0;
  const Balance result = balance(tile);
  EXPECT_EQ(result.beam_on->chain.light_out, 0.0);
  EXPECT_EQ(result.beam_on->regime, Regime::sun_limited);
  EXPECT_EQ(result.usable_laser_W, 0.0);
}

TEST(Balance, ClosesForATileWithEveryFeature) {
  const Balance result = balance(test::everything());
  for (const OperatingPoint* point : {&result.beam_off, &*result.beam_on}) {
    EXPECT_LE(point->ledger_relative, steady_ledger_bound);
    EXPECT_LT(point->error_K, 1e-6);
    EXPECT_GT(point->slowest_s, 0.0);
  }
  EXPECT_GT(result.usable_laser_W, 0.0);
}

TEST(Balance, OfLoadsThatCancelIsIsothermal) {
  tile::Case tile;
  tile.parts = {{.name = "a", .capacity_J_per_K = PropertyTable(10.0)}, {.name = "wall", .fixed_K = 300.0}};
  tile.joins = {{.a = "a", .b = "wall", .conductance_W_per_K = 3.0}};
  tile.loads = {{.node = "a", .power_W = 40.0}, {.node = "a", .power_W = -40.0}};
  EXPECT_NEAR(balance(tile).beam_off.x[0], 300.0, steady_K);
}

TEST(Balance, BetweenTwoHeldPartsCarriesFarMoreThanItsLoad) {
  tile::Case tile;
  tile.parts = {{.name = "a", .capacity_J_per_K = PropertyTable(10.0)}, {.name = "warm", .fixed_K = 400.0}, {.name = "cold", .fixed_K = 300.0}};
  tile.joins = {{.a = "a", .b = "warm", .conductance_W_per_K = 10.0}, {.a = "a", .b = "cold", .conductance_W_per_K = 10.0}};
  tile.loads = {{.node = "a", .power_W = 1e-3}};
  const OperatingPoint point = balance(tile).beam_off;
  EXPECT_NEAR(point.x[0], 350.0 + 1e-3 / 20.0, steady_K);
  EXPECT_NEAR(point.ledger.to_fixed_W, 1e-3, 1e-8);
}

TEST(Balance, OfAVeryThinLayerIsFoundToTheLastDigit) {
  tile::Case tile = test::everything();
  tile.stack->layers[1].thickness_m = 5e-6;
  tile.stack->layers[2].thickness_m = 5e-6;
  EXPECT_LT(balance(tile).beam_on->error_K, 1e-4);
}

TEST(Balance, OfATileWithoutHeatCapacityIsFoundToo) {
  tile::Case bare = test::plate_in_the_sun();
  bare.parts[0].capacity_J_per_K.reset();
  const OperatingPoint point = balance(bare).beam_off;
  EXPECT_NEAR(point.x[0], 334.280, 5e-4);
  EXPECT_EQ(point.slowest_s, 0.0);
}

TEST(Balance, RefusesAPartThatCanLoseItsHeatNowhere) {
  tile::Case tile = test::plate_in_the_sun();
  tile.parts.push_back({.name = "brick", .capacity_J_per_K = PropertyTable(10.0)});
  const Error error = error_of([&] { balance(tile); });
  EXPECT_EQ(error.code(), Code::node_isolated);
  EXPECT_THAT(error.what(), HasSubstr("'brick'"));
}

TEST(Balance, NamesTheNodesWhereHeatIsLeftOver) {
  tile::Case tile = test::plate_in_the_sun();
  tile.parts.push_back({.name = "cold_finger", .capacity_J_per_K = PropertyTable(10.0)});
  tile.joins = {{.a = "plate", .b = "cold_finger", .conductance_W_per_K = 0.1}};
  tile.loads = {{.node = "cold_finger", .power_W = -60.0}};  // more than 0.1 W/K could ever bring from 334 K
  const Error error = error_of([&] { balance(tile); });
  EXPECT_EQ(error.code(), Code::steady_not_found);
  EXPECT_THAT(error.what(), HasSubstr("cold_finger ("));
  EXPECT_THAT(error.what(), HasSubstr("plate ("));
}

tile::Case laser_tile(double resistance_K_per_W, double mount_K) {
  tile::Case tile = test::plate_in_the_sun();
  tile.parts.push_back({.name = "mount", .fixed_K = mount_K});
  tile.cells = tile::Cells{.surface = "front", .node = "plate", .efficiency = 0.3, .slope_per_K = -0.002};
  tile.lasers = {{.name = "east", .mount = "mount", .devices = {1, test::sample_diode()}, .resistance_K_per_W = resistance_K_per_W}};
  tile.beam = tile::Beam{};
  return tile;
}

TEST(Balance, IsDriveLimitedWhereAllIsWell) {
  const Balance result = balance(laser_tile(0.5, 300.0));
  EXPECT_EQ(result.beam_on->regime, Regime::drive_limited);
  EXPECT_EQ(result.usable_drive, 1.0);
  EXPECT_EQ(result.usable_laser_W, result.beam_on->chain.light_out);
  EXPECT_TRUE(result.warnings.empty());
  // The implicit junction: its heat crosses its resistance.
  const auto flows = result.beam_on->chain;
  EXPECT_NEAR(result.beam_on->x[1], 300.0 + 0.5 * (flows.bank_input[0] - flows.bank_light[0]), steady_K);
}

TEST(Balance, IsSunLimitedWhereTheCellsCannotFeedTheDrive) {
  tile::Case tile = laser_tile(0.5, 300.0);
  tile.sun.distance_m *= 4.0;
  const Balance result = balance(tile);
  EXPECT_EQ(result.beam_on->regime, Regime::sun_limited);
  EXPECT_EQ(result.beam_on->chain.undrawn, 0.0);
}

TEST(Balance, IsHeatLimitedWhereTheThrottleActs) {
  tile::Case tile = laser_tile(0.5, 300.0);
  tile.limits = {{.node = "east.junction", .below_K = 308.0, .throttle_from_K = 300.0}};
  const Balance result = balance(tile);
  EXPECT_EQ(result.beam_on->regime, Regime::heat_limited);
  EXPECT_TRUE(result.beam_on->throttling);
  EXPECT_EQ(result.beam_on->binding->node, "east.junction");
  EXPECT_TRUE(result.limits_met);
  EXPECT_GT(result.usable_laser_W, 0.0);
}

TEST(Balance, WithABrokenLimitUsesTheContinuousRating) {
  tile::Case tile = laser_tile(0.5, 300.0);
  tile.limits = {{.node = "east.junction", .below_K = 303.0}};
  const Balance result = balance(tile);
  EXPECT_EQ(result.beam_on->regime, Regime::heat_limited);
  EXPECT_FALSE(result.limits_met);
  EXPECT_GT(result.usable_drive, 0.0);
  EXPECT_LT(result.usable_drive, 1.0);
  tile.beam->drive = result.usable_drive;
  EXPECT_NEAR(balance(tile).beam_on->x[1], 303.0, 1e-6);
}

TEST(ContinuousRating, IsFullWhereNoLimitIsNear) {
  tile::TileSystem system(laser_tile(0.5, 300.0));
  const ContinuousRating rating = continuous_rating(system);
  EXPECT_EQ(rating.drive, 1.0);
  EXPECT_FALSE(rating.limited);
}

TEST(ContinuousRating, IsNoneWhereTheMountAloneIsTooWarm) {
  tile::Case tile = laser_tile(0.5, 300.0);
  tile.limits = {{.node = "mount", .below_K = 299.0}};
  tile::TileSystem system(tile);
  const tile::Mode before = system.mode();
  const ContinuousRating rating = continuous_rating(system);
  EXPECT_EQ(rating.drive, 0.0);
  EXPECT_TRUE(rating.limited);
  EXPECT_EQ(rating.binding->node, "mount");
  EXPECT_EQ(system.mode().beam, before.beam);
}

TEST(ThermalRunaway, IsWarnedOfWhereTheJunctionTakesPowerAndGivesNoLight) {
  // 270 + 12 x 43.8 = 795 K is above 740 K, where the threshold passes the rated current.
  const Balance result = balance(laser_tile(12.0, 270.0));
  EXPECT_EQ(result.beam_on->chain.light_out, 0.0);
  const bool told = std::any_of(result.warnings.begin(), result.warnings.end(), [](const Diagnostic& d) {
    return d.code == Code::thermal_runaway && d.message.find("east has run away") != std::string::npos;
  });
  EXPECT_TRUE(told);
}

TEST(ThermalRunaway, IsRefusedWhereTheLoopGainExceedsOneAtTheMountsTemperature) {
  const Error error = error_of([&] { balance(laser_tile(40.0, 300.0)); });
  EXPECT_EQ(error.code(), Code::thermal_runaway);
  EXPECT_THAT(error.what(), HasSubstr("laser east runs away"));
  EXPECT_THAT(error.what(), HasSubstr("loop gain"));
}

TEST(ThermalRunaway, IsRefusedWhereTheJunctionGoesBeyondAllBounds) {
  const Error error = error_of([&] { balance(laser_tile(1000.0, 300.0)); });
  EXPECT_EQ(error.code(), Code::thermal_runaway);
  EXPECT_THAT(error.what(), HasSubstr("laser east runs away"));
}

TEST(ThermalRunaway, OfTwoSteadyStatesIsWarnedOf) {
  // 4 K/W and a threshold that grows e-fold in 40 K: a cool state near 356 K, and 270 + 4 x 43.8 = 445 K without light.
  tile::Case tile = laser_tile(4.0, 270.0);
  std::get<devices::DiodeLaw>(tile.lasers[0].devices.law).threshold_T0_K = 40.0;
  const Balance result = balance(tile);
  ASSERT_GT(result.beam_on->chain.light_out, 0.0);
  const bool told = std::any_of(result.warnings.begin(), result.warnings.end(), [](const Diagnostic& d) {
    return d.code == Code::thermal_runaway && d.message.find("second steady state") != std::string::npos;
  });
  EXPECT_TRUE(told);
}

TEST(Regime, HasAName) {
  EXPECT_EQ(name_of(Regime::beam_off), "beam off");
  EXPECT_EQ(name_of(Regime::sun_limited), "sun-limited");
  EXPECT_EQ(name_of(Regime::heat_limited), "heat-limited");
  EXPECT_EQ(name_of(Regime::drive_limited), "drive-limited");
}

}  // namespace
}  // namespace tileflux::studies
