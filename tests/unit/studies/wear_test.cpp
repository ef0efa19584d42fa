#include "tileflux/studies/wear.h"

#include <gtest/gtest.h>

#include <cmath>

#include "support/sample_tiles.h"
#include "tileflux/studies/run.h"
#include "tileflux/tile/ageing.h"

namespace tileflux::studies::wear_test {

constexpr double day_s = 86400.0;

/// A laser on a plate in the sun, half of the time, all of which wears fast.
tile::Case wearing_tile() {
  tile::Case tile = test::plate_in_the_sun();
  tile.parts.push_back({.name = "bench", .capacity_J_per_K = PropertyTable(900.0)});
  tile.joins.push_back({.a = "bench", .b = "plate", .conductance_W_per_K = 15.0});
  tile.cells = tile::Cells{.surface = "front", .node = "plate", .efficiency = 0.3, .slope_per_K = -0.002, .packing = 0.9};
  tile.lasers = {{.name = "diode", .mount = "bench", .devices = {4, test::sample_diode()}, .resistance_K_per_W = 0.3}};
  tile.beam = tile::Beam{.drive = 0.8, .pattern = tile::TimePattern{300.0, 600.0, 0.0}};
  tile.start.from = tile::Start::From::beam_off_balance;
  tile.run = {.duration_s = 2.0 * day_s, .output_every_s = day_s};
  tile::Ageing ageing;
  ageing.cells = devices::CellFading{0.03 / day_s, {0.3, 320.0}};
  ageing.finishes = {{"front", {0.95, 4.0 * day_s}}};
  ageing.diodes = {{"diode", {0.05 / day_s, {0.5, 320.0}, 2.0}}};
  ageing.update_s = 0.1 * day_s;
  tile.ageing = ageing;
  return tile;
}

TEST(Wear, OfAnAcceleratedRunIsThatOfAPlainOne) {
  const tile::Case description = wearing_tile();
  tile::TileSystem system(description);
  const RunResult plain = run(system, nullptr);
  const WearResult fast = wear(description, description.run.duration_s, 0.25 * day_s);
  ASSERT_EQ(plain.ageing.size(), 3U);
  // Two per mille of what has worn: the plain run starts from a tile that is not yet in its cycle.
  constexpr double share_of_wear = 2e-3;
  for (std::size_t k = 0; k < 3; ++k) {
    const double worn = plain.ageing[k].end - plain.ageing[k].begin;
    EXPECT_EQ(plain.ageing[k].name, fast.names[k]);
    EXPECT_GT(std::abs(worn), 5e-3) << plain.ageing[k].name;
    EXPECT_NEAR(fast.rows.back().age[k] - fast.rows.front().age[k], worn, share_of_wear * std::abs(worn)) << plain.ageing[k].name;
  }
  constexpr double light_share = 5e-4;
  EXPECT_NEAR(fast.light_J / plain.books.light_J, 1.0, light_share);
  EXPECT_LT(fast.light_error_J, 1e-2 * fast.light_J);
  EXPECT_LT(fast.rows.back().mean_light_W, 0.97 * fast.rows.front().mean_light_W);
}

TEST(Wear, HalvesItsStepWithinItsOwnEstimate) {
  const tile::Case description = wearing_tile();
  const WearResult coarse = wear(description, 4.0 * day_s, day_s);
  const WearResult fine = wear(description, 4.0 * day_s, 0.25 * day_s);
  EXPECT_LT(std::abs(coarse.light_J - fine.light_J), coarse.light_error_J);
  EXPECT_GT(coarse.light_error_J, fine.light_error_J);
}

TEST(Wear, OfASteadyBeamFollowsTheClosedForm) {
  tile::Case description = wearing_tile();
  description.beam->pattern.reset();
  description.ageing->cells.reset();
  description.ageing->diodes.clear();
  const WearResult result = wear(description, 8.0 * day_s, 0.2 * day_s);
  constexpr double second_order = 1e-5;  // of Heun's rule at a twentieth of the time constant
  EXPECT_NEAR(result.rows.back().age[0], 0.95 - 0.05 * std::exp(-2.0), second_order);
}

TEST(Wear, NeedsAgeing) {
  EXPECT_THROW(wear(test::plate_in_the_sun(), day_s, day_s), Error);
}

TEST(Wear, LeavesTheTileOfARunAsItWas) {
  tile::TileSystem system(wearing_tile());
  run(system, nullptr);
  EXPECT_EQ(system.description().cells->remaining, 1.0);
  EXPECT_EQ(tile::age_of(system.description()), tile::age_of(wearing_tile()));
}

TEST(Wear, CountsAFailureFromTheStepAfterIt) {
  tile::Case description = wearing_tile();
  tile::Failure dead;
  dead.at_s = 0.5 * day_s;
  dead.where = "diode";
  dead.value = 2.0;
  description.failures = {dead};
  const WearResult result = wear(description, 2.0 * day_s, day_s);
  EXPECT_LT(result.rows[1].mean_light_W, 0.7 * result.rows[0].mean_light_W);
}

TEST(Wear, OfADegradedFinishGoesOnFromThere) {
  tile::Case description = wearing_tile();
  description.ageing->cells.reset();
  description.ageing->diodes.clear();
  tile::Failure dust;
  dust.at_s = 0.75 * day_s;
  dust.what = tile::Failure::What::degraded_finish;
  dust.where = "front";
  dust.absorptance = 0.93;
  description.failures = {dust};
  const double expected = 0.95 - 0.02 * std::exp(-1.25 / 4.0);  // from 0.93 for the 1.25 days that are left
  tile::TileSystem system(description);
  constexpr double split = 1e-5;  // of updates every tenth of a day
  EXPECT_NEAR(run(system, nullptr).ageing[0].end, expected, split);
  EXPECT_NEAR(wear(description, 2.0 * day_s, 0.25 * day_s).rows.back().age[0], expected, split);
}

}  // namespace tileflux::studies::wear_test
