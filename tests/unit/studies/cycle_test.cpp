#include "studies/cycle.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "studies/periodic_search.h"
#include "support/cycling_tiles.h"

namespace tileflux::studies::cycle_test {

/// Brute force: plain cycles on the same cycle map, `finer` times the accuracy of the case. Stops when
/// |change| / (1 - multiplier) is below what is asked for; the multiplier is given from outside.
struct Cycled {
  std::vector<double> x;
  int cycles = 0;
};

Cycled brute_force(tile::TileSystem& system, const CycleSettings& settings, std::vector<double> x, double multiplier, double within, double finer) {
  CycleMap map(system, settings);
  map.set_finer(finer);
  ControlState controls = map.no_memory();
  constexpr int most = 20000;
  while (map.count() < most) {
    const Cycle cycle = map(x, controls);
    double change = 0.0;
    for (const std::size_t i : map.stored()) change = std::max(change, std::abs(cycle.end_x[i] - cycle.begin_x[i]));
    const bool same = cycle.begin_controls.heater_on == cycle.end_controls.heater_on && cycle.begin_controls.tripped == cycle.end_controls.tripped;
    if (same && change / (1.0 - multiplier) <= within) return {cycle.begin_x, map.count()};
    x = cycle.end_x;
    controls = cycle.end_controls;
  }
  return {x, map.count()};
}

/// Temperatures are accepted within 1e-4 K; truth is told within 1e-4 K, at ten times finer tolerances.
constexpr double answer_K = 1e-4, truth_K = 1e-4, same_K = 1e-3;

struct Compared {
  PeriodicState solved;
  int brute_cycles = 0;
  double apart = 0.0;  ///< K, or % of charge
};

Compared compare(const char* name, const test::CyclingTile& tile) {
  tile::TileSystem system(tile.description);
  Compared result;
  const SearchResult found = search_periodic(system, tile.settings, tile.guess);
  EXPECT_EQ(found.end, SearchEnd::found);
  result.solved = found.state;
  const double multiplier = result.solved.slowest_multiplier;
  const std::vector<double> begin = tile.guess.empty() ? first_state(system, tile.settings) : tile.guess;
  const double amplified = std::min(1e4, std::max(10.0, 1.0 / (1.0 - multiplier)));
  const Cycled brute = brute_force(system, tile.settings, begin, multiplier, answer_K, amplified);
  const Cycled truth = brute_force(system, tile.settings, brute.x, multiplier, truth_K, 10.0 * amplified);
  result.brute_cycles = brute.cycles;
  CycleMap map(system, tile.settings);
  for (const std::size_t i : map.stored()) result.apart = std::max(result.apart, std::abs(result.solved.x[i] - truth.x[i]));
  std::printf("[ cycles   ] %-28s solved %3d, brute force %5d, apart %.1e; slowest %.6f (%s, %.3g s), to 95 %% %.3g, switchings %ld\n", name,
              result.solved.cycles, result.brute_cycles, result.apart, multiplier, result.solved.slowest_unknown.c_str(), result.solved.slowest_s,
              result.solved.cycles_to_95_percent, result.solved.switchings);
  return result;
}

TEST(PeriodicCycles, OfATileWithFastModesAreNoMoreThanByBruteForce) {
  const Compared c = compare("fast modes", test::fast_tile());
  EXPECT_LT(c.apart, same_K);
  EXPECT_LE(c.solved.cycles, 1.5 * c.brute_cycles);
}

TEST(PeriodicCycles, OfAThrottledTileAreNoMoreThanByBruteForce) {
  const Compared c = compare("throttled diodes", test::throttled_tile());
  test::CyclingTile free = test::throttled_tile();
  free.settings.throttled = false;
  tile::TileSystem unthrottled(free.description);
  const double free_J = periodic_state(unthrottled, free.settings).light_J;
  EXPECT_LT(c.solved.light_J, 0.95 * free_J);
  EXPECT_GT(c.solved.light_J, 0.2 * free_J);
  EXPECT_LT(c.apart, same_K);
  EXPECT_LE(c.solved.cycles, 1.5 * c.brute_cycles);
}

TEST(PeriodicCycles, OfASwitchingThermostatAreNoMoreThanByBruteForce) {
  const Compared c = compare("switching thermostat", test::heated_tile());
  EXPECT_LT(c.apart, same_K);
  EXPECT_GT(c.solved.switchings, 2);
  EXPECT_LE(c.solved.cycles, 1.5 * c.brute_cycles);
}

TEST(PeriodicCycles, OfABatteryWithATimeConstantOfDaysAreATwentiethOfBruteForce) {
  const Compared c = compare("battery of days", test::battery_tile());
  EXPECT_LT(c.apart, same_K);
  EXPECT_LE(20 * c.solved.cycles, c.brute_cycles);
  EXPECT_EQ(c.solved.slowest_unknown, "battery.charge");
}

TEST(PeriodicCycles, OfAMeltingStoreWithAModeOfDaysAreATwentiethOfBruteForce) {
  const Compared c = compare("melting store", test::melting_tile());
  EXPECT_LT(c.apart, same_K);
  EXPECT_LE(20 * c.solved.cycles, c.brute_cycles);
  EXPECT_EQ(c.solved.slowest_unknown, "wax");
  EXPECT_GT(c.solved.slowest_s, 2.0 * 86400.0);
}

TEST(PeriodicCycles, WithoutTheirMapAreWorse) {
  test::CyclingTile tile = test::melting_tile();
  tile.description.stores[0].mass_kg = 2.0;  // hours instead of days, so that plain cycles end
  tile::TileSystem system(tile.description);
  const SearchResult solved = search_periodic(system, tile.settings, {});
  const SearchResult plain = search_periodic(system, tile.settings, {}, {.preconditioned = false, .most_cycles = 2000});
  ASSERT_EQ(solved.end, SearchEnd::found);
  ASSERT_EQ(plain.end, SearchEnd::found);
  std::printf("[ cycles   ] with its map %d, with none %d\n", solved.state.cycles, plain.state.cycles);
  EXPECT_GT(plain.state.cycles, 10 * solved.state.cycles);
}

TEST(CycleBooks, CloseForShortPeriodsToo) {
  for (const double period_s : {1e-2, 0.1, 1.0, 30.0}) {
    test::CyclingTile tile = test::throttled_tile();
    tile.settings.period_s = period_s;
    tile.settings.on_s = 0.4 * period_s;
    tile::TileSystem system(tile.description);
    const PeriodicState state = periodic_state(system, tile.settings);
    EXPECT_LT(state.books.relative(), transient_ledger_bound) << period_s;
    EXPECT_GT(state.books.incoming_J, 1000.0 * period_s);
    EXPECT_LE(state.error_K, answer_K);
    std::printf("[ cycles   ] period %g s: %d, slowest %s %.4g s, light %.6f W\n", period_s, state.cycles, state.slowest_unknown.c_str(), state.slowest_s, state.light_J / period_s);
  }
}

TEST(CycleBooks, ThatDoNotCloseAreRefused) {
  /// Heat that no book knows of.
  class Leaking : public tile::TileSystem {
   public:
    using TileSystem::TileSystem;
    bool residual(double time_s, std::span<const double> x, std::span<const double> rate, std::span<double> out) const override {
      if (!TileSystem::residual(time_s, x, rate, out)) return false;
      out[0] += 1.0;
      return true;
    }
  };
  const test::CyclingTile tile = test::fast_tile();
  Leaking system(tile.description);
  try {
    periodic_state(system, tile.settings);
    FAIL() << "nothing was thrown";
  } catch (const Error& error) {
    EXPECT_EQ(error.code(), Code::ledger_open);
  }
}

}  // namespace tileflux::studies::cycle_test
