#pragma once
/// Keeps the range of temperatures that every node goes through, peaks inside steps included.

#include <span>
#include <vector>

#include "tileflux/solvers/transient.h"
#include "tileflux/studies/limits.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::studies {

class Extremes {
 public:
  explicit Extremes(const tile::TileSystem& system);

  /// Forgets what was seen and begins at a state.
  void begin(double time_s, std::span<const double> x);
  /// A state on its own: after a switch massless nodes jump.
  void see(double time_s, std::span<const double> x);
  /// A whole step: its end, and a peak or trough of the cubic through both ends and rates.
  void see(const solvers::Step& step);

  const std::vector<TemperatureRange>& ranges() const { return ranges_; }
  /// The same for what was seen while the system's beam was on; empty if it never was.
  std::span<const TemperatureRange> lit_ranges() const { return lit_ranges_; }

 private:
  void widen(network::NodeId id, double time_s, double temperature_K);
  void note_beam(std::span<const double> x);

  const tile::TileSystem& system_;
  std::vector<TemperatureRange> ranges_;
  std::vector<TemperatureRange> lit_ranges_;
};

}  // namespace tileflux::studies
