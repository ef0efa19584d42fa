#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <vector>

#include "tileflux/tile/campaign.h"
#include "tileflux/tile/schedule.h"

namespace tileflux::tile::timetable_test {

using testing::ElementsAre;
using testing::IsEmpty;

constexpr double day_s = 86400.0;

/// The names of those who are served at a time, in order.
std::vector<std::string> served(const Campaign& campaign, const Timetable& timetable, double time_s) {
  std::vector<std::string> names;
  for (const std::size_t i : timetable.open(timetable.piece_at(time_s)))
    names.push_back(campaign.requests[timetable.occurrences()[i].request].name);
  return names;
}

Campaign three() {
  return {.requests = {{.name = "low", .at_s = 10.0, .for_s = 100.0, .light_W = 5.0},
                       {.name = "high", .at_s = 50.0, .for_s = 20.0, .light_W = 5.0, .priority = 3},
                       {.name = "later", .at_s = 60.0, .for_s = 20.0, .light_W = 5.0}}};
}

TEST(Timetable, ServesByPriorityThenByWhoBeganEarlier) {
  const Campaign campaign = three();
  const Timetable timetable(campaign, 1e4);
  EXPECT_THAT(served(campaign, timetable, 5.0), IsEmpty());
  EXPECT_THAT(served(campaign, timetable, 10.0), ElementsAre("low"));
  EXPECT_THAT(served(campaign, timetable, 55.0), ElementsAre("high", "low"));
  EXPECT_THAT(served(campaign, timetable, 65.0), ElementsAre("high", "low", "later"));
  EXPECT_THAT(served(campaign, timetable, 75.0), ElementsAre("low", "later"));
  EXPECT_THAT(served(campaign, timetable, 110.0), IsEmpty());
}

TEST(Timetable, CountsATimeWithinRoundOffOfAnEdgeAsAfterIt) {
  const Campaign campaign = three();
  const Timetable timetable(campaign, 1e4);
  EXPECT_THAT(served(campaign, timetable, 10.0 - 1e-12), ElementsAre("low"));
  EXPECT_EQ(timetable.next_edge_after(10.0 - 1e-12), 50.0);
  EXPECT_EQ(timetable.next_edge_after(0.0), 10.0);
  EXPECT_EQ(timetable.next_edge_after(110.0), never_s);
}

TEST(Timetable, LaysOutRepeatsUpToTheEnd) {
  const Campaign campaign{
      .requests = {{.name = "a", .at_s = 100.0, .for_s = 10.0, .light_W = 1.0, .every_s = day_s, .times = 1000}}};
  const Timetable timetable(campaign, 3.0 * day_s);
  ASSERT_EQ(timetable.occurrences().size(), 3u);
  EXPECT_EQ(timetable.occurrences()[2].begin_s, 100.0 + 2.0 * day_s);
  EXPECT_EQ(timetable.occurrences()[2].repeat, 2);
}

TEST(Timetable, KnowsWhenNothingMayBeEmitted) {
  Campaign campaign = three();
  campaign.keep_out = {{.from_s = 20.0, .to_s = 30.0, .every_s = 1000.0, .times = 2}};
  const Timetable timetable(campaign, 1e4);
  EXPECT_FALSE(timetable.kept_out(timetable.piece_at(19.0)));
  EXPECT_TRUE(timetable.kept_out(timetable.piece_at(20.0)));
  EXPECT_FALSE(timetable.kept_out(timetable.piece_at(30.0)));
  EXPECT_TRUE(timetable.kept_out(timetable.piece_at(1025.0)));
  EXPECT_THAT(served(campaign, timetable, 25.0), ElementsAre("low"));
}

TEST(Timetable, RepeatsUntilThePatternChanges) {
  Campaign campaign{
      .requests = {{.name = "a", .at_s = 3600.0, .for_s = 100.0, .light_W = 1.0, .every_s = day_s, .times = 365},
                   {.name = "b", .at_s = 3650.0, .for_s = 100.0, .light_W = 2.0, .every_s = day_s, .times = 200}}};
  const Timetable timetable(campaign, 400.0 * day_s);
  // What is missing a day later is the 201st window of b.
  EXPECT_EQ(timetable.repeats_until(3600.0, day_s), 3650.0 + 199.0 * day_s);
  EXPECT_EQ(timetable.repeats_until(3600.0 + 201.0 * day_s, day_s), 3600.0 + 364.0 * day_s);
  EXPECT_EQ(timetable.repeats_until(3600.0, 0.5 * day_s), 3600.0);
  EXPECT_EQ(timetable.repeats_until(399.0 * day_s, day_s), never_s);
}

TEST(Timetable, RepeatsAlsoWhereRowsAreWrittenOutOneByOne) {
  Campaign campaign;
  for (int i = 0; i < 10; ++i)
    campaign.requests.push_back({.name = "a", .at_s = 100.0 + 0.1 * i, .for_s = 0.05, .light_W = i == 7 ? 2.0 : 1.0});
  const Timetable timetable(campaign, 1e4);
  EXPECT_NEAR(timetable.repeats_until(100.0, 0.1), 100.6, 1e-9);
}

TEST(SharedInOrder, GivesTheFirstFirst) {
  EXPECT_THAT(shared_in_order(std::vector<double>{3.0, 4.0, 5.0}, 8.0), ElementsAre(3.0, 4.0, 1.0));
  EXPECT_THAT(shared_in_order(std::vector<double>{3.0, 4.0, 5.0}, 2.0), ElementsAre(2.0, 0.0, 0.0));
  EXPECT_THAT(shared_in_order(std::vector<double>{3.0, 4.0}, 100.0), ElementsAre(3.0, 4.0));
  EXPECT_THAT(shared_in_order(std::vector<double>{3.0}, -1.0), ElementsAre(0.0));
  EXPECT_THAT(shared_in_order(std::vector<double>{}, 1.0), IsEmpty());
}

}  // namespace tileflux::tile::timetable_test
