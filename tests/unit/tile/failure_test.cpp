#include "tileflux/tile/failure.h"

#include <gtest/gtest.h>

#include "support/sample_tiles.h"
#include "tileflux/base/errors.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::tile::failure_test {

using What = Failure::What;

Case broken(const Failure& failure) {
  Case tile = test::everything_else();
  fail(tile, failure);
  return tile;
}

TEST(Failure, OfModulesLeavesThemMounted) {
  const Case tile = broken({.what = What::dead_modules, .where = "west", .value = 1.0});
  EXPECT_EQ(tile.lasers[1].devices.modules, 1);
  EXPECT_EQ(tile.lasers[1].mounted, 2);
  EXPECT_EQ(broken({.what = What::dead_modules, .where = "west", .value = 5.0}).lasers[1].devices.modules, 0);
  Case never_counted = test::everything();  // built without `mounted`
  fail(never_counted, {.what = What::dead_modules, .where = "east", .value = 1.0});
  EXPECT_EQ(never_counted.lasers[0].mounted, 3);
}

TEST(Failure, OfPipesLeavesTheOthers) {
  EXPECT_EQ(broken({.what = What::lost_pipes, .where = "loop", .value = 1.0}).pipes[0].pipes, 1);
  EXPECT_EQ(broken({.what = What::lost_pipes, .where = "loop", .value = 9.0}).pipes[0].pipes, 0);
}

TEST(Failure, SetsTheTiltAndTakesStringsFromThePacking) {
  EXPECT_EQ(broken({.what = What::stuck_tilt, .value = 0.7}).sun.tilt_rad, 0.7);
  EXPECT_DOUBLE_EQ(broken({.what = What::open_strings, .value = 0.25}).cells->packing, 0.92 * 0.75);
}

TEST(Failure, HoldsAHeaterOnOrOff) {
  EXPECT_EQ(broken({.what = What::stuck_heater, .where = "keeper", .value = 1.0}).heaters[0].stuck, true);
  EXPECT_EQ(broken({.what = What::stuck_heater, .where = "keeper", .value = 0.0}).heaters[0].stuck, false);
}

TEST(Failure, OfAFinishChangesWhatItStates) {
  const Case tile = broken({.what = What::degraded_finish, .where = "rear", .emittance = 0.5});
  EXPECT_EQ(tile.surfaces[1].emittance, 0.5);
  EXPECT_EQ(tile.surfaces[1].absorptance, test::everything_else().surfaces[1].absorptance);
  Case louvred = test::everything();
  fail(louvred, {.what = What::degraded_finish, .where = "louvre", .emittance = 0.2});
  EXPECT_FALSE(louvred.surfaces[5].emittance_over_K);
  const Case dark = broken({.what = What::degraded_finish, .where = "front", .absorptance = 0.95});
  EXPECT_EQ(dark.surfaces[0].absorptance, 0.95);
  EXPECT_EQ(dark.surfaces[0].emittance, 0.84);
}

TEST(Failure, OfWhatIsNotThereIsRefused) {
  const auto code_of = [](const Failure& failure, Case tile) {
    try {
      fail(tile, failure);
    } catch (const Error& error) {
      return error.code();
    }
    return Code::internal;
  };
  for (const What what : {What::dead_modules, What::lost_pipes, What::stuck_heater, What::degraded_finish})
    EXPECT_EQ(code_of({.what = what, .where = "nobody"}, test::everything_else()), Code::name_unknown) << name_of(what);
  EXPECT_EQ(code_of({.what = What::open_strings, .value = 0.1}, test::plate_in_the_sun()), Code::key_missing);
}

TEST(Failures, HappenUpToTheirTimeAndTheRestWaits) {
  Case tile = test::everything_else();
  tile.failures = {{.at_s = 0.0, .what = What::stuck_tilt, .value = 0.3},
                   {.at_s = 50.0, .what = What::lost_pipes, .where = "loop", .value = 1.0},
                   {.at_s = 80.0, .what = What::stuck_tilt, .value = 0.6}};
  const Case at_start = after_failures(tile, 0.0);
  EXPECT_EQ(at_start.sun.tilt_rad, 0.3);
  EXPECT_EQ(at_start.pipes[0].pipes, 2);
  EXPECT_EQ(at_start.failures.size(), 2u);
  const Case later = after_failures(tile, 50.0);
  EXPECT_EQ(later.pipes[0].pipes, 1);
  ASSERT_EQ(later.failures.size(), 1u);
  EXPECT_EQ(after_failures(later, 80.0).sun.tilt_rad, 0.6);
}

TEST(Failures, KeepTheUnknownsOfTheTile) {
  const TileSystem sound(test::everything_else());
  for (const Failure& failure : {Failure{.what = What::dead_modules, .where = "pump", .value = 9.0}, Failure{.what = What::lost_pipes, .where = "loop", .value = 9.0},
                                 Failure{.what = What::stuck_tilt, .value = 2.0}, Failure{.what = What::open_strings, .value = 1.0},
                                 Failure{.what = What::stuck_heater, .where = "keeper", .value = 1.0},
                                 Failure{.what = What::degraded_finish, .where = "rear", .emittance = 0.0}}) {
    const TileSystem after(broken(failure));
    ASSERT_EQ(after.size(), sound.size()) << name_of(failure.what);
    for (int i = 0; i < sound.size(); ++i) EXPECT_EQ(after.unknown_name(i), sound.unknown_name(i));
    EXPECT_EQ(after.pattern().nonzeros(), sound.pattern().nonzeros()) << name_of(failure.what);
  }
}

}  // namespace tileflux::tile::failure_test
