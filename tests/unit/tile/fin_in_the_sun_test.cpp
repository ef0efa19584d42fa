#include <gtest/gtest.h>

#include <cmath>

#include "tileflux/tile/radiator.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::tile::fin_in_the_sun_test {

/// A fin of 0.5 m2 a face on a held root, sunlit on one face.
Case fin_in_the_sun(int faces) {
  Case tile;
  tile.space_K = 0.0;
  tile.parts = {{.name = "root", .fixed_K = 300.0}, {.name = "other", .capacity_J_per_K = PropertyTable(10.0)}};
  tile.joins.push_back({.a = "root", .b = "other", .conductance_W_per_K = 1.0});
  tile.surfaces.push_back({.name = "fin", .node = "root", .area_m2 = 0.5 * faces, .faces = faces, .emittance = 0.8,
                           .fin = Fin{0.1, PropertyTable(0.2), PropertyTable(2000.0), "metal", 0}, .absorptance = 0.2, .facing = faces == 2 ? tile::Surface::Facing::both : tile::Surface::Facing::front});
  return tile;
}

constexpr double round_off = 1e-12;

TEST(FinInTheSun, MeetsSunlightOnOneFaceAndRadiatesFromBoth) {
  for (const int faces : {1, 2}) {
    const TileSystem system(fin_in_the_sun(faces));
    const double irradiance = system.sky(system.uniform_state(300.0)).front_sun_W_per_m2;
    EXPECT_NEAR(system.ledger(system.uniform_state(300.0)).absorbed_W, 0.2 * irradiance * 0.5, round_off * irradiance);
    const double sink_fourth = 0.2 * irradiance / (faces * 0.8 * stefan_boltzmann_W_per_m2_K4);
    EXPECT_NEAR(sink_temperature_K(system.description(), system.description().surfaces[0]), std::pow(sink_fourth, 0.25), 300.0 * round_off);
  }
}

TEST(FinInTheSun, KeepsItsBooksWithEitherNumberOfFaces) {
  for (const int faces : {1, 2}) {
    const TileSystem system(fin_in_the_sun(faces));
    const std::vector<double> x = system.uniform_state(300.0);
    EXPECT_NEAR(system.ledger(x).residual_W(), 0.0, 1e3 * round_off);
  }
}

}  // namespace tileflux::tile::fin_in_the_sun_test
