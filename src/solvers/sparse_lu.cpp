#include "solvers/sparse_lu.h"

#include <klu.h>

#include <algorithm>
#include <cmath>

#include "tileflux/base/errors.h"

namespace tileflux::solvers {

struct SparseLu::Parts {
  const Pattern& pattern;
  // KLU takes pointers to what it only reads.
  std::vector<int> column_start, row;
  std::vector<double> values;
  mutable klu_common common{};
  klu_symbolic* symbolic = nullptr;
  klu_numeric* numeric = nullptr;

  explicit Parts(const Pattern& p) : pattern(p), column_start(p.column_start), row(p.row), values(p.row.size()) {
    klu_defaults(&common);
    common.ordering = 1;  // COLAMD: its fill is the smallest of both on coupled networks
    symbolic = klu_analyze(pattern.size, column_start.data(), row.data(), &common);
    if (symbolic == nullptr) throw Error(Code::internal, "the pattern of a system could not be analysed");
  }
  ~Parts() {
    if (numeric != nullptr) klu_free_numeric(&numeric, &common);
    klu_free_symbolic(&symbolic, &common);
  }
  Parts(const Parts&) = delete;
  Parts& operator=(const Parts&) = delete;

  bool factor_anew() {
    if (numeric != nullptr) klu_free_numeric(&numeric, &common);
    numeric = klu_factor(column_start.data(), row.data(), values.data(), symbolic, &common);
    return numeric != nullptr && common.status == KLU_OK;
  }

  /// With the pivots of the last factorization; false where one has become so small that others are needed.
  bool factor_again() {
    if (numeric == nullptr) return false;
    if (!klu_refactor(column_start.data(), row.data(), values.data(), symbolic, numeric, &common)) return false;
    constexpr double smallest_pivot = 1e-14;  // relative to the largest
    return klu_rcond(symbolic, numeric, &common) && common.rcond > smallest_pivot;
  }
};

SparseLu::SparseLu(const Pattern& pattern) : parts_(std::make_unique<Parts>(pattern)) {}
SparseLu::~SparseLu() = default;

bool SparseLu::factor(std::span<const double> values) {
  std::copy(values.begin(), values.end(), parts_->values.begin());
  return parts_->factor_again() || parts_->factor_anew();
}

void SparseLu::solve(std::span<double> right) const {
  klu_solve(parts_->symbolic, parts_->numeric, parts_->pattern.size, 1, right.data(), &parts_->common);
}

}  // namespace tileflux::solvers
