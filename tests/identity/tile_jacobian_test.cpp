/// The exact Jacobian of a tile that uses every feature against difference quotients, over random states.

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>

#include "support/random_values.h"
#include "support/sample_tiles.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::tile::tile_jacobian_test {

/// Which of the smooth pieces a state lies on: differences across a corner say nothing about the slope on either side.
struct Piece {
  bool sun_limited, short_of;
  int throttle;
  bool operator==(const Piece&) const = default;
};

Piece piece_of(const TileSystem& system, double time_s, std::span<const double> x) {
  const auto flows = system.chain_flows(time_s, x);
  int hardest = -1;
  double least = 1.0;
  for (std::size_t i = 0; i < system.limits().size(); ++i) {
    const Limit& limit = system.limits()[i].limit;
    if (!limit.throttle_from_K) continue;
    const double factor = devices::ThrottleLaw{*limit.throttle_from_K, *limit.below_K}.factor(system.network().temperature_K(system.limits()[i].node, x));
    if (factor < least) {
      least = factor;
      hardest = static_cast<int>(i);
    }
  }
  return {flows.sun_limited, flows.housekeeping_short, hardest * 2 + (flows.throttle <= 0.0 ? 1 : 0)};
}

struct Comparison {
  int columns = 0;  ///< compared; the others lie across a corner
  int mismatches = 0;
};

/// A random state: temperatures of a range, enthalpies of melting nodes from just below to just above melting, a charge.
std::vector<double> random_state(const TileSystem& system, int coldest_K, int hottest_K) {
  std::vector<double> x;
  for (int i = 0; i < system.network().unknown_count(); ++i) {
    const network::Node& node = system.network().node(system.network().node_of_unknown(i));
    const bool melts = node.kind == network::NodeKind::melting;
    x.push_back(melts ? test::between(node.melting.solidus_K() - 10.0, node.melting.molten_unknown() + 10.0) : test::temperature_between(coldest_K, hottest_K));
  }
  if (system.description().battery) x.push_back(test::between(15.0, 100.0));
  return x;
}

Comparison compare(TileSystem& system, const Mode& mode, int coldest_K, int hottest_K, double time_s = 0.0) {
  Comparison result;
  system.set_mode(mode);
  const auto size = static_cast<std::size_t>(system.size());
  const std::vector<double> x = random_state(system, coldest_K, hottest_K);
  std::vector<double> rate(size);
  for (double& speed : rate) speed = test::between(-1.0, 1.0);
  const double rate_factor = test::between(0.0, 2.0);

  std::vector<double> values(static_cast<std::size_t>(system.pattern().nonzeros()));
  system.jacobian(time_s, x, rate, rate_factor, values);
  // The size of the terms of each row: their slopes times the temperatures, and what is stored.
  std::vector<double> row_size(size, 1.0), still(size);
  const std::vector<double> no_rate(size, 0.0);
  RC_ASSERT(system.residual(time_s, x, rate, row_size) && system.residual(time_s, x, no_rate, still));
  for (std::size_t i = 0; i < size; ++i) row_size[i] = 1.0 + std::abs(row_size[i] - still[i]);
  for (std::size_t j = 0; j < size; ++j) {
    for (std::size_t i = 0; i < size; ++i) {
      const int place = system.pattern().position(static_cast<int>(i), static_cast<int>(j));
      if (place >= 0) row_size[i] += std::abs(values[static_cast<std::size_t>(place)]) * x[j];
    }
  }
  std::vector<double> above(size), below(size), moved(size), moving(size), values_above(values.size()), values_below(values.size());
  // Across a corner the exact slopes on its two sides differ by far more than slopes do over a difference step.
  constexpr double corner = 1e-3;
  const auto corner_in_column = [&](std::size_t j) {
    const solvers::Pattern& pattern = system.pattern();
    for (int k = pattern.column_start[j]; k < pattern.column_start[j + 1]; ++k) {
      const auto at = static_cast<std::size_t>(k), row = static_cast<std::size_t>(pattern.row[at]);
      if (std::abs(values_above[at] - values_below[at]) > corner * row_size[row] / x[j]) return true;
    }
    return false;
  };
  for (std::size_t j = 0; j < size; ++j) {
    const double h = test::difference_step(x[j]);
    const auto evaluate = [&](double step, std::vector<double>& out, std::vector<double>& slopes) {
      moved = x;
      moving = rate;
      moved[j] += step;
      moving[j] += rate_factor * step;
      RC_ASSERT(system.residual(time_s, moved, moving, out));
      system.jacobian(time_s, moved, moving, rate_factor, slopes);
      return piece_of(system, time_s, moved);
    };
    const Piece piece_above = evaluate(h, above, values_above);
    const Piece piece_below = evaluate(-h, below, values_below);
    if (!(piece_above == piece_below) || corner_in_column(j)) continue;
    ++result.columns;
    for (std::size_t i = 0; i < size; ++i) {
      const double quotient = (above[i] - below[i]) / (2.0 * h);
      const int place = system.pattern().position(static_cast<int>(i), static_cast<int>(j));
      if (place < 0) {
        result.mismatches += above[i] == below[i] ? 0 : 1;  // outside the pattern nothing depends on anything
        continue;
      }
      if (std::abs(values[static_cast<std::size_t>(place)] - quotient) > test::difference_error(row_size[i], x[j])) {
        RC_LOG() << "row " << system.unknown_name(static_cast<int>(i)) << ", column " << system.unknown_name(static_cast<int>(j)) << ": exact "
                 << values[static_cast<std::size_t>(place)] << ", quotient " << quotient << '\n';
        ++result.mismatches;
      }
    }
  }
  return result;
}

