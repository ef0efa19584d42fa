#include "tileflux/network/honeycomb.h"

#include <gtest/gtest.h>

#include <cmath>
#include <initializer_list>

#include "tileflux/base/errors.h"

namespace tileflux::network::honeycomb_test {

TEST(HoneycombSolidShare, CountsBondedWallsTwice) {
  // A cell of side s/sqrt(3) owns half of six walls, two of them double: four walls of one foil, in sqrt(3)/2 s^2.
  const double foil = 25e-6, cell = 6.35e-3, side = cell / std::sqrt(3.0);
  EXPECT_NEAR(honeycomb_solid_share(foil, cell), 4.0 * side * foil / (0.5 * std::sqrt(3.0) * cell * cell), 1e-17);
}

TEST(HoneycombSolidShare, RefusesFoilThatFillsTheCells) {
  EXPECT_THROW(honeycomb_solid_share(3e-3, 6e-3), Error);
  EXPECT_THROW(honeycomb_solid_share(0.0, 6e-3), Error);
  EXPECT_THROW(honeycomb_solid_share(1e-5, 0.0), Error);
}

TEST(HoneycombEmittance, OfBlackCellsIsNearTheTransmissionOfATubeWithReradiatingWalls) {
  // Transmission of a round tube of length L and radius R, walls that give back all that they take (Clausing 1932, Annalen
  // der Physik 404, 961): L/R = 2, 4, 10. The correlation is one for hexagons, so 10 %.
  constexpr double within = 0.10;
  const double clausing[][2] = {{1.0, 0.5142}, {2.0, 0.3566}, {5.0, 0.1910}};
  for (const auto& [height, transmission] : clausing) {
    EXPECT_NEAR(honeycomb_effective_emittance(1.0, height, 1.0), transmission, within * transmission) << height;
  }
}

TEST(HoneycombEmittance, FallsWithDepthAndRisesWithEmittance) {
  double before = 2.0;
  for (const double height : {0.5, 1.0, 2.0, 4.0, 8.0}) {
    const double now = honeycomb_effective_emittance(0.5, height, 1.0);
    EXPECT_LT(now, before);
    EXPECT_LT(honeycomb_effective_emittance(0.1, height, 1.0), now);
    before = now;
  }
}

TEST(HoneycombEmittance, RefusesCoresThatTheCorrelationDoesNotKnow) {
  EXPECT_THROW(honeycomb_effective_emittance(0.5, 0.4, 1.0), Error);
  EXPECT_THROW(honeycomb_effective_emittance(0.5, 11.0, 1.0), Error);
  EXPECT_THROW(honeycomb_effective_emittance(0.0, 2.0, 1.0), Error);
  EXPECT_THROW(honeycomb_effective_emittance(1.1, 2.0, 1.0), Error);
}

}  // namespace tileflux::network::honeycomb_test
