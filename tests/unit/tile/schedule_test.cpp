#include "tileflux/tile/schedule.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

#include "support/random_values.h"

namespace tileflux::tile::schedule_test {

const TimePattern burst{.on_s = 30.0, .every_s = 100.0, .first_s = 0.0};

TEST(Pattern, IsOnFromItsEdgesOn) {
  EXPECT_TRUE(is_on_after(burst, 0.0));
  EXPECT_TRUE(is_on_after(burst, 29.9));
  EXPECT_FALSE(is_on_after(burst, 30.0));
  EXPECT_FALSE(is_on_after(burst, 99.9));
  EXPECT_TRUE(is_on_after(burst, 100.0));
}

TEST(Pattern, HasTwoEdgesInEveryPeriod) {
  EXPECT_EQ(next_edge_after(burst, 0.0), 30.0);
  EXPECT_EQ(next_edge_after(burst, 29.0), 30.0);
  EXPECT_EQ(next_edge_after(burst, 30.0), 100.0);
  EXPECT_EQ(next_edge_after(burst, 100.0), 130.0);
  EXPECT_EQ(next_edge_after(burst, 5150.0), 5200.0);
}

TEST(Pattern, IsOffBeforeItsFirstEdge) {
  const TimePattern late{.on_s = 30.0, .every_s = 100.0, .first_s = 250.0};
  EXPECT_FALSE(is_on_after(late, 0.0));
  EXPECT_FALSE(is_on_after(late, 220.0));
  EXPECT_TRUE(is_on_after(late, 250.0));
  EXPECT_EQ(next_edge_after(late, 0.0), 250.0);
  EXPECT_EQ(next_edge_after(late, 250.0), 280.0);
}

TEST(Pattern, ThatIsOnAllTheTimeHasNoEdgeAfterItsFirst) {
  const TimePattern always{.on_s = 100.0, .every_s = 100.0, .first_s = 40.0};
  EXPECT_EQ(next_edge_after(always, 0.0), 40.0);
  EXPECT_TRUE(is_on_after(always, 40.0));
  EXPECT_TRUE(is_on_after(always, 140.0));
  EXPECT_EQ(next_edge_after(always, 40.0), never_s);
}

TEST(Pattern, ThatIsNeverOnHasNoEdge) {
  const TimePattern never{.on_s = 0.0, .every_s = 100.0, .first_s = 0.0};
  EXPECT_FALSE(is_on_after(never, 0.0));
  EXPECT_FALSE(is_on_after(never, 100.0));
  EXPECT_EQ(next_edge_after(never, 0.0), never_s);
}

TEST(Pattern, TakesATimeWithinRoundOffOfAnEdgeAsAfterIt) {
  const TimePattern tenths{.on_s = 0.1, .every_s = 0.3, .first_s = 0.0};
  EXPECT_TRUE(is_on_after(tenths, 0.1 + 0.2));  // 0.30000000000000004
  EXPECT_TRUE(is_on_after(tenths, std::nextafter(0.3, 0.0)));
  EXPECT_NEAR(next_edge_after(tenths, std::nextafter(0.3, 0.0)), 0.4, 1e-15);
}

RC_GTEST_PROP(Pattern, ChangesAtEveryEdgeAndNowhereElse, ()) {
  const double every = test::between(1.0, 1000.0);
  const TimePattern pattern{.on_s = every * test::between(0.01, 0.99), .every_s = every, .first_s = test::between(0.0, 500.0)};
  double time_s = 0.0;
  for (int i = 0; i < 50; ++i) {
    const bool before = is_on_after(pattern, time_s);
    const double edge_s = next_edge_after(pattern, time_s);
    RC_ASSERT(edge_s > time_s);
    RC_ASSERT(is_on_after(pattern, 0.5 * (time_s + edge_s)) == before);
    RC_ASSERT(is_on_after(pattern, edge_s) != before || (i == 0 && time_s == 0.0 && pattern.first_s == 0.0));
    time_s = edge_s;
  }
}

}  // namespace tileflux::tile::schedule_test
