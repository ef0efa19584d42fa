#include "tileflux/devices/laser.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "support/random_values.h"
#include "support/sample_lasers.h"

namespace tileflux::devices::laser_test {

/// A few products, a square root and an exponential, relative.
constexpr double round_off = 1e-14;

const DiodeLaw diode = test::sample_diode();
const EfficiencyLaw table = test::sample_data_sheet();

TEST(Diode, ElectricalPowerIsCurrentTimesVoltage) { EXPECT_DOUBLE_EQ(diode.electrical_W(10.0), 10.0 * (1.38 + 0.09)); }

TEST(Diode, LightAtTheReferenceTemperatureIsSlopeTimesCurrentAboveThreshold) {
  EXPECT_DOUBLE_EQ(diode.light_W(27.0, 298.15), 1.08 * (27.0 - 0.9));
}

TEST(Diode, ThresholdGrowsAndSlopeFallsByTheirCharacteristicTemperatures) {
  EXPECT_NEAR(diode.threshold_at(298.15 + 130.0), 0.9 * std::exp(1.0), round_off);
  const double hot = 298.15 + 500.0;
  EXPECT_NEAR(diode.light_W(100.0, hot), 1.08 * std::exp(-1.0) * (100.0 - 0.9 * std::exp(500.0 / 130.0)), 100.0 * round_off);
}

TEST(Diode, GivesNoLightBelowThreshold) {
  EXPECT_EQ(diode.light_W(0.0, 298.15), 0.0);
  EXPECT_EQ(diode.light_W(0.9, 298.15), 0.0);
  EXPECT_EQ(diode.light_W(27.0, 1000.0), 0.0);
}

TEST(Diode, WithoutSeriesResistanceTheCurrentIsPowerOverVoltage) {
  DiodeLaw ideal = diode;
  ideal.series_resistance_ohm = 0.0;
  EXPECT_DOUBLE_EQ(ideal.current_A(13.8), 10.0);
  EXPECT_EQ(ideal.current_A(0.0), 0.0);
}

TEST(Diode, TakesNoCurrentWithoutPower) { EXPECT_EQ(diode.current_A(0.0), 0.0); }

RC_GTEST_PROP(Diode, CurrentIsTheInverseOfElectricalPower, ()) {
  DiodeLaw law = diode;
  law.series_resistance_ohm = test::between(0.0, 1.0);
  const double I = test::between(0.0, 100.0);
  RC_ASSERT(std::abs(law.current_A(law.electrical_W(I)) - I) <= round_off * 100.0);
}

RC_GTEST_PROP(Diode, DerivativesEqualDifferenceQuotients, ()) {
  const double I = test::between(5.0, 40.0), T = test::temperature_between(200, 380);
  const Dual<2> light = diode.light_W(variable<2>(I, 0), variable<2>(T, 1));
  // 380 K: threshold 0.9 exp(82 / 130) = 1.7 A, so all states lie above the kink at threshold.
  const double by_current = test::difference_quotient([&](double i) { return diode.light_W(i, T); }, I);
  const double by_temperature = test::difference_quotient([&](double t) { return diode.light_W(I, t); }, T);
  RC_ASSERT(std::abs(light.derivatives()[0] - by_current) <= test::difference_error(2.0 * I, I));
  RC_ASSERT(std::abs(light.derivatives()[1] - by_temperature) <= test::difference_error(2.0 * I, T));
  const double P = test::between(1.0, 60.0);
  const double by_power = test::difference_quotient([&](double p) { return diode.current_A(p); }, P);
  RC_ASSERT(std::abs(diode.current_A(variable<1>(P, 0)).derivatives()[0] - by_power) <= test::difference_error(P, P));
}

RC_GTEST_PROP(Diode, GivesLessLightThanElectricityAtEveryTemperature, ()) {
  const double I = test::between(0.0, 60.0), T = test::between(3.0, 1000.0);
  RC_ASSERT(diode.light_W(I, T) <= diode.electrical_W(I));
}

TEST(Diode, HoldsItsSlopeAtTheTurnOnVoltageInTheCold) {
  // 1.08 exp((298.15 - T) / 500) reaches 1.38 at 175.6 K.
  EXPECT_DOUBLE_EQ(diode.light_W(27.0, 100.0), 1.38 * (27.0 - diode.threshold_at(100.0)));
  EXPECT_LT(diode.light_W(27.0, 180.0), 1.38 * (27.0 - diode.threshold_at(180.0)));
}

TEST(EfficiencyTable, IsExactOnItsGridAndBilinearBetween) {
  EXPECT_DOUBLE_EQ(table.efficiency_at(290.0, 0.2), 0.30);
  EXPECT_DOUBLE_EQ(table.efficiency_at(330.0, 1.0), 0.40);
  EXPECT_DOUBLE_EQ(table.efficiency_at(290.0, 0.6), 0.50);
  EXPECT_DOUBLE_EQ(table.efficiency_at(310.0, 0.4), 0.25 * (0.30 + 0.50 + 0.26 + 0.44));
}

TEST(EfficiencyTable, HoldsEndValuesOutside) {
  EXPECT_DOUBLE_EQ(table.efficiency_at(100.0, 0.0), 0.30);
  EXPECT_DOUBLE_EQ(table.efficiency_at(500.0, 2.0), 0.40);
  EXPECT_DOUBLE_EQ(table.efficiency_at(310.0, 5.0), 0.44);
}

TEST(EfficiencyTable, WithOneEntryIsConstant) {
  const EfficiencyLaw one{.rated_input_W = 40.0, .junction_K = {298.15}, .drive = {1.0}, .efficiency = {0.45}};
  EXPECT_DOUBLE_EQ(one.light_W(20.0, 350.0), 9.0);
  EXPECT_DOUBLE_EQ(one.light_W(0.0, 350.0), 0.0);
}

RC_GTEST_PROP(EfficiencyTable, DerivativesEqualDifferenceQuotients, ()) {
  const double P = 4.0 + 0.004 + 0.01 * *rc::gen::inRange(0, 4000), T = test::temperature_between(270, 350);
  const Dual<2> light = table.light_W(variable<2>(P, 0), variable<2>(T, 1));
  const double by_power = test::difference_quotient([&](double p) { return table.light_W(p, T); }, P);
  const double by_temperature = test::difference_quotient([&](double t) { return table.light_W(P, t); }, T);
  RC_ASSERT(std::abs(light.derivatives()[0] - by_power) <= test::difference_error(P, P));
  RC_ASSERT(std::abs(light.derivatives()[1] - by_temperature) <= test::difference_error(P, T));
}

TEST(Throttle, IsFullBelowNoneAboveAndLinearBetween) {
  const ThrottleLaw law{310.0, 320.0};
  EXPECT_EQ(law.factor(200.0), 1.0);
  EXPECT_EQ(law.factor(310.0), 1.0);
  EXPECT_DOUBLE_EQ(law.factor(315.0), 0.5);
  EXPECT_EQ(law.factor(320.0), 0.0);
  EXPECT_EQ(law.factor(400.0), 0.0);
  EXPECT_DOUBLE_EQ(law.factor(variable<1>(317.0, 0)).derivatives()[0], -0.1);
  EXPECT_EQ(law.factor(variable<1>(300.0, 0)).derivatives()[0], 0.0);
  EXPECT_EQ(law.factor(variable<1>(330.0, 0)).derivatives()[0], 0.0);
}

}  // namespace tileflux::devices::laser_test