void check_jacobian(const Case& description, const Mode& mode, int coldest_K, int hottest_K, double time_s = 0.0) {
  TileSystem system(description);
  const Comparison result = compare(system, mode, coldest_K, hottest_K, time_s);
  RC_ASSERT(result.mismatches == 0);
  RC_ASSERT(result.columns >= system.size() - 2);
}

/// The same tile with a bar of 1 % too much conductance at one end.
class SlightlyWrongTile : public TileSystem {
 public:
  using TileSystem::TileSystem;
  bool residual(double time_s, std::span<const double> x, std::span<const double> rate, std::span<double> out) const override {
    if (!TileSystem::residual(time_s, x, rate, out)) return false;
    for (const network::Flow& flow : network().flows(x)) {
      if (flow.path == "back - bench") out[static_cast<std::size_t>(network().unknown_of(flow.to))] += 0.01 * flow.power_W;
    }
    return true;
  }
};

RC_GTEST_PROP(TileJacobian, IsSeenToDifferFromTheDerivativeOfAWrongResidual, ()) {
  SlightlyWrongTile system(test::everything());
  RC_ASSERT(compare(system, {.beam = true, .drive = 0.8, .throttled = true}, 290, 340).mismatches == 2);
}

RC_GTEST_PROP(TileJacobian, EqualsDifferenceQuotientsWithTheBeamOn, ()) {
  check_jacobian(test::everything(), {.beam = true, .drive = test::between(0.1, 1.0), .throttled = true, .pattern_share = {0, 0, 0, 1, 0}}, 290, 340);
}

RC_GTEST_PROP(TileJacobian, EqualsDifferenceQuotientsWithTheBeamOff, ()) {
  check_jacobian(test::everything(), {.beam = false, .drive = 1.0, .throttled = true, .pattern_share = {0, 0, 0, 0.4, 0}}, 180, 420);
}

RC_GTEST_PROP(TileJacobian, EqualsDifferenceQuotientsWithoutThrottle, ()) {
  check_jacobian(test::everything(), {.beam = true, .drive = 1.0, .throttled = false}, 200, 420);
}

RC_GTEST_PROP(TileJacobian, EqualsDifferenceQuotientsWhereTheSunDoesNotSuffice, ()) {
  Case dim = test::everything();
  dim.sun.tilt_rad = test::between(0.9, 1.5);
  check_jacobian(dim, {.beam = true, .drive = 1.0, .throttled = true}, 200, 335);
}

RC_GTEST_PROP(TileJacobian, EqualsDifferenceQuotientsWhereUndrawnPowerStaysInTheCells, ()) {
  Case staying = test::everything();
  staying.cells->shunt_node.reset();
  check_jacobian(staying, {.beam = true, .drive = 0.7, .throttled = true}, 250, 340);
}

RC_GTEST_PROP(TileJacobian, EqualsDifferenceQuotientsWhereDevicesSitOnFixedParts, ()) {
  Case held = test::everything();
  held.cells->node = held.conditioning->node = held.housekeeping->node = "bus";
  held.lasers[0].mount = "bus";
  held.limits[2].node = "bus";
  held.optics->node = "bus";
  check_jacobian(held, {.beam = true, .drive = 0.7, .throttled = true}, 250, 340);
}

RC_GTEST_PROP(TileJacobian, EqualsDifferenceQuotientsAtAnyTimeOfAnOrbit, ()) {
  check_jacobian(test::in_orbit(test::everything()), {.beam = true, .drive = 0.7, .throttled = true}, 200, 400, test::between(0.0, 2e4));
}

