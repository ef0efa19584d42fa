#include "tileflux/base/spelling.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cstdlib>
#include <string>
#include <vector>

using tileflux::edit_distance;
using tileflux::nearest_spelling;

TEST(EditDistance, OfEqualWordsIsZero) { EXPECT_EQ(edit_distance("radiator", "radiator"), 0); }

TEST(EditDistance, CountsInsertionsDeletionsAndSubstitutions) {
  EXPECT_EQ(edit_distance("area", "areas"), 1);
  EXPECT_EQ(edit_distance("areas", "area"), 1);
  EXPECT_EQ(edit_distance("area", "aree"), 1);
  EXPECT_EQ(edit_distance("kitten", "sitting"), 3);
}

TEST(EditDistance, CountsExchangedNeighboursOnce) {
  EXPECT_EQ(edit_distance("thcikness", "thickness"), 1);
  EXPECT_EQ(edit_distance("ba", "ab"), 1);
}

TEST(EditDistance, ToNothingIsTheLength) {
  EXPECT_EQ(edit_distance("", "beam"), 4);
  EXPECT_EQ(edit_distance("beam", ""), 4);
  EXPECT_EQ(edit_distance("", ""), 0);
}

TEST(EditDistance, LooksAtTheFirst64BytesOnly) {
  const std::string same(64, 'x');
  EXPECT_EQ(edit_distance(same + "tail", same + "other"), 0);
}

RC_GTEST_PROP(EditDistance, IsSymmetricAndBounded, (const std::string& a, const std::string& b)) {
  const std::string left = a.substr(0, 64);
  const std::string right = b.substr(0, 64);
  const int distance = edit_distance(left, right);
  const int difference = std::abs(static_cast<int>(left.size()) - static_cast<int>(right.size()));
  RC_ASSERT(distance == edit_distance(right, left));
  RC_ASSERT(distance >= difference);
  RC_ASSERT(distance <= static_cast<int>(std::max(left.size(), right.size())));
  RC_ASSERT((distance == 0) == (left == right));
}

TEST(NearestSpelling, FindsTheWordWithTheFewestChanges) {
  const std::vector<std::string> known{"thickness", "material", "finish", "name"};
  EXPECT_EQ(nearest_spelling("thicknes", known), "thickness");
  EXPECT_EQ(nearest_spelling("thcikness", known), "thickness");
  EXPECT_EQ(nearest_spelling("materiel", known), "material");
  EXPECT_EQ(nearest_spelling("name", known), "name");
}

TEST(NearestSpelling, KnowsWhatTheTradeCallsTheSame) {
  const std::vector<std::string> known{"emittance", "absorptance", "on"};
  EXPECT_EQ(nearest_spelling("emissivity", known), "emittance");
  EXPECT_EQ(nearest_spelling("absorptivity", known), "absorptance");
  EXPECT_EQ(nearest_spelling("emissivity", std::vector<std::string>{"on"}), "");
}

TEST(NearestSpelling, IsEmptyIfNothingIsNear) {
  const std::vector<std::string> known{"thickness", "material"};
  EXPECT_EQ(nearest_spelling("orbit", known), "");
  EXPECT_EQ(nearest_spelling("", known), "");
  EXPECT_EQ(nearest_spelling("orbit", {}), "");
}
