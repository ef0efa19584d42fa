#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "support/small_system.h"
#include "tileflux/base/errors.h"
#include "tileflux/solvers/transient.h"

namespace tileflux::solvers::consistent_test {

using test::SmallSystem;
using test::vector_of;
using testing::HasSubstr;

/// Newton stops at changes of 1e-11 K; temperatures of a few hundred kelvin carry 6e-14.
constexpr double consistent_K = 1e-10;

/// stored - massless - massless - stored, 2, 3 and 6 W/K, 12 W into the first massless one.
SmallSystem massless_chain() {
  Eigen::MatrixXd linear(4, 4);
  linear << -2, 2, 0, 0, 2, -5, 3, 0, 0, 3, -9, 6, 0, 0, 6, -6;
  return SmallSystem(vector_of({10.0, 0.0, 0.0, 20.0}), linear, vector_of({0.0, 12.0, 0.0, 0.0}));
}

TEST(ConsistentState, SolvesAChainOfMasslessNodes) {
  const SmallSystem system = massless_chain();
  std::vector<double> state{310.0, 100.0, 900.0, 300.0}, rate(4);
  make_consistent(system, 0.0, state, rate);
  EXPECT_EQ(state[0], 310.0);
  EXPECT_EQ(state[3], 300.0);
  // 3 and 6 W/K in series are 2 W/K: the first massless node lies between 310 and 300 K by two equal paths, plus 12 W / 4.
  EXPECT_NEAR(state[1], 305.0 + 3.0, consistent_K);
  EXPECT_NEAR(state[2], 300.0 + 8.0 * 2.0 / 6.0, consistent_K);
  EXPECT_NEAR(rate[0], 2.0 * (308.0 - 310.0) / 10.0, consistent_K);
  EXPECT_NEAR(rate[3], 16.0 / 20.0, consistent_K);
  // Massless nodes move with their neighbours: half of each for the first.
  EXPECT_NEAR(rate[1], 0.5 * (rate[0] + rate[3]), consistent_K);
}

TEST(ConsistentState, WithoutMasslessNodesChangesNothing) {
  const SmallSystem system = test::cooling_node(10.0, 1e-8);
  std::vector<double> state{300.0}, rate(1);
  make_consistent(system, 0.0, state, rate);
  EXPECT_EQ(state[0], 300.0);
  EXPECT_NEAR(rate[0], -1e-8 * 8.1e9 / 10.0, 1e-12);
}

TEST(ConsistentState, ThatDoesNotExistNamesTheWorstUnknown) {
  SmallSystem system(vector_of({10.0, 0.0}), Eigen::MatrixXd::Zero(2, 2), vector_of({0.0, 5.0}));
  std::vector<double> state{300.0, 300.0}, rate(2);
  try {
    make_consistent(system, 7.0, state, rate);
    FAIL() << "nothing was thrown";
  } catch (const Error& error) {
    EXPECT_EQ(error.code(), Code::transient_failed);
    EXPECT_THAT(error.what(), HasSubstr("node1 (5 W)"));
    EXPECT_THAT(error.what(), HasSubstr("at 7"));
  }
}

TEST(RateCoefficients, AreTheHeatCapacitiesBesideAnyConductance) {
  Eigen::MatrixXd linear(2, 2);
  linear << -1e6, 1e6, 1e6, -1e6;
  const SmallSystem system(vector_of({0.5, 0.0}), linear, vector_of({0.0, 0.0}));
  const std::vector<double> coefficient = rate_coefficients(system, 0.0, std::vector<double>{300.0, 300.0});
  EXPECT_NEAR(coefficient[0], 0.5, 1e-12);
  EXPECT_EQ(coefficient[1], 0.0);
}

}  // namespace tileflux::solvers::consistent_test
