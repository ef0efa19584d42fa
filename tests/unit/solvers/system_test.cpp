#include "tileflux/solvers/system.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <limits>

#include "solvers/worst.h"
#include "support/small_system.h"

namespace tileflux::solvers::system_test {

using testing::ElementsAre;

TEST(Pattern, HoldsTheGivenPositionsOnceAndTheWholeDiagonal) {
  const Pattern pattern = Pattern::from_positions(3, {{2, 0}, {0, 2}, {2, 0}, {1, 1}});
  EXPECT_THAT(pattern.column_start, ElementsAre(0, 2, 3, 5));
  EXPECT_THAT(pattern.row, ElementsAre(0, 2, 1, 0, 2));
  EXPECT_EQ(pattern.nonzeros(), 5);
}

TEST(Pattern, FindsAPositionOrSaysThatThereIsNone) {
  const Pattern pattern = Pattern::from_positions(3, {{2, 0}, {0, 2}});
  EXPECT_EQ(pattern.position(2, 0), 1);
  EXPECT_EQ(pattern.position(2, 2), 4);
  EXPECT_EQ(pattern.position(1, 0), -1);
  EXPECT_EQ(pattern.position(0, 1), -1);
}

TEST(WorstUnknowns, AreTheThreeLargestWithWhatIsNoNumberFirst) {
  EXPECT_THAT(largest_three(std::vector<double>{1.0, -5.0, 3.0, 2.0}), ElementsAre(1, 2, 3));
  EXPECT_THAT(largest_three(std::vector<double>{1.0, std::nan(""), 3.0, 2.0}), ElementsAre(1, 2, 3));
  EXPECT_THAT(largest_three(std::vector<double>{7.0}), ElementsAre(0));
}

TEST(WorstUnknowns, AreNamedWithValueAndUnit) {
  const test::SmallSystem system = test::cooling_node(1.0, 1.0);
  EXPECT_EQ(name_worst(system, {0}, std::vector<double>{12.34}, " W"), "node0 (12.3 W)");
}

}  // namespace tileflux::solvers::system_test
