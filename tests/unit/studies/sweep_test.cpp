#include "tileflux/studies/sweep.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "support/swept_plates.h"
#include "tileflux/studies/duty.h"

namespace tileflux::studies::sweep_test {

/// Steady states close to 1e-12 of the power.
constexpr double temperature_within = 1e-10;

/// Sweeps a plate over its distance in AU.
Sweep over_distance(const tile::Case& plate, const std::vector<double>& values, const SweepOptions& options = {}) {
  return sweep([&](double distance_AU) { return test::at_distance(plate, distance_AU); }, values, options);
}

tile::Case burst_plate_in_the_sun() {
  tile::Case plate = test::burst_plate(600.0, 0.0);
  plate.surfaces[0].absorptance = 0.3;
  plate.surfaces[0].facing = tile::Surface::Facing::front;
  return plate;
}

TEST(Sweep, HasTheTemperaturesOfTheClosedForm) {
  const std::vector<double> values{0.3, 0.5, 1.0, 3.0, 5.0};
  const Sweep found = over_distance(test::limited_plate(400.0), values);
  ASSERT_EQ(found.points.size(), values.size());
  EXPECT_EQ(found.nodes, std::vector<std::string>{"plate"});
  for (const SweepPoint& point : found.points) {
    const double expected_K = test::plate_K(point.value);
    EXPECT_NEAR(point.off_K[0], expected_K, temperature_within * expected_K);
    EXPECT_TRUE(point.on_K.empty());
    EXPECT_EQ(point.hottest().temperature_K, point.off_K[0]);
    EXPECT_EQ(point.limits_met, expected_K <= 400.0);
    EXPECT_NEAR(point.binding->margin.margin, 400.0 - expected_K, temperature_within * expected_K);
  }
  EXPECT_EQ(found.answered(), 5);
  EXPECT_FALSE(found.has_beam);
}

TEST(Sweep, OfALargeTileFallsWithTheDistance) {
  const tile::Case tile = test::everything();
  SweepOptions options;
  options.duty = options.tilt = options.crossings = false;
  const Sweep found = over_distance(tile, {0.9, 1.0, 1.2, 1.5, 2.0, 3.0}, options);
  for (std::size_t i = 1; i < found.points.size(); ++i) {
    ASSERT_FALSE(found.points[i].trouble) << found.points[i].trouble->message;
    for (std::size_t n = 0; n < found.nodes.size(); ++n) {
      const bool held = found.nodes[n] == "bus";
      EXPECT_TRUE(held || found.points[i].off_K[n] < found.points[i - 1].off_K[n]) << found.nodes[n];
    }
  }
}

TEST(Sweep, GivesWhatBalanceGivesAtEveryValue) {
  const tile::Case tile = test::everything_else();
  SweepOptions options;
  options.duty = false;
  const Sweep found = over_distance(tile, {0.8, 1.0, 1.3, 1.7}, options);
  for (const SweepPoint& point : found.points) {
    const Balance alone = balance(test::at_distance(tile, point.value));
    const tile::TileSystem system(test::at_distance(tile, point.value));
    for (std::size_t n = 0; n < found.nodes.size(); ++n) {
      const double expected_K = system.network().temperature_K(static_cast<int>(n), alone.beam_on->x);
      constexpr double of_two_searches = 1e-8;
      EXPECT_NEAR(point.on_K[n], expected_K, of_two_searches * expected_K) << found.nodes[n];
    }
    EXPECT_EQ(point.regime, alone.beam_on->regime);
    EXPECT_EQ(point.limits_met, alone.limits_met);
    EXPECT_NEAR(point.usable_light_W, alone.usable_laser_W, 1e-6 * std::max(1.0, alone.usable_laser_W));
    EXPECT_EQ(point.warnings.size(), alone.warnings.size());
    EXPECT_EQ(point.heater_on_W.size(), 2u);
  }
}

TEST(Sweep, GivesTheSustainableDuty) {
  const Sweep found = over_distance(burst_plate_in_the_sun(), {0.9, 1.0, 2.0});
  for (const SweepPoint& point : found.points) {
    tile::TileSystem system(test::at_distance(burst_plate_in_the_sun(), point.value));
    const SustainableDuty alone = sustainable_duty(system, 300.0);
    ASSERT_TRUE(point.duty.has_value());
    constexpr double bracket = 1e-9;
    EXPECT_NEAR(point.duty->fraction, alone.fraction, bracket);
    EXPECT_EQ(point.duty->binding->node, "plate");
  }
  SweepOptions options;
  options.duty = false;
  EXPECT_FALSE(over_distance(burst_plate_in_the_sun(), {1.0, 2.0}, options).points[0].duty.has_value());
}

TEST(Sweep, SaysWhereABeamCanBeSustained) {
  tile::Case plate = test::limited_plate(350.0);
  plate.loads.push_back({.node = "plate", .power_W = 500.0, .when = tile::Load::When::beam_on});
  plate.beam = tile::Beam{};
  const Sweep found = over_distance(plate, {0.5, 0.8, 1.2, 3.0});
  ASSERT_EQ(found.sustained.size(), 1u);
  // The sun alone must leave the plate below its limit: some drive is then left for the beam.
  const double from_AU = test::distance_of_AU(350.0);
  EXPECT_NEAR(found.sustained[0].from, from_AU, 2.0 * crossing_tolerance * from_AU);
  EXPECT_TRUE(found.sustained[0].begins_inside);
  EXPECT_EQ(found.sustained[0].to, 3.0);
  EXPECT_FALSE(found.sustained[0].ends_inside);
  EXPECT_FALSE(found.points[1].sustainable);
  EXPECT_EQ(found.points[1].usable_drive, 0.0);
  EXPECT_TRUE(found.points[2].sustainable);
  EXPECT_FALSE(found.most_light_at.has_value());  // no lasers
}

TEST(Sweep, SaysWhereNoBeamCanBeSustainedAtAll) {
  tile::Case plate = test::limited_plate(200.0);
  plate.beam = tile::Beam{};
  const Sweep found = over_distance(plate, {0.5, 1.0});
  EXPECT_TRUE(found.sustained.empty());
  EXPECT_FALSE(found.points[0].sustainable);
  EXPECT_EQ(found.points[0].rating->drive, 0.0);
}

TEST(Sweep, FindsTheMostLightBetweenItsValues) {
  // Light grows towards the Sun until the limit is met; a throttle then takes it away.
  tile::Case plate = test::limited_plate(350.0);
  test::export_a_tenth(plate);
  const Sweep found = over_distance(plate, {0.5, 0.8, 1.0, 1.4, 2.0});
  ASSERT_TRUE(found.most_light_at.has_value());
  const double best_AU = test::distance_of_AU(350.0, test::absorbed_share - 0.1);
  constexpr double of_a_kink = 1e-3;
  EXPECT_NEAR(*found.most_light_at, best_AU, of_a_kink);
  for (const SweepPoint& point : found.points) EXPECT_LE(point.usable_light_W, found.most_light_W);
}

TEST(Sweep, KeepsValuesWithoutAnAnswerAndTheirReasons) {
  const auto case_at = [](double distance_AU) {
    if (distance_AU > 1.5) throw Error(Code::limits_contradict, "too far for this test");
    return test::at_distance(test::limited_plate(350.0), distance_AU);
  };
  const Sweep found = sweep(case_at, std::vector<double>{0.5, 1.0, 2.0, 3.0});
  ASSERT_EQ(found.points.size(), 4u);
  EXPECT_EQ(found.answered(), 2);
  EXPECT_EQ(found.points[2].trouble->code, Code::limits_contradict);
  EXPECT_EQ(found.points[2].trouble->message, "too far for this test");
  const auto end = std::find_if(found.crossings.begin(), found.crossings.end(),
                                [](const Crossing& c) { return c.kind == Crossing::Kind::answer; });
  ASSERT_NE(end, found.crossings.end());
  EXPECT_NEAR(end->value, 1.5, 2.0 * crossing_tolerance * 1.5);
  EXPECT_EQ(end->to, "no answer");
}

TEST(Sweep, GoesOnWhereATileHasNoSteadyState) {
  const auto case_at = [](double power_W) {
    tile::Case lonely = test::limited_plate(350.0);
    lonely.parts.push_back({.name = "box", .capacity_J_per_K = PropertyTable(100.0)});
    lonely.loads.push_back({.node = "box", .power_W = power_W});
    return lonely;
  };
  const Sweep found = sweep(case_at, std::vector<double>{1.0, 2.0});
  EXPECT_EQ(found.answered(), 0);
  EXPECT_EQ(found.points[0].trouble->code, Code::node_isolated);
  EXPECT_TRUE(found.crossings.empty());
}

TEST(Sweep, DoesNotTakeItsOwnFaultsForAnswers) {
  const auto case_at = [](double) -> tile::Case { throw Error(Code::internal, "a fault"); };
  EXPECT_THROW(sweep(case_at, std::vector<double>{1.0, 2.0}), Error);
  const auto plate_at = [](double) { return test::plate_in_the_sun(); };
  EXPECT_THROW(sweep(plate_at, std::vector<double>{2.0, 1.0}), Error);
  EXPECT_THROW(sweep(plate_at, std::vector<double>{1.0, 1.0}), Error);
}

TEST(Sweep, EndsWhenItIsAskedTo) {
  SweepOptions options;
  std::vector<double> told;
  options.progress = [&](double share) {
    told.push_back(share);
    return told.size() < 3;
  };
  const Sweep found = over_distance(test::limited_plate(350.0), {1.0, 2.0, 3.0, 4.0}, options);
  EXPECT_TRUE(found.interrupted);
  EXPECT_EQ(found.points.size(), 2u);
  EXPECT_THAT(told, testing::ElementsAre(0.0, 0.25, 0.5));
}

TEST(Sweep, TellsTheTiltOfATileThatTurnsByItself) {
  tile::Case plate = test::limited_plate(355.0);
  plate.tilt_law = tile::TiltLaw::hold;
  plate.hold = tile::TiltHold{.node = "plate", .below_K = 350.0, .band_K = 1.0};
  const Sweep found = over_distance(plate, {0.3, 0.5, 2.0});
  EXPECT_TRUE(found.holds_tilt);
  for (const SweepPoint& point : found.points) {
    ASSERT_FALSE(point.trouble) << point.trouble->message;
    EXPECT_FALSE(point.tilt.has_value());
  }
  for (std::size_t i = 0; i < 2; ++i) {
    const SweepPoint& point = found.points[i];
    constexpr double of_a_steep_law_rad = 1e-8;
    EXPECT_NEAR(point.off_tilt_rad, test::tilt_of_rad(point.off_K[0], point.value), of_a_steep_law_rad);
    EXPECT_LT(point.off_K[0], 350.0);
  }
  EXPECT_EQ(found.points[2].off_tilt_rad, 0.0);
  const auto turns = std::find_if(found.crossings.begin(), found.crossings.end(),
                                  [](const Crossing& c) { return c.kind == Crossing::Kind::tilt; });
  ASSERT_NE(turns, found.crossings.end());
  const double expected_AU = test::distance_of_AU(349.0);
  EXPECT_NEAR(turns->value, expected_AU, 2.0 * crossing_tolerance * expected_AU);
  EXPECT_EQ(turns->from, "tilted");
  EXPECT_EQ(turns->to, "as stated");
}

TEST(Sweep, NamesTheLimitThatBindsAndTheNextOne) {
  tile::Case plate = test::limited_plate(350.0);
  plate.limits[0].above_K = 300.0;
  const Sweep found = over_distance(plate, {1.0, 1.3});
  EXPECT_TRUE(found.points[0].binding->margin.upper);
  EXPECT_FALSE(found.points[0].next->margin.upper);
  EXPECT_FALSE(found.points[1].binding->margin.upper);
  EXPECT_TRUE(found.points[1].next->margin.upper);
}

}  // namespace tileflux::studies::sweep_test
