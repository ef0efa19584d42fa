#include "studies/modes.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "support/sample_tiles.h"

namespace tileflux::studies::modes_test {

TEST(SteadyMode, TakesPatternedLoadsAtTheirMean) {
  const tile::Mode mode = steady_mode(test::everything(), true, true);
  EXPECT_THAT(mode.pattern_share, testing::ElementsAre(0.0, 0.0, 0.0, 20.0 / 70.0, 0.0));
  EXPECT_EQ(mode.drive, 0.9);
  EXPECT_TRUE(mode.beam && mode.throttled);
}

TEST(SteadyMode, OfACaseWithoutABeamHasNoDrive) { EXPECT_EQ(steady_mode(test::plate_in_the_sun(), false, true).drive, 0.0); }

TEST(TransientOptions, FollowTheAccuracyOfTheCase) {
  tile::Case plate = test::plate_in_the_sun();
  plate.accuracy = {1e-6, 1e-4};
  const tile::TileSystem system(plate);
  const solvers::TransientOptions options = transient_options(system, 10.0);
  EXPECT_DOUBLE_EQ(options.relative_tolerance, 1e-7);
  EXPECT_DOUBLE_EQ(options.absolute_tolerance, 1e-5);
}

}  // namespace tileflux::studies::modes_test
