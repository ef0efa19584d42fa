#include "tileflux/input/value_range.h"

#include <gtest/gtest.h>

#include <cmath>

using namespace tileflux;
using namespace tileflux::input;

namespace value_range_test {

constexpr double au_m = 149597870700.0;
constexpr double round_off = 1e-14;

const QuantityType length{{"m"}, {.least = 1e9, .most = 1e14}};
const QuantityType share{{"1"}, {.least = 0.0, .most = 1.0}};
const QuantityType temperature{{"K"}, {.least = 1.0, .most = 3000.0}};
const QuantityType difference{{"K", units::Kind::difference}, {.least = 0.0}};
const QuantityType power{{"W"}, {}};

ValueRange range(const std::string& text, const QuantityType& type = length, int points = 25,
                 Spacing spacing = Spacing::automatic) {
  return read_value_range(text, type, points, spacing);
}

Code refusal(const std::string& text, const QuantityType& type = length, int points = 25,
             Spacing spacing = Spacing::automatic) {
  try {
    range(text, type, points, spacing);
  } catch (const Error& error) {
    EXPECT_STRNE(error.what(), "");
    return error.code();
  }
  ADD_FAILURE() << text << " was accepted";
  return Code::internal;
}

TEST(Variation, HasAPathAndARange) {
  const Variation variation = read_variation(" sun.distance = 0.3..5 AU ");
  EXPECT_EQ(variation.path, "sun.distance");
  EXPECT_EQ(variation.range, "0.3..5 AU");
  for (const char* text : {"", "sun.distance", "=1..2", "sun.distance=", "sun.distance= ", " =1"})
    EXPECT_THROW(read_variation(text), Error) << text;
}

TEST(ValueRange, LeavesTheUnitOfItsFirstEndToTheLast) {
  for (const char* text : {"0.3..5AU", "0.3 AU..5 AU", "0.3 .. 5 AU", "0.3AU..5AU"}) {
    const ValueRange found = range(text);
    ASSERT_EQ(found.values_si.size(), 25u) << text;
    EXPECT_DOUBLE_EQ(found.values_si.front(), 0.3 * au_m) << text;
    EXPECT_DOUBLE_EQ(found.values_si.back(), 5.0 * au_m) << text;
    EXPECT_EQ(found.unit, "AU") << text;
    EXPECT_NEAR(found.in_unit(au_m), 1.0, round_off) << text;
  }
  EXPECT_DOUBLE_EQ(range("44.8795e6 km..1 AU").values_si.front(), 44.8795e9);
}

TEST(ValueRange, GoesInEqualRatiosBeyondAFactorOfThree) {
  const ValueRange wide = range("0.3..5AU", length, 5);
  EXPECT_EQ(wide.spacing, Spacing::logarithmic);
  for (std::size_t i = 2; i < 5; ++i)
    EXPECT_NEAR(wide.values_si[i] / wide.values_si[i - 1], wide.values_si[1] / wide.values_si[0], 10.0 * round_off);
  const ValueRange narrow = range("0.9..1.3AU", length, 5);
  EXPECT_EQ(narrow.spacing, Spacing::linear);
  EXPECT_NEAR(narrow.in_unit(narrow.values_si[1]), 1.0, round_off);
  EXPECT_EQ(range("0.9..1.3AU", length, 5, Spacing::logarithmic).spacing, Spacing::logarithmic);
  EXPECT_EQ(range("0.3..5AU", length, 5, Spacing::linear).spacing, Spacing::linear);
  EXPECT_EQ(range("-5..20 W", power, 6).spacing, Spacing::linear);
  EXPECT_NEAR(range("-5..20 W", power, 6).values_si[1], 0.0, round_off);
}

TEST(ValueRange, ReadsPlainNumbersAndPercent) {
  EXPECT_DOUBLE_EQ(range("0.3..0.5", share, 3).values_si[1], 0.4);
  const ValueRange percent = range("30..50 %", share, 3);
  EXPECT_NEAR(percent.values_si[1], 0.4, round_off);
  EXPECT_NEAR(percent.in_unit(0.4), 40.0, 100.0 * round_off);
  EXPECT_EQ(percent.unit, "%");
  EXPECT_EQ(range("0.3..0.5", share, 3).unit, "1");
}

TEST(ValueRange, KnowsTemperaturesFromDifferences) {
  const ValueRange values = range("-20..20 degC", temperature, 3);
  EXPECT_NEAR(values.values_si[0], 253.15, 1e3 * round_off);
  EXPECT_NEAR(values.values_si[1], 273.15, 1e3 * round_off);
  EXPECT_NEAR(values.in_unit(293.15), 20.0, 1e3 * round_off);
  const ValueRange differences = range("5..15 degC", difference, 3);
  EXPECT_DOUBLE_EQ(differences.values_si[0], 5.0);
  EXPECT_DOUBLE_EQ(differences.in_unit(5.0), 5.0);
}

TEST(ValueRange, ReadsAList) {
  const ValueRange list = range(".3, .5, 1,3 AU");
  ASSERT_EQ(list.values_si.size(), 4u);
  EXPECT_DOUBLE_EQ(list.values_si[1], 0.5 * au_m);
  EXPECT_EQ(list.spacing, Spacing::automatic);
  EXPECT_EQ(range("1 AU").values_si.size(), 1u);
  EXPECT_EQ(range("1e11 m, 1 AU").values_si.size(), 2u);
}

TEST(ValueRange, RefusesWhatIsNoRange) {
  for (const char* text : {"5..0.3AU", "1..1AU", "1..AU", "..1AU", "1..", "..", "1..2..3AU", "1,,2AU", ",1AU", "2,1AU", "1,1AU", ""})
    EXPECT_EQ(refusal(text), text[0] == '1' && std::string(text) == "1..AU" ? Code::number_malformed : Code::option_wrong) << text;
}

TEST(ValueRange, RefusesUnitsThatDoNotFit) {
  EXPECT_EQ(refusal("0.3..5"), Code::unit_missing);
  EXPECT_EQ(refusal("0.3..5kg"), Code::dimension_wrong);
  EXPECT_EQ(refusal("0.3kg..5AU"), Code::dimension_wrong);
  EXPECT_EQ(refusal("0.3..5parsnip"), Code::unit_unknown);
  EXPECT_EQ(refusal("0.3..5x..", length), Code::option_wrong);
  EXPECT_EQ(refusal("a..bAU"), Code::number_malformed);
}

TEST(ValueRange, RefusesEndsBeyondTheRangeOfTheKey) {
  EXPECT_EQ(refusal("1..1000 km"), Code::value_out_of_range);
  EXPECT_EQ(refusal("50..150 %", share), Code::value_out_of_range);
  EXPECT_EQ(refusal("0.5,2", share), Code::value_out_of_range);
}

TEST(ValueRange, RefusesTooManyOrTooFewPoints) {
  EXPECT_EQ(refusal("1..2AU", length, 1), Code::count_out_of_bounds);
  EXPECT_EQ(refusal("1..2AU", length, -7), Code::count_out_of_bounds);
  EXPECT_EQ(refusal("1..2AU", length, most_values + 1), Code::count_out_of_bounds);
  EXPECT_EQ(range("1..2AU", length, most_values).values_si.size(), static_cast<std::size_t>(most_values));
  std::string list = "0.1";
  for (int i = 0; i < most_values; ++i) list += ",1";
  EXPECT_EQ(refusal(list, share), Code::count_out_of_bounds);
}

TEST(ValueRange, RefusesLogarithmicStepsFromZero) {
  EXPECT_EQ(refusal("0..1", share, 5, Spacing::logarithmic), Code::option_wrong);
  EXPECT_EQ(range("0..1", share, 5).spacing, Spacing::linear);
}

}  // namespace value_range_test
