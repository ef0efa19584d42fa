#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "support/sample_tiles.h"
#include "tileflux/studies/run.h"

namespace tileflux::studies::controller_test {

using testing::HasSubstr;

std::vector<const RunEvent*> events_named(const std::vector<RunEvent>& events, std::string_view what) {
  std::vector<const RunEvent*> found;
  for (const RunEvent& event : events) {
    if (event.what == what) found.push_back(&event);
  }
  return found;
}

/// A node of `capacity` with 2 W/K to 300 K, heated by 100 W (to 350 K) while the beam is on; it trips at 330 K.
tile::Case tripping(double capacity, double reset_K, double minimum_off_s) {
  tile::Case tile;
  tile.parts = {{.name = "node", .capacity_J_per_K = PropertyTable(capacity)}, {.name = "wall", .fixed_K = 300.0}};
  tile.joins = {{.a = "node", .b = "wall", .conductance_W_per_K = 2.0}};
  tile.loads = {{.node = "node", .power_W = 100.0, .when = tile::Load::When::beam_on}};
  tile.limits = {{.node = "node", .below_K = 330.0, .trip_reset_K = reset_K, .trip_min_off_s = minimum_off_s}};
  tile.beam = tile::Beam{};
  tile.start.temperature_K = 300.0;
  tile.run = {.duration_s = 1000.0, .output_every_s = 100.0};
  return tile;
}

/// Located times are good to the temperature's error over its slope; 1e-6 K against a few hundredths of a kelvin per second.
constexpr double located_s = 1e-3;

TEST(Trip, HappensAtTheLimitAndEndsAtTheReset) {
  tile::TileSystem system(tripping(200.0, 320.0, 10.0));
  const RunResult result = run(system, nullptr);
  const auto trips = events_named(result.events, "trip"), resets = events_named(result.events, "trip_reset");
  ASSERT_GE(trips.size(), 2u);
  // tau = 100 s: up from 0 to 30 of 50 K, down from 30 to 20 K, up from 20 to 30 of 50 K.
  const double up_s = 100.0 * std::log(50.0 / 20.0), down_s = 100.0 * std::log(30.0 / 20.0), again_s = 100.0 * std::log(30.0 / 20.0);
  EXPECT_NEAR(trips[0]->time_s, up_s, located_s);
  EXPECT_NEAR(resets[0]->time_s, up_s + down_s, located_s);
  EXPECT_NEAR(trips[1]->time_s, up_s + down_s + again_s, located_s);
  EXPECT_EQ(result.trips, static_cast<long>(trips.size()));
}

TEST(Trip, LastsAtLeastItsMinimum) {
  tile::TileSystem system(tripping(200.0, 320.0, 200.0));
  const RunResult result = run(system, nullptr);
  const auto trips = events_named(result.events, "trip"), resets = events_named(result.events, "trip_reset");
  ASSERT_GE(resets.size(), 1u);
  EXPECT_DOUBLE_EQ(resets[0]->time_s - trips[0]->time_s, 200.0);
}

TEST(Trip, WithoutAMinimumEndsAtTheResetAlone) {
  tile::TileSystem system(tripping(200.0, 329.0, 0.0));
  const RunResult result = run(system, nullptr);
  const auto trips = events_named(result.events, "trip"), resets = events_named(result.events, "trip_reset");
  ASSERT_GE(resets.size(), 2u);
  EXPECT_NEAR(resets[0]->time_s - trips[0]->time_s, 100.0 * std::log(30.0 / 29.0), located_s);
}

TEST(Trip, OfANodeThatStartsAboveItsLimitHappensAtOnce) {
  tile::Case tile = tripping(200.0, 320.0, 10.0);
  tile.start.temperature_K = 340.0;
  tile::TileSystem system(tile);
  const RunResult result = run(system, nullptr);
  const auto trips = events_named(result.events, "trip");
  ASSERT_FALSE(trips.empty());
  EXPECT_EQ(trips[0]->time_s, 0.0);
}

TEST(Trip, OfAMasslessNodeThatJumpsOverItsLimitHappensAtTheSwitch) {
  tile::Case tile = tripping(1e6, 320.0, 50.0);
  tile.parts.push_back({.name = "junction"});
  tile.joins.push_back({.a = "junction", .b = "node", .conductance_W_per_K = 2.0});
  tile.loads[0].node = "junction";
  tile.limits[0].node = "junction";
  tile.beam->pattern = tile::TimePattern{30.0, 100.0, 20.0};
  tile.run.duration_s = 300.0;
  tile::TileSystem system(tile);
  const RunResult result = run(system, nullptr);
  const auto trips = events_named(result.events, "trip"), resets = events_named(result.events, "trip_reset");
  ASSERT_EQ(trips.size(), 3u);
  EXPECT_EQ(trips[0]->time_s, 20.0);
  EXPECT_EQ(resets[0]->time_s, 70.0);
  EXPECT_EQ(trips[1]->time_s, 120.0);
  EXPECT_NEAR(result.ranges[2].highest_K, 350.0, 0.1);
}

TEST(Trip, ThatEndsWithinRoundOffOfAnEdgeIsTakenWithIt) {
  tile::Case tile = tripping(1e6, 320.0, 0.7);
  tile.parts.push_back({.name = "junction"});
  tile.joins.push_back({.a = "junction", .b = "node", .conductance_W_per_K = 2.0});
  tile.loads[0].node = "junction";
  tile.limits[0].node = "junction";
  tile.beam->pattern = tile::TimePattern{0.2, 0.7, 0.1};
  tile.run = {.duration_s = 7.0, .output_every_s = 1.0};
  tile::TileSystem system(tile);
  const RunResult result = run(system, nullptr);
  EXPECT_EQ(result.end_s, 7.0);
  EXPECT_EQ(events_named(result.events, "trip").size(), 10u);
}

TEST(Trip, ToAShareLeavesThatShareOfTheBeam) {
  tile::Case tile = tripping(200.0, 320.0, 10.0);
  tile.limits[0].trip_to = 0.2;  // 20 W: on the way to 310 K
  tile::TileSystem system(tile);
  const RunResult result = run(system, nullptr);
  const auto trips = events_named(result.events, "trip"), resets = events_named(result.events, "trip_reset");
  ASSERT_GE(resets.size(), 1u);
  EXPECT_NEAR(resets[0]->time_s - trips[0]->time_s, 100.0 * std::log(20.0 / 10.0), located_s);
  EXPECT_EQ(result.beam_s, 1000.0);  // dimmed, never off
  EXPECT_TRUE(events_named(result.events, "beam_off").empty());
}

TEST(Trip, ToAShareThatStaysAboveTheResetNeverEnds) {
  tile::Case tile = tripping(200.0, 320.0, 10.0);
  tile.limits[0].trip_to = 0.5;  // 50 W: 325 K
  tile::TileSystem system(tile);
  const RunResult result = run(system, nullptr);
  EXPECT_EQ(result.trips, 1);
  const double tripped_s = 1000.0 - 100.0 * std::log(50.0 / 20.0);
  constexpr double run_K = 20.0 * 1e-7 * 330.0;  // global errors of a run, in tolerances
  EXPECT_NEAR(result.final_x[0], 325.0 + 5.0 * std::exp(-tripped_s / 100.0), run_K);
}

TEST(Trip, OfTwoTheHardestCounts) {
  tile::Case tile = tripping(200.0, 320.0, 1e6);
  tile.limits[0].trip_to = 0.8;
  tile.limits.push_back(tile.limits[0]);
  tile.limits[1].trip_to = 0.1;
  tile.limits[1].below_K = 335.0;
  tile::TileSystem system(tile);
  const RunResult result = run(system, nullptr);
  EXPECT_EQ(result.trips, 2);  // 80 W would settle at 340 K
  EXPECT_NEAR(result.final_x[0], 305.0, 0.1);
}

TEST(Chatter, IsToldWithItsNodeAndInterval) {
  tile::TileSystem system(tripping(20.0, 329.9, 0.01));
  const RunResult result = run(system, nullptr);
  EXPECT_GT(result.trips, 100);
  const auto warning = std::find_if(result.warnings.begin(), result.warnings.end(), [](const Diagnostic& d) { return d.code == Code::control_chatter; });
  ASSERT_NE(warning, result.warnings.end());
  EXPECT_EQ(warning->severity, Severity::warning);
  EXPECT_THAT(warning->message, HasSubstr("'node'"));
}

TEST(Chatter, IsNotToldOfSlowTrips) {
  tile::TileSystem system(tripping(200.0, 320.0, 60.0));
  const RunResult result = run(system, nullptr);
  EXPECT_GT(result.trips, 1);
  EXPECT_TRUE(result.warnings.empty());
}

TEST(Limit, ThatIsBrokenAndMetIsToldBothWays) {
  tile::Case tile = tripping(200.0, 320.0, 0.0);
  tile.limits[0].trip_reset_K.reset();
  tile.beam->pattern = tile::TimePattern{200.0, 500.0, 0.0};
  tile::TileSystem system(tile);
  const RunResult result = run(system, nullptr);
  const auto broken = events_named(result.events, "limit_broken"), met = events_named(result.events, "limit_met");
  ASSERT_EQ(broken.size(), 2u);
  ASSERT_EQ(met.size(), 2u);
  EXPECT_NEAR(broken[0]->time_s, 100.0 * std::log(50.0 / 20.0), located_s);
  EXPECT_GT(met[0]->time_s, 200.0);
  EXPECT_EQ(result.trips, 0);
}

TEST(Limit, ExactlyAtTheStartIsSeenToBreak) {
  tile::Case tile = tripping(200.0, 320.0, 50.0);
  tile.start.temperature_K = 330.0;
  tile::TileSystem system(tile);
  EXPECT_GE(run(system, nullptr).trips, 1);
}

TEST(Throttle, IsToldWhereItBeginsAndEnds) {
  tile::Case tile = test::everything();
  tile.limits = {{.node = "back", .below_K = 320.0, .throttle_from_K = 272.0}};
  tile.start.temperature_K = 265.0;
  tile.beam->pattern = tile::TimePattern{1000.0, 1500.0, 0.0};
  tile.run = {.duration_s = 3000.0, .output_every_s = 100.0};
  tile::TileSystem system(tile);
  const RunResult result = run(system, nullptr);
  ASSERT_FALSE(events_named(result.events, "throttle_begins").empty());
  EXPECT_NEAR(events_named(result.events, "throttle_begins")[0]->temperature_K, 272.0, 1e-5);
  ASSERT_FALSE(events_named(result.events, "throttle_ends").empty());
  EXPECT_EQ(events_named(result.events, "throttle_ends")[0]->time_s, 1000.0);
}

TEST(SunLimit, IsToldWhereTheCellsGrowTooWarm) {
  // Cells warm up from cold and lose efficiency until they cannot feed the lasers any more.
  tile::Case tile = test::everything();
  tile.limits.clear();
  tile.start.temperature_K = 200.0;
  tile.beam->pattern.reset();
  tile.beam->drive = 1.0;
  tile.sun.irradiance_at_1AU_W_per_m2 = 850.0;
  tile.run = {.duration_s = 40000.0, .output_every_s = 1000.0};
  tile::TileSystem system(tile);
  const RunResult result = run(system, nullptr);
  const auto begins = events_named(result.events, "sun_limited_begins");
  ASSERT_EQ(begins.size(), 1u);
  EXPECT_GT(begins[0]->time_s, 0.0);
}

TEST(Chatter, OfAThermostatIsToldWithItsHeater) {
  tile::Case tile = tripping(20.0, 320.0, 0.0);
  tile.limits.clear();
  tile.beam.reset();
  tile.loads.clear();
  tile.heaters = {{.name = "keeper", .node = "node", .sensor = "node", .power_W = 60.0, .on_below_K = 315.0, .off_above_K = 315.05}};
  tile.run.duration_s = 60.0;
  tile::TileSystem system(tile);
  const RunResult result = run(system, nullptr);
  const auto warning = std::find_if(result.warnings.begin(), result.warnings.end(), [](const Diagnostic& d) { return d.code == Code::control_chatter; });
  ASSERT_NE(warning, result.warnings.end());
  EXPECT_THAT(warning->message, HasSubstr("'keeper'"));
}

}  // namespace tileflux::studies::controller_test
