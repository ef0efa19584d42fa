#include "units/unit_text.h"

#include <gtest/gtest.h>

#include <string>
#include <utility>
#include <vector>

using namespace tileflux;
using namespace tileflux::units;

namespace unit_text_test {

std::string factors_of(const std::string& unit) {
  const UnitText text = read_unit_text(unit);
  if (text.fault) return std::string(entry_of(text.fault->code).slug) + '@' + std::to_string(text.fault->offset);
  std::string shown;
  for (const UnitFactor& factor : text.factors)
    shown += factor.name + std::to_string(factor.power) + '@' + std::to_string(factor.offset) + ' ';
  return shown;
}

std::string message_of(const std::string& unit) {
  const UnitText text = read_unit_text(unit);
  return text.fault ? text.fault->message : "no fault";
}

TEST(UnitText, OfOneNameIsOneFactor) { EXPECT_EQ(factors_of("kW"), "kW1@0 "); }

TEST(UnitText, TakesBlanksPointsAndStarsAsProducts) {
  EXPECT_EQ(factors_of("kg m"), "kg1@0 m1@3 ");
  EXPECT_EQ(factors_of("kg.m"), "kg1@0 m1@3 ");
  EXPECT_EQ(factors_of("kg*m"), "kg1@0 m1@3 ");
  EXPECT_EQ(factors_of("kg  *  m"), "kg1@0 m1@7 ");
}

TEST(UnitText, ReadsExponentsInEveryUsualSpelling) {
  for (const char* unit : {"m2", "m^2", "m**2"}) EXPECT_EQ(factors_of(unit), "m2@0 ");
  for (const char* unit : {"m-2", "m^-2", "m**-2"}) EXPECT_EQ(factors_of(unit), "m-2@0 ");
}

TEST(UnitText, DividesByWhatFollowsTheSlash) {
  EXPECT_EQ(factors_of("W/m2"), "W1@0 m-2@2 ");
  EXPECT_EQ(factors_of("W / (m2 K)"), "W1@0 m-2@5 K-1@8 ");
  EXPECT_EQ(factors_of("m2 K/W"), "m2@0 K1@3 W-1@5 ");
  EXPECT_EQ(factors_of("1/K"), "K-1@2 ");
  EXPECT_EQ(factors_of("1 /K"), "K-1@3 ");
  EXPECT_EQ(factors_of("W/(m2/K)"), "W1@0 m-2@3 K1@6 ");
  EXPECT_EQ(factors_of("(W/m) K"), "W1@1 m-1@3 K1@6 ");
  EXPECT_EQ(factors_of("(m s)2"), "m2@1 s2@3 ");
}

TEST(UnitText, RefusesWhatCanBeReadInTwoWays) {
  EXPECT_EQ(factors_of("W/m K"), "unit-ambiguous@4");
  EXPECT_EQ(factors_of("W/m.K"), "unit-ambiguous@3");
  EXPECT_EQ(factors_of("W/m2/K"), "unit-ambiguous@4");
  EXPECT_EQ(factors_of("1/m K"), "unit-ambiguous@4");
  EXPECT_EQ(message_of("W/m K"), "'W/m K' can be read in two ways: write 'W/(m K)'");
  EXPECT_EQ(message_of("W/m2/K"), "'W/m2/K' can be read in two ways: write 'W/(m2 K)'");
  EXPECT_EQ(message_of("W/(m K) s"), "'W/(m K) s' can be read in two ways: write 'W/((m K) s)'");
  EXPECT_EQ(message_of("1/m K"), "'1/m K' can be read in two ways: write '1/(m K)'");
  EXPECT_EQ(message_of("J/(W/m K)"), "'J/(W/m K)' can be read in two ways: write 'W/(m K)'");
}

TEST(UnitText, RefusesEverythingElse) {
  const std::vector<std::pair<std::string, int>> malformed{
      {"", 0},     {"mm 5", 3}, {"K @ 5", 2}, {"m)", 1},  {"(m", 0},        {"()", 1},      {"/K", 0},
      {"W/", 2},   {"W//m", 2}, {"m^", 1},    {"m^-", 1}, {"m0", 1},        {"m10", 1},     {"m2s", 2},
      {"W(m)", 1}, {"m^+2", 1}, {"2 m", 0},   {"m'", 1},  {"m,s", 1},       {"1/2 K", 2},   {"1", 0},
      {"m..s", 2}, {"m -2", 2}, {"m\"", 1},   {"m;s", 1}, {"lg(re mW)", 2}, {"((m3)3)3", 0}};
  for (const auto& [unit, offset] : malformed)
    EXPECT_EQ(factors_of(unit), "unit-malformed@" + std::to_string(offset)) << unit;
}

TEST(UnitText, NamesTheCharacterThatDoesNotFit) {
  EXPECT_EQ(message_of("K @ 5"), "'@' is not expected here in the unit 'K @ 5'");
  EXPECT_EQ(message_of("W/"), "the unit 'W/' ends too early");
  EXPECT_EQ(message_of("m)"), "a closing parenthesis without an opening one in 'm)'");
  EXPECT_EQ(message_of("(m"), "the parenthesis is not closed in '(m'");
  EXPECT_EQ(message_of("m\u20AC"), "'\u20AC' is not expected here in the unit 'm\u20AC'");
}

TEST(UnitText, IsBoundedInLength) {
  const std::string longest = std::string(longest_text_bytes - 1, ' ') + 'm';
  EXPECT_EQ(read_unit_text(longest + ' ').fault->code, Code::unit_malformed);
  EXPECT_EQ(factors_of(std::string(longest_text_bytes, 'm')), std::string(longest_text_bytes, 'm') + "1@0 ");
}

TEST(Keyboard, ReplacesTheSignsOfPrint) {
  EXPECT_EQ(to_keyboard("µm").text, "um");
  EXPECT_EQ(to_keyboard("μm").text, "um");
  EXPECT_EQ(to_keyboard("28 °C").text, "28 degC");
  EXPECT_EQ(to_keyboard("W/(m²·K)").text, "W/(m^2.K)");
  EXPECT_EQ(to_keyboard("s⁻¹").text, "s^-1");
  EXPECT_EQ(to_keyboard("m²²").text, "m^22");
  EXPECT_EQ(to_keyboard("\u22125 k\u03A9").text, "-5 kohm");
}

TEST(Keyboard, RemembersWhereEachByteComesFrom) {
  const KeyboardText text = to_keyboard("µm²x");
  EXPECT_EQ(text.text, "um^2x");
  EXPECT_EQ(text.offsets, (std::vector<int>{0, 2, 3, 3, 5, 6}));
}

}  // namespace unit_text_test
