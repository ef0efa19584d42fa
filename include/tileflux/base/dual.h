#pragma once
/// The scalars over which every law is written: double for values, dual numbers for exact derivatives.

#include <Eigen/Core>
#include <array>
#include <unsupported/Eigen/AutoDiff>

namespace tileflux {

/// A value with its derivatives with respect to Inputs variables. Never bind an expression of duals to `auto`.
template <int Inputs>
using Dual = Eigen::AutoDiffScalar<Eigen::Matrix<double, Inputs, 1>>;

/// The variable number `index` of Inputs, with the given value.
template <int Inputs>
Dual<Inputs> variable(double value, int index) {
  return Dual<Inputs>(value, Inputs, index);
}

/// The plain value of any scalar.
inline double value_of(double x) { return x; }
template <int Inputs>
double value_of(const Dual<Inputs>& x) {
  return x.value();
}

/// The smaller and the larger of two scalars, with the derivative of the one that is taken.
template <class Scalar>
Scalar smaller(const Scalar& a, const Scalar& b) {
  return value_of(b) < value_of(a) ? b : a;
}
template <class Scalar>
Scalar larger(const Scalar& a, const Scalar& b) {
  return value_of(b) > value_of(a) ? b : a;
}

/// T^4 as a square of a square: far cheaper than pow, and exact in its derivative.
template <class Scalar>
Scalar fourth_power(const Scalar& x) {
  const Scalar square = x * x;
  return square * square;
}

}  // namespace tileflux
