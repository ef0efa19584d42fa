#pragma once
/// Chains of nodes that stand for walls, cylinders, spheres and thick bodies, built as cases.

#include <string>
#include <vector>

#include "verification/model.h"

namespace tileflux::verification {

/// Nodes 0..n-1 in a row; the last one may be joined to a fixed part `outside`.
struct Chain {
  std::vector<double> capacity_J_per_K;
  std::vector<double> link_W_per_K;    ///< one fewer than nodes
  double outside_W_per_K = 0.0;        ///< 0: no such join
};

std::string node_name(std::size_t index);

/// The chain as a case: every node starts at `start_K`.
Model model_of(const Chain& chain, double start_K, double outside_K);

/// Half a plane wall of half thickness 1, conductivity 1 and heat capacity 1, in `intervals`, from its middle to its face,
/// with a Biot number at the face. Nodes stand on the ends; the end nodes have half a capacity. Error: even powers of the spacing.
Chain half_wall(int intervals, double biot);

/// A cylinder of radius 1, per radian and unit length: nodes at half-integer radii, the last half interval in series with
/// the film.
Chain cylinder(int intervals, double biot);

/// A sphere of radius 1, per 4 pi: nodes at r = h, 2h ... 1, joined by the exact resistance of a spherical shell.
Chain sphere(int intervals, double biot);

/// Temperature of the middle (0..) of a chain after a time, above `outside`, as a share of the start.
enum class Shape { wall, cylinder, sphere };
Chain chain_of(Shape shape, int intervals, double biot);

/// First eigenvalue zeta (square root of the slowest decay rate) from the balance's slowest time constant.
double first_eigenvalue(Shape shape, int intervals, double biot);

/// Amplitude of the first mode in the middle: theta(t) exp(rate t) at a time when all other modes have died out.
double first_amplitude(Shape shape, int intervals, double biot);

}  // namespace tileflux::verification
