#include "tileflux/studies/limits.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "support/sample_tiles.h"

namespace tileflux::studies {
namespace {

tile::Case bounded_plate() {
  tile::Case plate = test::plate_in_the_sun();
  plate.limits = {{.node = "plate", .below_K = 350.0, .above_K = 250.0}};
  return plate;
}

TEST(Margins, CountFromBothBounds) {
  const tile::TileSystem system(bounded_plate());
  const auto margins = margins_at(system, std::vector<double>{340.0});
  ASSERT_EQ(margins.size(), 2u);
  EXPECT_EQ(margins[0].margin_K, 10.0);
  EXPECT_TRUE(margins[0].upper);
  EXPECT_EQ(margins[1].margin_K, 90.0);
  EXPECT_FALSE(margins[1].upper);
  EXPECT_EQ(binding(margins)->margin_K, 10.0);
}

TEST(Margins, AreNegativeWhereALimitIsBroken) {
  const tile::TileSystem system(bounded_plate());
  EXPECT_EQ(binding(margins_at(system, std::vector<double>{240.0}))->margin_K, -10.0);
  EXPECT_FALSE(binding(margins_at(system, std::vector<double>{240.0}))->upper);
}

TEST(Margins, OverARangeTakeTheWorstInstant) {
  const tile::TileSystem system(bounded_plate());
  const std::vector<TemperatureRange> ranges{{"plate", 255.0, 1.0, 349.0, 2.0}};
  const auto margins = margins_over(system, ranges);
  EXPECT_EQ(margins[0].margin_K, 1.0);
  EXPECT_EQ(margins[1].margin_K, 5.0);
}

TEST(Margins, WithoutLimitsNothingBinds) { EXPECT_FALSE(binding({}).has_value()); }

TEST(Validity, IsWarnedOfOncePerPropertyUsedOutside) {
  const tile::TileSystem system(test::everything());
  auto ranges = ranges_at(system, std::vector<double>(static_cast<std::size_t>(system.size()), 300.0));
  EXPECT_TRUE(validity_warnings(system, ranges, ranges).empty());
  for (TemperatureRange& range : ranges) {
    if (range.node == "back") range.highest_K = 500.0;
  }
  const auto warnings = validity_warnings(system, ranges, ranges);
  ASSERT_EQ(warnings.size(), 2u);  // its heat capacity and the bar that ends there
  EXPECT_EQ(warnings[0].code, Code::outside_validity);
  EXPECT_EQ(warnings[0].severity, Severity::warning);
  EXPECT_THAT(warnings[0].message, testing::HasSubstr("back was at 300 to 500 K"));
}

}  // namespace
}  // namespace tileflux::studies
