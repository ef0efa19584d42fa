/// Where something changes its kind, against closed forms.

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "support/swept_plates.h"
#include "tileflux/studies/sweep.h"

namespace tileflux::studies::sweep_crossings_test {

/// Halving ends at this share of the value, roots of continuous functions at that of their balances.
constexpr double halved = crossing_tolerance, rooted = 1e-9;

std::vector<Crossing> crossings(const tile::Case& plate, const std::vector<double>& values_AU, Crossing::Kind kind) {
  const Sweep found = sweep([&](double value) { return test::at_distance(plate, value); }, values_AU);
  std::vector<Crossing> some;
  std::copy_if(found.crossings.begin(), found.crossings.end(), std::back_inserter(some),
               [&](const Crossing& crossing) { return crossing.kind == kind; });
  EXPECT_TRUE(std::is_sorted(found.crossings.begin(), found.crossings.end(),
                             [](const Crossing& a, const Crossing& b) { return a.value < b.value; }));
  return some;
}

TEST(Crossings, FindWhereALimitIsKept) {
  const auto found = crossings(test::limited_plate(350.0), {0.5, 0.8, 2.0}, Crossing::Kind::margin);
  ASSERT_EQ(found.size(), 1u);
  const double expected_AU = test::distance_of_AU(350.0);
  EXPECT_NEAR(found[0].value, expected_AU, rooted * expected_AU);
  EXPECT_EQ(found[0].subject, "plate");
  EXPECT_EQ(found[0].from, "broken");
  EXPECT_EQ(found[0].to, "kept");
  EXPECT_FALSE(found[0].from_limit->beam);
}

TEST(Crossings, FindWhereTiltingBecomesNecessary) {
  const auto found = crossings(test::limited_plate(350.0), {0.5, 0.8, 2.0}, Crossing::Kind::tilt);
  ASSERT_EQ(found.size(), 1u);
  const double expected_AU = test::distance_of_AU(350.0);
  EXPECT_NEAR(found[0].value, expected_AU, halved * expected_AU);
  EXPECT_EQ(found[0].from, "needed");
  EXPECT_EQ(found[0].to, "none needed");
}

TEST(Crossings, FindWhereTheRegimeChanges) {
  // Cells of 20 % feed a laser of 100 W down to where the sunlight met is 500 W.
  tile::Case plate = test::limited_plate(500.0);
  plate.cells = tile::Cells{.surface = "front", .node = "plate", .efficiency = 0.2};
  plate.lasers = {{.name = "bank", .mount = "plate", .devices = {1, devices::EfficiencyLaw{100.0, {300.0}, {1.0}, {0.5}}}, .resistance_K_per_W = 1e-3}};
  plate.beam = tile::Beam{};
  const auto found = crossings(plate, {1.0, 1.4, 2.0, 3.0}, Crossing::Kind::regime);
  ASSERT_EQ(found.size(), 1u);
  const double expected_AU = std::sqrt(solar_irradiance_at_1AU_W_per_m2 / 500.0);
  EXPECT_NEAR(found[0].value, expected_AU, halved * expected_AU);
  EXPECT_EQ(found[0].from, "drive-limited");
  EXPECT_EQ(found[0].to, "sun-limited");
}

TEST(Crossings, FindWhereAnotherLimitBinds) {
  // Both margins are the same where the plate is half-way.
  tile::Case plate = test::limited_plate(350.0);
  plate.limits[0].above_K = 250.0;
  const auto found = crossings(plate, {1.0, 2.0}, Crossing::Kind::binding);
  ASSERT_EQ(found.size(), 1u);
  const double expected_AU = test::distance_of_AU(300.0);
  EXPECT_NEAR(found[0].value, expected_AU, halved * expected_AU);
  EXPECT_EQ(found[0].from, "plate below");
  EXPECT_EQ(found[0].to, "plate above");
  EXPECT_TRUE(found[0].from_limit->margin.upper);
  EXPECT_FALSE(found[0].to_limit->margin.upper);
}

TEST(Crossings, FindWhereAHeaterBeginsToWork) {
  // It begins where the plate without it cools down to the end of the dead band.
  tile::Case plate = test::limited_plate(500.0);
  plate.heaters = {{.name = "warmer", .node = "plate", .sensor = "plate", .power_W = 100.0, .on_below_K = 270.0, .off_above_K = 280.0}};
  const auto found = crossings(plate, {1.0, 2.0, 3.0}, Crossing::Kind::heater);
  ASSERT_EQ(found.size(), 1u);
  const double expected_AU = test::distance_of_AU(280.0);
  EXPECT_NEAR(found[0].value, expected_AU, halved * expected_AU);
  EXPECT_EQ(found[0].subject, "warmer");
  EXPECT_EQ(found[0].from, "idle");
  EXPECT_EQ(found[0].to, "works");
}

TEST(Crossings, SayInWhichStateAHeaterWorks) {
  // Light that leaves cools the plate, so that it begins earlier with the beam on.
  tile::Case plate = test::limited_plate(500.0);
  test::export_a_tenth(plate);
  plate.heaters = {{.name = "warmer", .node = "plate", .sensor = "plate", .power_W = 10.0, .on_below_K = 270.0, .off_above_K = 280.0}};
  const auto found = crossings(plate, {1.0, 3.0}, Crossing::Kind::heater);
  ASSERT_EQ(found.size(), 2u);
  const double on_AU = test::distance_of_AU(280.0, test::absorbed_share - 0.1), off_AU = test::distance_of_AU(280.0);
  EXPECT_NEAR(found[0].value, on_AU, halved * on_AU);
  EXPECT_EQ(found[0].to, "works with the beam on");
  EXPECT_NEAR(found[1].value, off_AU, halved * off_AU);
  EXPECT_EQ(found[1].to, "works");
}

TEST(Crossings, FindSeveralBetweenTwoValues) {
  tile::Case plate = test::limited_plate(350.0);
  plate.limits.push_back({.node = "plate", .above_K = 250.0});
  plate.beam = tile::Beam{};
  // Too hot, good, too cold between one value and the next would not be seen in a yes and no; the limits see it.
  const auto found = crossings(plate, {0.5, 3.0}, Crossing::Kind::margin);
  ASSERT_EQ(found.size(), 4u);  // two limits, beam off and on
  EXPECT_NEAR(found[0].value, test::distance_of_AU(350.0), rooted);
  EXPECT_NEAR(found[3].value, test::distance_of_AU(250.0), 10.0 * rooted);
}

TEST(Crossings, AreFoundAboutZeroToo) {
  // A load that cools or heats: the limit is met where it is nothing.
  const auto case_at = [](double power_W) {
    tile::Case plate = test::limited_plate(test::plate_K(1.0));
    plate.loads.push_back({.node = "plate", .power_W = power_W});
    return plate;
  };
  const Sweep found = sweep(case_at, std::vector<double>{-10.0, 20.0});
  const auto tilt = std::find_if(found.crossings.begin(), found.crossings.end(),
                                 [](const Crossing& c) { return c.kind == Crossing::Kind::tilt; });
  ASSERT_NE(tilt, found.crossings.end());
  constexpr double of_the_interval_W = 1e-6;
  EXPECT_NEAR(tilt->value, 0.0, of_the_interval_W);
  EXPECT_EQ(tilt->to, "needed");
}

TEST(Crossings, AreNotLookedForIfNotWanted) {
  SweepOptions options;
  options.crossings = false;
  const Sweep found = sweep([](double value) { return test::at_distance(test::limited_plate(350.0), value); },
                            std::vector<double>{0.5, 2.0}, options);
  EXPECT_TRUE(found.crossings.empty());
  EXPECT_EQ(found.balances, 2);
}

TEST(Crossings, OfEachKindHaveAName) {
  for (int kind = 0; kind <= static_cast<int>(Crossing::Kind::tilt); ++kind)
    EXPECT_FALSE(name_of(static_cast<Crossing::Kind>(kind)).empty());
}

}  // namespace tileflux::studies::sweep_crossings_test
