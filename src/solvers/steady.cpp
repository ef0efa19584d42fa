#include "tileflux/solvers/steady.h"

#include <Eigen/Sparse>
#include <Eigen/SparseLU>
#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "solvers/kinsol_lu.h"
#include "solvers/sundials_parts.h"
#include "solvers/worst.h"

namespace tileflux::solvers {

namespace {

struct FreeKinsol {
  void operator()(void* memory) const { KINFree(&memory); }
};

/// What the call-backs need.
struct Bridge {
  const System& system;
  double time_s;
  std::vector<double> no_rate;
  std::exception_ptr kept;
};

int residual_callback(N_Vector x, N_Vector f, void* user) {
  auto& bridge = *static_cast<Bridge*>(user);
  return guarded(bridge.kept,
                 [&] { return bridge.system.residual(bridge.time_s, view(x), bridge.no_rate, view(f)) ? 0 : 1; });
}

int jacobian_callback(N_Vector x, N_Vector, SUNMatrix matrix, void* user, N_Vector, N_Vector) {
  auto& bridge = *static_cast<Bridge*>(user);
  return guarded(bridge.kept, [&] {
    bridge.system.jacobian(bridge.time_s, view(x), bridge.no_rate, 0.0, values_of(matrix));
    return 0;
  });
}

double largest(std::span<const double> values) {
  double most = 0.0;
  for (const double value : values) {
    if (std::isnan(value)) return HUGE_VAL;
    most = std::max(most, std::abs(value));
  }
  return most;
}

/// KINSOL with all that it needs, for one system.
class Newton {
 public:
  explicit Newton(Bridge& bridge)
      : bridge_(bridge),
        context_(make_context()),
        unknown_(make_vector(bridge.system.size(), context_.get())),
        unknown_scale_(make_vector(bridge.system.size(), context_.get())),
        residual_scale_(make_vector(bridge.system.size(), context_.get())),
        matrix_(make_matrix(bridge.system.pattern(), context_.get())),
        lu_(bridge.system.pattern()),
        linear_(make_linear_solver(lu_, context_.get())),
        memory_(KINCreate(context_.get())) {
    constexpr double typical_temperature_K = 300.0;
    N_VConst(1.0 / typical_temperature_K, unknown_scale_.get());
    KINSetErrHandlerFn(memory_.get(), silent, nullptr);
    KINInit(memory_.get(), residual_callback, unknown_.get());
    KINSetUserData(memory_.get(), &bridge_);
    // Steps below this relative size change nothing that a double could show.
    KINSetScaledStepTol(memory_.get(), 1e-15);
    KINSetMaxSetupCalls(memory_.get(), 1);
    KINSetLinearSolver(memory_.get(), linear_.get(), matrix_.get());
    KINSetJacFn(memory_.get(), jacobian_callback);
  }

  /// One solve from `x`, which is overwritten where it helps. Returns the number of Newton steps.
  int solve(std::vector<double>& x, const SteadyOptions& options) {
    std::copy(x.begin(), x.end(), view(unknown_.get()).begin());
    N_VConst(1.0 / options.residual_scale_W, residual_scale_.get());
    KINSetFuncNormTol(memory_.get(), options.tolerance);
    KINSetNumMaxIters(memory_.get(), options.most_newton_steps);
    KINSol(memory_.get(), unknown_.get(), KIN_LINESEARCH, unknown_scale_.get(), residual_scale_.get());
    if (bridge_.kept) std::rethrow_exception(std::exchange(bridge_.kept, nullptr));
    long steps = 0;
    KINGetNumNonlinSolvIters(memory_.get(), &steps);
    std::copy(view(unknown_.get()).begin(), view(unknown_.get()).end(), x.begin());
    return static_cast<int>(steps);
  }

