#pragma once
/// Random values for properties, and the difference quotient that exact derivatives are held against.

#include <rapidcheck.h>

#include <cmath>
#include <limits>

namespace tileflux::test {

/// A random number of a range, from a grid of a million steps (so that RapidCheck can shrink it).
inline double between(double low, double high) {
  constexpr int steps = 1'000'000;
  return low + (high - low) * *rc::gen::inRange(0, steps + 1) / steps;
}

/// A random temperature 0.005 K off the grid of 0.01 K: never within a difference step of a table row at a whole kelvin.
inline double temperature_between(int low_K, int high_K) { return low_K + 0.005 + 0.01 * *rc::gen::inRange(0, 100 * (high_K - low_K)); }

/// The step that balances truncation (h^2) and round-off (epsilon / h) of a central difference.
inline double difference_step(double x) { return std::cbrt(std::numeric_limits<double>::epsilon()) * x; }

/// What a central difference over that step may be wrong by, for a sum of terms of this size at x: both errors are
/// epsilon^(2/3) size / x times derivatives of order one to a hundred (fourth powers, exponentials over a third of x).
inline double difference_error(double size, double x) {
  constexpr double third_derivative = 100.0;
  return third_derivative * std::pow(std::numeric_limits<double>::epsilon(), 2.0 / 3.0) * size / x;
}

/// (f(x + h) - f(x - h)) / 2h.
template <class Function>
double difference_quotient(Function&& f, double x) {
  const double h = difference_step(x);
  const double above = x + h, below = x - h;
  return (f(above) - f(below)) / (above - below);
}

}  // namespace tileflux::test
