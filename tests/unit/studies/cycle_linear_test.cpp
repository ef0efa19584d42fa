/// The linearised cycle against differences of the cycle map itself.

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "studies/cycle.h"
#include "studies/periodic_search.h"
#include "support/cycling_tiles.h"

namespace tileflux::studies::cycle_linear_test {

/// A few per cent of the largest entry is what the search wants of its map; the rest is what it is wrong by.
constexpr double few_per_cent = 0.03;

/// Largest difference between the linearised map at the periodic state and central differences of the map.
double worst_entry(const test::CyclingTile& tile, double step) {
  tile::TileSystem system(tile.description);
  const SearchResult found = search_periodic(system, tile.settings, tile.guess);
  EXPECT_EQ(found.end, SearchEnd::found);
  CycleMap map(system, tile.settings);
  map.set_finer(1000.0);
  ControlState controls = map(found.state.x, map.no_memory()).end_controls;
  const Cycle cycle = map(found.state.x, controls);
  const Eigen::MatrixXd linear = map.linearised(cycle);
  double worst = 0.0;
  for (std::size_t j = 0; j < map.stored().size(); ++j) {
    std::vector<double> above = found.state.x, below = above;
    above[map.stored()[j]] += step;
    below[map.stored()[j]] -= step;
    const Cycle up = map(above, controls), down = map(below, controls);
    for (std::size_t i = 0; i < map.stored().size(); ++i) {
      const double slope = (up.end_x[map.stored()[i]] - down.end_x[map.stored()[i]]) / (2.0 * step);
      worst = std::max(worst, std::abs(slope - linear(static_cast<Eigen::Index>(i), static_cast<Eigen::Index>(j))));
    }
  }
  return worst;
}

TEST(LinearisedCycle, EqualsTheDifferencesOfACycleInItsThrottle) {
  test::CyclingTile tile = test::throttled_tile();
  tile.settings.period_s = 300.0;
  tile.settings.on_s = 200.0;
  EXPECT_LT(worst_entry(tile, 1e-3), few_per_cent);
}

TEST(LinearisedCycle, EqualsTheDifferencesOfACycleWithABattery) {
  EXPECT_LT(worst_entry(test::battery_tile(), 1e-2), few_per_cent);
}

TEST(LinearisedCycle, EqualsTheDifferencesOfACycleThatMelts) {
  EXPECT_LT(worst_entry(test::melting_tile(), 1e-2), few_per_cent);
}

TEST(LinearisedCycle, MovesTheTimesOfAThermostat) {
  test::CyclingTile tile = test::heated_tile();
  tile.settings.period_s = 1500.0;  // few switchings, so that something is left of a disturbance
  EXPECT_LT(worst_entry(tile, 1e-4), few_per_cent);
}

/// A node that trips while the beam is on and returns after its minimum, or at its reset.
test::CyclingTile tripping_tile(double minimum_off_s) {
  test::CyclingTile tile;
  tile.description.parts = {{.name = "node", .capacity_J_per_K = PropertyTable(200.0)}, {.name = "wall", .fixed_K = 300.0}};
  tile.description.joins = {{.a = "node", .b = "wall", .conductance_W_per_K = 2.0}};
  tile.description.loads = {{.node = "node", .power_W = 100.0, .when = tile::Load::When::beam_on}};
  tile.description.limits = {{.node = "node", .below_K = 330.0, .trip_reset_K = 322.0, .trip_min_off_s = minimum_off_s}};
  tile.description.beam = tile::Beam{};
  tile.settings.period_s = 250.0;
  tile.settings.on_s = 190.0;
  return tile;
}

TEST(LinearisedCycle, MovesTheTimesOfATripThatEndsAtItsReset) { EXPECT_LT(worst_entry(tripping_tile(0.0), 1e-3), few_per_cent); }

TEST(LinearisedCycle, MovesTheTimesOfATripThatLastsItsMinimum) { EXPECT_LT(worst_entry(tripping_tile(60.0), 1e-3), few_per_cent); }

TEST(LinearisedCycle, OfATripDoesNotForgetThatTheMinimumBeganWithTheTrip) {
  // One node: after its trip at 330 K everything repeats, only shifted in time. With the shift t of the trip the end moves by -t times
  // its last rate, and by nothing else.
  const test::CyclingTile tile = tripping_tile(60.0);
  tile::TileSystem system(tile.description);
  CycleMap map(system, tile.settings);
  const Cycle cycle = map({301.0}, map.no_memory());
  ASSERT_EQ(cycle.trips, 1);
  // From 330 K down for 60 s, up until 190 s, down until 250 s: only the time of the first rise depends on the start.
  const double rise_s = 100.0 * std::log((350.0 - 301.0) / 20.0), per_K = -100.0 / (350.0 - 301.0);
  const double at_return_K = 300.0 + 30.0 * std::exp(-0.6), up_s = 190.0 - rise_s - 60.0;
  const double at_off_per_s = (350.0 - at_return_K) / 100.0 * std::exp(-up_s / 100.0);
  const double expected = -per_K * at_off_per_s * std::exp(-0.6);
  constexpr double rates = 1e-4;  // of the solver's interpolated rates
  EXPECT_NEAR(map.linearised(cycle)(0, 0), expected, rates);
}

}  // namespace tileflux::studies::cycle_linear_test
