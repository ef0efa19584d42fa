#include "tileflux/devices/cell_curve.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "support/random_values.h"

namespace tileflux::devices::cell_curve_test {

/// An exponential of an argument up to 100 multiplies round-off by as much, relative.
constexpr double round_off = 1e-13;
constexpr double cell_K = 301.15;

const CellCurve curve{.light_A = 0.5, .saturation_A = 1e-11, .ideality = 1.1};

TEST(CellCurve, GivesTheLightsCurrentShortCircuitedAndNoneOpen) {
  EXPECT_EQ(curve.current_A(0.0, cell_K), 0.5);
  EXPECT_NEAR(curve.current_A(curve.open_circuit_V(cell_K), cell_K), 0.0, 0.5 * round_off);
}

RC_GTEST_PROP(CellCurve, NoVoltageGivesMoreThanTheBest, ()) {
  const CellCurve law{test::between(0.001, 10.0), std::pow(10.0, test::between(-30.0, -6.0)), test::between(1.0, 4.0)};
  const double T = test::between(150.0, 400.0), best_V = law.best_V(T), most_W = law.most_power_W(T);
  RC_ASSERT(best_V > 0.0 && best_V < law.open_circuit_V(T));
  for (const double share : {0.0, 0.3, 0.8, 0.95, 0.99, 0.999, 1.001, 1.01}) {
    RC_ASSERT(share * best_V * law.current_A(share * best_V, T) <= most_W);
  }
  // The law's own derivative is zero there: the two terms that cancel are of the size of the light's current.
  const Dual<1> V = variable<1>(best_V, 0);
  const Dual<1> power = V * law.current_A(V, Dual<1>(T));
  RC_ASSERT(std::abs(power.derivatives()[0]) <= 1e3 * round_off * law.light_A);
}

RC_GTEST_PROP(CellCurve, ExactFillFactorIsThatOfTheEstimate, ()) {
  const CellCurve law{1.0, std::pow(10.0, test::between(-30.0, -5.0)), test::between(1.0, 4.0)};
  const double open_V = law.open_circuit_V(cell_K);
  const double exact = fill_factor(law.most_power_W(cell_K), law.light_A, open_V);
  constexpr double four_digits = 2e-4;  // what the estimate claims, for open-circuit voltages above 10 nV_t
  RC_ASSERT(std::abs(exact - CellCurve::fill_factor_estimate(open_V / law.diode_V(cell_K))) <= four_digits);
}

TEST(CellCurve, LosesVoltageWithTheLogarithmOfTheLight) {
  CellCurve dim = curve;
  dim.light_A = curve.light_A / 10.0;
  const double difference_V = curve.open_circuit_V(cell_K) - dim.open_circuit_V(cell_K);
  // ln(1 + x) is ln x to 1 / x, here 2e-10.
  EXPECT_NEAR(difference_V, curve.diode_V(cell_K) * std::log(10.0), 1e-9 * difference_V);
}

TEST(CellCurve, WithoutLightGivesNothing) {
  CellCurve dark = curve;
  dark.light_A = 0.0;
  EXPECT_EQ(dark.open_circuit_V(cell_K), 0.0);
  EXPECT_EQ(dark.most_power_W(cell_K), 0.0);
}

TEST(CellCurve, PowerOfAStatedFillFactorIsThatShare) {
  EXPECT_DOUBLE_EQ(fill_factor(curve.power_W(0.8, cell_K), curve.light_A, curve.open_circuit_V(cell_K)), 0.8);
}

RC_GTEST_PROP(CellCurve, DerivativesEqualDifferenceQuotients, ()) {
  const double T = test::temperature_between(200, 400);
  const double exact = curve.most_power_W(variable<1>(T, 0)).derivatives()[0];
  const double quotient = test::difference_quotient([](double t) { return curve.most_power_W(t); }, T);
  RC_ASSERT(std::abs(exact - quotient) <= test::difference_error(curve.most_power_W(T), T));
}

TEST(CellCurve, IsRefusedAtHalfTheBestVoltage) {
  const double V = 0.5 * curve.best_V(cell_K);
  EXPECT_LT(V * curve.current_A(V, cell_K), 0.6 * curve.most_power_W(cell_K));
}

}  // namespace tileflux::devices::cell_curve_test
