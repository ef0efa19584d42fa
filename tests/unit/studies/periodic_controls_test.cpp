/// Periodic states with thermostats that switch, trips and a battery that acts.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "studies/cycle.h"
#include "studies/periodic_search.h"
#include "support/cycling_tiles.h"
#include "support/sample_tiles.h"

namespace tileflux::studies::periodic_controls_test {

constexpr double answer_K = 1e-4;

bool warns(const PeriodicState& state, Code code, const std::string& text) {
  return std::any_of(state.warnings.begin(), state.warnings.end(), [&](const Diagnostic& d) { return d.code == code && d.message.find(text) != std::string::npos; });
}

/// A node with a heater that holds it against a cold wall, and a beam that heats a part of its own.
tile::Case heated_node(double capacity, double band_K) {
  tile::Case tile;
  tile.parts = {{.name = "node", .capacity_J_per_K = PropertyTable(capacity)}, {.name = "apart", .capacity_J_per_K = PropertyTable(100.0)}, {.name = "wall", .fixed_K = 250.0}};
  tile.joins = {{.a = "node", .b = "wall", .conductance_W_per_K = 1.0}, {.a = "apart", .b = "wall", .conductance_W_per_K = 1.0}};
  tile.loads = {{.node = "apart", .power_W = 30.0, .when = tile::Load::When::beam_on}};
  tile.heaters = {{.name = "heater", .node = "node", .sensor = "node", .power_W = 100.0, .on_below_K = 290.0, .off_above_K = 290.0 + band_K}};
  tile.beam = tile::Beam{};
  return tile;
}

CycleSettings cycle_of(double period_s, double on_s) {
  CycleSettings settings;
  settings.period_s = period_s;
  settings.on_s = on_s;
  return settings;
}

TEST(PeriodicThermostat, ThatChattersIsAveraged) {
  tile::TileSystem system(heated_node(5.0, 0.1));
  const PeriodicState state = periodic_state(system, cycle_of(1000.0, 300.0));
  EXPECT_TRUE(state.averaged_thermostats);
  EXPECT_TRUE(warns(state, Code::control_chatter, "thermostats"));
  EXPECT_NEAR(state.x[0], 290.06, 0.01);  // where the mean share gives the 40 W that are lost
  EXPECT_NEAR(state.heaters_J, 1000.0 * (state.x[0] - 250.0), 1e-3 * state.heaters_J);
}

TEST(PeriodicThermostat, ThatKeepsItsOwnTimeIsAveraged) {
  tile::TileSystem system(heated_node(150.0, 5.0));  // about 30 s up and down, never in step with the beam
  const PeriodicState state = periodic_state(system, cycle_of(1000.0, 300.0));
  EXPECT_TRUE(state.averaged_thermostats);
  EXPECT_TRUE(warns(state, Code::control_chatter, "no pattern that repeats"));
  EXPECT_GT(state.x[0], 290.0);
  EXPECT_LT(state.x[0], 295.0);
}

TEST(PeriodicThermostat, IsNotAveragedWhereItsPatternRepeats) {
  const test::CyclingTile tile = test::heated_tile();
  tile::TileSystem system(tile.description);
  const PeriodicState state = periodic_state(system, tile.settings);
  EXPECT_FALSE(state.averaged_thermostats);
  EXPECT_TRUE(state.warnings.empty());
  EXPECT_GE(state.ranges[0].lowest_K, 283.0 - answer_K);
  // Averaged thermostats are another answer, and not far away.
  CycleSettings averaged = tile.settings;
  averaged.thermostats_switch = false;
  const PeriodicState mean = periodic_state(system, averaged);
  EXPECT_EQ(mean.switchings, 0);
  EXPECT_NEAR(mean.heaters_J, state.heaters_J, 0.1 * state.heaters_J);
  EXPECT_GT(std::abs(mean.x[0] - state.x[0]), 10.0 * answer_K);
}

/// A node of 200 J/K with 2 W/K to 300 K, heated by 100 W while the beam is on; it trips at 330 K.
tile::Case tripping(double reset_K, double minimum_off_s) {
  tile::Case tile;
  tile.parts = {{.name = "node", .capacity_J_per_K = PropertyTable(200.0)}, {.name = "wall", .fixed_K = 300.0}};
  tile.joins = {{.a = "node", .b = "wall", .conductance_W_per_K = 2.0}};
  tile.loads = {{.node = "node", .power_W = 100.0, .when = tile::Load::When::beam_on}};
  tile.limits = {{.node = "node", .below_K = 330.0, .trip_reset_K = reset_K, .trip_min_off_s = minimum_off_s}};
  tile.beam = tile::Beam{};
  return tile;
}

TEST(PeriodicTrip, RepeatsAsACycleCarriedOnDoes) {
  for (const double minimum_off_s : {0.0, 50.0, 120.0}) {
    tile::TileSystem system(tripping(320.0, minimum_off_s));
    const CycleSettings settings = cycle_of(400.0, 300.0);
    const PeriodicState state = periodic_state(system, settings);
    EXPECT_FALSE(state.averaged_trips);
    EXPECT_GE(state.trips, 1);
    EXPECT_NEAR(state.ranges[0].highest_K, 330.0, answer_K);
    CycleMap map(system, settings);
    std::vector<double> x{310.0};
    ControlState controls = map.no_memory();
    for (int i = 0; i < 40; ++i) {
      const Cycle cycle = map(x, controls);
      x = cycle.end_x;
      controls = cycle.end_controls;
    }
    EXPECT_NEAR(x[0], state.x[0], 10.0 * answer_K) << minimum_off_s;
  }
}

TEST(PeriodicTrip, StillRunningAtTheEndOfACycleIsPartOfWhatRepeats) {
  // The beam is always commanded on and trips near the end: its minimum off time reaches into the next cycle.
  tile::TileSystem system(tripping(325.0, 60.0));
  const CycleSettings settings = cycle_of(300.0, 290.0);
  CycleMap map(system, settings);
  std::vector<double> x{310.0};
  ControlState controls = map.no_memory();
  bool carried = false;
  for (int i = 0; i < 10; ++i) {
    const Cycle cycle = map(x, controls);
    carried = carried || (cycle.end_controls.tripped[0] != 0 && cycle.end_controls.may_return_s[0] > 0.0);
    x = cycle.end_x;
    controls = cycle.end_controls;
  }
  EXPECT_TRUE(carried);
}

TEST(PeriodicTrip, ThatChattersIsAveraged) {
  test::CyclingTile tile = test::throttled_tile();
  tile.description.limits = {{.node = "bench", .below_K = 331.0, .trip_reset_K = 330.995}};
  tile.settings.period_s = 3600.0;
  tile.settings.on_s = 3000.0;
  tile::TileSystem system(tile.description);
  const PeriodicState state = periodic_state(system, tile.settings);
  EXPECT_TRUE(state.averaged_trips);
  EXPECT_TRUE(warns(state, Code::control_chatter, "trips"));
  EXPECT_EQ(state.ranges[2].node, "bench");
  EXPECT_GT(state.ranges[2].highest_K, 330.995);
  EXPECT_LT(state.ranges[2].highest_K, 331.0);
}

TEST(PeriodicTrip, ThatChattersWithoutLasersIsRefused) {
  tile::TileSystem system(tripping(329.9, 0.0));
  try {
    periodic_state(system, cycle_of(1000.0, 900.0));
    FAIL() << "nothing was thrown";
  } catch (const Error& error) {
    EXPECT_EQ(error.code(), Code::periodic_not_found);
    EXPECT_THAT(error.what(), testing::HasSubstr("without lasers"));
  }
}

TEST(PeriodicBattery, KeepsAnyChargeThatNothingMoves) {
  tile::Case plate = test::burst_plate(500.0, 250.0);
  plate.battery = tile::Battery{.node = "plate", .law = {.capacity_J = 1e5, .resistance_loss_per_W = 1e-3, .most_charge_W = 50.0, .most_discharge_W = 50.0}, .start_percent = 60.0};
  tile::TileSystem system(plate);
  const PeriodicState state = periodic_state(system, cycle_of(300.0, 30.0));
  EXPECT_EQ(state.charge_end, ChargeEnd::anywhere);
  EXPECT_EQ(state.x.back(), 60.0);
  EXPECT_TRUE(warns(state, Code::slow_mode, "any charge"));
  EXPECT_EQ(state.slowest_unknown, "plate");
  EXPECT_LT(state.slowest_multiplier, 1.0);
}

TEST(PeriodicBattery, EndsNearFullWhereThereIsASurplusAndNearItsLeastWhereThereIsNone) {
  test::CyclingTile tile = test::battery_tile();
  tile::TileSystem system(tile.description);
  const PeriodicState full = periodic_state(system, tile.settings);
  EXPECT_EQ(full.charge_end, ChargeEnd::near_full);
  EXPECT_TRUE(warns(full, Code::slow_mode, "battery.charge"));
  tile.settings.on_s = 3000.0;
  const PeriodicState empty = periodic_state(system, tile.settings);
  EXPECT_EQ(empty.charge_end, ChargeEnd::near_least);
  EXPECT_LT(empty.battery->most_percent, 40.0);
  EXPECT_GT(empty.battery->least_percent, 19.0);
  EXPECT_LT(empty.cycles, 30);
  EXPECT_NEAR(empty.battery->end_percent, empty.battery->begin_percent, answer_K);
}

TEST(PeriodicBattery, ThatIsNeverDrawnUponEndsFull) {
  test::CyclingTile tile = test::battery_tile();
  tile.settings.on_s = 0.0;
  tile::TileSystem system(tile.description);
  const PeriodicState state = periodic_state(system, tile.settings);
  EXPECT_EQ(state.charge_end, ChargeEnd::near_full);
  EXPECT_NEAR(state.x.back(), 100.0, answer_K);
}

TEST(PeriodicBattery, AtRestKeepsTheChargeOfTheStart) {
  test::CyclingTile tile = test::battery_tile();
  tile.settings.battery_acts = false;
  tile::TileSystem system(tile.description);
  const PeriodicState state = periodic_state(system, tile.settings);
  EXPECT_EQ(state.charge_end, ChargeEnd::no_battery);
  EXPECT_NEAR(state.x.back(), 50.0, 1e-9);
  EXPECT_NE(state.slowest_unknown, "battery.charge");
}

TEST(CyclesTo95Percent, AreThoseThatPlainCyclesTake) {
  test::CyclingTile tile = test::melting_tile();
  tile.description.stores[0].mass_kg = 2.0;
  tile::TileSystem system(tile.description);
  const PeriodicState state = periodic_state(system, tile.settings);
  std::vector<double> x = state.x;
  x[4] += 1.0;  // of the store's enthalpy: within its melting range
  ASSERT_EQ(system.unknown_name(4), "wax");
  const std::optional<double> told = cycles_to_95_percent(state, x);
  ASSERT_TRUE(told.has_value());
  CycleMap map(system, tile.settings);
  const auto distance = [&](const std::vector<double>& at) {
    double most = 0.0;
    for (const std::size_t i : map.stored()) most = std::max(most, std::abs(at[i] - state.x[i]));
    return most;
  };
  int cycles = 0;
  for (; cycles < 200 && distance(x) > 0.05; ++cycles) x = map(x, map.no_memory()).end_x;
  EXPECT_NEAR(*told, cycles, 1.0);
  EXPECT_GT(cycles, 10);
  EXPECT_NEAR(state.cycles_to_95_percent, cycles, 0.1 * cycles);
}

TEST(CyclesTo95Percent, AreNoneFromThePeriodicStateItself) {
  const test::CyclingTile tile = test::fast_tile();
  tile::TileSystem system(tile.description);
  const PeriodicState state = periodic_state(system, tile.settings);
  EXPECT_EQ(cycles_to_95_percent(state, state.x), 0.0);
}

TEST(CycleLoads, FollowTheirPatternWhereItsPeriodDividesTheCycle) {
  tile::Case plate = test::burst_plate(500.0, 250.0);
  plate.loads.push_back({.node = "plate", .power_W = 100.0, .when = tile::Load::When::pattern, .pattern = {50.0, 150.0, 20.0}});
  tile::TileSystem system(plate);
  CycleSettings settings = cycle_of(300.0, 30.0);
  const PeriodicState followed = periodic_state(system, settings);
  settings.loads_follow_patterns = false;
  const PeriodicState mean = periodic_state(system, settings);
  EXPECT_GT(followed.ranges[0].highest_K - followed.ranges[0].lowest_K, mean.ranges[0].highest_K - mean.ranges[0].lowest_K + 0.01);
  EXPECT_NEAR(followed.books.incoming_J, mean.books.incoming_J, 1e-5 * mean.books.incoming_J);
  settings.loads_follow_patterns = true;
  settings.period_s = 310.0;  // does not divide
  const PeriodicState apart = periodic_state(system, settings);
  EXPECT_NEAR(apart.books.incoming_J, 30.0 * 500.0 + 280.0 * 250.0 + 310.0 * 100.0 / 3.0, 1e-4 * apart.books.incoming_J);
}

TEST(CycleLoads, BeginAtTheStatedTime) {
  tile::Case plate = test::burst_plate(500.0, 250.0);
  plate.loads.push_back({.node = "plate", .power_W = 1000.0, .when = tile::Load::When::pattern, .pattern = {50.0, 300.0, 0.0}});
  tile::TileSystem system(plate);
  CycleSettings settings = cycle_of(300.0, 30.0);
  const PeriodicState at_once = periodic_state(system, settings);
  settings.first_s = 150.0;
  const PeriodicState later = periodic_state(system, settings);
  EXPECT_NEAR(at_once.ranges[0].highest_at_s, 50.0, 1e-6);
  EXPECT_NEAR(later.ranges[0].highest_at_s, 350.0, 1e-6);
  EXPECT_LT(later.x[0], at_once.ranges[0].highest_K - 1.0);
}

}  // namespace tileflux::studies::periodic_controls_test
