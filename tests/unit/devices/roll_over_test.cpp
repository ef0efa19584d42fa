#include "tileflux/devices/roll_over.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "support/random_values.h"

namespace tileflux::devices::roll_over_test {

/// A root of the junction's balance, found by halving down to the spacing of doubles and evaluated once more, relative.
constexpr double root_accuracy = 1e-12;
/// At a maximum the value is accurate to the square of the argument's error, the argument to the square root of the value's.
constexpr double argument_of_a_maximum = 1e-6;

const DiodeLaw diode{.rated_current_A = 27.0, .threshold_A = 0.9, .threshold_T0_K = 130.0, .slope_W_per_A = 1.08, .slope_T1_K = 500.0,
                     .reference_K = 298.15, .turn_on_V = 1.38, .series_resistance_ohm = 0.009};
constexpr double mount_K = 303.15;
constexpr double resistance_K_per_W = 2.0;

/// The coolest steady junction by fixed-point iteration from the mount's temperature upwards: every step is an upper bound
/// of nothing and a lower bound of the root, so that it ends at the lowest root. Independent of the class.
double junction_by_iteration(const DiodeLaw& law, double mount, double resistance, double current_A) {
  double T = mount;
  constexpr int most_iterations = 20000;
  for (int i = 0; i < most_iterations; ++i) {
    const double next = mount + resistance * (law.electrical_W(current_A) - law.light_W(current_A, T));
    if (next == T) break;
    T = next;
  }
  return T;
}

DiodeLaw random_diode() {
  DiodeLaw law = diode;
  law.threshold_A = test::between(0.2, 1.5);
  law.threshold_T0_K = test::between(60.0, 200.0);
  law.slope_T1_K = test::between(200.0, 1000.0);
  law.slope_W_per_A = test::between(0.8, 1.2);
  law.series_resistance_ohm = test::between(0.003, 0.03);
  return law;
}

TEST(SelfHeatedDiode, SteadyJunctionSolvesItsBalance) {
  const SelfHeatedDiode module(diode, mount_K, resistance_K_per_W);
  for (const double current_A : {0.5, 2.0, 10.0, 20.0}) {
    const OperatingPoint point = module.at_current(current_A).value();
    EXPECT_NEAR(point.junction_K, junction_by_iteration(diode, mount_K, resistance_K_per_W, current_A), 1e3 * root_accuracy);
    EXPECT_EQ(point.light_W, diode.light_W(current_A, point.junction_K));
  }
}

TEST(SelfHeatedDiode, WithoutThermalResistanceNeverRollsOver) {
  const SelfHeatedDiode module(diode, mount_K, 0.0);
  EXPECT_TRUE(module.lases());
  EXPECT_FALSE(module.roll_over());
  EXPECT_FALSE(module.runaway());
  EXPECT_EQ(module.at_current(10.0)->junction_K, mount_K);
  EXPECT_EQ(module.loop_gain(10.0, mount_K), 0.0);
}

TEST(SelfHeatedDiode, WithoutTemperatureDependenceNeverRollsOver) {
  DiodeLaw constant = diode;
  constant.threshold_T0_K = 1e9;
  constant.slope_T1_K = 1e9;
  const SelfHeatedDiode module(constant, mount_K, resistance_K_per_W);
  EXPECT_TRUE(module.lases());
  EXPECT_FALSE(module.roll_over());
  EXPECT_FALSE(module.runaway());
}

TEST(SelfHeatedDiode, OnTooHotAMountNeverLases) {
  const SelfHeatedDiode module(diode, 800.0, 20.0);  // threshold 43 A, whose power would heat it by 1500 K
  EXPECT_FALSE(module.lases());
  EXPECT_FALSE(module.roll_over());
  EXPECT_FALSE(module.runaway());
  EXPECT_EQ(module.at_current(1.0)->light_W, 0.0);
}

TEST(SelfHeatedDiode, WithAllItsVoltageInTheSlopeAndNoResistanceHasNoEndOfItsCurve) {
  DiodeLaw ideal = diode;
  ideal.slope_W_per_A = ideal.turn_on_V;
  ideal.slope_T1_K = 1e9;
  ideal.reference_K = 400.0;
  ideal.series_resistance_ohm = 0.0;
  const SelfHeatedDiode module(ideal, mount_K, resistance_K_per_W);
  EXPECT_TRUE(module.lases());
  EXPECT_FALSE(module.roll_over());
}

RC_GTEST_PROP(SelfHeatedDiode, RollsOverAtTheMostLightThatASearchFinds, ()) {
  const DiodeLaw law = random_diode();
  const double mount = test::between(260.0, 330.0), resistance = test::between(0.5, 6.0);
  const SelfHeatedDiode module(law, mount, resistance);
  const std::optional<OperatingPoint> top = module.roll_over();
  RC_ASSERT(top.has_value());
  // It is a steady state...
  const double balance_K = mount + resistance * (law.electrical_W(top->current_A) - top->light_W) - top->junction_K;
  RC_ASSERT(std::abs(balance_K) <= root_accuracy * resistance * law.electrical_W(top->current_A));
  // ... and currents on both sides give less, by brute force on an iteration of its own.
  const auto light = [&](double I) { return law.light_W(I, junction_by_iteration(law, mount, resistance, I)); };
  RC_ASSERT(std::abs(light(top->current_A) - top->light_W) <= argument_of_a_maximum * top->light_W);
  for (int i = 1; i <= 40; ++i) {
    const double apart = i * 0.01;
    RC_ASSERT(light(top->current_A * (1.0 - apart)) < top->light_W);
    RC_ASSERT(light(top->current_A * (1.0 + apart)) < top->light_W);
  }
}

RC_GTEST_PROP(SelfHeatedDiode, RollsOverWhereTheLoopGainIsTheSlopeOverTheVoltage, ()) {
  const DiodeLaw law = random_diode();
  const SelfHeatedDiode module(law, test::between(260.0, 330.0), test::between(0.5, 6.0));
  const OperatingPoint top = module.roll_over().value();
  const double slope = law.slope_at(top.junction_K);
  RC_PRE(slope < law.turn_on_V);  // the bound on the slope has a kink, where the maximum may sit
  const double voltage = law.turn_on_V + 2.0 * law.series_resistance_ohm * top.current_A;
  RC_ASSERT(std::abs(module.loop_gain(top.current_A, top.junction_K) - slope / voltage) <= argument_of_a_maximum);
}

RC_GTEST_PROP(SelfHeatedDiode, RunsAwayWhereTheLoopGainIsOneAndAfterItsRollOver, ()) {
  // With light that hangs on the threshold alone, T0 of long waves: g = (slope / V) (T_j - T_mount) / T0 where it goes out.
  DiodeLaw law = random_diode();
  law.threshold_T0_K = test::between(15.0, 35.0);
  law.slope_T1_K = test::between(2000.0, 10000.0);
  const double mount = test::between(260.0, 330.0), resistance = test::between(0.5, 6.0);
  const SelfHeatedDiode module(law, mount, resistance);
  const std::optional<OperatingPoint> end = module.runaway();
  RC_PRE(end.has_value());  // on hot mounts some fade out; with too many of them the property gives up and fails
  RC_ASSERT(std::abs(module.loop_gain(end->current_A, end->junction_K) - 1.0) <= argument_of_a_maximum);
  const OperatingPoint top = module.roll_over().value();
  RC_ASSERT(top.current_A < end->current_A && top.junction_K < end->junction_K && top.light_W > end->light_W);
  RC_ASSERT(!module.at_current(1.001 * end->current_A).has_value());
  // Beyond it the junction that is heated from the mount's temperature ends in the dark.
  RC_ASSERT(law.light_W(0.999 * end->current_A, junction_by_iteration(law, mount, resistance, 0.999 * end->current_A)) > 0.0);
  RC_ASSERT(law.light_W(1.001 * end->current_A, junction_by_iteration(law, mount, resistance, 1.001 * end->current_A)) == 0.0);
}

TEST(SelfHeatedDiode, WhoseSlopeFallsFastFadesOutWithoutRunningAway) {
  const SelfHeatedDiode module(diode, mount_K, resistance_K_per_W);
  EXPECT_TRUE(module.roll_over().has_value());
  EXPECT_FALSE(module.runaway().has_value());
  // Brute force: no step of the light between close currents, up to where it has gone out.
  const double from_A = module.roll_over()->current_A;
  double before_W = module.roll_over()->light_W, largest_step_W = 0.0, current_A = from_A;
  for (; before_W > 0.0; current_A += 0.01) {
    const double light_W = diode.light_W(current_A, junction_by_iteration(diode, mount_K, resistance_K_per_W, current_A));
    largest_step_W = std::max(largest_step_W, before_W - light_W);
    before_W = light_W;
  }
  EXPECT_LT(largest_step_W, 0.01 * module.roll_over()->light_W);
  EXPECT_EQ(module.at_current(1.01 * current_A)->light_W, 0.0);
}

TEST(SelfHeatedDiode, RollsOverLaterOnAColderMountAndABetterPath) {
  const auto most_light_W = [](double mount, double resistance) { return SelfHeatedDiode(diode, mount, resistance).roll_over()->light_W; };
  EXPECT_GT(most_light_W(283.15, 2.0), most_light_W(303.15, 2.0));
  EXPECT_GT(most_light_W(303.15, 1.0), most_light_W(303.15, 2.0));
}

TEST(SelfHeatedDiode, IsRefusedAtAJunctionHeldAtTheMount) {
  // Negative control: a junction that does not heat itself gives far more light at the current of roll-over.
  const OperatingPoint top = SelfHeatedDiode(diode, mount_K, resistance_K_per_W).roll_over().value();
  EXPECT_GT(diode.light_W(top.current_A, mount_K), 1.2 * top.light_W);
}

TEST(SelfHeatedDiode, CurrentAtAJunctionHasExactDerivatives) {
  const SelfHeatedDiode module(diode, mount_K, resistance_K_per_W);
  for (const double T : {303.5, 320.0, 350.0, 400.0}) {  // the first without light
    const double slope = test::difference_quotient([&](double t) { return module.current_at(t); }, T);
    const double exact = module.current_at(variable<1>(T, 0)).derivatives()[0];
    // The current grows over the few tens of kelvin above the mount, not over T: larger third derivatives.
    constexpr double steepness = 1e4;
    EXPECT_NEAR(exact, slope, steepness * test::difference_error(module.current_at(T), T));
  }
}

}  // namespace tileflux::devices::roll_over_test
