#include "tileflux/studies/limits.h"

#include <algorithm>
#include <cstdio>

#include "studies/warning.h"

namespace tileflux::studies {

namespace {

void add_margins(const tile::BoundLimit& bound, double lowest_K, double highest_K, std::vector<Margin>& margins) {
  const tile::Limit& limit = bound.limit;
  if (limit.below_K) margins.push_back({limit.node, highest_K, *limit.below_K, true, *limit.below_K - highest_K});
  if (limit.above_K) margins.push_back({limit.node, lowest_K, *limit.above_K, false, lowest_K - *limit.above_K});
}

}  // namespace

std::vector<Margin> margins_at(const tile::TileSystem& system, std::span<const double> x) {
  std::vector<Margin> margins;
  for (const tile::BoundLimit& bound : system.limits()) {
    const double temperature_K = system.network().temperature_K(bound.node, x);
    add_margins(bound, temperature_K, temperature_K, margins);
  }
  return margins;
}

std::vector<Margin> margins_over(const tile::TileSystem& system, std::span<const TemperatureRange> ranges) {
  std::vector<Margin> margins;
  for (const tile::BoundLimit& bound : system.limits()) {
    const TemperatureRange& range = ranges[static_cast<std::size_t>(bound.node)];
    add_margins(bound, range.lowest_K, range.highest_K, margins);
  }
  return margins;
}

std::optional<Margin> binding(const std::vector<Margin>& margins) {
  const auto least = std::min_element(margins.begin(), margins.end(),
                                      [](const Margin& a, const Margin& b) { return a.margin_K < b.margin_K; });
  if (least == margins.end()) return std::nullopt;
  return *least;
}

std::vector<TemperatureRange> ranges_at(const tile::TileSystem& system, std::span<const double> x) {
  std::vector<TemperatureRange> ranges;
  for (network::NodeId id = 0; id < system.network().node_count(); ++id) {
    const double temperature_K = system.network().temperature_K(id, x);
    ranges.push_back({system.network().node(id).name, temperature_K, 0.0, temperature_K, 0.0});
  }
  return ranges;
}

std::vector<TemperatureRange> joined(std::vector<TemperatureRange> ranges, std::span<const TemperatureRange> others) {
  for (std::size_t i = 0; i < ranges.size(); ++i) {
    ranges[i].lowest_K = std::min(ranges[i].lowest_K, others[i].lowest_K);
    ranges[i].highest_K = std::max(ranges[i].highest_K, others[i].highest_K);
  }
  return ranges;
}

std::vector<Diagnostic> validity_warnings(const tile::TileSystem& system, std::span<const TemperatureRange> ranges,
                                          std::span<const TemperatureRange> lit) {
  std::vector<Diagnostic> warnings;
  for (const tile::UsedProperty& used : system.used_properties()) {
    if (used.only_lit && lit.empty()) continue;
    const TemperatureRange& range = (used.only_lit ? lit : ranges)[static_cast<std::size_t>(used.node)];
    if (range.lowest_K >= used.valid_from_K && range.highest_K <= used.valid_to_K) continue;
    char text[320];
    std::snprintf(text, sizeof text, "%s of %s is known from %.4g to %.4g K; %s was at %.4g to %.4g K, and %s",
                  used.property.c_str(), used.material.c_str(), used.valid_from_K, used.valid_to_K, range.node.c_str(),
                  range.lowest_K, range.highest_K,
                  used.only_lit ? "the law was used all the same" : "the end value was held");
    warnings.push_back(warning_of(Code::outside_validity, text));
  }
  return warnings;
}

}  // namespace tileflux::studies
