/// Kinks of a law, where Newton's method alone goes to and fro.

#include <gtest/gtest.h>

#include "studies/modes.h"
#include "tileflux/studies/balance.h"
#include "tileflux/studies/run.h"

namespace tileflux::studies::kinks_test {

/// A bench with 2 W, joined to a radiator by two heat pipes that freeze at 195 K, which a heater keeps just thawed.
tile::Case thawed_pipes() {
  tile::Case tile;
  tile.space_K = 1.0;
  tile.sun.irradiance_at_1AU_W_per_m2 = 0.0;
  tile.parts = {{.name = "bench", .capacity_J_per_K = PropertyTable(1500.0)}, {.name = "radiator", .capacity_J_per_K = PropertyTable(1000.0)}};
  tile.joins.push_back({.a = "bench", .b = "radiator", .conductance_W_per_K = 0.2});
  tile::HeatPipe pair;
  pair.name = "pair";
  pair.pipes = 2;
  pair.evaporators = {{"bench", 15.0}};
  pair.condensers = {{"radiator", 20.0}};
  pair.effective_length_m = 0.8;
  pair.transport_W_m = PropertyTable({195.0, 220.0, 250.0, 280.0, 310.0, 340.0, 400.0}, {0.0, 60.0, 110.0, 120.0, 100.0, 60.0, 0.0});
  tile.pipes = {pair};
  tile.surfaces.push_back({.name = "face", .node = "radiator", .area_m2 = 0.4, .emittance = 0.88});
  tile.loads.push_back({.node = "bench", .power_W = 2.0});
  tile::Heater thaw;
  thaw.name = "thaw";
  thaw.node = thaw.sensor = "radiator";
  thaw.power_W = 45.0;
  thaw.on_below_K = 200.0;
  thaw.off_above_K = 205.0;
  tile.heaters = {thaw};
  return tile;
}

TEST(SteadyStateAtAKink, OfPipesThatAreJustThawedIsFound) {
  tile::TileSystem system(thawed_pipes());
  system.set_mode(steady_mode(system.description(), false, true));
  const OperatingPoint point = operating_point(system);
  const double radiator_K = system.network().temperature_K(system.network().find("radiator"), point.x);
  EXPECT_GT(radiator_K, 200.0);
  EXPECT_LT(radiator_K, 205.0);
  // What the heater gives is what the face radiates beyond the bench's 2 W.
  const double radiated_W = stefan_boltzmann_W_per_m2_K4 * 0.4 * 0.88 * (fourth_power(radiator_K) - 1.0);
  constexpr double closes_W = 1e-6;
  EXPECT_NEAR(system.heater_powers_W(point.x)[0], radiated_W - 2.0, closes_W);
  EXPECT_NEAR(system.heater_powers_W(point.x)[0], 45.0 * (205.0 - radiator_K) / 5.0, closes_W);
}

/// Warm walls at either end of pipes that begin at their limit: the flow leaves it within seconds, and the vapour's slope
/// over temperature difference jumps from a fraction of a watt to 2000 W/K.
tile::Case pipes_at_their_limit(double bench_K) {
  tile::Case tile;
  tile.parts = {{.name = "bench", .capacity_J_per_K = PropertyTable(250.0), .start_K = bench_K}, {.name = "radiator", .capacity_J_per_K = PropertyTable(600.0), .start_K = 283.0}};
  tile::HeatPipe pair;
  pair.name = "pair";
  pair.pipes = 2;
  pair.evaporators = {{"bench", 30.0}};
  pair.condensers = {{"radiator", 35.0}};
  pair.transport_W_m = PropertyTable({195.0, 220.0, 250.0, 280.0, 310.0, 400.0}, {0.0, 30.0, 36.0, 33.0, 28.0, 0.0});
  tile.pipes = {pair};
  tile.surfaces.push_back({.name = "face", .node = "radiator", .area_m2 = 0.4, .emittance = 0.88});
  tile.run = {.duration_s = 60.0, .output_every_s = 10.0};
  return tile;
}

TEST(RunAcrossAKink, OfPipesThatLeaveTheirLimitGoesOnAtAnySpeed) {
  for (int i = 0; i < 30; ++i) {
    const double bench_K = 285.5 + 0.07 * i;
    tile::TileSystem system(pipes_at_their_limit(bench_K));
    RunResult result;
    ASSERT_NO_THROW(result = run(system, nullptr)) << bench_K;
    EXPECT_LE(result.books.relative(), transient_ledger_bound) << bench_K;
  }
}

}  // namespace tileflux::studies::kinks_test
