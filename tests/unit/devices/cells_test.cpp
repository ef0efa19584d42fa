#include "tileflux/devices/cells.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "support/random_values.h"

namespace tileflux::devices::cells_test {

/// A product of a few doubles, relative.
constexpr double round_off = 1e-14;

const CellLaw example{.area_m2 = 2.0, .packing = 0.9, .efficiency = 0.3, .reference_K = 301.15, .slope_per_K = -0.002, .remaining = 0.85};

TEST(Cells, GiveTheStatedEfficiencyAtTheReferenceTemperature) {
  EXPECT_DOUBLE_EQ(example.efficiency_at(301.15), 0.3);
  EXPECT_NEAR(example.available_W(301.15, 1000.0), 1000.0 * 2.0 * 0.9 * 0.85 * 0.3, 459.0 * round_off);
}

TEST(Cells, LoseTheStatedShareOfTheirEfficiencyPerKelvin) {
  // 0.3 (1 - 0.002 x 50) = 0.27: the slope is relative to the efficiency, not absolute.
  EXPECT_NEAR(example.efficiency_at(351.15), 0.27, round_off);
  EXPECT_NEAR(example.efficiency_at(251.15), 0.33, round_off);
}

TEST(Cells, NeverGiveLessThanNothing) {
  EXPECT_EQ(example.efficiency_at(301.15 + 500.1), 0.0);
  EXPECT_EQ(example.efficiency_at(variable<1>(1500.0, 0)).derivatives()[0], 0.0);
}

TEST(Cells, GiveNothingInTheDark) { EXPECT_EQ(example.available_W(250.0, 0.0), 0.0); }

RC_GTEST_PROP(Cells, DerivativeEqualsDifferenceQuotient, ()) {
  const double T = test::temperature_between(100, 900);
  const double irradiance = test::between(0.0, 20'000.0);
  const double exact = example.available_W(variable<1>(T, 0), Dual<1>(irradiance)).derivatives()[0];
  const double quotient = test::difference_quotient([&](double t) { return example.available_W(t, irradiance); }, T);
  RC_ASSERT(std::abs(exact - quotient) <= test::difference_error(irradiance, T));
}

}  // namespace tileflux::devices::cells_test
