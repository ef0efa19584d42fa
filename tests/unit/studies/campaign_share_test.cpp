#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <numeric>

#include "tileflux/studies/campaign.h"

namespace tileflux::studies::campaign_share_test {

/// Sums of a few numbers of this size.
constexpr double round_off = 1e-12;

double refused(const Served& served, Refusal why) { return served.refused_J[static_cast<std::size_t>(why)]; }

double sum(const Served& served) {
  return std::accumulate(served.refused_J.begin(), served.refused_J.end(), served.delivered_J);
}

TEST(SharedLight, IsAllThereIfNothingStandsInTheWay) {
  const auto all = shared_light(std::vector<double>{100.0, 50.0}, {150.0, 150.0, 150.0, 150.0});
  EXPECT_EQ(all[0].delivered_J, 100.0);
  EXPECT_EQ(all[1].delivered_J, 50.0);
  EXPECT_EQ(sum(all[1]), 50.0);
}

TEST(SharedLight, NamesEveryReasonInTurn) {
  // 200 W are wanted; the lasers give 180, a trip leaves 150, heat 120, the cells 90.
  const auto all = shared_light(std::vector<double>{60.0, 140.0}, {180.0, 150.0, 120.0, 90.0});
  EXPECT_EQ(all[0].delivered_J, 60.0);
  EXPECT_EQ(sum(all[0]), 60.0);
  // Alone the second would have had all of it down to 120, then 90, of which the first takes 60.
  EXPECT_EQ(all[1].delivered_J, 30.0);
  EXPECT_EQ(refused(all[1], Refusal::beyond_lasers), 0.0);
  EXPECT_EQ(refused(all[1], Refusal::trip), 0.0);
  EXPECT_EQ(refused(all[1], Refusal::heat), 20.0);
  EXPECT_EQ(refused(all[1], Refusal::energy), 30.0);
  EXPECT_EQ(refused(all[1], Refusal::higher_priority), 60.0);
  EXPECT_EQ(sum(all[1]), 140.0);
}

TEST(SharedLight, BeyondTheLasersIsToldOfWhoAsksForMoreThanTheyGive) {
  const auto all = shared_light(std::vector<double>{250.0}, {200.0, 200.0, 150.0, 150.0});
  EXPECT_EQ(refused(all[0], Refusal::beyond_lasers), 50.0);
  EXPECT_EQ(refused(all[0], Refusal::heat), 50.0);
  EXPECT_EQ(all[0].delivered_J, 150.0);
}

TEST(SharedLight, OfATrippedTileIsNone) {
  const auto all = shared_light(std::vector<double>{80.0, 80.0}, {160.0, 0.0, 0.0, 0.0});
  for (const Served& one : all) {
    EXPECT_EQ(refused(one, Refusal::trip), 80.0);
    EXPECT_EQ(one.delivered_J, 0.0);
  }
}

TEST(SharedDrive, IsGrantedInOrderAndLightsInProportion) {
  // 80 % and 40 % are asked of 100 %: 20 % are left for the second. 200 W at full drive, of which heat leaves 150.
  const auto all = shared_drive(std::vector<double>{0.8, 0.4}, 1.0, {200.0, 200.0, 150.0, 150.0});
  EXPECT_NEAR(all[0].asked_J, 160.0, round_off * 160.0);
  EXPECT_NEAR(all[0].delivered_J, 120.0, round_off * 160.0);
  EXPECT_NEAR(refused(all[0], Refusal::heat), 40.0, round_off * 160.0);
  EXPECT_NEAR(all[1].asked_J, 80.0, round_off * 160.0);
  EXPECT_NEAR(all[1].delivered_J, 30.0, round_off * 160.0);
  EXPECT_NEAR(refused(all[1], Refusal::higher_priority), 40.0, round_off * 160.0);
  EXPECT_NEAR(refused(all[1], Refusal::heat), 10.0, round_off * 160.0);
  for (const Served& one : all) EXPECT_NEAR(sum(one), one.asked_J, round_off * 160.0);
}

TEST(SharedDrive, BeyondTheMostDriveOfTheCaseIsTold) {
  const auto all = shared_drive(std::vector<double>{1.0}, 0.8, {160.0, 160.0, 160.0, 160.0});
  EXPECT_NEAR(all[0].asked_J, 200.0, round_off * 200.0);
  EXPECT_NEAR(refused(all[0], Refusal::beyond_lasers), 40.0, round_off * 200.0);
  EXPECT_NEAR(all[0].delivered_J, 160.0, round_off * 200.0);
}

TEST(Served, AddsUp) {
  Served a{.asked_J = 10.0, .delivered_J = 4.0, .asked_s = 2.0, .met_s = 1.0};
  a.refused_J[0] = 6.0;
  Served all;
  all.add(a, 3.0);
  all.add(a);
  EXPECT_EQ(all.asked_J, 40.0);
  EXPECT_EQ(all.refused_J[0], 24.0);
  EXPECT_EQ(all.met_s, 4.0);
  EXPECT_EQ(all.share(), 0.4);
  EXPECT_EQ(Served{}.share(), 1.0);
}

}  // namespace tileflux::studies::campaign_share_test
