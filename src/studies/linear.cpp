#include "studies/linear.h"

#include <Eigen/Dense>
#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>
#include <limits>

#include "tileflux/solvers/transient.h"

namespace tileflux::studies {

Eigen::MatrixXd dense_jacobian(const solvers::System& system, std::span<const double> x, double time_s) {
  const solvers::Pattern& pattern = system.pattern();
  std::vector<double> values(static_cast<std::size_t>(pattern.nonzeros()));
  const std::vector<double> no_rate(x.size(), 0.0);
  system.jacobian(time_s, x, no_rate, 0.0, values);
  Eigen::MatrixXd matrix = Eigen::MatrixXd::Zero(system.size(), system.size());
  for (int column = 0; column < system.size(); ++column) {
    for (int k = pattern.column_start[static_cast<std::size_t>(column)];
         k < pattern.column_start[static_cast<std::size_t>(column) + 1]; ++k) {
      matrix(pattern.row[static_cast<std::size_t>(k)], column) = values[static_cast<std::size_t>(k)];
    }
  }
  return matrix;
}

namespace {

/// The unknowns with and without a rate.
struct Parts {
  std::vector<int> stored, massless;

  explicit Parts(const solvers::System& system) {
    const auto differential = system.differential();
    for (int i = 0; i < system.size(); ++i)
      (differential[static_cast<std::size_t>(i)] ? stored : massless).push_back(i);
  }
};

}  // namespace

double temperature_error_K(const solvers::System& system, std::span<const double> x, const std::vector<double>& left_W,
                           double tile_W) {
  const Eigen::PartialPivLU<Eigen::MatrixXd> factorization(dense_jacobian(system, x));
  const Eigen::Map<const Eigen::VectorXd> left(left_W.data(), system.size());
  const Eigen::VectorXd spread = Eigen::VectorXd::Constant(system.size(), tile_W / system.size());
  const double error_K =
      std::max(factorization.solve(left).cwiseAbs().maxCoeff(), factorization.solve(spread).cwiseAbs().maxCoeff());
  return std::isfinite(error_K) ? error_K : std::numeric_limits<double>::infinity();
}

Eigen::MatrixXd reduced_rates(const solvers::System& system, std::span<const double> x, double time_s) {
  const Eigen::MatrixXd jacobian = dense_jacobian(system, x, time_s);
  const std::vector<double> capacity = solvers::rate_coefficients(system, time_s, x);
  const Parts parts(system);
  Eigen::MatrixXd reduced = jacobian(parts.stored, parts.stored);
  if (!parts.massless.empty() && !parts.stored.empty()) {
    const Eigen::MatrixXd inner = jacobian(parts.massless, parts.massless);
    reduced -= jacobian(parts.stored, parts.massless) *
               inner.partialPivLu().solve(Eigen::MatrixXd(jacobian(parts.massless, parts.stored)));
  }
  for (std::size_t i = 0; i < parts.stored.size(); ++i)
    reduced.row(static_cast<Eigen::Index>(i)) /= capacity[static_cast<std::size_t>(parts.stored[i])];
  return reduced;
}

Eigen::RowVectorXd massless_slopes(const solvers::System& system, std::span<const double> x, double time_s,
                                   int massless) {
  const Eigen::MatrixXd jacobian = dense_jacobian(system, x, time_s);
  const Parts parts(system);
  const Eigen::MatrixXd inner = jacobian(parts.massless, parts.massless);
  const Eigen::MatrixXd slopes = -inner.partialPivLu().solve(Eigen::MatrixXd(jacobian(parts.massless, parts.stored)));
  const auto found = std::find(parts.massless.begin(), parts.massless.end(), massless);
  return slopes.row(found - parts.massless.begin());
}

double slowest_time_constant_s(const solvers::System& system, std::span<const double> x) {
  const Eigen::MatrixXd rates = reduced_rates(system, x);
  if (rates.size() == 0) return 0.0;
  const double slowest_rate = Eigen::EigenSolver<Eigen::MatrixXd>(rates, false).eigenvalues().real().maxCoeff();
  return slowest_rate < 0.0 ? -1.0 / slowest_rate : std::numeric_limits<double>::infinity();
}

}  // namespace tileflux::studies
