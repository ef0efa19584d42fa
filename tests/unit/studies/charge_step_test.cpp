#include "studies/charge_step.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

namespace tileflux::studies::charge_step_test {

constexpr double noise = 1e-9, close_percent = 1e-5;

TEST(ChargeStep, GoesToTheEndThatItDriftsTo) {
  EXPECT_EQ(ChargeStep(20.0, 100.0).next(50.0, 0.1, 0.0, noise, close_percent), 100.0);
  EXPECT_EQ(ChargeStep(20.0, 100.0).next(50.0, -0.1, 0.0, noise, close_percent), 20.0);
}

TEST(ChargeStep, StaysWhereNothingIsGainedAndNothingHolds) {
  ChargeStep step(20.0, 100.0);
  EXPECT_EQ(step.next(50.0, 0.0, 0.0, noise, close_percent), 50.0);
  EXPECT_TRUE(step.neutral());
}

TEST(ChargeStep, IsNewtonsWithinItsBounds) {
  ChargeStep step(20.0, 100.0);
  EXPECT_DOUBLE_EQ(step.next(90.0, 0.1, 0.05, noise, close_percent), 92.0);
  EXPECT_FALSE(step.bracketed());
}

/// Steps until a cycle gains less than 1e-6 percent.
template <class Gain>
std::pair<double, int> settled(ChargeStep step, double percent, Gain&& gain) {
  int steps = 0;
  for (; steps < 100; ++steps) {
    const double h = 1e-5;
    const double stiffness = (gain(percent - h) - gain(percent + h)) / (2.0 * h);
    const double next = step.next(percent, gain(percent), stiffness, noise, close_percent);
    if (std::abs(next - percent) < 1e-6) break;
    percent = next;
  }
  return {percent, steps};
}

TEST(ChargeStep, FindsTheChargeBetweenTwoThatDriftTowardsEachOther) {
  // Even gain up to 90 %, falling over the taper to 100 %; an even loss. Flat on both sides of the taper.
  const auto gain = [](double z) { return 0.5 * std::clamp((100.0 - z) / 10.0, 0.0, 1.0) - 0.2; };
  const auto [percent, steps] = settled(ChargeStep(0.0, 105.0), 30.0, gain);
  EXPECT_NEAR(percent, 96.0, 1e-4);
  EXPECT_LT(steps, 12);
}

TEST(ChargeStep, ForgetsABoundThatNoLongerHolds) {
  // What a cycle gains changes after the third one, as temperatures settle: the answer moves out of the old bounds.
  int calls = 0;
  ChargeStep step(0.0, 100.0);
  double percent = 50.0;
  for (; calls < 60; ++calls) {
    const double target = calls < 3 ? 40.0 : 70.0;
    percent = step.next(percent, target - percent > 0.0 ? 0.1 : -0.1, 0.0, noise, close_percent);
  }
  EXPECT_NEAR(percent, 70.0, 0.1);
}

}  // namespace tileflux::studies::charge_step_test
