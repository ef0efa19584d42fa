#pragma once
/// How far a tile is from its limits, and whether a result used materials beyond what their sources cover.
///
/// Margins of different kinds are compared by one rule: a kelvin of a temperature's margin counts as much as a percent
/// of the battery's capacity, or as a hundredth of a limit on a rate, a difference, a gradient, an energy or a power.

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "tileflux/base/errors.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::studies {

/// What a limit bounds.
enum class LimitKind {
  temperature,  ///< of a node, K
  rate,         ///< fastest change of a node's temperature in either direction, K/s
  difference,   ///< |T_a - T_b|, K
  gradient,     ///< |T_a - T_b| over their distance, K/m
  charge,       ///< of the battery, % of its capacity; at its least the battery gives no more, which breaks no limit
  energy,       ///< J
  power         ///< what the lasers are given of what the commanded drive asks for, W
};
std::string_view name_of(LimitKind kind);
/// The unit of value, limit and margin: `K`, `K/s`, `K/m`, `%`, `J`, `W`.
std::string_view unit_of(LimitKind kind);

/// The distance of something to one bound; negative: the limit is broken.
struct Margin {
  LimitKind kind = LimitKind::temperature;
  std::string node{};   ///< or `battery`, `lasers`
  std::string other{};  ///< the second node of a difference or gradient; otherwise empty
  double value = 0.0;
  double limit = 0.0;
  bool upper = true;  ///< whether the value must stay below (true) or above
  double margin = 0.0;

  /// `plate`, or `plate - lid`.
  std::string where() const { return other.empty() ? node : node + " - " + other; }
  /// By this margins of all kinds are ordered: see above. Continuous in the margin, zero with it, and of its sign.
  double comparable() const;
};

/// The range of temperatures that a node went through.
struct TemperatureRange {
  std::string node;
  double lowest_K = 0.0, lowest_at_s = 0.0;
  double highest_K = 0.0, highest_at_s = 0.0;
};

/// The most that one rate (K/s) or difference (K) with a limit came to, as a magnitude.
struct Peak {
  double most = 0.0, at_s = 0.0;
};

/// What the limits on rates and differences look at, as magnitudes: |dT/dt| in K/s for every limit with `rate_below` in
/// the order of `system.limits()`, then |T_a - T_b| in K for every one of `system.differences()`. `rate` is that of the
/// unknowns (empty: a steady state).
std::vector<double> magnitudes_at(const tile::TileSystem& system, std::span<const double> x,
                                  std::span<const double> rate = {});
bool has_rate_limits(const tile::TileSystem& system);

/// Rates of the differential unknowns at a consistent state under the present mode, from their balances.
std::vector<double> rates_at(const tile::TileSystem& system, double time_s, std::span<const double> x);

/// dT/dt of a node at rates of the unknowns; of a melting node the unknown is its enthalpy, and its temperature moves
/// by less. 0 of a fixed node, or without rates.
double temperature_rate_K_per_s(const tile::TileSystem& system, network::NodeId id, std::span<const double> x,
                                std::span<const double> rate);

/// Every bound of the case against a state (x in K) and its rates (empty: a steady state), in the order of the case:
/// temperatures, rates, differences. The battery's charge is `charge_margin`'s.
std::vector<Margin> margins_at(const tile::TileSystem& system, std::span<const double> x,
                               std::span<const double> rate = {});

/// Every bound against ranges (one per node of the network, in its order) and peaks (in the order of magnitudes_at):
/// the worst instant counts.
std::vector<Margin> margins_over(const tile::TileSystem& system, std::span<const TemperatureRange> ranges,
                                 std::span<const Peak> peaks);

/// How far the battery is above the charge at which it gives no more; never below zero. For studies in which it acts;
/// the case must have one.
Margin charge_margin(const tile::TileSystem& system, double charge_percent);

/// Whether two margins are of one limit.
bool same_limit(const Margin& a, const Margin& b);

/// The smallest margin, or none without limits.
std::optional<Margin> binding(const std::vector<Margin>& margins);

/// The limit that comes next: the smallest margin apart from that of the binding limit itself. None where there is no
/// other limit.
std::optional<Margin> next_after(const std::vector<Margin>& margins, const std::optional<Margin>& binding);

/// Ranges that a single state makes up.
std::vector<TemperatureRange> ranges_at(const tile::TileSystem& system, std::span<const double> x);

/// The ranges that hold both.
std::vector<TemperatureRange> joined(std::vector<TemperatureRange> ranges, std::span<const TemperatureRange> others);

/// One warning per property and node that was used outside the temperatures its source covers. Laser laws count against
/// `lit`, the ranges with the beam on (empty: never), everything else against `ranges`. Heat capacities have no part in
/// steady states.
enum class Uses { steady, transient };
std::vector<Diagnostic> validity_warnings(const tile::TileSystem& system, Uses uses,
                                          std::span<const TemperatureRange> ranges,
                                          std::span<const TemperatureRange> lit);
/// One warning per bank whose efficiency table does not reach the drive share (0..1, one per bank) that it was used at.
std::vector<Diagnostic> drive_warnings(const tile::TileSystem& system, std::span<const double> drive);

}  // namespace tileflux::studies
