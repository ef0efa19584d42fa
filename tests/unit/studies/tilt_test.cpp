#include "tileflux/studies/tilt.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "support/swept_plates.h"

namespace tileflux::studies::tilt_test {

using Need = TiltNeeded::Need;

constexpr double limit_K = 350.0;
/// Steady states close to 1e-12 of the power that meets the tile when it faces the Sun: 1e-12 of the cosine, which grazing
/// light turns into some 1e-11 of the tilt.
constexpr double tilt_within_rad = 1e-9;

double degrees(double angle_rad) { return 180.0 / std::numbers::pi * angle_rad; }

TEST(TiltNeeded, IsThatOfTheClosedForm) {
  for (const double distance_AU : {0.3, 0.5, 0.7, 0.9}) {
    const TiltNeeded needed = tilt_needed(test::at_distance(test::limited_plate(limit_K), distance_AU));
    EXPECT_EQ(needed.need, Need::tilted);
    EXPECT_FALSE(needed.beam);
    EXPECT_EQ(needed.limit->node, "plate");
    EXPECT_NEAR(needed.tilt_rad, test::tilt_of_rad(limit_K, distance_AU), tilt_within_rad) << distance_AU;
    EXPECT_EQ(needed.off_rad, needed.tilt_rad);
    EXPECT_FALSE(needed.on_rad.has_value());
  }
}

TEST(TiltNeeded, KeepsTheLimitAndNoMore) {
  const TiltNeeded needed = tilt_needed(test::at_distance(test::limited_plate(limit_K), 0.4));
  EXPECT_GE(needed.limit->margin, 0.0);
  constexpr double next_to_nothing_K = 1e-6;
  EXPECT_LE(needed.limit->margin, next_to_nothing_K);
}

/// With a tenth of the sunlight met leaving as light, 350 K are held at 83.0, 77.5, 70.2 and 48.5 deg. With the beam off all
/// of it stays, so that state asks for more.
TEST(TiltNeeded, IsAskedForByTheBeamThatIsOffWhereLightCoolsTheTile) {
  constexpr double half_a_digit_deg = 0.05;
  const double published[][2] = {{0.3, 83.0}, {0.4, 77.5}, {0.5, 70.2}, {0.7, 48.5}};
  for (const auto& [distance_AU, tilt_deg] : published) {
    tile::Case plate = test::at_distance(test::limited_plate(limit_K), distance_AU);
    test::export_a_tenth(plate);
    const TiltNeeded needed = tilt_needed(plate);
    EXPECT_NEAR(degrees(needed.on_rad.value()), tilt_deg, half_a_digit_deg) << distance_AU;
    EXPECT_NEAR(needed.on_rad.value(), test::tilt_of_rad(limit_K, distance_AU, test::absorbed_share - 0.1), tilt_within_rad);
    EXPECT_NEAR(needed.off_rad.value(), test::tilt_of_rad(limit_K, distance_AU), tilt_within_rad);
    EXPECT_EQ(needed.tilt_rad, needed.off_rad.value());
    EXPECT_FALSE(needed.beam);
  }
}

TEST(TiltNeeded, IsAskedForByTheBeamThatIsOnWhereItHeats) {
  tile::Case plate = test::at_distance(test::limited_plate(limit_K), 0.8);
  constexpr double heat_W = 300.0;
  plate.loads.push_back({.node = "plate", .power_W = heat_W, .when = tile::Load::When::beam_on});
  plate.beam = tile::Beam{};
  const TiltNeeded needed = tilt_needed(plate);
  EXPECT_TRUE(needed.beam);
  const double radiated_W = test::emitted_share * stefan_boltzmann_W_per_m2_K4 * std::pow(limit_K, 4.0);
  const double facing_W = test::absorbed_share * solar_irradiance_at_1AU_W_per_m2 / (0.8 * 0.8);
  EXPECT_NEAR(needed.tilt_rad, std::acos((radiated_W - heat_W) / facing_W), tilt_within_rad);
  EXPECT_LT(needed.off_rad.value(), needed.on_rad.value());
}

TEST(TiltNeeded, DoesNotDependOnTheTiltOfTheCase) {
  tile::Case plate = test::at_distance(test::limited_plate(limit_K), 0.5);
  const double facing = tilt_needed(plate).tilt_rad;
  plate.sun.tilt_rad = 1.2;
  EXPECT_EQ(tilt_needed(plate).tilt_rad, facing);
}

TEST(TiltNeeded, IsNoneWhereTheTileMayFaceTheSun) {
  const TiltNeeded needed = tilt_needed(test::limited_plate(limit_K));
  EXPECT_EQ(needed.need, Need::none);
  EXPECT_EQ(needed.tilt_rad, 0.0);
}

TEST(TiltNeeded, HasNothingToSayWithoutUpperLimits) {
  tile::Case plate = test::at_distance(test::plate_in_the_sun(), 0.3);
  EXPECT_EQ(tilt_needed(plate).need, Need::no_limit);
  plate.limits.push_back({.node = "plate", .above_K = 200.0});
  EXPECT_EQ(tilt_needed(plate).need, Need::no_limit);
}

TEST(TiltNeeded, IsInVainWhereTheHeatIsNotOfTheSun) {
  tile::Case plate = test::limited_plate(limit_K);
  plate.loads.push_back({.node = "plate", .power_W = 2000.0});
  const TiltNeeded needed = tilt_needed(plate);
  EXPECT_EQ(needed.need, Need::in_vain);
  EXPECT_EQ(needed.limit->node, "plate");
  EXPECT_LT(needed.limit->margin, 0.0);
  EXPECT_FALSE(needed.off_rad.has_value());
}

TEST(TiltNeeded, IsForbiddenByALowerLimit) {
  tile::Case plate = test::at_distance(test::limited_plate(limit_K), 0.5);
  plate.parts.push_back({.name = "box", .capacity_J_per_K = PropertyTable(100.0)});
  plate.joins.push_back({.a = "plate", .b = "box", .conductance_W_per_K = 0.1});
  plate.surfaces.push_back({.name = "box", .node = "box", .area_m2 = 0.1, .emittance = 0.9});
  plate.limits.push_back({.node = "box", .above_K = 300.0});
  const TiltNeeded needed = tilt_needed(plate);
  EXPECT_EQ(needed.need, Need::too_cold);
  EXPECT_EQ(needed.limit->node, "box");
  EXPECT_FALSE(needed.limit->upper);
  EXPECT_NEAR(needed.tilt_rad, needed.off_rad.value(), tilt_within_rad);
}

TEST(TiltNeeded, IsNotAskedOfATileThatIsNotFreeToTurn) {
  tile::Case plate = test::at_distance(test::limited_plate(limit_K), 0.5);
  plate.course = tile::Course{.time_s = {0.0, 1e6}, .tilt_rad = {0.0, 0.1}};
  EXPECT_EQ(tilt_needed(plate).need, Need::not_free);
  plate.course.reset();
  plate.stow = {{.from_s = 0.0, .to_s = 100.0}};
  EXPECT_EQ(tilt_needed(plate).need, Need::not_free);
}

TEST(TiltNeeded, CountsDifferencesBetweenPartsToo) {
  tile::Case plate = test::at_distance(test::plate_in_the_sun(), 0.5);
  plate.parts.push_back({.name = "lid"});
  plate.joins.push_back({.a = "plate", .b = "lid", .conductance_W_per_K = 5.0});
  plate.surfaces.push_back({.name = "lid", .node = "lid", .area_m2 = 0.5, .emittance = 0.9});
  plate.differences.push_back({.a = "plate", .b = "lid", .below_K = 50.0});
  const TiltNeeded needed = tilt_needed(plate);
  EXPECT_EQ(needed.need, Need::tilted);
  EXPECT_EQ(needed.limit->kind, LimitKind::difference);
  EXPECT_NEAR(needed.limit->margin, 0.0, 1e-6);
}

TEST(TiltNeeded, IsFoundThroughDarknessToo) {
  // At 89 deg and more next to nothing flows; the state there must not be taken for one that is too hot.
  const TiltNeeded needed = tilt_needed(test::at_distance(test::limited_plate(250.0), 0.1));
  EXPECT_EQ(needed.need, Need::tilted);
  EXPECT_NEAR(needed.tilt_rad, test::tilt_of_rad(250.0, 0.1), tilt_within_rad);
  EXPECT_GT(degrees(needed.tilt_rad), 85.0);
}

}  // namespace tileflux::studies::tilt_test
