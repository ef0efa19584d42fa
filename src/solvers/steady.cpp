#include "tileflux/solvers/steady.h"

#include <Eigen/Sparse>
#include <Eigen/SparseLU>
#include <algorithm>
#include <cmath>
#include <limits>

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
    write_positions(bridge.system.pattern(), matrix);
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

/// One KINSOL solve from `x`, which is overwritten where it helps. Returns the number of Newton steps.
int newton(Bridge& bridge, std::vector<double>& x, const SteadyOptions& options) {
  const int size = bridge.system.size();
  const Context context = make_context();
  const Vector unknown = make_vector(size, context.get());
  const Vector unknown_scale = make_vector(size, context.get());
  const Vector residual_scale = make_vector(size, context.get());
  const Matrix matrix = make_matrix(bridge.system.pattern(), context.get());
  const LinearSolver linear(SUNLinSol_KLU(unknown.get(), matrix.get(), context.get()));
  std::copy(x.begin(), x.end(), view(unknown.get()).begin());
  constexpr double typical_temperature_K = 300.0;
  N_VConst(1.0 / typical_temperature_K, unknown_scale.get());
  N_VConst(1.0 / options.residual_scale_W, residual_scale.get());

  const std::unique_ptr<void, FreeKinsol> memory(KINCreate(context.get()));
  KINSetErrHandlerFn(memory.get(), silent, nullptr);
  KINInit(memory.get(), residual_callback, unknown.get());
  KINSetUserData(memory.get(), &bridge);
  KINSetFuncNormTol(memory.get(), options.tolerance);
  // Steps below this relative size change nothing that a double could show.
  KINSetScaledStepTol(memory.get(), 1e-15);
  KINSetNumMaxIters(memory.get(), options.most_newton_steps);
  KINSetMaxSetupCalls(memory.get(), 1);
  KINSetLinearSolver(memory.get(), linear.get(), matrix.get());
  KINSetJacFn(memory.get(), jacobian_callback);
  KINSol(memory.get(), unknown.get(), KIN_LINESEARCH, unknown_scale.get(), residual_scale.get());
  if (bridge.kept) std::rethrow_exception(bridge.kept);

  long steps = 0;
  KINGetNumNonlinSolvIters(memory.get(), &steps);
  std::copy(view(unknown.get()).begin(), view(unknown.get()).end(), x.begin());
  return static_cast<int>(steps);
}

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

SteadySolution find_steady(const System& system, std::vector<double> guess, const SteadyOptions& options) {
  Bridge bridge{system, options.time_s, std::vector<double>(guess.size(), 0.0), nullptr};
  SteadySolution solution;
  std::vector<double> residual(guess.size());
  // Line search may stall at round-off just above the tolerance: such a state is judged by its residual, not by a flag.
  const auto judge = [&](const std::vector<double>& x) {
    if (!system.residual(options.time_s, x, bridge.no_rate, residual)) {
      solution.largest_residual_W = HUGE_VAL;
      return false;
    }
    solution.largest_residual_W = largest(residual);
    const std::vector<double> floor_W = round_off_W(system, options.time_s, x);
    for (std::size_t i = 0; i < residual.size(); ++i) {
      if (!(std::abs(residual[i]) <= 100.0 * options.tolerance * options.residual_scale_W + floor_W[i])) return false;
    }
    return true;
  };

  solution.x = guess;
  solution.newton_steps = newton(bridge, solution.x, options);
  if (judge(solution.x)) {
    solution.outcome = SteadyOutcome::newton;
  } else {
    for (const bool damped : {false, true}) {
      solution.x = guess;
      solution.continuation_steps += continuation(bridge, solution.x, options, damped);
      if (largest(solution.x) < options.ceiling_K) solution.newton_steps += newton(bridge, solution.x, options);
      if (!judge(solution.x)) continue;
      solution.outcome = SteadyOutcome::continuation;
      break;
    }
  }
  solution.worst = largest_three(residual);
  if (!solution.found()) {
    solution.trouble = "no steady state found after " + std::to_string(solution.newton_steps) + " Newton and " +
                       std::to_string(solution.continuation_steps) + " continuation steps; heat left over at " +
                       name_worst(system, solution.worst, residual, " W");
  }
  return solution;
}

}  // namespace tileflux::solvers
