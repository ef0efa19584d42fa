#include "tileflux/units/quantity.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <array>
#include <charconv>
#include <cmath>
#include <numbers>
#include <string>
#include <vector>

using namespace tileflux;
using namespace tileflux::units;

namespace quantity_test {

constexpr double rounding = 1e-15;  // number, factor, product and offset are each rounded once or twice

void expect_value(const std::string& text, const Dimension& dimension, double value_si) {
  const Parsed parsed = parse_quantity(text, dimension);
  ASSERT_TRUE(parsed.value_si.has_value()) << text << ": " << parsed.message;
  EXPECT_NEAR(*parsed.value_si, value_si, std::abs(value_si) * rounding) << text;
}

void expect_fault(const std::string& text, const Dimension& dimension, Code code, int offset,
                  const std::string& message = {}) {
  const Parsed parsed = parse_quantity(text, dimension);
  ASSERT_FALSE(parsed.value_si.has_value()) << text << " = " << *parsed.value_si;
  EXPECT_EQ(entry_of(parsed.code).slug, entry_of(code).slug) << text;
  EXPECT_EQ(parsed.offset, offset) << text;
  if (!message.empty()) {
    EXPECT_EQ(parsed.message, message);
  }
  EXPECT_FALSE(parsed.message.empty()) << text;
}

std::string shortest(double value) {
  std::array<char, 32> buffer{};
  return {buffer.data(), std::to_chars(buffer.data(), buffer.data() + buffer.size(), value).ptr};
}

TEST(Quantity, IsReadInSI) {
  expect_value("1.2 kW", {"W"}, 1200.0);
  expect_value("140 um", {"m"}, 140e-6);
  expect_value("800 W/(m2 K)", {"W/(m2 K)"}, 800.0);
  expect_value("1 AU", {"m"}, 149597870700.0);
  expect_value("2 kWh", {"J"}, 7.2e6);
  expect_value("180 deg", {"rad"}, std::numbers::pi);
  expect_value("0.7 eV", {"J"}, 0.7 * 1.602176634e-19);
  expect_value("-0.2 %/K", {"1/K"}, -0.002);
}

TEST(Quantity, MayBeWrittenWithoutABlankAndWithAPlus) {
  expect_value("+1.2kW", {"W"}, 1200.0);
  expect_value("  5e3 W  ", {"W"}, 5000.0);
  expect_value(".5 m", {"m"}, 0.5);
  expect_value("5.m", {"m"}, 5.0);
  expect_value("5 1/K", {"1/K"}, 5.0);
}

TEST(Quantity, MayBeWrittenWithTheSignsOfPrint) {
  expect_value("28 °C", {"K"}, 301.15);
  expect_value("140 µm", {"m"}, 140e-6);
  expect_value("800 W/(m²·K)", {"W/(m2 K)"}, 800.0);
  expect_value("\u22120.2 %/°C", {"1/K"}, -0.002);
}

TEST(Quantity, OfTemperatureIsAValueOrADifference) {
  expect_value("25 degC", {"K", Kind::value}, 298.15);
  expect_value("25 degC", {"K", Kind::difference}, 25.0);
  expect_value("25 K", {"K", Kind::value}, 25.0);
  expect_value("68 degF", {"K", Kind::value}, 293.15);
  expect_value("18 degF", {"K", Kind::difference}, 10.0);
  expect_value("-40 degC", {"K", Kind::value}, 233.15);
}

TEST(Quantity, WithoutDimensionIsABareNumberOrPercent) {
  expect_value("0.32", {"1"}, 0.32);
  expect_value("32 %", {"1"}, 0.32);
  expect_value("32%", {"1"}, 0.32);
  expect_fault("5 deg", {"1"}, Code::unit_unexpected, 2, "expected a plain number or one in %, found '5 deg'");
  expect_fault("5 m/m", {"1"}, Code::unit_unexpected, 2);
  expect_fault("5 ppm", {"1"}, Code::unit_unexpected, 2);
}

TEST(Quantity, NeedsItsUnit) {
  expect_fault("100", {"m"}, Code::unit_missing, 0,
               "expected a length, found '100' without a unit: write the unit, for example '1 mm'");
  expect_fault("100", {"K"}, Code::unit_missing, 0);
  expect_fault("0", {"rad"}, Code::unit_missing, 0);
}

TEST(Quantity, NeedsTheRightDimension) {
  expect_fault("3 kg", {"m"}, Code::dimension_wrong, 2, "expected a length such as '1 mm', found '3 kg' (a mass)");
  expect_fault("3 kW", {"W/(m2 K)"}, Code::dimension_wrong, 2,
               "expected a heat transfer coefficient such as '800 W/(m2 K)', found '3 kW' (a power)");
  expect_fault(
      "25 C", {"K"}, Code::dimension_wrong, 3,
      "expected a temperature such as '28 degC', found '25 C' (an electric charge): C is the coulomb, write degC");
  expect_fault("5 %", {"rad"}, Code::dimension_wrong, 2);
}

TEST(Quantity, IsNeverTurnedIntoItsReciprocal) {
  expect_fault("5 Hz", {"s"}, Code::dimension_wrong, 2);
  expect_fault("5 s", {"Hz"}, Code::dimension_wrong, 2);
  expect_fault("5 K/W", {"W/K"}, Code::dimension_wrong, 2);
}

TEST(Quantity, DoesNotDropAngles) {
  expect_fault("5 rpm", {"Hz"}, Code::dimension_wrong, 2);
  expect_fault("5 W/(m2 sr)", {"W/m2"}, Code::dimension_wrong, 2);
}

TEST(Quantity, HasAReadableNumber) {
  expect_fault("", {"m"}, Code::number_malformed, 0, "expected a length such as '1 mm', found nothing");
  expect_fault("thick", {"m"}, Code::number_malformed, 0, "expected a length such as '1 mm', found 'thick'");
  expect_fault("mm 5", {"m"}, Code::number_malformed, 0);
  expect_fault("1,5 m", {"m"}, Code::number_malformed, 1,
               "a comma in the number '1,5 m': write a decimal point, and no marks between thousands");
  expect_fault("1 000 m", {"m"}, Code::number_malformed, 2);
  expect_fault("1.2.3 m", {"m"}, Code::number_malformed, 3);
  expect_fault("1'000 m", {"m"}, Code::number_malformed, 1);
  expect_fault("1_000 m", {"m"}, Code::number_malformed, 1);
  expect_fault("0x10 m", {"m"}, Code::number_malformed, 0, "hexadecimal numbers are not read, found '0x10 m'");
  expect_fault("1e W", {"W"}, Code::number_malformed, 1);
  expect_fault("1e", {"1"}, Code::number_malformed, 1);
  expect_fault("--5 m", {"m"}, Code::number_malformed, 0);
  expect_fault("+-5 m", {"m"}, Code::number_malformed, 0);
  expect_fault("5-6 m", {"m"}, Code::number_malformed, 1);
  expect_fault("5² m", {"m"}, Code::number_malformed, 1);
  expect_fault(".", {"1"}, Code::number_malformed, 0);
}

TEST(Quantity, IsFinite) {
  for (const char* text : {"nan", "NaN", "inf", "-inf", "+Infinity", "-nan(0x1)"})
    expect_fault(text, {"1"}, Code::number_not_finite, 0);
  expect_fault("1e999 m", {"m"}, Code::number_not_finite, 0);
  expect_fault("1e308 kW", {"W"}, Code::number_not_finite, 0);
}

TEST(Quantity, PlacesTheTroubleInTheUnit) {
  expect_fault("5 W/m K", {"W/(m K)"}, Code::unit_ambiguous, 6, "'W/m K' can be read in two ways: write 'W/(m K)'");
  expect_fault("5 K @ 5", {"K"}, Code::unit_malformed, 4);
  expect_fault("5 m)", {"m"}, Code::unit_malformed, 3);
  expect_fault("5 s since 1970", {"s"}, Code::unit_malformed, 10);
  expect_fault("5 /K", {"1/K"}, Code::unit_malformed, 2, "a unit does not begin with a slash: write '1/K'");
  expect_fault("  5 W/(m2 kk)", {"W/(m2 K)"}, Code::unit_unknown, 10);
  expect_fault("5 µm @", {"m"}, Code::unit_malformed, 6);  // µ is two bytes
}

TEST(Quantity, IsAtMost64BytesLong) {
  expect_fault("1" + std::string(64, '0') + " m", {"m"}, Code::number_malformed, 0,
               "expected a length such as '1 mm', found a text longer than 64 characters");
  expect_value(std::string(200, ' ') + "1 m" + std::string(200, ' '), {"m"}, 1.0);
}

TEST(Quantity, OfAWrongFieldIsAnInternalError) { EXPECT_THROW(parse_quantity("5 m", {"flurb"}), Error); }

RC_GTEST_PROP(Quantity, PrintedAndReadAgainIsTheSame, (double value)) {
  RC_PRE(std::isfinite(value));
  const Parsed parsed = parse_quantity(shortest(value) + " W", {"W"});
  const bool subnormal = value != 0.0 && !std::isnormal(value);
  RC_PRE(!subnormal);  // std::from_chars may report these as out of range
  RC_ASSERT(parsed.value_si.has_value());
  RC_ASSERT(*parsed.value_si == value);
}

RC_GTEST_PROP(Quantity, IsTheScaleTimesTheNumberPlusTheOffset, (double number)) {
  RC_PRE(std::isfinite(number) && std::abs(number) < 1e200 && (number == 0.0 || std::abs(number) > 1e-200));
  const auto unit = *rc::gen::elementOf(std::vector<std::pair<std::string, std::string>>{{"mm", "m"},
                                                                                         {"kWh", "J"},
                                                                                         {"degC", "K"},
                                                                                         {"degF", "K"},
                                                                                         {"%/K", "1/K"},
                                                                                         {"W/(cm2 K)", "W/(m2 K)"},
                                                                                         {"h", "s"},
                                                                                         {"deg", "rad"}});
  const Scale scale = scale_to_si(unit.first, unit.second);
  const Parsed parsed = parse_quantity(shortest(number) + ' ' + unit.first, {unit.second});
  RC_ASSERT(parsed.value_si.has_value());
  const double expected = scale.factor * number + scale.offset;
  RC_ASSERT(std::abs(*parsed.value_si - expected) <=
            rounding * (std::abs(scale.factor * number) + std::abs(scale.offset)));
}

RC_GTEST_PROP(Quantity, NeverThrowsOnAnyText, (const std::string& text)) {
  const Parsed parsed = parse_quantity(text, {"W"});
  RC_ASSERT(parsed.value_si.has_value() || !parsed.message.empty());
  RC_ASSERT(parsed.offset >= 0 && parsed.offset <= static_cast<int>(text.size()));
}

TEST(ScaleToSI, GivesFactorAndOffset) {
  EXPECT_DOUBLE_EQ(scale_to_si("kW", "W").factor, 1000.0);
  EXPECT_EQ(scale_to_si("kW", "W").offset, 0.0);
  EXPECT_DOUBLE_EQ(scale_to_si("degC", "K").offset, 273.15);
  EXPECT_DOUBLE_EQ(scale_to_si("%", "1").factor, 0.01);
}

TEST(ScaleToSI, RefusesUnknownAndUnfittingUnits) {
  const auto code_of = [](const char* unit, const char* si_unit) {
    try {
      scale_to_si(unit, si_unit);
    } catch (const Error& error) {
      return error.code();
    }
    return Code::internal;
  };
  EXPECT_EQ(code_of("flurb", "m"), Code::unit_unknown);
  EXPECT_EQ(code_of("kg", "m"), Code::dimension_wrong);
  EXPECT_EQ(code_of("W/m K", "m"), Code::unit_ambiguous);
}

}  // namespace quantity_test
