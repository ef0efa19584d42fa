#include "tileflux/network/enclosure.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

namespace tileflux::network {

ViewFactorCheck check_view_factors(const Eigen::MatrixXd& view_factors, const std::vector<double>& area_m2) {
  ViewFactorCheck check;
  const Eigen::Index size = view_factors.rows();
  check.smallest_row_sum = HUGE_VAL;
  for (Eigen::Index i = 0; i < size; ++i) {
    const double sum = view_factors.row(i).sum();
    check.largest_row_sum = std::max(check.largest_row_sum, sum);
    if (sum < check.smallest_row_sum) {
      check.smallest_row_sum = sum;
      check.open_row = static_cast<int>(i);
    }
    for (Eigen::Index j = 0; j < i; ++j) {
      const double area_i = area_m2[static_cast<std::size_t>(i)], area_j = area_m2[static_cast<std::size_t>(j)];
      const double apart =
          std::abs(area_i * view_factors(i, j) - area_j * view_factors(j, i)) / std::min(area_i, area_j);
      if (apart <= check.worst_reciprocity) continue;
      check.worst_reciprocity = apart;
      check.reciprocity_row = static_cast<int>(i);
      check.reciprocity_column = static_cast<int>(j);
    }
  }
  return check;
}

ExchangeAreas exchange_areas(const Eigen::MatrixXd& view_factors, const std::vector<double>& area_m2,
                             const std::vector<double>& emittance) {
  const Eigen::Index size = view_factors.rows();
  const Eigen::Map<const Eigen::VectorXd> areas(area_m2.data(), size);
  const Eigen::Map<const Eigen::VectorXd> emittances(emittance.data(), size);
  const Eigen::VectorXd reflectances = Eigen::VectorXd::Ones(size) - emittances;
  const Eigen::VectorXd to_space = Eigen::VectorXd::Ones(size) - view_factors.rowwise().sum();
  const Eigen::PartialPivLU<Eigen::MatrixXd> reflections(
      Eigen::MatrixXd(Eigen::MatrixXd::Identity(size, size) - view_factors * reflectances.asDiagonal()));
  const Eigen::VectorXd emitting = emittances.cwiseProduct(areas);
  ExchangeAreas areas_out;
  const Eigen::MatrixXd absorbed = reflections.solve(Eigen::MatrixXd(view_factors * emittances.asDiagonal()));
  areas_out.between_m2 = emitting.asDiagonal() * absorbed;
  // Symmetric up to round-off for reciprocal factors; made so exactly, since a path carries one heat flow.
  areas_out.between_m2 = 0.5 * (areas_out.between_m2 + areas_out.between_m2.transpose()).eval();
  areas_out.to_space_m2 = emitting.cwiseProduct(reflections.solve(to_space));
  return areas_out;
}

}  // namespace tileflux::network
