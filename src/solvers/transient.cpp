#include "tileflux/solvers/transient.h"

#include <idas/idas.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "solvers/sundials_parts.h"

namespace tileflux::solvers {

namespace {

struct FreeIdas {
  void operator()(void* memory) const { IDAFree(&memory); }
};

std::string reason_of(int flag) {
  switch (flag) {
    case IDA_TOO_MUCH_WORK:
      return "too many steps";
    case IDA_ERR_FAIL:
      return "the error test failed again and again";
    case IDA_CONV_FAIL:
      return "the Newton iteration did not converge";
    case IDA_LSETUP_FAIL:
      return "the linear system is singular";
    case IDA_REP_RES_ERR:
      return "the state left what the laws can take";
    default:
      return "the solver gave up (flag " + std::to_string(flag) + ")";
  }
}

}  // namespace

struct Transient::Parts {
  const System& system;
  const Watch* watch;
  const Integrands* integrands;
  TransientOptions options;

  Context context = make_context();
  Vector state, rate, integrals, is_differential;
  Matrix matrix;
  LinearSolver linear;
  std::unique_ptr<void, FreeIdas> memory;
  std::exception_ptr kept;
  std::vector<double> last_state, last_rate;
  std::vector<int> root_signs;
  double time_s = 0.0;
  bool created = false;
  TransientCounts counts;

  Parts(const System& s, const Watch* w, const Integrands* i, const TransientOptions& o)
      : system(s), watch(w), integrands(i), options(o) {
    const int size = system.size();
    state = make_vector(size, context.get());
    rate = make_vector(size, context.get());
    is_differential = make_vector(size, context.get());
    const auto differential = system.differential();
    for (std::size_t k = 0; k < differential.size(); ++k) view(is_differential.get())[k] = differential[k];
    if (integrands != nullptr && integrands->count() > 0) {
      integrals = make_vector(integrands->count(), context.get());
      N_VConst(0.0, integrals.get());
    }
    if (watch != nullptr) root_signs.assign(static_cast<std::size_t>(watch->count()), 0);
    last_state.resize(static_cast<std::size_t>(size));
    last_rate.resize(static_cast<std::size_t>(size));
  }

  static int residual_callback(double time, N_Vector x, N_Vector xdot, N_Vector f, void* user) {
    auto& parts = *static_cast<Parts*>(user);
    return guarded(parts.kept, [&] { return parts.system.residual(time, view(x), view(xdot), view(f)) ? 0 : 1; });
  }

  static int jacobian_callback(double time, double factor, N_Vector x, N_Vector xdot, N_Vector, SUNMatrix matrix,
                               void* user, N_Vector, N_Vector, N_Vector) {
    auto& parts = *static_cast<Parts*>(user);
    return guarded(parts.kept, [&] {
      write_positions(parts.system.pattern(), matrix);
      parts.system.jacobian(time, view(x), view(xdot), factor, values_of(matrix));
      return 0;
    });
  }

  static int root_callback(double time, N_Vector x, N_Vector, double* values, void* user) {
    auto& parts = *static_cast<Parts*>(user);
    return guarded(parts.kept, [&] {
      const std::span<double> watched(values, static_cast<std::size_t>(parts.watch->count()));
      parts.watch->evaluate(time, view(x), watched);
      // IDA refuses to go on from a zero that is still exactly zero a hair later, which a slow temperature next to its
      // threshold is. Zero counts as just above.
      for (double& value : watched) {
        if (value == 0.0) value = std::numeric_limits<double>::min();
      }
      return 0;
    });
  }

  static int integrand_callback(double time, N_Vector x, N_Vector, N_Vector values, void* user) {
    auto& parts = *static_cast<Parts*>(user);
    return guarded(parts.kept, [&] {
      parts.integrands->evaluate(time, view(x), view(values));
      return 0;
    });
  }

  void create() {
    memory.reset(IDACreate(context.get()));
    void* ida = memory.get();
    IDASetErrHandlerFn(ida, silent, nullptr);
    IDAInit(ida, residual_callback, time_s, state.get(), rate.get());
    IDASetUserData(ida, this);
    IDASStolerances(ida, options.relative_tolerance, options.absolute_tolerance);
    IDASetId(ida, is_differential.get());
    // What Newton's method leaves over is energy that no book holds: it is kept well below the error of a step.
    constexpr double newton_share = 0.01;
    IDASetNonlinConvCoef(ida, newton_share);
    if (options.longest_step_s > 0.0) IDASetMaxStep(ida, options.longest_step_s);
    matrix = make_matrix(system.pattern(), context.get());
    linear.reset(SUNLinSol_KLU(state.get(), matrix.get(), context.get()));
    IDASetLinearSolver(ida, linear.get(), matrix.get());
    IDASetJacFn(ida, jacobian_callback);
    if (integrals) {
      IDAQuadInit(ida, integrand_callback, integrals.get());
      IDASetQuadErrCon(ida, SUNTRUE);
      IDAQuadSStolerances(ida, options.integral_relative_tolerance, options.integral_absolute_tolerance);
    }
    if (!root_signs.empty()) {
      IDARootInit(ida, static_cast<int>(root_signs.size()), root_callback);
      IDASetNoInactiveRootWarn(ida);
    }
    created = true;
  }

  /// Counts of the segments before the last restart plus those of the present one.
  TransientCounts counts_so_far() const {
    TransientCounts total = counts;
    if (!created) return total;
    long steps = 0, residuals = 0, jacobians = 0, failures = 0;
    IDAGetNumSteps(memory.get(), &steps);
    IDAGetNumResEvals(memory.get(), &residuals);
    IDAGetNumJacEvals(memory.get(), &jacobians);
    IDAGetNumErrTestFails(memory.get(), &failures);
    total.steps += steps;
    total.residuals += residuals;
    total.jacobians += jacobians;
    total.error_test_failures += failures;
    return total;
  }

