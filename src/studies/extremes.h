#pragma once
/// Keeps the range of temperatures that every node goes through, peaks inside steps included, and the most that rates
/// and differences with a limit come to. Rates are looked at where steps begin and end, and just after switches;
/// differences inside steps too.

#include <map>
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
  /// A whole step: its end, and where the cubic through both ends and rates has a peak or trough.
  void see(const solvers::Step& step);

  const std::vector<TemperatureRange>& ranges() const { return ranges_; }
  /// In the order of magnitudes_at.
  const std::vector<Peak>& peaks() const { return peaks_; }
  /// Every bound of the case against what was seen.
  std::vector<Margin> margins() const { return margins_over(system_, ranges_, peaks_); }
  /// The same as `ranges` for what was seen while the system's beam was on; empty if it never was.
  std::span<const TemperatureRange> lit_ranges() const { return lit_ranges_; }
  /// The fastest change of a node of the emitting path over a step with the beam on.
  double fastest_K_per_s(network::NodeId id) const {
    const auto found = fastest_K_per_s_.find(id);
    return found == fastest_K_per_s_.end() ? 0.0 : found->second;
  }

 private:
  std::size_t nodes() const { return static_cast<std::size_t>(system_.network().unknown_count()); }
  double temperature_K(std::size_t unknown, double value) const;
  void note_rates(const solvers::Step& step);
  void widen(network::NodeId id, double time_s, double temperature_K);
  void note_beam(std::span<const double> x);
  void note_magnitudes(double time_s, std::span<const double> x);
  void note_turns_of_differences(const solvers::Step& step);

  const tile::TileSystem& system_;
  std::vector<TemperatureRange> ranges_;
  std::vector<TemperatureRange> lit_ranges_;
  std::vector<Peak> peaks_;
  std::size_t rates_ = 0;  ///< how many of the peaks are rates
  std::map<network::NodeId, double> fastest_K_per_s_;
  std::vector<double> inside_;
};

}  // namespace tileflux::studies
