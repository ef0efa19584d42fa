#include "tileflux/base/dual.h"

#include <gtest/gtest.h>

namespace tileflux::dual_test {

TEST(Dual, VariableHasUnitDerivativeInItsOwnPlaceOnly) {
  const Dual<3> x = variable<3>(7.0, 1);
  EXPECT_EQ(value_of(x), 7.0);
  EXPECT_EQ(x.derivatives(), Eigen::Vector3d(0.0, 1.0, 0.0));
}

TEST(Dual, ConstantHasNoDerivative) {
  const Dual<2> x(4.0);
  EXPECT_EQ(x.derivatives(), Eigen::Vector2d::Zero());
}

TEST(Dual, FourthPowerIsExactWithItsDerivative) {
  const Dual<1> y = fourth_power(variable<1>(3.0, 0));
  EXPECT_EQ(y.value(), 81.0);
  EXPECT_EQ(y.derivatives()[0], 4.0 * 27.0);
  EXPECT_EQ(fourth_power(3.0), 81.0);
}

TEST(Dual, SmallerAndLargerCarryTheDerivativeOfTheOneTaken) {
  const Dual<2> a = variable<2>(1.0, 0), b = variable<2>(2.0, 1);
  EXPECT_EQ(smaller(a, b).derivatives(), Eigen::Vector2d(1.0, 0.0));
  EXPECT_EQ(smaller(b, a).derivatives(), Eigen::Vector2d(1.0, 0.0));
  EXPECT_EQ(larger(a, b).derivatives(), Eigen::Vector2d(0.0, 1.0));
  EXPECT_EQ(larger(b, a).derivatives(), Eigen::Vector2d(0.0, 1.0));
}

TEST(Dual, ATieTakesTheFirst) {
  const Dual<2> a = variable<2>(1.0, 0), b = variable<2>(1.0, 1);
  EXPECT_EQ(smaller(a, b).derivatives(), Eigen::Vector2d(1.0, 0.0));
  EXPECT_EQ(larger(a, b).derivatives(), Eigen::Vector2d(1.0, 0.0));
}

}  // namespace tileflux::dual_test
