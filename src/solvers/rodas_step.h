#pragma once
/// One step of the Rosenbrock method of rodas.h, and the continuous solution over it.

#include <array>
#include <span>
#include <vector>

#include "solvers/rodas.h"
#include "solvers/sparse_lu.h"
#include "tileflux/solvers/transient.h"

namespace tileflux::solvers {

enum class StepOutcome {
  done,
  too_coarse,  ///< the estimate of the error is above its tolerance
  outside,     ///< a stage lies outside what the laws can take
  singular,    ///< the matrix is
};

class RodasStep {
 public:
  /// Both must outlive this object; `counts` is added to.
  RodasStep(const System& system, TransientCounts& counts);

  /// Sets out from a state. False where it lies outside what the laws can take.
  bool open(double time_s, std::span<const double> state, const TransientOptions& options);

  /// Tries a step of this length from there. What follows speaks of the last one that was `done`.
  StepOutcome attempt(double length_s);

  double length_s() const { return length_s_; }
  std::span<const double> begin() const { return begin_; }
  std::span<const double> begin_rate() const { return begin_rate_; }  ///< of algebraic unknowns 0
  std::span<const double> end() const { return end_; }

  /// The continuous solution and its slope at a share of the step, 0..1.
  void state_at(double share, std::span<double> state) const;
  void rate_at(double share, std::span<double> rate) const;

  /// Root of the mean square of the estimated errors in units of their tolerances: 1 is the most that is accepted.
  double error_size() const { return error_size_; }
  /// Estimated errors of the last attempt, in units of their tolerances.
  std::span<const double> weighted_errors() const { return weighted_error_; }

 private:
  bool residual(double time_s, std::span<const double> state, std::span<double> heat);
  bool find_time_slope(double length_s);
  bool find_stage(int s, double length_s);

  const System& system_;
  TransientCounts& counts_;
  SparseLu matrix_;
  double time_s_ = 0.0, length_s_ = 0.0, error_size_ = 0.0;
  std::vector<double> begin_, end_, begin_heat_, begin_rate_, begin_coefficient_, tolerance_;
  std::array<std::vector<double>, rodas::stages> stage_;
  std::array<std::vector<double>, rodas::bends> bend_;
  std::vector<double> point_, memory_, coefficient_, time_slope_, weighted_error_, no_rate_, jacobian_;
};

}  // namespace tileflux::solvers
