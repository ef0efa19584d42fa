#include "tileflux/tile/radiator.h"

#include <gtest/gtest.h>

#include <cmath>

#include "support/sized_tiles.h"
#include "tileflux/base/constants.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::tile::radiator_test {

TEST(Radiator, HasTheDesignThatItIsGiven) {
  const Surface panel = test::finned_radiator().surfaces.front();
  const RadiatorDesign stated = design_of(panel);
  EXPECT_EQ(stated.area_m2, 1.0);
  EXPECT_EQ(stated.faces, 2);
  EXPECT_EQ(stated.thickness_m, 1e-3);
  EXPECT_EQ(stated.pitch_m, 0.2);
  const Surface other = resized(panel, {0.3, 1, 5e-4, 0.12});
  EXPECT_EQ(other.area_m2, 0.3);
  EXPECT_EQ(other.faces, 1);
  EXPECT_EQ(other.fin->length_m, 0.06);
  EXPECT_DOUBLE_EQ(other.fin->conductance_W_per_K.value(300.0), 0.5 * 0.167);
  EXPECT_DOUBLE_EQ(other.fin->capacity_J_per_m2_K.value(300.0), 0.5 * 2430.0);
  const RadiatorDesign again = design_of(resized(other, stated));
  EXPECT_EQ(again.thickness_m, stated.thickness_m);
}

TEST(Radiator, IsTheFinOfTheCompiledTile) {
  Case lit = test::finned_radiator();
  Surface& panel = lit.surfaces.front();
  panel.faces = 1;
  panel.area_m2 = 1.0;
  panel.facing = tile::Surface::Facing::front;
  panel.absorptance = 0.2;
  const TileSystem system(lit);
  const std::vector<double> x{300.0};
  const double absorbed_W = 0.2 * 1361.0;
  const double drawn_W = fin_law(lit, panel).flow(300.0);
  EXPECT_NEAR(system.infrared_by_surface_W(x)[0] - absorbed_W, drawn_W, 1e-12 * absorbed_W);
}

TEST(Radiator, WithASinkOfItsOwnNeitherGainsNorLoses) {
  Case lit = test::plain_radiator();
  Surface& panel = lit.surfaces.front();
  panel.facing = tile::Surface::Facing::front;
  panel.absorptance = 0.2;
  panel.view_to_space = 0.8;
  lit.space_K = 150.0;
  const double sink_K = sink_temperature_K(lit, panel);
  const double emitted_W = 0.88 * 0.8 * stefan_boltzmann_W_per_m2_K4 * (std::pow(sink_K, 4) - std::pow(150.0, 4));
  EXPECT_NEAR(emitted_W, 0.2 * 1361.0, 1e-9);
  panel.facing = tile::Surface::Facing::not_stated;
  EXPECT_NEAR(sink_temperature_K(lit, panel), 150.0, 1e-12);
  panel.view_to_space = 0.0;
  EXPECT_EQ(sink_temperature_K(lit, panel), 0.0) << "a surface that sees no space has none";
}

}  // namespace tileflux::tile::radiator_test
