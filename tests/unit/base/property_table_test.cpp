#include "tileflux/base/property_table.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "support/random_values.h"

namespace tileflux::property_table_test {

/// Sums and products of a handful of doubles.
constexpr double round_off = 1e-14;

PropertyTable example() { return PropertyTable({100.0, 200.0, 400.0}, {1.0, 3.0, 2.0}); }

Code code_of(std::vector<double> temperature_K, std::vector<double> value) {
  try {
    PropertyTable(std::move(temperature_K), std::move(value));
  } catch (const Error& error) {
    return error.code();
  }
  return Code::internal;
}

TEST(PropertyTable, ConstantHoldsItsValueAndItsRange) {
  const PropertyTable constant(5.0, 200.0, 300.0);
  EXPECT_TRUE(constant.constant());
  EXPECT_EQ(constant.value(10.0), 5.0);
  EXPECT_EQ(constant.integral(10.0), 50.0);
  EXPECT_TRUE(constant.covers(200.0) && constant.covers(300.0));
  EXPECT_FALSE(constant.covers(199.9) || constant.covers(300.1));
}

TEST(PropertyTable, IsLinearBetweenRowsAndExactOnThem) {
  const PropertyTable table = example();
  EXPECT_EQ(table.value(100.0), 1.0);
  EXPECT_EQ(table.value(150.0), 2.0);
  EXPECT_EQ(table.value(200.0), 3.0);
  EXPECT_EQ(table.value(300.0), 2.5);
  EXPECT_EQ(table.value(400.0), 2.0);
}

TEST(PropertyTable, HoldsEndValuesWithoutSlopeBeyondItsEnds) {
  const PropertyTable table = example();
  EXPECT_EQ(table.value(20.0), 1.0);
  EXPECT_EQ(table.value(900.0), 2.0);
  EXPECT_EQ(table.value(variable<1>(20.0, 0)).derivatives()[0], 0.0);
  EXPECT_EQ(table.value(variable<1>(900.0, 0)).derivatives()[0], 0.0);
  EXPECT_FALSE(table.covers(99.0) || table.covers(401.0));
}

TEST(PropertyTable, IntegralIsTheAreaUnderTheTable) {
  const PropertyTable table = example();
  EXPECT_EQ(table.integral(100.0), 0.0);
  EXPECT_EQ(table.integral(200.0), 200.0);
  EXPECT_EQ(table.integral(400.0), 200.0 + 500.0);
  EXPECT_EQ(table.integral(300.0) - table.integral(200.0), 275.0);
  EXPECT_EQ(table.integral(50.0), -50.0);
  EXPECT_EQ(table.integral(500.0), 900.0);
}

TEST(PropertyTable, TwoRowsAreEnough) {
  const PropertyTable table({100.0, 200.0}, {1.0, 2.0});
  EXPECT_EQ(table.value(150.0), 1.5);
  EXPECT_EQ(table.integral(200.0), 150.0);
}

RC_GTEST_PROP(PropertyTable, DerivativeOfTheIntegralIsTheValue, ()) {
  const PropertyTable table = example();
  const double T = test::temperature_between(50, 500);
  const double slope = table.integral(variable<1>(T, 0)).derivatives()[0];
  RC_ASSERT(std::abs(slope - table.value(T)) <= round_off * 3.0);
}

RC_GTEST_PROP(PropertyTable, DerivativesEqualDifferenceQuotients, ()) {
  const PropertyTable table = example();
  const double T = test::temperature_between(50, 500);
  const double exact = table.value(variable<1>(T, 0)).derivatives()[0];
  const double quotient = test::difference_quotient([&](double t) { return table.value(t); }, T);
  RC_ASSERT(std::abs(exact - quotient) <= test::difference_error(3.0, T));
}

RC_GTEST_PROP(PropertyTable, ScalingScalesValueAndIntegral, ()) {
  const PropertyTable table = example();
  const double T = test::between(50.0, 500.0), factor = test::between(0.1, 10.0);
  const PropertyTable scaled = table.scaled(factor);
  RC_ASSERT(std::abs(scaled.value(T) - factor * table.value(T)) <= round_off * factor * 3.0);
  RC_ASSERT(std::abs(scaled.integral(T) - factor * table.integral(T)) <= round_off * factor * 900.0);
  RC_ASSERT(scaled.valid_from_K() == table.valid_from_K() && scaled.valid_to_K() == table.valid_to_K());
}

TEST(PropertyTable, RefusesShapesThatDoNotFit) {
  EXPECT_EQ(code_of({100.0}, {1.0}), Code::table_shape);
  EXPECT_EQ(code_of({}, {}), Code::table_shape);
  EXPECT_EQ(code_of({100.0, 200.0}, {1.0}), Code::table_shape);
}

TEST(PropertyTable, RefusesTemperaturesThatDoNotRise) {
  EXPECT_EQ(code_of({100.0, 100.0}, {1.0, 2.0}), Code::table_not_rising);
  EXPECT_EQ(code_of({100.0, 90.0}, {1.0, 2.0}), Code::table_not_rising);
  EXPECT_EQ(code_of({100.0, std::nan("")}, {1.0, 2.0}), Code::table_not_rising);
}

}  // namespace tileflux::property_table_test
