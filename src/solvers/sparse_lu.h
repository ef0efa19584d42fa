#pragma once
/// LU of a matrix whose pattern stays (KLU; Davis & Palamadai Natarajan 2010, ACM Transactions on Mathematical Software
/// 37, 36).

#include <memory>
#include <span>

#include "tileflux/solvers/system.h"

namespace tileflux::solvers {

class SparseLu {
 public:
  /// `pattern` must outlive this object.
  explicit SparseLu(const Pattern& pattern);
  ~SparseLu();
  SparseLu(const SparseLu&) = delete;
  SparseLu& operator=(const SparseLu&) = delete;

  /// Factors the matrix with these values at the pattern's positions. The pivots of the last factorization are kept while
  /// they are good enough. False where the matrix is singular.
  bool factor(std::span<const double> values);

  /// Solves in place with the last factorization.
  void solve(std::span<double> right) const;

 private:
  struct Parts;
  std::unique_ptr<Parts> parts_;
};

}  // namespace tileflux::solvers
