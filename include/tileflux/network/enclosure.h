#pragma once
/// Grey-diffuse surfaces that see each other: from view factors to the exchange areas of the network.

#include <Eigen/Core>
#include <vector>

namespace tileflux::network {

/// What a set of view factors leaves open.
struct ViewFactorCheck {
  double largest_row_sum = 0.0;    ///< 1 at most
  double smallest_row_sum = 1.0;   ///< 1 in a closed enclosure; less where space is seen
  int open_row = -1;               ///< the surface with the smallest row sum
  double worst_reciprocity = 0.0;  ///< largest |Ai Fij - Aj Fji| over the smaller of the two areas
  int reciprocity_row = -1, reciprocity_column = -1;
};

/// Checks rows and reciprocity of F (n x n) against areas in m2.
ViewFactorCheck check_view_factors(const Eigen::MatrixXd& view_factors, const std::vector<double>& area_m2);

/// Exchange areas R in m2: net heat from i to j is sigma R_ij (Ti^4 - Tj^4), with every reflection counted;
/// `to_space_m2` the same towards black space, which takes what the rows leave open.
struct ExchangeAreas {
  Eigen::MatrixXd between_m2;  ///< symmetric; the diagonal counts nothing
  Eigen::VectorXd to_space_m2;
};

/// Gebhart's absorption factors (Gebhart 1961, International Journal of Heat and Mass Transfer 3, 341):
/// B = (I - F rho)^-1 F eps, R_ij = eps_i A_i B_ij. Emittances in (0, 1]. F must be reciprocal: it is taken as it is.
ExchangeAreas exchange_areas(const Eigen::MatrixXd& view_factors, const std::vector<double>& area_m2,
                             const std::vector<double>& emittance);

}  // namespace tileflux::network
