#pragma once
/// What the linearised tile says: errors in kelvin, time constants, the map over a period.

#include <Eigen/Core>
#include <span>
#include <vector>

#include "tileflux/solvers/system.h"

namespace tileflux::studies {

/// dF/dx without its rate part, dense: tiles have tens of nodes.
Eigen::MatrixXd dense_jacobian(const solvers::System& system, std::span<const double> x, double time_s = 0.0);

/// The largest temperature change that would remove the given heat left over at the nodes, or the tile's residual
/// spread over it, whichever is larger; in K.
double temperature_error_K(const solvers::System& system, std::span<const double> x, const std::vector<double>& left_W,
                           double tile_W);

/// A of d(dT)/dt = A dT for the nodes with heat capacity, massless nodes eliminated. Dense, in 1/s.
Eigen::MatrixXd reduced_rates(const solvers::System& system, std::span<const double> x, double time_s = 0.0);

/// How one massless unknown follows those that store: its slope over each of them, in their order.
Eigen::RowVectorXd massless_slopes(const solvers::System& system, std::span<const double> x, double time_s,
                                   int massless);

/// The longest time constant near a state in s; 0 without heat capacity, infinite if a mode does not decay.
double slowest_time_constant_s(const solvers::System& system, std::span<const double> x);

}  // namespace tileflux::studies
