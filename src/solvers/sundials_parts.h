#pragma once
/// Owners of SUNDIALS objects, and the bridge from a System to a SUNDIALS matrix.

#include <kinsol/kinsol.h>
#include <nvector/nvector_serial.h>
#include <sunmatrix/sunmatrix_sparse.h>

#include <algorithm>
#include <exception>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "tileflux/base/errors.h"
#include "tileflux/solvers/system.h"

namespace tileflux::solvers {

struct FreeVector {
  void operator()(N_Vector v) const { N_VDestroy(v); }
};
struct FreeMatrix {
  void operator()(SUNMatrix m) const { SUNMatDestroy(m); }
};
struct FreeLinearSolver {
  void operator()(SUNLinearSolver s) const { SUNLinSolFree(s); }
};
struct FreeContext {
  void operator()(SUNContext c) const { SUNContext_Free(&c); }
};
using Vector = std::unique_ptr<std::remove_pointer_t<N_Vector>, FreeVector>;
using Matrix = std::unique_ptr<std::remove_pointer_t<SUNMatrix>, FreeMatrix>;
using LinearSolver = std::unique_ptr<std::remove_pointer_t<SUNLinearSolver>, FreeLinearSolver>;
using Context = std::unique_ptr<std::remove_pointer_t<SUNContext>, FreeContext>;

/// What SUNDIALS would print on standard error: the library never prints, and flags say the same.
inline void silent(int, const char*, const char*, char*, void*) {}

/// One context per solve and thread.
inline Context make_context() {
  SUNContext context = nullptr;
  if (SUNContext_Create(nullptr, &context) != 0) throw Error(Code::internal, "SUNDIALS gave no context");
  return Context(context);
}

inline Vector make_vector(int size, SUNContext context) { return Vector(N_VNew_Serial(size, context)); }

inline std::span<double> view(N_Vector v) { return {NV_DATA_S(v), static_cast<std::size_t>(NV_LENGTH_S(v))}; }

/// A matrix whose positions are those of the pattern for good: SUNDIALS' clearing before each evaluation is switched off,
/// since System::jacobian writes every value.
inline Matrix make_matrix(const Pattern& pattern, SUNContext context) {
  Matrix matrix(SUNSparseMatrix(pattern.size, pattern.size, pattern.nonzeros(), CSC_MAT, context));
  std::copy(pattern.column_start.begin(), pattern.column_start.end(), SUNSparseMatrix_IndexPointers(matrix.get()));
  std::copy(pattern.row.begin(), pattern.row.end(), SUNSparseMatrix_IndexValues(matrix.get()));
  matrix->ops->zero = [](SUNMatrix) -> int { return SUNMAT_SUCCESS; };
  return matrix;
}

inline std::span<double> values_of(SUNMatrix matrix) {
  return {SUNSparseMatrix_Data(matrix), static_cast<std::size_t>(SUNSparseMatrix_NNZ(matrix))};
}

/// Runs a call-back body; an exception is kept for the caller of the solver and the solver is told to stop.
template <class Body>
int guarded(std::exception_ptr& kept, Body&& body) {
  try {
    return body();
  } catch (...) {
    kept = std::current_exception();
    return -1;
  }
}

}  // namespace tileflux::solvers
