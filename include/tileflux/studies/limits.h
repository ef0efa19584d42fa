#pragma once
/// How far temperatures are from their limits, and whether a result used materials beyond what their sources cover.

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "tileflux/base/errors.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::studies {

/// The distance of one node to one bound; negative: the limit is broken.
struct Margin {
  std::string node;
  double temperature_K = 0.0;
  double limit_K = 0.0;
  bool upper = true;  ///< whether the node must stay below (true) or above
  double margin_K = 0.0;
};

/// The range of temperatures that a node went through.
struct TemperatureRange {
  std::string node;
  double lowest_K = 0.0, lowest_at_s = 0.0;
  double highest_K = 0.0, highest_at_s = 0.0;
};

/// Every bound of the case against a state (x in K), in the order of the case.
std::vector<Margin> margins_at(const tile::TileSystem& system, std::span<const double> x);

/// Every bound against ranges (one per node of the network, in its order): the worst instant counts.
std::vector<Margin> margins_over(const tile::TileSystem& system, std::span<const TemperatureRange> ranges);

/// The smallest margin, or none without limits.
std::optional<Margin> binding(const std::vector<Margin>& margins);

/// Ranges that a single state makes up.
std::vector<TemperatureRange> ranges_at(const tile::TileSystem& system, std::span<const double> x);

/// The ranges that hold both.
std::vector<TemperatureRange> joined(std::vector<TemperatureRange> ranges, std::span<const TemperatureRange> others);

/// One warning per property and node that was used outside the temperatures its source covers. Laser laws count against
/// `lit`, the ranges with the beam on (empty: never), everything else against `ranges`.
std::vector<Diagnostic> validity_warnings(const tile::TileSystem& system, std::span<const TemperatureRange> ranges,
                                          std::span<const TemperatureRange> lit);

}  // namespace tileflux::studies
