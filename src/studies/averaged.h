#pragma once
/// The duty-averaged tile: what the cycle tends to as its period goes to zero.

#include <vector>

#include "tileflux/studies/limits.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::studies {

/// Nodes with heat capacity see the mean of their heat with the beam on and off; massless nodes follow the beam at once
/// and so appear twice. Unknowns: all nodes of the on-state, then the massless nodes of the off-state.
class AveragedSystem : public solvers::System {
 public:
  /// Two systems of the same case, one with the beam on, one off.
  AveragedSystem(const tile::TileSystem& on, const tile::TileSystem& off, double on_share);

  int size() const override { return size_; }
  const solvers::Pattern& pattern() const override { return pattern_; }
  std::span<const std::uint8_t> differential() const override { return differential_; }
  bool residual(double time_s, std::span<const double> x, std::span<const double> rate,
                std::span<double> residual) const override;
  void jacobian(double time_s, std::span<const double> x, std::span<const double> rate, double rate_factor,
                std::span<double> values) const override;
  std::string unknown_name(int index) const override;

  std::vector<double> on_state(std::span<const double> x) const;
  std::vector<double> off_state(std::span<const double> x) const;

 private:
  const tile::TileSystem& on_;
  const tile::TileSystem& off_;
  double share_;
  int size_ = 0;
  std::vector<int> off_place_;  ///< of each unknown of the tile in the off-state
  solvers::Pattern pattern_;
  std::vector<std::uint8_t> differential_;
};

/// The averaged steady state and every limit against it, on and off.
struct AveragedPoint {
  std::vector<double> on_x, off_x;
  std::vector<Margin> margins;
};

/// Throws Error(steady_not_found).
AveragedPoint averaged_point(const tile::TileSystem& on, const tile::TileSystem& off, double on_share);

}  // namespace tileflux::studies
