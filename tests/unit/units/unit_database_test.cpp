#include "units/unit_database.h"

#include <gtest/gtest.h>

#include <cstdlib>
#include <numbers>
#include <string>
#include <thread>
#include <vector>

#include "tileflux/base/errors.h"

using namespace tileflux;
using namespace tileflux::units;

namespace unit_database_test {

constexpr double rounding = 4e-16;  // a few units in the last place, relative

double factor_of(const std::string& unit) {
  const Resolved resolved = resolve_unit(unit);
  EXPECT_FALSE(resolved.fault) << unit << ": " << (resolved.fault ? resolved.fault->message : "");
  return resolved.meaning.factor;
}

void expect_factor(const std::string& unit, double factor) {
  EXPECT_NEAR(factor_of(unit), factor, factor * rounding) << unit;
}

std::string fault_of(const std::string& unit) {
  const Resolved resolved = resolve_unit(unit);
  return resolved.fault ? std::string(entry_of(resolved.fault->code).slug) : "known";
}

TEST(UnitDatabase, KnowsTheUnitsOfTheTrade) {
  expect_factor("mm", 1e-3);
  expect_factor("um", 1e-6);
  expect_factor("kW", 1e3);
  expect_factor("GW", 1e9);
  expect_factor("min", 60.0);
  expect_factor("h", 3600.0);
  expect_factor("day", 86400.0);
  expect_factor("g/cm3", 1e3);
  expect_factor("mohm", 1e-3);
  expect_factor("mbar", 1e2);
  expect_factor("%", 1e-2);
  expect_factor("kilowatt", 1e3);
  expect_factor("millimetres", 1e-3);
}

TEST(UnitDatabase, KnowsUnitsThatUdunitsLacks) {
  expect_factor("AU", 149597870700.0);
  expect_factor("Wh", 3.6e3);
  expect_factor("kWh", 3.6e6);
  expect_factor("mAh", 3.6);
  expect_factor("deg", std::numbers::pi / 180.0);
}

TEST(UnitDatabase, HasTheElectronvoltOfThePresentSI) {
  expect_factor("eV", 1.602176634e-19);
  expect_factor("meV", 1.602176634e-22);
}

TEST(UnitDatabase, SeparatesAnglesFromPlainNumbers) {
  EXPECT_NE(resolve_unit("rad").meaning.powers, resolve_unit("%").meaning.powers);
  EXPECT_NE(resolve_unit("rpm").meaning.powers, resolve_unit("Hz").meaning.powers);
}

TEST(UnitDatabase, GivesTheOffsetOfATemperatureThatStandsAlone) {
  EXPECT_DOUBLE_EQ(resolve_unit("degC").meaning.offset, 273.15);
  EXPECT_DOUBLE_EQ(resolve_unit("degF").meaning.offset, 459.67 / 1.8);
  EXPECT_EQ(resolve_unit("1/degC").meaning.offset, 0.0);
  EXPECT_EQ(resolve_unit("J/(kg degC)").meaning.offset, 0.0);
  EXPECT_EQ(resolve_unit("J/(kg degC)").meaning.powers, resolve_unit("J/(kg K)").meaning.powers);
}

TEST(UnitDatabase, TakesOnePrefixOnly) {
  for (const char* unit : {"kkm", "mum", "mkg", "kilokilowatt"}) EXPECT_EQ(fault_of(unit), "unit-unknown") << unit;
}

TEST(UnitDatabase, TakesNoPrefixWhereItIsLikelyAnAccident) {
  for (const char* unit : {"kmin", "mh", "mdegC", "k%", "mAU", "mdeg", "mwatt", "milliW"})
    EXPECT_EQ(fault_of(unit), "unit-unknown") << unit;
}

TEST(UnitDatabase, TakesNoWordsOfTheUdunitsGrammarAsNames) {
  for (const char* unit : {"m per s", "s since", "K from", "K ref", "s after", "per", "lg", "dB", "UTC"})
    EXPECT_EQ(fault_of(unit), "unit-unknown") << unit;
}

TEST(UnitDatabase, SuggestsALikelyName) {
  EXPECT_EQ(resolve_unit("kw").fault->message, "the unit 'kw' is not known, did you mean 'kW'?");
  EXPECT_EQ(resolve_unit("mw").fault->message, "the unit 'mw' is not known, did you mean 'mW' or 'MW'?");
  EXPECT_EQ(resolve_unit("secnd").fault->message, "the unit 'secnd' is not known, did you mean 'second'?");
  EXPECT_EQ(resolve_unit("qqq").fault->message, "the unit 'qqq' is not known");
  EXPECT_EQ(resolve_unit("W/(m2 kk)").fault->offset, 6);
}

TEST(UnitDatabase, RefusesAScaleBeyondTheMachine) {
  EXPECT_EQ(fault_of("Ym9 Ym9"), "unit-malformed");
  EXPECT_EQ(fault_of("ym9 ym9"), "unit-malformed");
}

TEST(UnitDatabase, ForgetsWithoutChangingItsAnswers) {
  for (int i = 0; i < 3000; ++i) {
    std::string unit;
    for (int rest = i; rest > 0; rest /= 26) unit += static_cast<char>('a' + rest % 26);
    resolve_unit("q" + unit);
  }
  expect_factor("kW", 1e3);
}

TEST(UnitDatabase, AnswersSeveralThreads) {
  std::vector<double> factors(8);
  {
    std::vector<std::jthread> threads;
    for (std::size_t i = 0; i < factors.size(); ++i) {
      threads.emplace_back([&factors, i] {
        for (int repeat = 0; repeat < 200; ++repeat)
          factors[i] = resolve_unit(repeat % 2 == 0 ? "W/(m2 K)" : "kW").meaning.factor;
      });
    }
  }
  for (const double factor : factors) EXPECT_EQ(factor, 1e3);
}

TEST(UnitDatabaseDeathTest, SaysThatItsFilesAreMissing) {
  GTEST_FLAG_SET(death_test_style, "threadsafe");  // a fresh process, which has not loaded the database yet
  EXPECT_EXIT(
      {
        setenv("UDUNITS2_XML_PATH", "/nonexistent/units.xml", 1);
        int status = 1;
        try {
          resolve_unit("m");
        } catch (const Error& error) {
          const bool said =
              std::string(error.what()).find("unit database of UDUNITS cannot be loaded") != std::string::npos;
          status = said && error.code() == Code::internal ? 42 : 2;
        }
        std::_Exit(status);
      },
      testing::ExitedWithCode(42), "");
}

}  // namespace unit_database_test
