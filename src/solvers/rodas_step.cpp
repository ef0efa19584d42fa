#include "solvers/rodas_step.h"

#include <algorithm>
#include <cmath>

namespace tileflux::solvers {

namespace {

void add(double factor, const std::vector<double>& values, std::vector<double>& to) {
  for (std::size_t i = 0; i < to.size(); ++i) to[i] += factor * values[i];
}

}  // namespace

RodasStep::RodasStep(const System& system, TransientCounts& counts)
    : system_(system), counts_(counts), matrix_(system.pattern()) {
  const auto size = static_cast<std::size_t>(system.size());
  for (auto* values : {&begin_, &end_, &begin_heat_, &begin_rate_, &begin_coefficient_, &tolerance_, &point_, &memory_,
                       &coefficient_, &time_slope_, &weighted_error_, &no_rate_})
    values->assign(size, 0.0);
  for (std::vector<double>& values : stage_) values.assign(size, 0.0);
  for (std::vector<double>& values : bend_) values.assign(size, 0.0);
  jacobian_.resize(static_cast<std::size_t>(system.pattern().nonzeros()));
}

bool RodasStep::residual(double time_s, std::span<const double> state, std::span<double> heat) {
  ++counts_.residuals;
  return system_.residual(time_s, state, no_rate_, heat);
}

bool RodasStep::open(double time_s, std::span<const double> state, const TransientOptions& options) {
  time_s_ = time_s;
  std::copy(state.begin(), state.end(), begin_.begin());
  if (!residual(time_s, begin_, begin_heat_)) return false;
  system_.rate_coefficients(time_s, begin_, begin_coefficient_);
  for (std::size_t i = 0; i < begin_.size(); ++i) {
    begin_rate_[i] = begin_coefficient_[i] > 0.0 ? begin_heat_[i] / begin_coefficient_[i] : 0.0;
    tolerance_[i] = options.relative_tolerance * std::abs(begin_[i]) + options.absolute_tolerance;
  }
  return true;
}

/// dF/dt by a difference over a share of the step so small that its own error is far below that of the method.
bool RodasStep::find_time_slope(double length_s) {
  const double short_s = 1e-5 * length_s;
  if (!residual(time_s_ + short_s, begin_, time_slope_)) return false;
  for (std::size_t i = 0; i < begin_.size(); ++i) time_slope_[i] = (time_slope_[i] - begin_heat_[i]) / short_s;
  return true;
}

/// U_s. An equation with a rate is c(x) dx/dt = f(t, x); divided by c(x) and multiplied by c at the beginning of the step it has
/// a constant factor before its rate, as the method wants it, and the Jacobian of the system at the rates of the beginning
/// is that of this form.
bool RodasStep::find_stage(int s, double length_s) {
  std::vector<double>& out = stage_[static_cast<std::size_t>(s)];
  point_ = begin_;
  std::fill(memory_.begin(), memory_.end(), 0.0);
  for (int j = 0; j < s; ++j) {
    const std::vector<double>& earlier = stage_[static_cast<std::size_t>(j)];
    add(rodas::a[s][j], earlier, point_);
    add(rodas::c[s][j] / length_s, earlier, memory_);
  }
  if (s == 0) {
    out = begin_heat_;
  } else {
    const double time_s = time_s_ + rodas::at[s] * length_s;
    if (!residual(time_s, point_, out)) return false;
    system_.rate_coefficients(time_s, point_, coefficient_);
    for (std::size_t i = 0; i < out.size(); ++i) {
      if (begin_coefficient_[i] > 0.0) out[i] = begin_coefficient_[i] * (out[i] / coefficient_[i] + memory_[i]);
    }
  }
  if (system_.varies_in_time()) add(rodas::d[s] * length_s, time_slope_, out);
  for (double& value : out) value = -value;
  matrix_.solve(out);
  return true;
}

StepOutcome RodasStep::attempt(double length_s) {
  ++counts_.jacobians;
  system_.jacobian(time_s_, begin_, begin_rate_, 1.0 / (rodas::gamma * length_s), jacobian_);
  if (!matrix_.factor(jacobian_)) return StepOutcome::singular;
  if (system_.varies_in_time() && !find_time_slope(length_s)) return StepOutcome::outside;
  for (int s = 0; s < rodas::stages; ++s) {
    if (!find_stage(s, length_s)) return StepOutcome::outside;
  }
  const std::vector<double>& error = stage_[rodas::stages - 1];
  double sum = 0.0;
  for (std::size_t i = 0; i < error.size(); ++i) {
    weighted_error_[i] = error[i] / tolerance_[i];
    sum += weighted_error_[i] * weighted_error_[i];
  }
  error_size_ = std::sqrt(sum / static_cast<double>(error.size()));
  if (!std::isfinite(error_size_)) return StepOutcome::outside;
  if (error_size_ > 1.0) return StepOutcome::too_coarse;
  length_s_ = length_s;
  for (std::size_t i = 0; i < error.size(); ++i) end_[i] = point_[i] + error[i];
  for (std::size_t k = 0; k < bend_.size(); ++k) {
    std::fill(bend_[k].begin(), bend_[k].end(), 0.0);
    for (std::size_t j = 0; j < stage_.size(); ++j) add(rodas::bend[k][j], stage_[j], bend_[k]);
  }
  return StepOutcome::done;
}

void RodasStep::state_at(double share, std::span<double> state) const {
  const double left = 1.0 - share;
  for (std::size_t i = 0; i < state.size(); ++i) {
    const double bent = bend_[0][i] + share * (bend_[1][i] + share * bend_[2][i]);
    state[i] = left * begin_[i] + share * (end_[i] + left * bent);
  }
}

void RodasStep::rate_at(double share, std::span<double> rate) const {
  for (std::size_t i = 0; i < rate.size(); ++i) {
    const double bent = bend_[0][i] + share * (bend_[1][i] + share * bend_[2][i]);
    const double bent_slope = bend_[1][i] + 2.0 * share * bend_[2][i];
    rate[i] = (end_[i] - begin_[i] + (1.0 - 2.0 * share) * bent + share * (1.0 - share) * bent_slope) / length_s_;
  }
}

}  // namespace tileflux::solvers
