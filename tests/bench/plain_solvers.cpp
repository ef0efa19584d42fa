#include "bench/plain_solvers.h"

#include <cvode/cvode.h>
#include <kinsol/kinsol.h>
#include <nvector/nvector_serial.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunlinsol/sunlinsol_klu.h>
#include <sunmatrix/sunmatrix_dense.h>
#include <sunmatrix/sunmatrix_sparse.h>

#include <algorithm>
#include <chrono>
#include <memory>
#include <stdexcept>
#include <string>

namespace tileflux::bench {

namespace {

struct FreeAny {
  void operator()(SUNContext context) const { SUNContext_Free(&context); }
  void operator()(N_Vector vector) const { N_VDestroy(vector); }
  void operator()(SUNMatrix matrix) const { SUNMatDestroy(matrix); }
  void operator()(SUNLinearSolver solver) const { SUNLinSolFree(solver); }
};
struct FreeCvode {
  void operator()(void* memory) const { CVodeFree(&memory); }
};
struct FreeKinsol {
  void operator()(void* memory) const { KINFree(&memory); }
};
template <class Pointer>
using Owned = std::unique_ptr<std::remove_pointer_t<Pointer>, FreeAny>;

void check(int flag, const char* what) {
  if (flag < 0) throw std::runtime_error(std::string(what) + " failed with " + std::to_string(flag));
}

Owned<SUNContext> new_context() {
  SUNContext context = nullptr;
  SUNContext_Create(nullptr, &context);
  return Owned<SUNContext>(context);
}

SUNMatrix sparse_matrix(const Sparsity& pattern, int size, SUNContext context) {
  return SUNSparseMatrix(size, size, static_cast<sunindextype>(pattern.row.size()), CSC_MAT, context);
}

void write_positions(const Sparsity& pattern, SUNMatrix matrix) {
  std::copy(pattern.column_start.begin(), pattern.column_start.end(), SUNSparseMatrix_IndexPointers(matrix));
  std::copy(pattern.row.begin(), pattern.row.end(), SUNSparseMatrix_IndexValues(matrix));
}

struct Problem {
  Throttle throttle;
  Commands commands;
};

int rates_callback(double, N_Vector y, N_Vector rate, void* user) {
  rates(static_cast<Problem*>(user)->commands, NV_DATA_S(y), NV_DATA_S(rate));
  return 0;
}

int jacobian_callback(double, N_Vector y, N_Vector, SUNMatrix matrix, void* user, N_Vector, N_Vector, N_Vector) {
  write_positions(sparsity(), matrix);
  jacobian(static_cast<Problem*>(user)->commands, NV_DATA_S(y), SUNSparseMatrix_Data(matrix));
  return 0;
}

int root_callback(double, N_Vector y, double* out, void* user) {
  const auto& problem = *static_cast<Problem*>(user);
  out[0] = above_threshold_K(problem.throttle, problem.commands, NV_DATA_S(y));
  return 0;
}

}  // namespace

double seconds_now() {
  return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

Trace cvode_trace(const Throttle& throttle, Linear linear, double relative, double absolute) {
  const Owned<SUNContext> context = new_context();
  const Owned<N_Vector> y(N_VNew_Serial(states, context.get())), inside(N_VNew_Serial(states, context.get()));
  const auto start = start_state();
  std::copy(start.begin(), start.end(), NV_DATA_S(y.get()));
  Problem problem{throttle, commanded_at(0.0, false)};
  const bool sparse = linear == Linear::sparse_exact;
  const Owned<SUNMatrix> matrix(sparse ? sparse_matrix(sparsity(), states, context.get())
                                       : SUNDenseMatrix(states, states, context.get()));
  const Owned<SUNLinearSolver> solver(sparse ? SUNLinSol_KLU(y.get(), matrix.get(), context.get())
                                             : SUNLinSol_Dense(y.get(), matrix.get(), context.get()));
  const std::unique_ptr<void, FreeCvode> memory(CVodeCreate(CV_BDF, context.get()));
  void* cvode = memory.get();
  check(CVodeInit(cvode, rates_callback, 0.0, y.get()), "CVodeInit");
  CVodeSetUserData(cvode, &problem);
  CVodeSStolerances(cvode, relative, absolute);
  CVodeSetLinearSolver(cvode, solver.get(), matrix.get());
  if (sparse) CVodeSetJacFn(cvode, jacobian_callback);
  CVodeSetMaxNumSteps(cvode, 1'000'000);
  check(CVodeRootInit(cvode, 1, root_callback), "CVodeRootInit");

  Trace trace;
  const auto keep = [&](const double* values) { trace.samples.insert(trace.samples.end(), values, values + nodes); };
  const double begin = seconds_now();
  keep(NV_DATA_S(y.get()));
  double time_s = 0.0, next_sample_s = sample_every_s;
  long steps_before = 0;
  while (time_s < horizon_s) {
    const double stop_s = next_switch_s(time_s);
    CVodeSetStopTime(cvode, stop_s);
    int flag = 0;
    while (flag != CV_TSTOP_RETURN && flag != CV_ROOT_RETURN) {
      flag = CVode(cvode, stop_s, y.get(), &time_s, CV_ONE_STEP);
      check(flag, "CVode");
      while (next_sample_s <= time_s) {
        CVodeGetDky(cvode, next_sample_s, 0, inside.get());
        keep(NV_DATA_S(inside.get()));
        next_sample_s += sample_every_s;
      }
    }
    if (flag == CV_ROOT_RETURN) {
      problem.commands.throttled = !problem.commands.throttled;
      ++trace.throttle_events;
    } else {
      time_s = stop_s;
      problem.commands = commanded_at(time_s, problem.commands.throttled);
    }
    long steps = 0;
    CVodeGetNumSteps(cvode, &steps);
    steps_before += steps;
    check(CVodeReInit(cvode, time_s, y.get()), "CVodeReInit");
  }
  trace.seconds = seconds_now() - begin;
  trace.steps = steps_before;
  return trace;
}

namespace {

struct SteadyProblem {
  double share;
};

int heat_callback(N_Vector T, N_Vector heat, void* user) {
  steady_heat(static_cast<SteadyProblem*>(user)->share, NV_DATA_S(T), NV_DATA_S(heat));
  return 0;
}

int steady_jacobian_callback(N_Vector T, N_Vector, SUNMatrix matrix, void* user, N_Vector, N_Vector) {
  write_positions(steady_sparsity(), matrix);
  steady_jacobian(static_cast<SteadyProblem*>(user)->share, NV_DATA_S(T), SUNSparseMatrix_Data(matrix));
  return 0;
}

}  // namespace

double kinsol_seconds_per_state(int count, std::vector<double>& last) {
  const Owned<SUNContext> context = new_context();
  const Owned<N_Vector> T(N_VNew_Serial(nodes, context.get())), x_scale(N_VNew_Serial(nodes, context.get())),
      f_scale(N_VNew_Serial(nodes, context.get()));
  N_VConst(1.0 / 300.0, x_scale.get());
  N_VConst(1.0 / 1361.0, f_scale.get());
  const Owned<SUNMatrix> matrix(sparse_matrix(steady_sparsity(), nodes, context.get()));
  const Owned<SUNLinearSolver> solver(SUNLinSol_KLU(T.get(), matrix.get(), context.get()));
  const std::unique_ptr<void, FreeKinsol> memory(KINCreate(context.get()));
  SteadyProblem problem{0.5};
  check(KINInit(memory.get(), heat_callback, T.get()), "KINInit");
  KINSetUserData(memory.get(), &problem);
  KINSetFuncNormTol(memory.get(), 1e-12);
  KINSetScaledStepTol(memory.get(), 1e-15);
  KINSetMaxSetupCalls(memory.get(), 1);
  KINSetLinearSolver(memory.get(), solver.get(), matrix.get());
  KINSetJacFn(memory.get(), steady_jacobian_callback);
  const double begin = seconds_now();
  for (int k = 0; k < count; ++k) {
    problem.share = steady_share(k);
    N_VConst(290.0, T.get());
    check(KINSol(memory.get(), T.get(), KIN_LINESEARCH, x_scale.get(), f_scale.get()), "KINSol");
  }
  const double seconds = (seconds_now() - begin) / count;
  last.assign(NV_DATA_S(T.get()), NV_DATA_S(T.get()) + nodes);
  return seconds;
}

}  // namespace tileflux::bench
