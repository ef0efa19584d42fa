#include "solvers/rodas_step.h"

#include <gtest/gtest.h>

#include <cmath>

namespace tileflux::solvers::rodas_step_test {

/// (1 + x) dx/dt = -(1 + x) z x cos t with 0 = z - x^2: x = 1 / sqrt(1 + 2 sin t) from x(0) = 1. Everything that a step must
/// master: time, a factor before the rate that depends on the state, an algebraic unknown.
class Swing : public System {
 public:
  Swing() : pattern_(Pattern::from_positions(2, {{0, 1}, {1, 0}})) {}
  int size() const override { return 2; }
  const Pattern& pattern() const override { return pattern_; }
  std::span<const std::uint8_t> differential() const override { return differential_; }
  bool residual(double time_s, std::span<const double> x, std::span<const double> rate, std::span<double> out) const override {
    out[0] = (1.0 + x[0]) * (-x[1] * x[0] * std::cos(time_s) - rate[0]);
    out[1] = x[1] - x[0] * x[0];
    return x[0] > 0.0;
  }
  void jacobian(double time_s, std::span<const double> x, std::span<const double> rate, double rate_factor, std::span<double> values) const override {
    const double swing = std::cos(time_s);
    values[0] = -x[1] * x[0] * swing - rate[0] - (1.0 + x[0]) * (x[1] * swing + rate_factor);  // (0, 0)
    values[1] = -2.0 * x[0];                                                                  // (1, 0)
    values[2] = -(1.0 + x[0]) * x[0] * swing;                                                 // (0, 1)
    values[3] = 1.0;                                                                          // (1, 1)
  }
  std::string unknown_name(int index) const override { return index == 0 ? "x" : "z"; }

  static double exact(double time_s) { return 1.0 / std::sqrt(1.0 + 2.0 * std::sin(time_s)); }

 private:
  Pattern pattern_;
  std::vector<std::uint8_t> differential_{1, 0};
};

struct Errors {
  double at_end = 0.0, inside = 0.0;
};

/// Equal steps over a unit of time.
Errors errors_with(int steps) {
  const Swing swing;
  TransientCounts counts;
  RodasStep step(swing, counts);
  TransientOptions accept_all;
  accept_all.relative_tolerance = 1e9;
  std::vector<double> state{1.0, 1.0}, middle(2);
  Errors errors;
  const double length = 1.0 / steps;
  for (int k = 0; k < steps; ++k) {
    EXPECT_TRUE(step.open(k * length, state, accept_all));
    EXPECT_EQ(step.attempt(length), StepOutcome::done);
    step.state_at(0.4, middle);
    errors.inside = std::max(errors.inside, std::abs(middle[0] - Swing::exact((k + 0.4) * length)));
    state.assign(step.end().begin(), step.end().end());
  }
  errors.at_end = std::abs(state[0] - Swing::exact(1.0)) + std::abs(state[1] - std::pow(Swing::exact(1.0), 2));
  return errors;
}

TEST(RodasStep, IsOfOrderFiveAtTheEndAndFourInside) {
  const Errors coarse = errors_with(8), fine = errors_with(16), finest = errors_with(32);
  for (const double order : {std::log2(coarse.at_end / fine.at_end), std::log2(fine.at_end / finest.at_end)}) EXPECT_NEAR(order, 5.0, 0.6);
  EXPECT_GT(std::log2(fine.inside / finest.inside), 3.8);
  EXPECT_LT(finest.at_end, 1e-8);
}

TEST(RodasStep, EstimatesItsErrorOnTheSafeSide) {
  const Swing swing;
  TransientCounts counts;
  RodasStep step(swing, counts);
  TransientOptions options;
  options.relative_tolerance = 1e9;
  options.absolute_tolerance = 0.0;
  ASSERT_TRUE(step.open(0.0, std::vector<double>{1.0, 1.0}, options));
  ASSERT_EQ(step.attempt(0.25), StepOutcome::done);
  const double error = std::abs(step.end()[0] - Swing::exact(0.25));
  const double estimate = std::abs(step.weighted_errors()[0]) * 1e9;
  EXPECT_GT(estimate, error);  // of a lower order: on the safe side
  EXPECT_LT(estimate, 300.0 * error);
}

TEST(RodasStep, ItsContinuousSolutionMeetsBothEndsWithTheRatesThere) {
  const Swing swing;
  TransientCounts counts;
  RodasStep step(swing, counts);
  ASSERT_TRUE(step.open(0.2, std::vector<double>{Swing::exact(0.2), std::pow(Swing::exact(0.2), 2)}, {.relative_tolerance = 1.0}));
  ASSERT_EQ(step.attempt(0.05), StepOutcome::done);
  std::vector<double> state(2), rate(2);
  step.state_at(0.0, state);
  EXPECT_EQ(state[0], step.begin()[0]);
  step.state_at(1.0, state);
  EXPECT_EQ(state[0], step.end()[0]);
  for (const double share : {0.0, 1.0}) {
    const double at = 0.2 + share * 0.05, x = Swing::exact(at);
    step.rate_at(share, rate);
    EXPECT_NEAR(rate[0], -x * x * x * std::cos(at), 1e-4) << share;
  }
}

TEST(RodasStep, RefusesWhatLiesOutsideTheLaws) {
  const Swing swing;
  TransientCounts counts;
  RodasStep step(swing, counts);
  EXPECT_FALSE(step.open(0.0, std::vector<double>{-1.0, 1.0}, {}));
  ASSERT_TRUE(step.open(0.0, std::vector<double>{1.0, 1.0}, {.relative_tolerance = 1e9}));
  EXPECT_EQ(step.attempt(1e6), StepOutcome::outside);
}

}  // namespace tileflux::solvers::rodas_step_test
