#pragma once
/// How a steady state, its light and its margins follow inputs.

#include <Eigen/Dense>
#include <functional>
#include <vector>

#include "studies/moved.h"
#include "tileflux/studies/limits.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::studies {

/// The mode in which a case is looked at.
using ModeOf = std::function<tile::Mode(const tile::Case&)>;

/// d(temperature of a node)/dx at its unknown; 0 of a node at fixed temperature.
double temperature_slope(const tile::TileSystem& system, network::NodeId node, std::span<const double> x);

/// d(margin)/dx of a steady state: temperatures, differences and gradients; 0 for other kinds.
Eigen::VectorXd margin_slopes(const tile::TileSystem& system, std::span<const double> x, const Margin& margin);

/// A steady state of a tile with what follows from it: light out, then every margin in the order of margins_at, then, if
/// wanted, the temperature of every node.
class SteadySlopes {
 public:
  /// `x` solves the steady equations of `system` in the mode that `mode_of` gives.
  SteadySlopes(tile::TileSystem& system, std::vector<double> x, ModeOf mode_of, bool temperatures = false);

  /// d(light, margins, temperatures)/d(input), the state following.
  Eigen::VectorXd along(Moved& moved) const;
  /// The same for the commanded drive, whatever the case says of it.
  Eigen::VectorXd along_drive() const;

  std::size_t margins() const { return margins_; }
  std::size_t temperatures() const { return nodes_; }
  const std::vector<double>& x() const { return x_; }

 private:
  /// Residual, light, margins and temperatures at the state, stacked.
  Eigen::VectorXd parts(tile::TileSystem& system, const tile::Mode& mode) const;
  Eigen::VectorXd total(const Eigen::VectorXd& explicit_slopes) const;

  tile::TileSystem& system_;
  std::vector<double> x_;
  ModeOf mode_of_;
  std::size_t margins_ = 0, nodes_ = 0;
  /// (dF/dx)^-T d(light, margins, temperatures)/dx: unknowns x outputs.
  Eigen::MatrixXd adjoint_;
};

}  // namespace tileflux::studies