 private:
  Bridge& bridge_;
  Context context_;
  Vector unknown_, unknown_scale_, residual_scale_;
  Matrix matrix_;
  SparseLu lu_;
  LinearSolver linear_;
  std::unique_ptr<void, FreeKinsol> memory_;
};

/// Follows dx/dt with growing implicit steps until the residual is small enough for Newton's method to finish. Algebraic
/// unknowns follow at once, or with `damped` within about a second too, so that laws with a kink cannot throw them from one
/// side of it to the other for ever.
int continuation(Bridge& bridge, std::vector<double>& x, const SteadyOptions& options, bool damped) {
  const System& system = bridge.system;
  const Pattern& pattern = system.pattern();
  const auto size = static_cast<std::size_t>(system.size());
  std::vector<double> residual(size), trial(size), trial_residual(size),
      values(static_cast<std::size_t>(pattern.nonzeros()));
  Eigen::SparseLU<Eigen::SparseMatrix<double>> factorization;
  double step_s = 1.0;
  if (!system.residual(bridge.time_s, x, bridge.no_rate, residual)) return 0;

  int steps = 0;
  for (; steps < options.most_continuation_steps; ++steps) {
    const double size_before = largest(residual);
    if (size_before <= options.tolerance * options.residual_scale_W) break;
    if (largest(x) > options.ceiling_K) break;
    system.jacobian(bridge.time_s, x, bridge.no_rate, 1.0 / step_s, values);
    for (std::size_t i = 0; damped && i < size; ++i) {
      if (system.differential()[i]) continue;
      double& diagonal = values[static_cast<std::size_t>(pattern.position(static_cast<int>(i), static_cast<int>(i)))];
      diagonal -= std::abs(diagonal) / step_s;
    }
    const Eigen::Map<const Eigen::SparseMatrix<double>> matrix(system.size(), system.size(), pattern.nonzeros(),
                                                               pattern.column_start.data(), pattern.row.data(),
                                                               values.data());
    factorization.compute(matrix);
    const Eigen::VectorXd change =
        factorization.info() == Eigen::Success
            ? Eigen::VectorXd(factorization.solve(-Eigen::Map<const Eigen::VectorXd>(residual.data(), system.size())))
            : Eigen::VectorXd::Constant(system.size(), HUGE_VAL);
    constexpr double largest_change_K = 30.0;
    const bool bounded = change.allFinite() && change.cwiseAbs().maxCoeff() < largest_change_K;
    for (std::size_t i = 0; i < size; ++i) trial[i] = x[i] + change[static_cast<Eigen::Index>(i)];
    if (!bounded || !system.residual(bridge.time_s, trial, bridge.no_rate, trial_residual)) {
      step_s *= 0.25;
      constexpr double shortest_step_s = 1e-9;
      if (step_s < shortest_step_s) break;
      continue;
    }
    x = trial;
    residual = trial_residual;
    const double ratio = size_before / std::max(largest(residual), 1e-300);
    step_s *= std::clamp(ratio, 0.5, 10.0);
    step_s = std::max(step_s, 1e-6) * 1.2;
  }
  return steps;
}

}  // namespace

std::vector<double> round_off_W(const System& system, double time_s, std::span<const double> x) {
  const Pattern& pattern = system.pattern();
  std::vector<double> values(static_cast<std::size_t>(pattern.nonzeros())), heat_W(x.size(), 0.0);
  const std::vector<double> no_rate(x.size(), 0.0);
  system.jacobian(time_s, x, no_rate, 0.0, values);
  constexpr double last_digits = 4.0 * std::numeric_limits<double>::epsilon();
  for (std::size_t column = 0; column < x.size(); ++column) {
    for (int k = pattern.column_start[column]; k < pattern.column_start[column + 1]; ++k) {
      heat_W[static_cast<std::size_t>(pattern.row[static_cast<std::size_t>(k)])] +=
          last_digits * std::abs(values[static_cast<std::size_t>(k)] * x[column]);
    }
  }
  return heat_W;
}

struct SteadySearch::Parts {
  Bridge bridge;
  Newton newton;
  std::vector<double> residual;

  explicit Parts(const System& system)
      : bridge{system, 0.0, std::vector<double>(static_cast<std::size_t>(system.size()), 0.0), nullptr},
        newton(bridge),
        residual(bridge.no_rate.size()) {}

  /// Line search may stall at round-off just above the tolerance: a state is judged by its residual, not by a flag.
  bool judge(const std::vector<double>& x, const SteadyOptions& options, SteadySolution& solution) {
    if (!bridge.system.residual(options.time_s, x, bridge.no_rate, residual)) {
      solution.largest_residual_W = HUGE_VAL;
      return false;
    }
    solution.largest_residual_W = largest(residual);
    const double bound_W = 100.0 * options.tolerance * options.residual_scale_W;
    if (solution.largest_residual_W <= bound_W) return true;
    const std::vector<double> floor_W = round_off_W(bridge.system, options.time_s, x);
    for (std::size_t i = 0; i < residual.size(); ++i) {
      if (!(std::abs(residual[i]) <= bound_W + floor_W[i])) return false;
    }
    return true;
  }
};

SteadySearch::SteadySearch(const System& system) : parts_(std::make_unique<Parts>(system)) {}
SteadySearch::~SteadySearch() = default;

SteadySolution SteadySearch::find(std::vector<double> guess, const SteadyOptions& options) {
  Parts& p = *parts_;
  p.bridge.time_s = options.time_s;
  SteadySolution solution;
  solution.x = guess;
  solution.newton_steps = p.newton.solve(solution.x, options);
  if (p.judge(solution.x, options, solution)) {
    solution.outcome = SteadyOutcome::newton;
  } else {
    for (const bool damped : {false, true}) {
      solution.x = guess;
      solution.continuation_steps += continuation(p.bridge, solution.x, options, damped);
      if (largest(solution.x) < options.ceiling_K) solution.newton_steps += p.newton.solve(solution.x, options);
      if (!p.judge(solution.x, options, solution)) continue;
      solution.outcome = SteadyOutcome::continuation;
      break;
    }
  }
  solution.worst = largest_three(p.residual);
  if (!solution.found()) {
    solution.trouble = "no steady state found after " + std::to_string(solution.newton_steps) + " Newton and " +
                       std::to_string(solution.continuation_steps) + " continuation steps; heat left over at " +
                       name_worst(p.bridge.system, solution.worst, p.residual, " W");
  }
  return solution;
}

SteadySolution find_steady(const System& system, std::vector<double> guess, const SteadyOptions& options) {
  return SteadySearch(system).find(std::move(guess), options);
}

}  // namespace tileflux::solvers
