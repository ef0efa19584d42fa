#pragma once
/// A small system with closed forms: C_i dT_i/dt = b_i + sum_j A_ij T_j - K_i T_i^4, with hooks for what may go wrong.

#include <Eigen/Dense>
#include <functional>
#include <string>
#include <vector>

#include "tileflux/solvers/system.h"

namespace tileflux::test {

class SmallSystem : public solvers::System {
 public:
  /// `capacity` 0: an algebraic equation. Every position is in the pattern.
  SmallSystem(Eigen::VectorXd capacity, Eigen::MatrixXd linear, Eigen::VectorXd constant, Eigen::VectorXd emission = {})
      : capacity_(std::move(capacity)), linear_(std::move(linear)), constant_(std::move(constant)),
        emission_(emission.size() > 0 ? std::move(emission) : Eigen::VectorXd::Zero(capacity_.size())) {
    std::vector<std::pair<int, int>> positions;
    for (int i = 0; i < size(); ++i) {
      differential_.push_back(capacity_[i] > 0.0 ? 1 : 0);
      for (int j = 0; j < size(); ++j) positions.emplace_back(i, j);
    }
    pattern_ = solvers::Pattern::from_positions(size(), positions);
  }

  /// Called first in every residual; may throw, or return false for "outside what the laws can take".
  std::function<bool(double time_s, std::span<const double> x)> hook;
  /// Added to equation 0, with its derivative.
  std::function<double(double x)> extra, extra_slope;

  int size() const override { return static_cast<int>(capacity_.size()); }
  const solvers::Pattern& pattern() const override { return pattern_; }
  std::span<const std::uint8_t> differential() const override { return differential_; }
  bool residual(double time_s, std::span<const double> x, std::span<const double> rate, std::span<double> out) const override {
    if (hook && !hook(time_s, x)) return false;
    const Eigen::Map<const Eigen::VectorXd> state(x.data(), size()), speed(rate.data(), size());
    Eigen::Map<Eigen::VectorXd> result(out.data(), size());
    const Eigen::VectorXd fourth = state.array().square().square();
    result = constant_ + linear_ * state - emission_.cwiseProduct(fourth) - capacity_.cwiseProduct(speed);
    if (extra) result[0] += extra(x[0]);
    return true;
  }
  void jacobian(double, std::span<const double> x, std::span<const double>, double rate_factor, std::span<double> values) const override {
    for (int j = 0; j < size(); ++j) {
      for (int i = 0; i < size(); ++i) {
        double value = linear_(i, j);
        if (i == j) value -= 4.0 * emission_[i] * x[static_cast<std::size_t>(i)] * x[static_cast<std::size_t>(i)] * x[static_cast<std::size_t>(i)] + rate_factor * capacity_[i];
        if (i == 0 && j == 0 && extra_slope) value += extra_slope(x[0]);
        values[static_cast<std::size_t>(pattern_.position(i, j))] = value;
      }
    }
  }
  std::string unknown_name(int index) const override { return "node" + std::to_string(index); }

 private:
  Eigen::VectorXd capacity_;
  Eigen::MatrixXd linear_;
  Eigen::VectorXd constant_, emission_;
  solvers::Pattern pattern_;
  std::vector<std::uint8_t> differential_;
};

inline Eigen::VectorXd vector_of(std::initializer_list<double> values) {
  Eigen::VectorXd vector(static_cast<Eigen::Index>(values.size()));
  std::copy(values.begin(), values.end(), vector.begin());
  return vector;
}

/// One node that only radiates: C dT/dt = -K T^4. T(t) = (T0^-3 + 3 K t / C)^(-1/3).
inline SmallSystem cooling_node(double capacity, double emission) {
  return SmallSystem(vector_of({capacity}), Eigen::MatrixXd::Zero(1, 1), vector_of({0.0}), vector_of({emission}));
}
inline double cooled_K(double start_K, double capacity, double emission, double time_s) {
  return 1.0 / std::cbrt(1.0 / (start_K * start_K * start_K) + 3.0 * emission * time_s / capacity);
}
inline double time_to_cool_s(double start_K, double end_K, double capacity, double emission) {
  return capacity / (3.0 * emission) * (1.0 / (end_K * end_K * end_K) - 1.0 / (start_K * start_K * start_K));
}

}  // namespace tileflux::test
