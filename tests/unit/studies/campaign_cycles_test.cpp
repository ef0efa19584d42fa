#include "studies/campaign_cycles.h"

#include <gtest/gtest.h>

#include <cmath>

#include "support/sample_tiles.h"

namespace tileflux::studies::campaign_cycles_test {

constexpr double day_s = 86400.0;

tile::Case daily() {
  tile::Case plate = test::plate_in_the_sun();
  plate.beam = tile::Beam{};
  plate.campaign = tile::Campaign{
      .requests = {{.name = "a", .at_s = 3600.0, .for_s = 600.0, .light_W = 10.0, .every_s = day_s, .times = 30}}};
  return plate;
}

std::optional<CyclePlan> plan_of(const tile::Case& description, double time_s, double end_s) {
  return cycle_plan(tile::TileSystem(description), tile::Timetable(*description.campaign, end_s), time_s, end_s);
}

TEST(CyclePlan, GoesFromWindowToWindow) {
  const auto plan = plan_of(daily(), 3600.0, 100.0 * day_s);
  ASSERT_TRUE(plan);
  EXPECT_EQ(plan->period_s, day_s);
  EXPECT_EQ(plan->cycles, 30);
  EXPECT_FALSE(plan_of(daily(), 0.0, 100.0 * day_s)) << "no window opens there";
  EXPECT_FALSE(plan_of(daily(), 3600.0 + 27.0 * day_s, 100.0 * day_s)) << "too few are left";
}

TEST(CyclePlan, LeavesTheLastCycleBeforeTheEnd) {
  EXPECT_EQ(plan_of(daily(), 3600.0, 3600.0 + 10.0 * day_s)->cycles, 9);
  EXPECT_EQ(plan_of(daily(), 3600.0, 3700.0 + 10.0 * day_s)->cycles, 10);
}

TEST(CyclePlan, FindsAWeek) {
  tile::Case weekly = daily();
  weekly.campaign->requests = {};
  for (int weekday = 0; weekday < 6; ++weekday) {
    weekly.campaign->requests.push_back({.name = "a", .at_s = day_s * weekday, .for_s = 600.0, .light_W = 10.0,
                                         .every_s = 7.0 * day_s, .times = 52});
  }
  const auto plan = plan_of(weekly, 0.0, 364.0 * day_s);
  ASSERT_TRUE(plan);
  EXPECT_EQ(plan->period_s, 7.0 * day_s);
  EXPECT_EQ(plan->cycles, 51);
}

TEST(CyclePlan, WaitsForLoadsToComeRound) {
  tile::Case loaded = daily();
  loaded.loads.push_back(
      {.node = "plate", .power_W = 1.0, .when = tile::Load::When::pattern, .pattern = {60.0, 0.75 * day_s, 0.0}});
  EXPECT_EQ(plan_of(loaded, 3600.0, 100.0 * day_s)->period_s, 3.0 * day_s);
  loaded.loads.back().pattern.first_s = 2.0 * day_s;
  EXPECT_FALSE(plan_of(loaded, 3600.0, 100.0 * day_s)) << "the load is yet to begin";
}

TEST(CyclePlan, EndsBeforeAFailure) {
  tile::Case failing = daily();
  failing.failures.push_back(
      {.at_s = 8.5 * day_s, .what = tile::Failure::What::degraded_finish, .where = "front", .absorptance = 0.95});
  EXPECT_EQ(plan_of(failing, 3600.0, 100.0 * day_s)->cycles, 8);
}

TEST(RepeatJudge, WantsTwoRatiosAndTheDistanceNotTheChange) {
  RepeatJudge judge(1e-5, 1e-9, 0.0);
  EXPECT_FALSE(judge.take(1e-7, 1000)) << "one change says nothing of how it shrinks";
  // Shrinking by a tenth per cycle there are ten such changes to go.
  judge.take(1e-4, 1000);
  EXPECT_FALSE(judge.take(0.9e-4, 1000));
  judge.forget();
  judge.take(1e-6, 1000);
  EXPECT_FALSE(judge.take(0.9e-6, 1000)) << "the ratio before was worse";
  EXPECT_TRUE(judge.take(0.81e-6, 1000));
  EXPECT_NEAR(judge.error_K(), 0.81e-5, 1e-12);
}

TEST(RepeatJudge, TrustsNoRatioBelowThatOfTheSlowestMode) {
  RepeatJudge judge(1e-5, 1e-9, 0.99), blind(1e-5, 1e-9, 0.0);
  for (RepeatJudge* one : {&judge, &blind}) {
    EXPECT_FALSE(one->take(1.0, 1000));
    EXPECT_FALSE(one->take(1e-3, 1000));
  }
  EXPECT_FALSE(judge.take(1e-6, 1000)) << "fast modes have gone, the slow one has hardly begun";
  EXPECT_TRUE(blind.take(1e-6, 1000));
}

TEST(RepeatJudge, LetsAChangePassThatCannotAddUpInWhatIsLeft) {
  RepeatJudge judge(1e-5, 1e-9, 1.0);
  judge.take(1e-6, 5);
  EXPECT_TRUE(judge.take(1e-6, 5));
  EXPECT_FALSE(judge.take(1e-6, 50));
}

TEST(SlowestThermal, IsThatOfThePlate) {
  tile::TileSystem system(daily());
  system.set_mode({});
  const double temperature_K = 300.0;
  // C dT/dt = -4 sigma (e1 + e2) A T^3 dT
  const double expected_s = 2400.0 / (4.0 * stefan_boltzmann_W_per_m2_K4 * (0.85 + 0.88) * std::pow(temperature_K, 3));
  constexpr double round_off = 1e-12;
  EXPECT_NEAR(slowest_thermal_s(system, std::vector<double>{temperature_K}), expected_s, round_off * expected_s);
}

}  // namespace tileflux::studies::campaign_cycles_test
