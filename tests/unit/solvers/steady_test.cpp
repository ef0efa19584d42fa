#include "tileflux/solvers/steady.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "support/small_system.h"
#include "tileflux/base/errors.h"

namespace tileflux::solvers::steady_test {

using test::SmallSystem;
using test::vector_of;
using testing::HasSubstr;

/// Residual 1e-10 of the scale (100 times the tolerance) over the slope 4 K T^3 = 4 q / T: T x 2.5e-11.
constexpr double found_K = 1e-8;

SmallSystem radiating_plate(double heat_W, double emission) {
  return SmallSystem(vector_of({100.0}), Eigen::MatrixXd::Zero(1, 1), vector_of({heat_W}), vector_of({emission}));
}

/// Two nodes, both with heat, one radiating; a third one massless between them.
SmallSystem chain() {
  Eigen::MatrixXd linear(3, 3);
  linear << -2.0, 2.0, 0.0, 2.0, -5.0, 3.0, 0.0, 3.0, -3.0;
  return SmallSystem(vector_of({10.0, 0.0, 50.0}), linear, vector_of({100.0, 10.0, 0.0}), vector_of({0.0, 0.0, 1e-8}));
}

TEST(SteadyState, OfARadiatingPlateIsTheFourthRoot) {
  const SmallSystem plate = radiating_plate(500.0, 5e-8);
  const SteadySolution solution = find_steady(plate, {250.0}, {.residual_scale_W = 500.0});
  ASSERT_TRUE(solution.found());
  EXPECT_EQ(solution.outcome, SteadyOutcome::newton);
  EXPECT_NEAR(solution.x[0], std::pow(500.0 / 5e-8, 0.25), found_K);
  EXPECT_TRUE(solution.trouble.empty());
  EXPECT_GT(solution.newton_steps, 0);
}

TEST(SteadyState, OfAChainWithAMasslessNodeFollowsFromHeatFlows) {
  const SmallSystem system = chain();
  const SteadySolution solution = find_steady(system, {300.0, 300.0, 300.0}, {.residual_scale_W = 110.0});
  ASSERT_TRUE(solution.found());
  const double last_K = std::pow(110.0 / 1e-8, 0.25);
  EXPECT_NEAR(solution.x[2], last_K, found_K);
  EXPECT_NEAR(solution.x[1], last_K + 110.0 / 3.0, found_K);
  EXPECT_NEAR(solution.x[0], last_K + 110.0 / 3.0 + 50.0, found_K);
}

TEST(SteadyState, IsFoundFromFarAway) {
  const SmallSystem plate = radiating_plate(500.0, 5e-8);
  for (const double guess : {5.0, 50.0, 2000.0}) {
    const SteadySolution solution = find_steady(plate, {guess}, {.residual_scale_W = 500.0});
    ASSERT_TRUE(solution.found()) << guess;
    EXPECT_NEAR(solution.x[0], std::pow(500.0 / 5e-8, 0.25), found_K);
  }
}

/// Heat 260 - T, less a bump that leaves a valley of 10 W at 200 K in which Newton's method is caught.
SmallSystem with_a_valley() {
  SmallSystem system(vector_of({100.0}), -Eigen::MatrixXd::Identity(1, 1), vector_of({260.0}));
  system.extra = [](double x) { return -50.0 * std::exp(-(x - 200.0) * (x - 200.0) / 200.0); };
  system.extra_slope = [](double x) { return 0.5 * (x - 200.0) * std::exp(-(x - 200.0) * (x - 200.0) / 200.0); };
  return system;
}

TEST(SteadyState, IsFoundByContinuationWhereNewtonIsCaught) {
  const SmallSystem system = with_a_valley();
  const SteadySolution solution = find_steady(system, {190.0}, {.residual_scale_W = 260.0});
  ASSERT_TRUE(solution.found());
  EXPECT_EQ(solution.outcome, SteadyOutcome::continuation);
  EXPECT_GT(solution.continuation_steps, 0);
  // The valley is 60 K and so four widths away: exp(-18) of it is left.
  EXPECT_NEAR(solution.x[0], 260.0 - 50.0 * std::exp(-18.0), 1e-5);
}

TEST(SteadyState, ThatDoesNotExistNamesTheWorstUnknowns) {
  Eigen::MatrixXd linear = Eigen::MatrixXd::Zero(4, 4);
  linear.diagonal() << 0.0, -1.0, 0.0, 0.0;
  linear(0, 0) = 1e-3;  // more heat the warmer it is, and no way out
  linear(2, 2) = 1e-3;
  linear(3, 3) = 1e-3;
  const SmallSystem system(vector_of({1.0, 1.0, 1.0, 1.0}), linear, vector_of({500.0, 300.0, 50.0, 5.0}));
  const SteadySolution solution = find_steady(system, {300.0, 300.0, 300.0, 300.0}, {.residual_scale_W = 500.0, .ceiling_K = 1000.0});
  // A negative temperature would solve it: what the laws cannot take is refused by the system below.
  SmallSystem positive = system;
  positive.hook = [](double, std::span<const double> x) { return *std::min_element(x.begin(), x.end()) > 0.0; };
  const SteadySolution refused = find_steady(positive, {300.0, 300.0, 300.0, 300.0}, {.residual_scale_W = 500.0, .ceiling_K = 1000.0});
  EXPECT_FALSE(refused.found());
  EXPECT_EQ(refused.worst.size(), 3u);
  EXPECT_EQ(refused.worst[0], 0);
  EXPECT_EQ(refused.worst[1], 2);
  EXPECT_THAT(refused.trouble, HasSubstr("node0 ("));
  EXPECT_THAT(refused.trouble, HasSubstr("node2 ("));
  EXPECT_THAT(refused.trouble, HasSubstr(" W)"));
  EXPECT_THAT(refused.trouble, HasSubstr("Newton"));
}

TEST(SteadyState, PassesOnWhatALawThrows) {
  SmallSystem plate = radiating_plate(500.0, 5e-8);
  plate.hook = [](double, std::span<const double>) -> bool { throw Error(Code::law_not_finite, "the plate"); };
  try {
    find_steady(plate, {300.0});
    FAIL() << "nothing was thrown";
  } catch (const Error& error) {
    EXPECT_EQ(error.code(), Code::law_not_finite);
  }
}

TEST(SteadyState, IsFoundAgainstAStiffContact) {
  constexpr double stiff = 1e9;  // W/K: its last digit of temperature is worth 6e-5 W
  Eigen::MatrixXd linear(2, 2);
  linear << -stiff, stiff, stiff, -stiff;
  const SmallSystem system(vector_of({1.0, 1.0}), linear, vector_of({400.0, 0.0}), vector_of({0.0, 5e-8}));
  const SteadySolution solution = find_steady(system, {250.0, 250.0}, {.residual_scale_W = 400.0});
  ASSERT_TRUE(solution.found()) << solution.trouble;
  constexpr double last_digits_K = 1e-6;
  EXPECT_NEAR(solution.x[1], std::pow(400.0 / 5e-8, 0.25), last_digits_K);
}

}  // namespace tileflux::solvers::steady_test
