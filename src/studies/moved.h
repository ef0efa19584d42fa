#pragma once
/// A tile with one of its inputs moved: how anything that is explicit in the input follows it while the state stays.

#include <Eigen/Core>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "tileflux/studies/gains.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::studies {

/// Compiled tiles at two or three values around the present one. What the equations of a tile make of its case file
/// (a conductance of a length, an exchange area of emittances) is explicit; its derivative is taken by differences of
/// second order with a step of a few millionths, whose truncation lies below 1e-10 of the result. The step is that small
/// because of corners: where the lasers begin to be given all that they ask for, an input moves the instant. How the
/// state answers is never differenced.
class Moved {
 public:
  /// Throws Error where the input cannot be moved either way, or where it changes what the unknowns of the tile are.
  Moved(const GainInput& input, const tile::TileSystem& base);

  /// d(f)/d(input) for f of a tile, of one length whatever the tile.
  template <class Function>
  Eigen::VectorXd slope_of(const Function& f) {
    Eigen::VectorXd sum;
    for (Tile& tile : tiles_) {
      const Eigen::VectorXd part = tile.weight * f(tile.system);
      sum = sum.size() == 0 ? part : Eigen::VectorXd(sum + part);
    }
    return sum;
  }

  /// Every tile of the stencil, to be put into a mode.
  template <class Function>
  void for_each(const Function& f) {
    for (Tile& tile : tiles_) f(tile.system);
  }

 private:
  struct Tile {
    double weight;  ///< of its value in the derivative
    tile::TileSystem system;
  };
  bool try_stencil(const GainInput& input, const tile::TileSystem& base, double step, bool central);
  std::vector<Tile> tiles_;
  std::optional<Error> why_not_;
};

/// The same for something beside the case, such as the drive: f of its value.
template <class Function>
Eigen::VectorXd slope_over(const Function& f, double value, double step) {
  return (f(value + step) - f(value - step)) / (2.0 * step);
}

}  // namespace tileflux::studies
