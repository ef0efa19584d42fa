#include "units/dimension_name.h"

#include <gtest/gtest.h>

#include <string>

using namespace tileflux;
using namespace tileflux::units;

namespace dimension_name_test {

std::string name_of_unit(const std::string& unit) { return name_of_powers(resolve_unit(unit).meaning.powers); }

TEST(DimensionName, IsThatOfTheTrade) {
  EXPECT_EQ(name_of_unit("mm"), "a length");
  EXPECT_EQ(name_of_unit("kWh"), "an energy");
  EXPECT_EQ(name_of_unit("W/(m K)"), "a thermal conductivity");
  EXPECT_EQ(name_of_unit("W/(m2 K)"), "a heat transfer coefficient");
  EXPECT_EQ(name_of_unit("%"), "a plain number");
}

TEST(DimensionName, FallsBackOnBaseUnits) {
  EXPECT_EQ(name_of_unit("kg2 m/s3"), "m kg2/s3");
  EXPECT_EQ(name_of_unit("1/(kg K)"), "1/(kg K)");
  EXPECT_EQ(name_of_unit("kg5"), "kg5");
  EXPECT_EQ(name_of_unit("rpm"), "rad/s");
}

TEST(DimensionName, OfAFieldComesWithAnExample) {
  EXPECT_EQ(name_of({"m"}).name, "a length");
  EXPECT_EQ(name_of({"m"}).example, "1 mm");
  EXPECT_EQ(name_of({"K", Kind::value}).name, "a temperature");
  EXPECT_EQ(name_of({"K", Kind::difference}).name, "a temperature difference");
  EXPECT_EQ(name_of({"1"}).name, "a number");
  EXPECT_EQ(name_of({"W m-2"}).name, "a power per area");
  EXPECT_EQ(name_of({"W m-2"}).example, "1 W m-2");
  EXPECT_EQ(name_of({"kg7"}).name, "a value in kg7");
}

TEST(DimensionName, ExamplesAreReadableInTheirOwnField) {
  for (const char* unit :
       {"m",   "m2",   "m3",   "kg",       "s",        "K",    "rad",   "W",       "J",        "A",      "V",
        "ohm", "C",    "Hz",   "1/s",      "1/K",      "1/m",  "1/W",   "W/(m K)", "W/(m2 K)", "m2 K/W", "W/K",
        "K/W", "W/m2", "J/K",  "J/(kg K)", "J/(m2 K)", "J/kg", "kg/m3", "kg/m2",   "W/kg",     "W/A",    "A/K",
        "V/K", "m/s",  "m/s2", "N",        "Pa",       "mol",  "cd",    "sr",      "1"}) {
    const Parsed parsed = parse_quantity(name_of({unit}).example, {unit});
    EXPECT_TRUE(parsed.value_si.has_value()) << unit << ": " << parsed.message;
  }
}

TEST(DimensionName, OfAWrongFieldUnitIsAnInternalError) {
  try {
    name_of({"flurb"});
    FAIL() << "no error";
  } catch (const Error& error) {
    EXPECT_EQ(error.code(), Code::internal);
  }
}

}  // namespace dimension_name_test
