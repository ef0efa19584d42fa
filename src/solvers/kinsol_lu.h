#pragma once
/// SparseLu as a linear solver of SUNDIALS. Its own one for KLU analyses the pattern and chooses pivots anew at every
/// call of KINSol; this one keeps both from one search to the next.

#include <sundials/sundials_linearsolver.h>

#include <algorithm>
#include <new>

#include "solvers/sparse_lu.h"
#include "solvers/sundials_parts.h"

namespace tileflux::solvers {

/// A solver for matrices made by make_matrix with this pattern. `lu` must outlive it.
inline LinearSolver make_linear_solver(SparseLu& lu, SUNContext context) {
  SUNLinearSolver solver = SUNLinSolNewEmpty(context);
  if (solver == nullptr) throw std::bad_alloc();
  solver->content = &lu;
  solver->ops->gettype = [](SUNLinearSolver) { return SUNLINEARSOLVER_DIRECT; };
  solver->ops->setup = [](SUNLinearSolver self, SUNMatrix matrix) -> int {
    return static_cast<SparseLu*>(self->content)->factor(values_of(matrix)) ? SUNLS_SUCCESS : SUNLS_PACKAGE_FAIL_REC;
  };
  solver->ops->solve = [](SUNLinearSolver self, SUNMatrix, N_Vector x, N_Vector right, realtype) -> int {
    std::copy(view(right).begin(), view(right).end(), view(x).begin());
    static_cast<const SparseLu*>(self->content)->solve(view(x));
    return SUNLS_SUCCESS;
  };
  // Without it SUNDIALS would free what `content` points to.
  solver->ops->free = [](SUNLinearSolver self) -> int {
    SUNLinSolFreeEmpty(self);
    return SUNLS_SUCCESS;
  };
  return LinearSolver(solver);
}

}  // namespace tileflux::solvers
