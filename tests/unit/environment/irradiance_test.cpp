#include "tileflux/environment/irradiance.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <set>

#include "tileflux/base/errors.h"

namespace tileflux::environment::irradiance_test {

Code code_of(std::vector<double> times, std::vector<double> values, std::string* message = nullptr) {
  try {
    TimeTable(std::move(times), std::move(values));
  } catch (const Error& error) {
    if (message != nullptr) *message = error.what();
    return error.code();
  }
  return Code::internal;
}

TEST(IrradianceStandards, AreFoundByNameWithTheirSource) {
  EXPECT_EQ(irradiance_standard("iau_2015")->at_1AU_W_per_m2, 1361.0);
  EXPECT_EQ(irradiance_standard("measured_2011")->at_1AU_W_per_m2, 1360.8);
  EXPECT_EQ(irradiance_standard("astm_2000")->at_1AU_W_per_m2, 1366.1);
  EXPECT_EQ(irradiance_standard("older_1353")->at_1AU_W_per_m2, 1353.0);
  EXPECT_EQ(irradiance_standard("iau_2014"), nullptr);
}

TEST(IrradianceStandards, HaveOneNameAndAPedigreeEach) {
  std::set<std::string_view> names;
  for (const IrradianceStandard& standard : irradiance_standards()) {
    EXPECT_TRUE(names.insert(standard.name).second) << standard.name;
    EXPECT_GT(standard.source.size(), 10u) << standard.name;
    EXPECT_TRUE(standard.basis == "published" || standard.basis == "transcribed" || standard.basis == "memory") << standard.name;
  }
}

TEST(TimeTable, IsLinearBetweenItsRows) {
  const TimeTable table({0.0, 10.0, 30.0}, {1.0, 2.0, -2.0});
  EXPECT_EQ(table.at(0.0), 1.0);
  EXPECT_EQ(table.at(5.0), 1.5);
  EXPECT_EQ(table.at(10.0), 2.0);
  EXPECT_EQ(table.at(20.0), 0.0);
  EXPECT_EQ(table.at(30.0), -2.0);
}

TEST(TimeTable, IsNotExtrapolated) {
  const TimeTable table({0.0, 10.0}, {1.0, 2.0});
  for (const double outside : {-1e-9, 10.0 + 1e-9, std::nan("")}) {
    EXPECT_FALSE(table.covers(outside));
    EXPECT_THROW(table.at(outside), Error);
  }
}

TEST(TimeTable, IsRefusedWithTimesThatRunBackwardsOrStandStill) {
  std::string message;
  EXPECT_EQ(code_of({0.0, 2.0, 1.0}, {0.0, 0.0, 0.0}, &message), Code::table_not_rising);
  EXPECT_THAT(message, testing::HasSubstr("row 3"));
  EXPECT_EQ(code_of({0.0, 0.0}, {0.0, 0.0}), Code::table_not_rising);
}

TEST(TimeTable, IsRefusedWithOneRowUnequalColumnsOrNoNumbers) {
  EXPECT_EQ(code_of({0.0}, {1.0}), Code::table_shape);
  EXPECT_EQ(code_of({0.0, 1.0}, {1.0}), Code::table_shape);
  EXPECT_EQ(code_of({0.0, 1.0}, {1.0, std::nan("")}), Code::number_not_finite);
}

}  // namespace tileflux::environment::irradiance_test