/// The tile turns by the temperature of a node, from facing the Sun to edge-on over a range that holds the random states.
Case turning(Case description, const std::string& node) {
  for (Surface& surface : description.surfaces) {
    if (surface.fin && surface.fin->segments == 0) surface.facing = Surface::Facing::not_stated;
  }
  description.tilt_law = TiltLaw::hold;
  description.hold = TiltHold{node, 345.0, 60.0, 1.5};
  description.sun.tilt_rad = 0.1;
  return description;
}

RC_GTEST_PROP(TileJacobian, EqualsDifferenceQuotientsWhereTheTileTurnsAway, ()) {
  check_jacobian(turning(test::everything(), "back"), {.beam = true, .drive = 0.7, .throttled = true}, 290, 340);
}

RC_GTEST_PROP(TileJacobian, EqualsDifferenceQuotientsWhereTheTileTurnsAwayAndAnOffPointingTableCounts, ()) {
  Case other = turning(test::everything_else(), "bench");
  other.sun_ellipse = environment::Ellipse{.semi_major_axis_m = 9e10, .eccentricity = 0.4};
  check_jacobian(other, {.beam = true, .drive = 0.7}, 290, 330, test::between(0.0, 1e7));
}

/// The other sample in a random order of priorities, with the battery in use or at rest.
void check_the_other(Case description, Mode mode, int coldest_K, int hottest_K) {
  for (int turn = *rc::gen::inRange(0, 24); turn > 0; --turn) std::next_permutation(description.priorities.begin(), description.priorities.end());
  mode.battery = *rc::gen::arbitrary<bool>();
  if (*rc::gen::arbitrary<bool>()) mode.heater_on = {*rc::gen::arbitrary<bool>() ? 1.0 : 0.0, *rc::gen::arbitrary<bool>() ? 1.0 : 0.0};
  check_jacobian(description, mode, coldest_K, hottest_K);
}

RC_GTEST_PROP(TileJacobianOfTheOtherSample, EqualsDifferenceQuotientsWhereTheSunSuffices, ()) {
  check_the_other(test::everything_else(), {.beam = true, .drive = test::between(0.1, 1.0), .pattern_share = {0, 0, 1}}, 270, 330);
}

RC_GTEST_PROP(TileJacobianOfTheOtherSample, EqualsDifferenceQuotientsWithTheBeamOff, ()) {
  check_the_other(test::everything_else(), {.beam = false, .pattern_share = {0, 0, 0.3}}, 220, 380);
}

RC_GTEST_PROP(TileJacobianOfTheOtherSample, EqualsDifferenceQuotientsWhereTheBatteryHelpsAndWhereAllIsShort, ()) {
  Case dim = test::everything_else();
  dim.sun.tilt_rad = test::between(0.9, 1.59);
  check_the_other(dim, {.beam = true, .drive = 1.0}, 265, 325);
}

RC_GTEST_PROP(TileJacobianOfTheOtherSample, EqualsDifferenceQuotientsInTheDark, ()) {
  Case dark = test::everything_else();
  dark.sun.tilt_rad = 2.0;
  dark.beam->light_W.reset();
  check_the_other(dark, {.beam = true, .drive = 0.5}, 265, 325);
}

RC_GTEST_PROP(TileJacobianOfTheOtherSample, EqualsDifferenceQuotientsWithPipesAtTheirLimit, ()) {
  Case overloaded = test::everything_else();
  overloaded.pipes[0].pipes = *rc::gen::inRange(0, 2);
  overloaded.pipes[0].effective_length_m = 3.0;
  overloaded.stores.clear();  // a hundred kelvin from their walls they bend more than a difference quotient follows
  check_the_other(overloaded, {.beam = false}, 230, 390);
}

/// The other sample with a battery whose store takes 1 % less than arrives.
class LeakyBattery : public TileSystem {
 public:
  using TileSystem::TileSystem;
  bool residual(double time_s, std::span<const double> x, std::span<const double> rate, std::span<double> out) const override {
    if (!TileSystem::residual(time_s, x, rate, out)) return false;
    out.back() -= 0.01 * chain_flows(x).battery_power;
    return true;
  }
};

RC_GTEST_PROP(TileJacobianOfTheOtherSample, IsSeenToDifferFromTheDerivativeOfAWrongCharge, ()) {
  // With less sun than everybody wants the battery gives what the heaters' thermostats ask for: a slope that is seen.
  Case description = test::everything_else();
  description.sun.tilt_rad = 2.0;
  description.battery->law.least_percent = 0.0;
  description.battery->law.derating_percent = 5.0;
  description.heaters.resize(1);
  description.heaters[0].on_below_K = 200.0;
  description.heaters[0].off_above_K = 400.0;
  description.heaters[0].sensor = "back";
  LeakyBattery system(description);
  RC_ASSERT(compare(system, {.beam = false}, 280, 310).mismatches >= 1);
}

}  // namespace tileflux::tile::tile_jacobian_test
