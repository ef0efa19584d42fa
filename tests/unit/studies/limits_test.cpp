#include "tileflux/studies/limits.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "support/sample_tiles.h"

namespace tileflux::studies::limits_test {

tile::Case bounded_plate() {
  tile::Case plate = test::plate_in_the_sun();
  plate.limits = {{.node = "plate", .below_K = 350.0, .above_K = 250.0}};
  return plate;
}

TEST(Margins, CountFromBothBounds) {
  const tile::TileSystem system(bounded_plate());
  const auto margins = margins_at(system, std::vector<double>{340.0});
  ASSERT_EQ(margins.size(), 2u);
  EXPECT_EQ(margins[0].margin, 10.0);
  EXPECT_TRUE(margins[0].upper);
  EXPECT_EQ(margins[1].margin, 90.0);
  EXPECT_FALSE(margins[1].upper);
  EXPECT_EQ(binding(margins)->margin, 10.0);
}

TEST(Margins, AreNegativeWhereALimitIsBroken) {
  const tile::TileSystem system(bounded_plate());
  EXPECT_EQ(binding(margins_at(system, std::vector<double>{240.0}))->margin, -10.0);
  EXPECT_FALSE(binding(margins_at(system, std::vector<double>{240.0}))->upper);
}

TEST(Margins, OverARangeTakeTheWorstInstant) {
  const tile::TileSystem system(bounded_plate());
  const std::vector<TemperatureRange> ranges{{"plate", 255.0, 1.0, 349.0, 2.0}};
  const auto margins = margins_over(system, ranges, {});
  EXPECT_EQ(margins[0].margin, 1.0);
  EXPECT_EQ(margins[1].margin, 5.0);
}

TEST(Margins, WithoutLimitsNothingBinds) { EXPECT_FALSE(binding({}).has_value()); }

/// Two nodes with every kind of limit.
tile::Case bounded_pair() {
  tile::Case pair;
  pair.parts = {{.name = "a", .capacity_J_per_K = PropertyTable(100.0)}, {.name = "b", .capacity_J_per_K = PropertyTable(200.0)}};
  pair.joins = {{.a = "a", .b = "b", .conductance_W_per_K = 2.0}};
  pair.limits = {{.node = "a", .below_K = 350.0, .rate_below_K_per_s = 0.5}};
  pair.differences = {{.a = "a", .b = "b", .below_K = 40.0}, {.a = "b", .b = "a", .distance_m = 0.5, .gradient_below_K_per_m = 80.0}};
  return pair;
}

TEST(Margins, OfRatesAndDifferencesTakeTheirSizeInEitherDirection) {
  const tile::TileSystem system(bounded_pair());
  for (const double apart_K : {10.0, -10.0}) {
    const std::vector<double> x{300.0 + apart_K, 300.0};
    const std::vector<double> rate = rates_at(system, 0.0, x);
    EXPECT_NEAR(rate[0], -2.0 * apart_K / 100.0, 1e-12);
    const auto margins = margins_at(system, x, rate);
    ASSERT_EQ(margins.size(), 4u);
    EXPECT_EQ(margins[1].kind, LimitKind::rate);
    EXPECT_NEAR(margins[1].margin, 0.3, 1e-12);
    EXPECT_EQ(margins[2].kind, LimitKind::difference);
    EXPECT_NEAR(margins[2].margin, 30.0, 1e-12);
    EXPECT_EQ(margins[2].where(), "a - b");
    EXPECT_EQ(margins[3].kind, LimitKind::gradient);
    EXPECT_NEAR(margins[3].margin, 60.0, 1e-12);
    EXPECT_EQ(unit_of(margins[3].kind), "K/m");
  }
}

TEST(Margins, OfRatesAreWholeInASteadyState) {
  const tile::TileSystem system(bounded_pair());
  EXPECT_EQ(margins_at(system, std::vector<double>{310.0, 300.0})[1].margin, 0.5);
}

TEST(Margins, OfAllKindsCompareKelvinWithHundredthsOfALimit) {
  const Margin kelvin{.node = "a", .value = 345.0, .limit = 350.0, .margin = 5.0};
  Margin rate{.kind = LimitKind::rate, .node = "a", .value = 0.48, .limit = 0.5, .margin = 0.02};
  EXPECT_NEAR(rate.comparable(), 4.0, 1e-12);
  EXPECT_EQ(binding({kelvin, rate})->kind, LimitKind::rate);
  rate.margin = 0.03;
  EXPECT_EQ(binding({kelvin, rate})->kind, LimitKind::temperature);
  const Margin charge{.kind = LimitKind::charge, .node = "battery", .value = 24.0, .limit = 20.0, .upper = false, .margin = 4.0};
  EXPECT_EQ(binding({kelvin, rate, charge})->kind, LimitKind::charge);
}

TEST(Margins, ComeNextWhereTheyAreOfAnotherLimit) {
  const Margin first{.node = "a", .margin = 1.0}, again{.node = "a", .margin = 2.0}, other{.node = "b", .margin = 3.0};
  const Margin rate{.kind = LimitKind::rate, .node = "a", .limit = 1.0, .margin = 0.5};
  EXPECT_EQ(next_after({rate, other, again, first}, first)->node, "b");
  EXPECT_EQ(next_after({rate, again, first}, first)->kind, LimitKind::rate);
  EXPECT_FALSE(next_after({again, first}, first).has_value());
  EXPECT_FALSE(next_after({}, std::nullopt).has_value());
}

TEST(Margins, OfARateNeedAHeatCapacity) {
  tile::Case pair = bounded_pair();
  pair.parts[0].capacity_J_per_K.reset();
  EXPECT_THROW(tile::TileSystem{pair}, Error);
}

TEST(Margins, OfADifferenceOfANodeWithItselfAreRefused) {
  tile::Case pair = bounded_pair();
  pair.differences[0].b = "a";
  EXPECT_THROW(tile::TileSystem{pair}, Error);
}

TEST(Validity, IsWarnedOfOncePerPropertyUsedOutside) {
  const tile::TileSystem system(test::everything());
  auto ranges = ranges_at(system, std::vector<double>(static_cast<std::size_t>(system.size()), 300.0));
  EXPECT_TRUE(validity_warnings(system, Uses::transient, ranges, ranges).empty());
  for (TemperatureRange& range : ranges) {
    if (range.node == "back") range.highest_K = 500.0;
  }
  const auto warnings = validity_warnings(system, Uses::transient, ranges, ranges);
  ASSERT_EQ(warnings.size(), 2u);  // its heat capacity and the bar that ends there
  EXPECT_EQ(warnings[0].code, Code::outside_validity);
  EXPECT_EQ(warnings[0].severity, Severity::warning);
  EXPECT_THAT(warnings[0].message, testing::HasSubstr("back was at 26.85 to 226.9 degC"));
  EXPECT_EQ(validity_warnings(system, Uses::steady, ranges, ranges).size(), 1u) << "no heat is stored in a steady state";
}

TEST(Validity, IsWarnedOfWhereATableOfALaserHasNoSuchDrive) {
  tile::Case tile = test::everything();
  devices::EfficiencyLaw table;
  table.rated_input_W = 50.0;
  table.junction_K = {300.0};
  table.drive = {0.5, 1.0};
  table.efficiency = {0.46, 0.5};
  tile.lasers.front().devices.law = table;
  const tile::TileSystem system(tile);
  std::vector<double> drives(tile.lasers.size(), 0.5);
  EXPECT_TRUE(drive_warnings(system, drives).empty());
  drives.front() = 0.2;
  const auto warnings = drive_warnings(system, drives);
  ASSERT_EQ(warnings.size(), 1u);
  EXPECT_THAT(warnings[0].message, testing::HasSubstr("has drives from 50 to 100 %; it was used at 20 %"));
}

}  // namespace tileflux::studies::limits_test
