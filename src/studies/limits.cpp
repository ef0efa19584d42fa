#include "tileflux/studies/limits.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <iterator>
#include <utility>

#include "studies/warning.h"
#include "tileflux/base/constants.h"
#include "tileflux/base/dual.h"
#include "tileflux/solvers/transient.h"

namespace tileflux::studies {

namespace {

Margin margin_of(LimitKind kind, std::string node, double value, double limit, bool upper, std::string other = {}) {
  return {kind, std::move(node), std::move(other), value, limit, upper, upper ? limit - value : value - limit};
}

void add_temperatures(const tile::Limit& limit, double lowest_K, double highest_K, std::vector<Margin>& margins) {
  if (limit.below_K) margins.push_back(margin_of(LimitKind::temperature, limit.node, highest_K, *limit.below_K, true));
  if (limit.above_K) margins.push_back(margin_of(LimitKind::temperature, limit.node, lowest_K, *limit.above_K, false));
}

/// `20 to 85 degC`, or `85.2 degC` where both are the same.
std::string celsius_range(double from_K, double to_K) {
  char from[32], to[32];
  std::snprintf(from, sizeof from, "%.4g", from_K - zero_celsius_K);
  std::snprintf(to, sizeof to, "%.4g", to_K - zero_celsius_K);
  return std::string(from) + (std::string(from) == to ? "" : std::string(" to ") + to) + " degC";
}

/// Limits on rates and differences against magnitudes in the order of magnitudes_at.
template <class MagnitudeOf>
void add_others(const tile::TileSystem& system, const MagnitudeOf& magnitude, std::vector<Margin>& margins) {
  std::size_t k = 0;
  for (const tile::BoundLimit& bound : system.limits()) {
    if (!bound.limit.rate_below_K_per_s) continue;
    margins.push_back(
        margin_of(LimitKind::rate, bound.limit.node, magnitude(k++), *bound.limit.rate_below_K_per_s, true));
  }
  for (const tile::BoundDifference& bound : system.differences()) {
    const tile::DifferenceLimit& limit = bound.limit;
    const double apart_K = magnitude(k++);
    if (limit.below_K) {
      margins.push_back(margin_of(LimitKind::difference, limit.a, apart_K, *limit.below_K, true, limit.b));
    } else {
      margins.push_back(margin_of(LimitKind::gradient, limit.a, apart_K / limit.distance_m,
                                  *limit.gradient_below_K_per_m, true, limit.b));
    }
  }
}

}  // namespace

bool same_limit(const Margin& a, const Margin& b) {
  return a.kind == b.kind && a.node == b.node && a.other == b.other && a.upper == b.upper;
}

std::string_view name_of(LimitKind kind) {
  switch (kind) {
    case LimitKind::temperature:
      return "temperature";
    case LimitKind::rate:
      return "rate";
    case LimitKind::difference:
      return "difference";
    case LimitKind::gradient:
      return "gradient";
    case LimitKind::charge:
      return "charge";
    case LimitKind::energy:
      return "energy";
    case LimitKind::power:
      return "power";
  }
  return "";
}

std::string_view unit_of(LimitKind kind) {
  switch (kind) {
    case LimitKind::temperature:
    case LimitKind::difference:
      return "K";
    case LimitKind::rate:
      return "K/s";
    case LimitKind::gradient:
      return "K/m";
    case LimitKind::charge:
      return "%";
    case LimitKind::energy:
      return "J";
    case LimitKind::power:
      return "W";
  }
  return "";
}

double Margin::comparable() const {
  const bool as_it_is = kind == LimitKind::temperature || kind == LimitKind::charge || limit == 0.0;
  return as_it_is ? margin : 100.0 * margin / std::abs(limit);
}

bool has_rate_limits(const tile::TileSystem& system) {
  return std::any_of(system.limits().begin(), system.limits().end(),
                     [](const tile::BoundLimit& bound) { return bound.limit.rate_below_K_per_s.has_value(); });
}

std::vector<double> rates_at(const tile::TileSystem& system, double time_s, std::span<const double> x) {
  std::vector<double> rate(x.size(), 0.0), heat_W(x.size(), 0.0);
  if (!system.residual(time_s, x, rate, heat_W)) return rate;
  const std::vector<double> capacity = solvers::rate_coefficients(system, time_s, x);
  for (std::size_t i = 0; i < x.size(); ++i) {
    if (capacity[i] > 0.0) rate[i] = heat_W[i] / capacity[i];
  }
  return rate;
}

double temperature_rate_K_per_s(const tile::TileSystem& system, network::NodeId id, std::span<const double> x,
                                std::span<const double> rate) {
  const int place = system.network().unknown_of(id);
  if (place < 0 || rate.empty()) return 0.0;
  const auto i = static_cast<std::size_t>(place);
  const network::Node& node = system.network().node(id);
  if (node.kind != network::NodeKind::melting) return rate[i];
  return node.melting.temperature_K(variable<1>(x[i], 0)).derivatives()[0] * rate[i];
}

std::vector<double> magnitudes_at(const tile::TileSystem& system, std::span<const double> x,
                                  std::span<const double> rate) {
  std::vector<double> magnitudes;
  for (const tile::BoundLimit& bound : system.limits()) {
    if (bound.limit.rate_below_K_per_s)
      magnitudes.push_back(std::abs(temperature_rate_K_per_s(system, bound.node, x, rate)));
  }
  for (const tile::BoundDifference& bound : system.differences()) {
    magnitudes.push_back(
        std::abs(system.network().temperature_K(bound.a, x) - system.network().temperature_K(bound.b, x)));
  }
  return magnitudes;
}

std::vector<Margin> margins_at(const tile::TileSystem& system, std::span<const double> x,
                               std::span<const double> rate) {
  std::vector<Margin> margins;
  for (const tile::BoundLimit& bound : system.limits()) {
    const double temperature_K = system.network().temperature_K(bound.node, x);
    add_temperatures(bound.limit, temperature_K, temperature_K, margins);
  }
  const std::vector<double> magnitudes = magnitudes_at(system, x, rate);
  add_others(
      system, [&](std::size_t k) { return magnitudes[k]; }, margins);
  return margins;
}

std::vector<Margin> margins_over(const tile::TileSystem& system, std::span<const TemperatureRange> ranges,
                                 std::span<const Peak> peaks) {
  std::vector<Margin> margins;
  for (const tile::BoundLimit& bound : system.limits()) {
    const TemperatureRange& range = ranges[static_cast<std::size_t>(bound.node)];
    add_temperatures(bound.limit, range.lowest_K, range.highest_K, margins);
  }
  add_others(
      system, [&](std::size_t k) { return peaks[k].most; }, margins);
  return margins;
}

Margin charge_margin(const tile::TileSystem& system, double charge_percent) {
  Margin margin =
      margin_of(LimitKind::charge, "battery", charge_percent, system.description().battery->law.least_percent, false);
  margin.margin = std::max(0.0, margin.margin);
  return margin;
}

std::optional<Margin> binding(const std::vector<Margin>& margins) {
  const auto least = std::min_element(margins.begin(), margins.end(),
                                      [](const Margin& a, const Margin& b) { return a.comparable() < b.comparable(); });
  if (least == margins.end()) return std::nullopt;
  return *least;
}

std::optional<Margin> next_after(const std::vector<Margin>& margins, const std::optional<Margin>& binding_limit) {
  if (!binding_limit) return std::nullopt;
  std::vector<Margin> others;
  std::copy_if(margins.begin(), margins.end(), std::back_inserter(others),
               [&](const Margin& margin) { return !same_limit(margin, *binding_limit); });
  return binding(others);
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

std::vector<Diagnostic> validity_warnings(const tile::TileSystem& system, Uses uses,
                                          std::span<const TemperatureRange> ranges,
                                          std::span<const TemperatureRange> lit) {
  std::vector<Diagnostic> warnings;
  for (const tile::UsedProperty& used : system.used_properties()) {
    if (used.only_lit && lit.empty()) continue;
    if (uses == Uses::steady && used.property == "heat_capacity") continue;
    const TemperatureRange& range = (used.only_lit ? lit : ranges)[static_cast<std::size_t>(used.node)];
    if (range.lowest_K >= used.valid_from_K && range.highest_K <= used.valid_to_K) continue;
    warnings.push_back(warning_of(
        Code::outside_validity,
        used.property + " of " + used.material + " is known from " + celsius_range(used.valid_from_K, used.valid_to_K) +
            "; " + range.node + " was at " + celsius_range(range.lowest_K, range.highest_K) + ", and " +
            (used.held ? "the end value was held" : "the law was used all the same")));
  }
  return warnings;
}

std::vector<Diagnostic> drive_warnings(const tile::TileSystem& system, std::span<const double> drive) {
  std::vector<Diagnostic> warnings;
  const std::vector<tile::Bank>& banks = system.description().lasers;
  for (std::size_t b = 0; b < banks.size(); ++b) {
    const auto* table = std::get_if<devices::EfficiencyLaw>(&banks[b].devices.law);
    // One column is a constant, and says so.
    if (table == nullptr || table->drive.size() < 2 || !(drive[b] > 0.0)) continue;
    constexpr double slack = 1e-9;
    if (drive[b] >= table->drive.front() - slack && drive[b] <= table->drive.back() + slack) continue;
    char text[192];
    std::snprintf(text, sizeof text,
                  "the efficiency table of laser %s has drives from %.4g to %.4g %%; it was used at %.4g %%, and the end "
                  "value was held",
                  banks[b].name.c_str(), 100.0 * table->drive.front(), 100.0 * table->drive.back(), 100.0 * drive[b]);
    warnings.push_back(warning_of(Code::outside_validity, text));
  }
  return warnings;
}

}  // namespace tileflux::studies
