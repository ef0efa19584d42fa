#pragma once
/// The state at which F(t, x, 0) = 0.

#include <memory>
#include <string>
#include <vector>

#include "tileflux/solvers/system.h"

namespace tileflux::solvers {

struct SteadyOptions {
  double time_s = 0.0;
  /// Size of the residual that counts as one, in watts: the power that flows through the system.
  double residual_scale_W = 1.0;
  /// Largest accepted residual of any equation, relative to residual_scale_W. Round-off of the laws is about 1e-14.
  double tolerance = 1e-12;
  int most_newton_steps = 60;
  int most_continuation_steps = 2000;
  /// A temperature above which the search is called a runaway.
  double ceiling_K = 3000.0;
};

enum class SteadyOutcome {
  newton,        ///< found by Newton steps
  continuation,  ///< found by following a pseudo-transient, then Newton steps
  not_found,
};

struct SteadySolution {
  SteadyOutcome outcome = SteadyOutcome::not_found;
  std::vector<double> x;
  double largest_residual_W = 0.0;
  int newton_steps = 0;
  int continuation_steps = 0;
  std::vector<int> worst;  ///< the three unknowns with the largest residual, worst first
  std::string trouble;     ///< why it was not found, with the names of the worst unknowns; empty otherwise

  bool found() const { return outcome != SteadyOutcome::not_found; }
};

/// Newton's method with line search, exact Jacobian and sparse LU (KINSOL with KLU; Hindmarsh et al. 2005, ACM
/// Transactions on Mathematical Software 31, 363); where that fails, pseudo-transient continuation with switched
/// evolution relaxation (Kelley & Keyes 1998, SIAM Journal on Numerical Analysis 35, 508), which follows the physical
/// stable branch. What depends on the system's pattern alone is kept from one search to the next.
class SteadySearch {
 public:
  /// `system` must outlive this object; its values may change between searches.
  explicit SteadySearch(const System& system);
  ~SteadySearch();
  SteadySearch(const SteadySearch&) = delete;
  SteadySearch& operator=(const SteadySearch&) = delete;

  SteadySolution find(std::vector<double> guess, const SteadyOptions& options = {});

 private:
  struct Parts;
  std::unique_ptr<Parts> parts_;
};

/// One search.
SteadySolution find_steady(const System& system, std::vector<double> guess, const SteadyOptions& options = {});

/// Per equation, the residual in watts that the last digits of the unknowns stand for: no state closes better than
/// this, which matters where a conductance is very large.
std::vector<double> round_off_W(const System& system, double time_s, std::span<const double> x);

}  // namespace tileflux::solvers
