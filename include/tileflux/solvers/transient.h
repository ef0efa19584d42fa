#pragma once
/// The state over time: a one-step method for stiff differential-algebraic systems (solvers/rodas.h) with exact Jacobians,
/// steps chosen by its error estimate, and root-finding. A one-step method starts anew at a switch at next to no cost,
/// where methods of several steps begin at first order.

#include <functional>
#include <memory>
#include <span>
#include <vector>

#include "tileflux/solvers/system.h"

namespace tileflux::solvers {

struct TransientOptions {
  double relative_tolerance = 1e-7;
  double absolute_tolerance = 1e-5;  ///< of an unknown, in its unit (kelvin)
  double longest_step_s = 0.0;                ///< 0: no bound
  long most_steps_per_segment = 200'000;
};

struct TransientCounts {
  long steps = 0;
  long residuals = 0;
  long jacobians = 0;
  long restarts = 0;
  long error_test_failures = 0;
};

/// One accepted step, as an observer sees it. `at(t)` gives the state inside the step to the order of the method.
struct Step {
  double begin_s = 0.0;
  double end_s = 0.0;
  std::span<const double> begin_state;
  std::span<const double> end_state;
  std::span<const double> begin_rate;
  std::span<const double> end_rate;
  std::function<void(double time_s, std::span<double> state)> at;
};

/// Sees every step in order; returning false ends the advance after that step.
using Observer = std::function<bool(const Step&)>;

enum class Arrival { stop_time, root, observer };

/// Carries one state forward. Restarting (at a switch) recomputes the algebraic unknowns and the rates.
class Transient {
 public:
  /// `watch` and `integrands` may be null; all referenced objects must outlive this one.
  Transient(const System& system, const Watch* watch, const Integrands* integrands, const TransientOptions& options);
  ~Transient();
  Transient(const Transient&) = delete;
  Transient& operator=(const Transient&) = delete;

  /// Starts or restarts at a time with the given differential unknowns; algebraic ones are a first guess and are made
  /// consistent. Integrals go on from their present values. Throws Error(transient_failed) if there is no consistent
  /// state.
  void start(double time_s, std::span<const double> state);

  /// Goes on to `stop_s` exactly, or to the first zero of a watched function.
  /// Throws Error(transient_failed) naming time, step and the three worst unknowns.
  Arrival advance(double stop_s, const Observer& observer = {});

  double time_s() const;
  std::span<const double> state() const;
  std::span<const double> rate() const;
  std::span<const double> integrals() const;

  /// After Arrival::root: for each watched function 0, or +1 / -1 for a rise / fall through zero.
  std::span<const int> roots() const;
  TransientCounts counts() const;

 private:
  struct Parts;
  std::unique_ptr<Parts> parts_;
};

/// The algebraic unknowns and all rates that go with given differential unknowns. `state` is changed in its algebraic
/// entries only. Throws Error(transient_failed) naming the worst unknowns if Newton's method finds none.
void make_consistent(const System& system, double time_s, std::span<double> state, std::span<double> rate);

/// c_i of every differential unknown (0 for the others): heat capacity in J/K.
std::vector<double> rate_coefficients(const System& system, double time_s, std::span<const double> state);

}  // namespace tileflux::solvers
