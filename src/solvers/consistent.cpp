#include <Eigen/Sparse>
#include <Eigen/SparseLU>
#include <algorithm>
#include <cmath>

#include "solvers/worst.h"
#include "tileflux/base/errors.h"
#include "tileflux/solvers/transient.h"

namespace tileflux::solvers {

namespace {

/// The algebraic rows and columns of a system, gathered into a smaller matrix.
struct AlgebraicBlock {
  std::vector<int> place;    ///< of each unknown among the algebraic ones, or -1
  std::vector<int> unknown;  ///< of each algebraic one

  explicit AlgebraicBlock(std::span<const std::uint8_t> differential) : place(differential.size(), -1) {
    for (std::size_t i = 0; i < differential.size(); ++i) {
      if (differential[i]) continue;
      place[i] = static_cast<int>(unknown.size());
      unknown.push_back(static_cast<int>(i));
    }
  }

  Eigen::SparseMatrix<double> gather(const Pattern& pattern, std::span<const double> values) const {
    std::vector<Eigen::Triplet<double>> entries;
    for (const int column : unknown) {
      for (int k = pattern.column_start[static_cast<std::size_t>(column)];
           k < pattern.column_start[static_cast<std::size_t>(column) + 1]; ++k) {
        const int row = place[static_cast<std::size_t>(pattern.row[static_cast<std::size_t>(k)])];
        if (row >= 0)
          entries.emplace_back(row, place[static_cast<std::size_t>(column)], values[static_cast<std::size_t>(k)]);
      }
    }
    const auto size = static_cast<Eigen::Index>(unknown.size());
    Eigen::SparseMatrix<double> matrix(size, size);
    matrix.setFromTriplets(entries.begin(), entries.end());
    return matrix;
  }
};

[[noreturn]] void refuse(const System& system, double time_s, std::span<const double> residual) {
  throw Error(Code::transient_failed, "no consistent state at " + std::to_string(time_s) + " s; heat left over at " +
                                          name_worst(system, largest_three(residual), residual, " W"));
}

/// Newton steps on the algebraic unknowns, halved while they do not help. Leaves the last factorization for reuse.
void solve_algebraic(const System& system, double time_s, std::span<double> state, const AlgebraicBlock& block,
                     Eigen::SparseLU<Eigen::SparseMatrix<double>>& factorization, std::vector<double>& values) {
  const std::size_t size = state.size();
  const std::vector<double> no_rate(size, 0.0);
  std::vector<double> residual(size), trial(state.begin(), state.end());
  const auto algebraic_size = [&](std::span<const double> r) {
    double most = 0.0;
    for (const int i : block.unknown) most = std::max(most, std::abs(r[static_cast<std::size_t>(i)]));
    return most;
  };
  constexpr int most_steps = 50;
  // A change of this size is the round-off of a temperature; smaller steps only repeat it.
  constexpr double smallest_change_K = 1e-11;
  if (!system.residual(time_s, state, no_rate, residual)) refuse(system, time_s, residual);
  for (int step = 0; step < most_steps; ++step) {
    system.jacobian(time_s, state, no_rate, 0.0, values);
    factorization.compute(block.gather(system.pattern(), values));
    if (factorization.info() != Eigen::Success) refuse(system, time_s, residual);
    Eigen::VectorXd right(static_cast<Eigen::Index>(block.unknown.size()));
    for (std::size_t k = 0; k < block.unknown.size(); ++k) {
      right[static_cast<Eigen::Index>(k)] = -residual[static_cast<std::size_t>(block.unknown[k])];
    }
    const Eigen::VectorXd change = factorization.solve(right);
    if (!change.allFinite()) refuse(system, time_s, residual);
    if (change.cwiseAbs().maxCoeff() < smallest_change_K) return;
    const double before = algebraic_size(residual);
    double fraction = 1.0;
    for (;; fraction *= 0.5) {
      for (std::size_t k = 0; k < block.unknown.size(); ++k) {
        const auto i = static_cast<std::size_t>(block.unknown[k]);
        trial[i] = state[i] + fraction * change[static_cast<Eigen::Index>(k)];
      }
      const bool inside = system.residual(time_s, trial, no_rate, residual);
      if (inside && (algebraic_size(residual) < before || fraction * change.cwiseAbs().maxCoeff() < 1e-9)) break;
      constexpr double smallest_fraction = 1e-8;
      if (fraction < smallest_fraction) refuse(system, time_s, residual);
    }
    std::copy(trial.begin(), trial.end(), state.begin());
  }
  refuse(system, time_s, residual);
}

}  // namespace

std::vector<double> rate_coefficients(const System& system, double time_s, std::span<const double> state) {
  std::vector<double> coefficients(state.size());
  system.rate_coefficients(time_s, state, coefficients);
  return coefficients;
}

void make_consistent(const System& system, double time_s, std::span<double> state, std::span<double> rate) {
  const std::size_t size = state.size();
  const AlgebraicBlock block(system.differential());
  const Pattern& pattern = system.pattern();
  std::vector<double> values(static_cast<std::size_t>(pattern.nonzeros()));
  Eigen::SparseLU<Eigen::SparseMatrix<double>> factorization;
  if (!block.unknown.empty()) solve_algebraic(system, time_s, state, block, factorization, values);

  std::vector<double> heat(size);
  const std::vector<double> no_rate(size, 0.0);
  if (!system.residual(time_s, state, no_rate, heat)) refuse(system, time_s, heat);
  const std::vector<double> capacity = rate_coefficients(system, time_s, state);
  for (std::size_t i = 0; i < size; ++i) rate[i] = capacity[i] > 0.0 ? heat[i] / capacity[i] : 0.0;
  if (block.unknown.empty()) return;

  // Differentiating the algebraic equations: J_aa rate_a = -J_ad rate_d (explicit time dependence only at switches).
  system.jacobian(time_s, state, no_rate, 0.0, values);
  Eigen::VectorXd right = Eigen::VectorXd::Zero(static_cast<Eigen::Index>(block.unknown.size()));
  for (std::size_t column = 0; column < size; ++column) {
    if (block.place[column] >= 0) continue;
    for (int k = pattern.column_start[column]; k < pattern.column_start[column + 1]; ++k) {
      const int row = block.place[static_cast<std::size_t>(pattern.row[static_cast<std::size_t>(k)])];
      if (row >= 0) right[row] -= values[static_cast<std::size_t>(k)] * rate[column];
    }
  }
  const Eigen::VectorXd algebraic_rate = factorization.solve(right);
  for (std::size_t k = 0; k < block.unknown.size(); ++k) {
    rate[static_cast<std::size_t>(block.unknown[k])] = algebraic_rate[static_cast<Eigen::Index>(k)];
  }
}

}  // namespace tileflux::solvers