  [[noreturn]] void refuse(int flag) {
    if (kept) {
      try {
        std::rethrow_exception(kept);
      } catch (const Error& error) {
        std::vector<Diagnostic> diagnostics = error.diagnostics();
        diagnostics.front().message += position_text();
        throw Error(std::move(diagnostics));
      }
    }
    const auto size = static_cast<std::size_t>(system.size());
    const Vector errors = make_vector(system.size(), context.get());
    const Vector weights = make_vector(system.size(), context.get());
    IDAGetEstLocalErrors(memory.get(), errors.get());
    IDAGetErrWeights(memory.get(), weights.get());
    std::vector<double> weighted(size);
    for (std::size_t i = 0; i < size; ++i) weighted[i] = view(errors.get())[i] * view(weights.get())[i];
    const std::string reason = reason_of(flag);
    throw Error(Code::transient_failed, reason + position_text() + "; largest weighted errors: " +
                                            name_worst(system, largest_three(weighted), weighted, ""));
  }

  std::string position_text() const {
    double step_s = 0.0;
    IDAGetCurrentStep(memory.get(), &step_s);
    char text[96];
    std::snprintf(text, sizeof text, " at %.6g s with a step of %.3g s", time_s, step_s);
    return text;
  }
};

Transient::Transient(const System& system, const Watch* watch, const Integrands* integrands,
                     const TransientOptions& options)
    : parts_(std::make_unique<Parts>(system, watch, integrands, options)) {}

Transient::~Transient() = default;

void Transient::start(double time_s, std::span<const double> state) {
  Parts& p = *parts_;
  p.time_s = time_s;
  std::copy(state.begin(), state.end(), view(p.state.get()).begin());
  make_consistent(p.system, time_s, view(p.state.get()), view(p.rate.get()));
  if (!p.created) {
    p.create();
  } else {
    p.counts = p.counts_so_far();
    ++p.counts.restarts;
    IDAReInit(p.memory.get(), time_s, p.state.get(), p.rate.get());
    if (p.integrals) IDAQuadReInit(p.memory.get(), p.integrals.get());
  }
}

Arrival Transient::advance(double stop_s, const Observer& observer) {
  Parts& p = *parts_;
  void* ida = p.memory.get();
  // IDA refuses a stop within round-off of the present time. It is that time: two edges that are computed differently.
  const double round_off_s = 4.0 * std::numeric_limits<double>::epsilon() * (std::abs(p.time_s) + std::abs(stop_s));
  if (stop_s - p.time_s <= round_off_s) {
    p.time_s = stop_s;
    return Arrival::stop_time;
  }
  IDASetStopTime(ida, stop_s);
  const auto state_at = [&](double time, std::span<double> out) {
    const Vector work = make_vector(p.system.size(), p.context.get());
    if (IDAGetDky(ida, time, 0, work.get()) != IDA_SUCCESS)
      throw Error(Code::internal, "a time outside the last step was asked for");
    std::copy(view(work.get()).begin(), view(work.get()).end(), out.begin());
  };
  double begun_again_s = -std::numeric_limits<double>::infinity();
  for (long count = 0;; ++count) {
    if (count >= p.options.most_steps_per_segment) p.refuse(IDA_TOO_MUCH_WORK);
    std::copy(view(p.state.get()).begin(), view(p.state.get()).end(), p.last_state.begin());
    std::copy(view(p.rate.get()).begin(), view(p.rate.get()).end(), p.last_rate.begin());
    const double begin_s = p.time_s;
    const int flag = IDASolve(ida, stop_s, &p.time_s, p.state.get(), p.rate.get(), IDA_ONE_STEP);
    if (flag < 0) {
      p.time_s = begin_s;
      if (flag != IDA_CONV_FAIL || begin_s <= begun_again_s) p.refuse(flag);
      // At a corner of a law (a heat pipe that leaves its limit) what the last step left over lies on the other side of
      // it than the Jacobian, and no step is short enough. From a consistent state the next ones are.
      begun_again_s = begin_s;
      start(begin_s, p.last_state);
      IDASetStopTime(ida, stop_s);
      continue;
    }
    if (p.integrals) {
      double at_s = 0.0;
      IDAGetQuad(ida, &at_s, p.integrals.get());
    }
    bool go_on = true;
    if (observer && p.time_s > begin_s) {
      go_on = observer(
          Step{begin_s, p.time_s, p.last_state, view(p.state.get()), p.last_rate, view(p.rate.get()), state_at});
    }
    if (flag == IDA_ROOT_RETURN) {
      IDAGetRootInfo(ida, p.root_signs.data());
      return Arrival::root;
    }
    if (flag == IDA_TSTOP_RETURN) return Arrival::stop_time;
    if (!go_on) return Arrival::observer;
  }
}

double Transient::time_s() const { return parts_->time_s; }
std::span<const double> Transient::state() const { return view(parts_->state.get()); }
std::span<const double> Transient::rate() const { return view(parts_->rate.get()); }
std::span<const double> Transient::integrals() const {
  return parts_->integrals ? std::span<const double>(view(parts_->integrals.get())) : std::span<const double>();
}
std::span<const int> Transient::roots() const { return parts_->root_signs; }

TransientCounts Transient::counts() const { return parts_->counts_so_far(); }

}  // namespace tileflux::solvers
