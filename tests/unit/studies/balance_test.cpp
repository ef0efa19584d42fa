#include "tileflux/studies/balance.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "support/sample_tiles.h"
#include "tileflux/studies/sweep.h"
#include "tileflux/tile/case_reader.h"

namespace tileflux::studies::balance_test {

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
  EXPECT_NEAR(result.beam_on->x[1], 300.0 + 0.5 * (flows.bank[0].input - flows.bank[0].light), steady_K);
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

TEST(Balance, FindsTheRollOverThatASearchOverTheDriveFinds) {
  tile::Case tile = laser_tile(5.0, 300.0);
  tile.lasers[0].devices.remaining = 0.9;
  const Balance full = balance(tile);
  ASSERT_EQ(full.roll_over.size(), 1u);
  ASSERT_TRUE(full.roll_over[0]);
  const auto light_at = [&](double drive) {
    tile::Case other = tile;
    other.beam->drive = drive;
    return balance(other).beam_on->chain.light_out;
  };
  const double most_W = light_at(full.roll_over[0]->drive);
  EXPECT_NEAR(most_W, full.roll_over[0]->light_W, 1e-6);  // steady temperatures of 1e-6 K times less than a watt a kelvin
  EXPECT_LT(light_at(0.97 * full.roll_over[0]->drive), most_W);
  EXPECT_LT(light_at(1.03 * full.roll_over[0]->drive), most_W);
}

TEST(Balance, TellsOfALaserThatRunsBeyondItsRollOver) {
  const auto told = [](double drive) {
    tile::Case tile = laser_tile(5.0, 300.0);
    tile.beam->drive = drive;
    const Balance result = balance(tile);
    return std::count_if(result.warnings.begin(), result.warnings.end(), [](const Diagnostic& d) { return d.code == Code::roll_over_passed; });
  };
  const double drive = balance(laser_tile(5.0, 300.0)).roll_over[0]->drive;
  EXPECT_EQ(told(1.02 * drive), 1);
  EXPECT_EQ(told(0.98 * drive), 0);
}

TEST(Balance, OfAStackInZonesUnderOneSunIsThatOfOneZone) {
  tile::Case tile = test::everything_else();
  // Everything that touches the stack does so by shares; the cells' slope works zone by zone, which here are alike.
  tile::Case one = tile;
  one.stack->zones.clear();
  tile::TileSystem zoned(tile), plain(one);
  const Balance two_zones = balance(zoned), one_zone = balance(plain);
  for (network::NodeId id = 0; id < plain.network().node_count(); ++id) {
    const std::string& name = plain.network().node(id).name;
    for (const tile::TileSystem::Member& member : zoned.members(name, "the test")) {
      EXPECT_NEAR(zoned.network().temperature_K(member.node, two_zones.beam_on->x), plain.network().temperature_K(id, one_zone.beam_on->x), steady_K) << name;
    }
  }
  EXPECT_NEAR(two_zones.usable_laser_W, one_zone.usable_laser_W, steady_K);
}

TEST(Balance, OfTwoZonesApartFollowsTheLateralConductance) {
  // Two halves of a sheet, one heated by 10 W: what crosses the border is k t border / distance times their difference.
  tile::Case sheet;
  sheet.space_K = 0.0;
  const tile::Material metal{"metal", 2700.0, PropertyTable(900.0), PropertyTable(150.0)};
  sheet.stack = tile::Stack{.area_m2 = 0.2, .layers = {{.name = "sheet", .material = metal, .thickness_m = 2e-3}}, .zones = {{"lit", 0.5}, {"dark", 0.5}}, .border_m = 0.3, .distance_m = 0.4};
  sheet.surfaces = {{.name = "face", .node = "sheet", .area_m2 = 0.2, .emittance = 0.8}};
  sheet.loads = {{.node = "sheet.lit", .power_W = 40.0}};
  const Balance result = balance(sheet);
  const double lit_K = result.beam_off.x[0], dark_K = result.beam_off.x[1];
  const double across_W = 150.0 * 2e-3 * 0.3 / 0.4 * (lit_K - dark_K);
  const double emission = 0.08 * stefan_boltzmann_W_per_m2_K4;
  EXPECT_GT(lit_K, dark_K + 1.0);
  EXPECT_NEAR(emission * std::pow(dark_K, 4), across_W, steady_K);
  EXPECT_NEAR(emission * std::pow(lit_K, 4), 40.0 - across_W, steady_K);
}

TEST(Balance, AveragesThermostatsOverTheirDeadBand) {
  tile::Case tile;
  tile.parts = {{.name = "node", .capacity_J_per_K = PropertyTable(200.0)}, {.name = "wall", .fixed_K = 250.0}};
  tile.joins = {{.a = "node", .b = "wall", .conductance_W_per_K = 2.0}};
  tile.heaters = {{.name = "keeper", .node = "node", .sensor = "node", .power_W = 120.0, .on_below_K = 280.0, .off_above_K = 290.0}};
  // 120 W (290 K - T) / 10 K = 2 W/K (T - 250 K).
  const double expected_K = (120.0 * 29.0 + 2.0 * 250.0) / (12.0 + 2.0);
  const Balance result = balance(tile);
  EXPECT_NEAR(result.beam_off.x[0], expected_K, steady_K);
  EXPECT_NEAR(result.beam_off.chain.heaters, 2.0 * (expected_K - 250.0), steady_K);
  EXPECT_NEAR(result.beam_off.ledger.fed_W, result.beam_off.chain.heaters, steady_K);
}

TEST(Balance, LeavesTheBatteryAtItsCharge) {
  const Balance result = balance(test::everything_else());
  EXPECT_NEAR(result.beam_on->x.back(), 75.0, 1e-9);
  EXPECT_EQ(result.beam_on->chain.battery_power, 0.0);
  EXPECT_EQ(result.beam_on->ledger.to_battery_W, 0.0);
}

TEST(Balance, WithADeadStringIsHotterOnTheSunSideAndDimmer) {
  // Lasers are fed elsewhere: what they do not take stays in the cells.
  tile::Case sound = laser_tile(0.5, 300.0);
  sound.lasers[0].devices.modules = 3;
  tile::Case broken = sound;
  broken.failures = {{.at_s = 0.0, .what = tile::Failure::What::dead_modules, .where = "east", .value = 1.0}};
  const Balance all = balance(sound), two = balance(broken);
  EXPECT_GT(two.beam_on->x[0], all.beam_on->x[0] + 1.0);
  EXPECT_LT(two.usable_laser_W, all.usable_laser_W);
  EXPECT_NEAR(two.beam_off.x[0], all.beam_off.x[0], steady_K);
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

TEST(ContinuousRating, IsFoundWhereOnlyDrivesWithinItsGridAreAllowed) {
  // The beam cools one plate and heats the other: allowed from 51.2 to 53.8 % drive.
  constexpr double limit_K = 320.0, from = 0.512, to = 0.538, swing_W = 400.0;
  const double radiated_W = 0.9 * stefan_boltzmann_W_per_m2_K4 * std::pow(limit_K, 4.0);
  tile::Case two;
  two.space_K = 0.0;
  for (const char* name : {"cooled", "heated"}) {
    two.parts.push_back({.name = name});
    two.surfaces.push_back({.name = name, .node = name, .area_m2 = 1.0, .emittance = 0.9});
    two.limits.push_back({.node = name, .below_K = limit_K});
  }
  two.loads = {{.node = "cooled", .power_W = radiated_W + from * swing_W},
               {.node = "cooled", .power_W = -swing_W, .when = tile::Load::When::beam_on},
               {.node = "heated", .power_W = radiated_W - to * swing_W},
               {.node = "heated", .power_W = swing_W, .when = tile::Load::When::beam_on}};
  two.beam = tile::Beam{};
  const auto rating_of = [](const tile::Case& description) {
    tile::TileSystem system(description);
    return continuous_rating(system);
  };
  const ContinuousRating rating = rating_of(two);
  constexpr double bracket = 1e-9;
  EXPECT_NEAR(rating.drive, to, bracket);
  EXPECT_TRUE(rating.limited);
  EXPECT_EQ(rating.binding->node, "heated");
  two.loads[0].power_W += 20.0;  // now from 56.2 %, which is more than 53.8
  EXPECT_EQ(rating_of(two).drive, 0.0);
}

TEST(HeatersOfABalance, AreWhatTheBusGivesThemInTheirOwnState) {
  const materials::Library library = materials::read_library(TILEFLUX_PROJECT_DIR "/materials");
  const tile::Case description = tile::read_case_text(R"(tileflux: 1
title: lasers are fed before heaters
sun: {distance: 2 AU}
parts: {panel: {heat_capacity: 3 kJ/K}, box: {heat_capacity: 1 kJ/K}}
joins: [{between: [panel, box], conductance: 0.2 W/K}]
surfaces:
  front: {on: panel, area: 1 m2, emittance: 85 %, absorptance: 90 %, sunlit: yes}
  rear: {on: panel, area: 1 m2, emittance: 88 %}
cells: {surface: front, on: panel, efficiency: 30 %, slope: 0 %/K}
conditioning: {on: box}
bus: {priorities: [housekeeping, lasers, heaters, charging], lowest_voltage: 24 V}
heaters: {warm: {on: box, power: 30 W, on_below: 0 degC, off_above: 10 degC}}
lasers: {main: {mount: panel, modules: 4, resistance: 0.5 K/W, table: {rated_input: 80 W, efficiency: 50 %}}}
limits: {panel: {below: 400 K}}
beam: {drive: 100 %}
)",
                                                        "case.yaml", library)
                                     .description;
  tile::TileSystem system(description);
  const Balance found = balance(system);
  ASSERT_EQ(found.beam_off.heater_W.size(), 1u);
  // The books of the chain at the same state: what heaters take of the bus.
  EXPECT_NEAR(found.beam_off.heater_W[0], found.beam_off.chain.heaters, 1e-9);
  EXPECT_GT(found.beam_off.heater_W[0], 5.0);
  EXPECT_NEAR(found.beam_on->heater_W[0], found.beam_on->chain.heaters, 1e-9);
  EXPECT_LT(found.beam_on->heater_W[0], 0.1);
  // The tile is left with the beam on: read of it, the state without would be told that its heater is off.
  EXPECT_LT(system.heater_powers_W(found.beam_off.x)[0], 0.1);
  const Sweep swept = sweep([&](double) { return description; }, std::vector<double>{1.0}, {.duty = false, .tilt = false});
  ASSERT_FALSE(swept.points[0].trouble);
  EXPECT_NEAR(swept.points[0].heater_off_W[0], found.beam_off.chain.heaters, 1e-9);
}

}  // namespace tileflux::studies::balance_test
