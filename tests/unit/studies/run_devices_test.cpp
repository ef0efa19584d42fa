/// What devices do in a run, against closed forms: heaters, battery, stores, failures, the emitting path.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "support/sample_tiles.h"
#include "support/small_system.h"
#include "tileflux/studies/run.h"

namespace tileflux::studies::run_devices_test {

struct Rows : RunSink {
  std::vector<double> times_s;
  std::vector<std::vector<double>> temperatures, scalars;
  void row(const RunRow& row) override {
    times_s.push_back(row.time_s);
    temperatures.emplace_back(row.temperature_K.begin(), row.temperature_K.end());
    scalars.emplace_back(row.scalars.begin(), row.scalars.end());
  }
  void event(const RunEvent&) override {}
  std::vector<double> column(std::string_view name) const {
    std::size_t place = 0;
    while (series_columns()[place].name != name) ++place;
    std::vector<double> values;
    for (const auto& row : scalars) values.push_back(row[place]);
    return values;
  }
};

std::vector<const RunEvent*> events_named(const std::vector<RunEvent>& events, std::string_view what) {
  std::vector<const RunEvent*> found;
  for (const RunEvent& event : events) {
    if (event.what == what) found.push_back(&event);
  }
  return found;
}

long warnings_of(const RunResult& result, Code code) {
  return std::count_if(result.warnings.begin(), result.warnings.end(), [&](const Diagnostic& d) { return d.code == code; });
}

/// Located times are good to the temperature's error over its slope, some 1e-6 K over hundredths of a kelvin per second.
constexpr double located_s = 1e-3;
/// A run is carried ten times finer than promised; global errors stay below this many promised tolerances of 1e-7.
constexpr double run_K = 20.0 * 1e-7 * 300.0;

/// 200 J/K with 2 W/K to 250 K, so 100 s to settle; a thermostat between 280 and 290 K, fed from outside.
tile::Case heated(double power_W) {
  tile::Case tile;
  tile.parts = {{.name = "node", .capacity_J_per_K = PropertyTable(200.0)}, {.name = "wall", .fixed_K = 250.0}};
  tile.joins = {{.a = "node", .b = "wall", .conductance_W_per_K = 2.0}};
  tile.heaters = {{.name = "keeper", .node = "node", .sensor = "node", .power_W = power_W, .on_below_K = 280.0, .off_above_K = 290.0}};
  tile.start.temperature_K = 270.0;
  tile.run = {.duration_s = 2000.0, .output_every_s = 100.0};
  return tile;
}

TEST(Thermostat, CyclesBetweenItsTemperaturesWithTheClosedFormsPeriod) {
  tile::TileSystem system(heated(120.0));  // would settle at 310 K
  const RunResult result = run(system, nullptr);
  const auto on = events_named(result.events, "heater_on"), off = events_named(result.events, "heater_off");
  // It begins cold, so on; from 270 K to 290 K on the way to 310 K.
  const double first_off_s = 100.0 * std::log(40.0 / 20.0), rest_s = 100.0 * std::log(40.0 / 30.0), heat_s = 100.0 * std::log(30.0 / 20.0);
  ASSERT_GE(off.size(), 20u);
  EXPECT_NEAR(off[0]->time_s, first_off_s, located_s);
  EXPECT_NEAR(off[0]->temperature_K, 290.0, run_K);
  EXPECT_EQ(off[0]->where, "keeper");
  EXPECT_NEAR(on.back()->time_s - on[on.size() - 2]->time_s, rest_s + heat_s, located_s);
  // 27 whole periods and 18.7 s of rest fit behind the first heating.
  const double left_s = 2000.0 - first_off_s;
  const double periods = std::floor(left_s / (rest_s + heat_s)), remainder_s = left_s - periods * (rest_s + heat_s);
  const double on_s = first_off_s + periods * heat_s + std::max(0.0, remainder_s - rest_s);
  ASSERT_EQ(result.heaters.size(), 1u);
  EXPECT_NEAR(result.heaters[0].duty, on_s / 2000.0, 30.0 * located_s / 2000.0);
  EXPECT_EQ(result.heaters[0].switched_on, static_cast<long>(on.size()));
  EXPECT_NEAR(result.heaters_J, 120.0 * on_s, 120.0 * 30.0 * located_s);
  EXPECT_NEAR(result.ranges[0].highest_K, 290.0, run_K);
  EXPECT_EQ(warnings_of(result, Code::heater_authority), 0);
}

TEST(Thermostat, ThatIsOnForMoreThanFourFifthsOfTheTimeIsToldOf) {
  tile::TileSystem system(heated(85.0));  // 292.5 K: 161 s of heat to 29 s of rest
  const RunResult result = run(system, nullptr);
  EXPECT_GT(result.heaters[0].duty, 0.8);
  ASSERT_EQ(warnings_of(result, Code::heater_authority), 1);
  const auto told = std::find_if(result.warnings.begin(), result.warnings.end(), [](const Diagnostic& d) { return d.code == Code::heater_authority; });
  EXPECT_THAT(told->message, testing::HasSubstr("'keeper'"));
}

TEST(Thermostat, BetweenItsTemperaturesBeginsOff) {
  tile::Case tile = heated(120.0);
  tile.start.temperature_K = 285.0;
  tile::TileSystem system(tile);
  const RunResult result = run(system, nullptr);
  const auto on = events_named(result.events, "heater_on");
  ASSERT_FALSE(on.empty());
  EXPECT_NEAR(on[0]->time_s, 100.0 * std::log(35.0 / 30.0), located_s);
}

TEST(Thermostat, FollowsASensorElsewhere) {
  tile::Case tile = heated(120.0);
  tile.parts.push_back({.name = "plate", .capacity_J_per_K = PropertyTable(50.0), .start_K = 260.0});
  tile.joins.push_back({.a = "plate", .b = "node", .conductance_W_per_K = 1.0});
  tile.heaters[0].node = "plate";
  tile::TileSystem system(tile);
  const RunResult result = run(system, nullptr);
  const auto off = events_named(result.events, "heater_off");
  ASSERT_FALSE(off.empty());
  EXPECT_NEAR(off[0]->temperature_K, 290.0, run_K);
  EXPECT_GT(result.ranges[2].highest_K, 300.0);  // the plate itself gets far warmer than its sensor
}

TEST(StuckHeater, IsOnOrOffWhateverItsThermostatSays) {
  tile::Case on = heated(120.0);
  on.heaters[0].stuck = true;
  tile::TileSystem hot(on);
  const RunResult warm = run(hot, nullptr);
  EXPECT_NEAR(warm.final_x[0], 310.0 - 40.0 * std::exp(-20.0), run_K);
  EXPECT_EQ(warm.heaters[0].duty, 1.0);
  EXPECT_NEAR(warm.heaters_J, 120.0 * 2000.0, 1e-6 * 120.0 * 2000.0);
  on.heaters[0].stuck = false;
  tile::TileSystem cold(on);
  const RunResult cool = run(cold, nullptr);
  EXPECT_NEAR(cool.final_x[0], 250.0 + 20.0 * std::exp(-20.0), run_K);
  EXPECT_EQ(cool.heaters[0].duty, 0.0);
  EXPECT_EQ(cool.heaters_J, 0.0);
}

TEST(StuckHeater, FromATimeOnIsNoLongerSwitched) {
  tile::Case tile = heated(120.0);
  tile.failures = {{.at_s = 500.0, .what = tile::Failure::What::stuck_heater, .where = "keeper", .value = 1.0}};
  tile::TileSystem system(tile);
  const RunResult result = run(system, nullptr);
  const auto failures = events_named(result.events, "failure");
  ASSERT_EQ(failures.size(), 1u);
  EXPECT_EQ(failures[0]->time_s, 500.0);
  EXPECT_EQ(failures[0]->where, "stuck_heater keeper");
  EXPECT_NEAR(result.final_x[0], 310.0, 20.0 * std::exp(-15.0) + run_K);
  EXPECT_GT(result.heaters[0].duty, 0.75 + 0.25 * 0.5);
}

/// 60 W of light-less cells' bus is dark: housekeeping lives on the battery alone.
tile::Case on_battery(double housekeeping_W, double start_percent) {
  tile::Case tile;
  tile.sun.tilt_rad = 2.0;
  tile.parts = {{.name = "node", .capacity_J_per_K = PropertyTable(1000.0)}, {.name = "wall", .fixed_K = 300.0}};
  tile.joins = {{.a = "node", .b = "wall", .conductance_W_per_K = 5.0}};
  tile.surfaces = {{.name = "face", .node = "node", .area_m2 = 1.0, .emittance = 0.01, .absorptance = 0.9, .facing = tile::Surface::Facing::front}};
  tile.cells = tile::Cells{.surface = "face", .node = "node", .efficiency = 0.3};
  tile.housekeeping = tile::Housekeeping{"node", housekeeping_W};
  tile.battery = tile::Battery{.node = "node",
                               .law = {.capacity_J = 1e5, .resistance_loss_per_W = 1e-3, .most_charge_W = 50.0, .most_discharge_W = 60.0, .taper_percent = 10.0,
                                       .least_percent = 20.0, .derating_percent = 10.0},
                               .start_percent = start_percent, .least_percent = 20.0};
  tile.start.temperature_K = 300.0;
  tile.run = {.duration_s = 1000.0, .output_every_s = 10.0};
  return tile;
}

/// A charge is carried like a temperature: 1e-7 of 100 percent, ten times finer than promised.
constexpr double charge_percent = 20.0 * 1e-7 * 100.0;

TEST(BatteryOfARun, EmptiesByWhatItGivesAndLoses) {
  tile::TileSystem system(on_battery(20.0, 90.0));
  const RunResult result = run(system, nullptr);
  const double store_W = 20.0 + 1e-3 * 400.0;
  ASSERT_TRUE(result.battery);
  EXPECT_NEAR(result.battery->end_percent, 90.0 - store_W * 1000.0 / 1e5 * 100.0, charge_percent);
  EXPECT_EQ(result.battery->begin_percent, 90.0);
  EXPECT_EQ(result.battery->most_percent, 90.0);
  EXPECT_EQ(result.battery->least_percent, result.battery->end_percent);
  EXPECT_NEAR(result.books.to_battery_J, -store_W * 1000.0, 1e3 * charge_percent);
  // Its heat and that of housekeeping are all that warms the node; it has settled but for exp(-5) of the way.
  const double out_W = 5.0 * (result.final_x[0] - 300.0) + 0.01 * stefan_boltzmann_W_per_m2_K4 * std::pow(result.final_x[0], 4);
  EXPECT_NEAR(out_W, 20.4, 20.4 * std::exp(-5.0));
  EXPECT_GT(out_W, 20.0);
}

TEST(BatteryOfARun, FillsWithItsMostLessItsLoss) {
  tile::Case tile = on_battery(20.0, 30.0);
  tile.sun.tilt_rad = 0.0;
  tile::TileSystem system(tile);
  const RunResult result = run(system, nullptr);
  EXPECT_NEAR(result.battery->end_percent, 30.0 + (50.0 - 1e-3 * 2500.0) * 1000.0 / 1e5 * 100.0, charge_percent);
}

TEST(BatteryOfARun, IsCalledLowWhereItsChargeSaysSo) {
  // dz/dt = -(p + k p^2) / (capacity / 100), with p the smaller one of 20 W and what the battery still gives.
  const auto rate = [](double charge) {
    const double x = std::clamp((charge - 20.0) / 10.0, 0.0, 1.0);
    const double p = std::min(20.0, 60.0 * x * x * (3.0 - 2.0 * x));
    return (p + 1e-3 * p * p) / 1e3;
  };
  double time_s = 0.0;
  constexpr int steps = 20000;  // of the midpoint rule: its error is far below what is located
  for (int i = 0; i < steps; ++i) time_s += (30.0 - 21.0) / steps / rate(21.0 + (i + 0.5) * (30.0 - 21.0) / steps);
  tile::TileSystem system(on_battery(20.0, 30.0));
  const RunResult result = run(system, nullptr);
  const auto low = events_named(result.events, "battery_low");
  ASSERT_EQ(low.size(), 1u);
  constexpr double located_charge_s = 20.0 * charge_percent / 6e-3;  // the charge falls by 6e-3 percent a second there
  EXPECT_NEAR(low[0]->time_s, time_s, located_charge_s);
  EXPECT_GE(result.battery->end_percent, 20.0);
}

TEST(BatteryOfARun, KeepsTheIntegralOfItsPowerLessItsHeatOverADayAndANight) {
  tile::Case tile = test::everything_else();
  tile.failures = {{.at_s = 900.0, .what = tile::Failure::What::stuck_tilt, .value = 2.0}};
  tile.run = {.duration_s = 1800.0, .output_every_s = 1.0};
  tile::TileSystem system(tile);
  Rows rows;
  const RunResult result = run(system, &rows);
  const std::vector<double> power_W = rows.column("battery_power_W"), charge = rows.column("battery_charge");
  const auto stored_W = [&](std::size_t i) { return power_W[i] - 6e-4 * power_W[i] * power_W[i] - 1e-8 * 4e5 * charge[i]; };
  double integral_J = 0.0;
  for (std::size_t i = 1; i < power_W.size(); ++i) integral_J += 0.5 * (stored_W(i - 1) + stored_W(i));
  EXPECT_LE(result.books.relative(), transient_ledger_bound);
  EXPECT_GT(*std::max_element(power_W.begin(), power_W.end()), 1.0);
  EXPECT_LT(*std::min_element(power_W.begin(), power_W.end()), -1.0);
  // The trapezoid is off by half a row at each of some twenty switches of tens of watts.
  constexpr double switches_J = 20.0 * 0.5 * 70.0;
  EXPECT_NEAR(result.books.to_battery_J, integral_J, switches_J);
  EXPECT_NEAR(result.books.to_battery_J, 4e5 * (charge.back() - charge.front()), 4e3 * charge_percent);
  EXPECT_GT(result.battery->most_percent, std::max(result.battery->begin_percent, result.battery->end_percent) - charge_percent);
}

TEST(StoreOfARun, HoldsItsTemperatureWhileItMelts) {
  tile::Case tile;
  tile.parts = {{.name = "plate", .capacity_J_per_K = PropertyTable(50.0)}};
  tile.stores = {{.name = "wax", .node = "plate", .material = "wax", .mass_kg = 1.0, .area_m2 = 1.0, .thickness_m = 1e-3, .contact_W_per_m2_K = 500.0,
                  .solid_J_per_kg_K = 2000.0, .liquid_J_per_kg_K = 2200.0, .latent_J_per_kg = 1e5, .melt_K = 300.0, .range_K = 0.2,
                  .solid_W_per_m_K = 0.4, .liquid_W_per_m_K = 0.2}};
  tile.loads = {{.node = "plate", .power_W = 100.0}};
  tile.start.temperature_K = 290.0;
  tile.run = {.duration_s = 1500.0, .output_every_s = 1.0};
  tile::TileSystem system(tile);
  Rows rows;
  const RunResult result = run(system, &rows);
  const std::vector<double> melted = rows.column("melted_share");
  double melting_s = 0.0;
  for (std::size_t i = 0; i < melted.size(); ++i) {
    if (melted[i] <= 0.0 || melted[i] >= 1.0) continue;
    melting_s += 1.0;
    EXPECT_GE(rows.temperatures[i][1], 299.9 - run_K);
    EXPECT_LE(rows.temperatures[i][1], 300.1 + run_K);
    // Quasi-steady: 100 W through the contact and the melted layer, less what the plate itself takes.
    EXPECT_NEAR(rows.temperatures[i][0], rows.temperatures[i][1] + 100.0 * (1.0 / 500.0 + melted[i] * 1e-3 / 0.2), 0.05);
  }
  // 100 kJ at 100 W; the plate, which grows warmer by the layer's 0.5 K, keeps 25 J of it.
  EXPECT_NEAR(melting_s, 1000.25, 1.5);
  // Energy is exact across melting: 150 kJ are in the plate and the wax.
  const double wax_J = 2000.0 * (299.9 - 290.0) + 1e5 + 2200.0 * (rows.temperatures.back()[1] - 300.1);
  EXPECT_NEAR(50.0 * (rows.temperatures.back()[0] - 290.0) + wax_J, 150e3, 1e-6 * 150e3);
  EXPECT_EQ(melted.back(), 1.0);
}

TEST(FailureInARun, ChangesTheTileFromItsTimeOn) {
  tile::Case plate;
  plate.space_K = 0.0;
  plate.parts.push_back({.name = "plate", .capacity_J_per_K = PropertyTable(1000.0)});
  plate.surfaces.push_back({.name = "face", .node = "plate", .area_m2 = 1.0, .emittance = 0.8});
  plate.start.temperature_K = 400.0;
  plate.run = {.duration_s = 1000.0, .output_every_s = 100.0};
  plate.failures = {{.at_s = 333.0, .what = tile::Failure::What::degraded_finish, .where = "face", .emittance = 0.2}};
  tile::TileSystem system(plate);
  const RunResult result = run(system, nullptr);
  constexpr double emission = stefan_boltzmann_W_per_m2_K4;
  const double then_K = test::cooled_K(400.0, 1000.0, 0.8 * emission, 333.0);
  EXPECT_NEAR(result.final_x[0], test::cooled_K(then_K, 1000.0, 0.2 * emission, 667.0), run_K);
  // The system is whole again: a second run gives the same.
  EXPECT_EQ(system.description().failures.size(), 1u);
  EXPECT_EQ(run(system, nullptr).final_x[0], result.final_x[0]);
}

TEST(FailureInARun, OfEveryKindKeepsTheBooksClosed) {
  using What = tile::Failure::What;
  tile::Case tile = test::everything_else();
  tile.run = {.duration_s = 900.0, .output_every_s = 100.0};
  tile.failures = {{.at_s = 101.0, .what = What::dead_modules, .where = "pump", .value = 1.0},
                   {.at_s = 210.0, .what = What::lost_pipes, .where = "loop", .value = 1.0},  // with an edge of the beam
                   {.at_s = 305.5, .what = What::open_strings, .value = 0.3},
                   {.at_s = 410.0, .what = What::stuck_heater, .where = "keeper", .value = 1.0},
                   {.at_s = 410.0, .what = What::degraded_finish, .where = "front", .absorptance = 0.95, .emittance = 0.7},
                   {.at_s = 702.0, .what = What::stuck_tilt, .value = 1.2}};
  tile::TileSystem system(tile);
  const RunResult result = run(system, nullptr);
  EXPECT_LE(result.books.relative(), transient_ledger_bound);
  const auto failures = events_named(result.events, "failure");
  ASSERT_EQ(failures.size(), 6u);
  for (std::size_t i = 0; i < 6; ++i) EXPECT_EQ(failures[i]->time_s, tile.failures[i].at_s);
  EXPECT_EQ(failures[3]->time_s, failures[4]->time_s);
}

TEST(FailureInARun, AtTheStartIsThereFromTheStart) {
  tile::Case tile = heated(120.0);
  tile.failures = {{.at_s = 0.0, .what = tile::Failure::What::stuck_heater, .where = "keeper", .value = 0.0}};
  tile::TileSystem system(tile);
  const RunResult result = run(system, nullptr);
  EXPECT_EQ(result.heaters_J, 0.0);
}

/// Lasers on a wall; the optics are a node of 100 J/K with 1 W/K to the wall that keeps a tenth of 50 W of light.
tile::Case warming_optics() {
  tile::Case tile;
  tile.parts = {{.name = "wall", .fixed_K = 300.0}, {.name = "lens", .capacity_J_per_K = PropertyTable(100.0)}};
  tile.joins = {{.a = "lens", .b = "wall", .conductance_W_per_K = 1.0}};
  tile.surfaces = {{.name = "face", .node = "wall", .area_m2 = 1.0, .emittance = 0.8, .absorptance = 0.9, .facing = tile::Surface::Facing::front}};
  tile.cells = tile::Cells{.surface = "face", .node = "wall", .efficiency = 0.3};
  tile.lasers = {{.name = "red", .mount = "wall", .devices = {1, devices::EfficiencyLaw{100.0, {300.0}, {1.0}, {0.5}}}, .resistance_K_per_W = 0.1}};
  tile.optics = tile::Optics{"lens", 0.9};
  tile.beam = tile::Beam{1.0, tile::TimePattern{80.0, 1000.0, 100.0}};
  tile.start.temperature_K = 300.0;
  tile.run = {.duration_s = 1000.0, .output_every_s = 100.0};
  return tile;
}

TEST(EmittingPathOfARun, MovesByItsClosedFormWhileTheBeamIsOn) {
  tile::TileSystem system(warming_optics());
  const RunResult result = run(system, nullptr);
  ASSERT_EQ(result.emitting_path.size(), 1u);
  EXPECT_EQ(result.emitting_path[0].node, "lens");
  EXPECT_NEAR(result.emitting_path[0].lowest_K, 300.0, run_K);
  EXPECT_NEAR(result.emitting_path[0].highest_K, 300.0 + 5.0 * (1.0 - std::exp(-0.8)), run_K);
  // 5 W into 100 J/K at the switch; a mean over the solver's first steps is a little less.
  constexpr double first_steps = 1e-3;
  EXPECT_NEAR(result.emitting_path[0].fastest_K_per_s, 0.05, first_steps * 0.05);
}

TEST(EmittingPathOfARun, IsWhatItsRowsShow) {
  tile::Case tile = test::everything_else();
  tile.run = {.duration_s = 600.0, .output_every_s = 0.5};
  tile::TileSystem system(tile);
  Rows rows;
  const RunResult result = run(system, &rows);
  const std::vector<double> beam = rows.column("beam");
  ASSERT_EQ(result.emitting_path.size(), 2u);
  for (std::size_t k = 0; k < 2; ++k) {
    const auto place = static_cast<std::size_t>(system.emitting_path()[k]);
    double lowest_K = 1e9, highest_K = 0.0, fastest = 0.0;
    for (std::size_t i = 0; i < beam.size(); ++i) {
      if (beam[i] == 0.0) continue;
      lowest_K = std::min(lowest_K, rows.temperatures[i][place]);
      highest_K = std::max(highest_K, rows.temperatures[i][place]);
      if (i > 0 && beam[i - 1] > 0.0) fastest = std::max(fastest, std::abs(rows.temperatures[i][place] - rows.temperatures[i - 1][place]) / 0.5);
    }
    const EmittingNode& node = result.emitting_path[k];
    const double between_rows_K = 0.5 * node.fastest_K_per_s;
    EXPECT_LE(node.lowest_K, lowest_K + run_K);
    EXPECT_GE(node.lowest_K, lowest_K - between_rows_K);
    EXPECT_GE(node.highest_K, highest_K - run_K);
    EXPECT_LE(node.highest_K, highest_K + between_rows_K);
    // Means over half a second and over the solver's steps of the same slope.
    constexpr double different_spans = 0.05;
    EXPECT_NEAR(node.fastest_K_per_s, fastest, different_spans * fastest);
  }
}

TEST(EmittingPathOfARun, IsNotToldWithoutTheBeam) {
  tile::Case tile = warming_optics();
  tile.beam.reset();
  tile::TileSystem system(tile);
  EXPECT_TRUE(run(system, nullptr).emitting_path.empty());
}

}  // namespace tileflux::studies::run_devices_test
