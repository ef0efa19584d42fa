#include "studies/radiator_search.h"

#include <gtest/gtest.h>

#include <cmath>

#include "support/sized_tiles.h"

namespace tileflux::studies::radiator_search_test {

using tile::RadiatorDesign;

const std::vector<RequiredHeat> one_heat{{300.0, 400.0}};

TEST(RadiatorSearch, FindsNothingLighterOnAGrid) {
  const tile::Case panel = test::finned_radiator();
  const RadiatorSearch search(panel, panel.surfaces.front(), one_heat);
  const RadiatorDesign best = *search.best({});
  const double least_kg = search.cost(best);
  for (double thicker = 0.25; thicker <= 4.0; thicker *= 1.19) {
    for (double wider = 0.25; wider <= 4.0; wider *= 1.19) {
      RadiatorDesign other = best;
      other.thickness_m *= thicker;
      other.pitch_m *= wider;
      EXPECT_GE(search.cost(other), least_kg);
    }
  }
}

TEST(RadiatorSearch, WithSeveralHeatsMeetsTheHardest) {
  const tile::Case panel = test::finned_radiator();
  const std::vector<RequiredHeat> heats{{300.0, 400.0}, {270.0, 350.0}, {330.0, 100.0}, {0.0, 0.0}};
  const RadiatorSearch search(panel, panel.surfaces.front(), heats);
  const RadiatorDesign best = *search.best({});
  EXPECT_EQ(search.needed_m2(best), search.needed_m2(best, heats[1]));
  EXPECT_EQ(search.figures(best, search.needed_m2(best)).root_K, 270.0);
}

TEST(RadiatorSearch, HoldsAVariableWhereItIsHeld) {
  const tile::Case panel = test::finned_radiator();
  const RadiatorSearch search(panel, panel.surfaces.front(), one_heat);
  EXPECT_EQ(search.best({.thickness_m = 3e-4})->thickness_m, 3e-4);
  EXPECT_EQ(search.best({.pitch_m = 0.1})->pitch_m, 0.1);
}

TEST(RadiatorSearch, FindsNoneWhereTheLargestAreaIsTooSmall) {
  tile::Case panel = test::finned_radiator();
  const RadiatorSearch all(panel, panel.surfaces.front(), one_heat);
  const double least_m2 = all.needed_m2(RadiatorSearch::strongest(panel.surfaces.front(), *panel.size));
  panel.size->area_m2 = {0.01, 0.999 * least_m2};
  EXPECT_FALSE(RadiatorSearch(panel, panel.surfaces.front(), one_heat).best({}).has_value());
  panel.size->area_m2 = {0.01, 1.001 * least_m2};
  EXPECT_TRUE(RadiatorSearch(panel, panel.surfaces.front(), one_heat).best({}).has_value());
}

TEST(RadiatorSearch, DrawsFromALouvreWhatItsTemperatureAllows) {
  tile::Case plain = test::plain_radiator();
  plain.surfaces.front().emittance_over_K = PropertyTable({280.0, 320.0}, {0.1, 0.7});
  const RadiatorSearch search(plain, plain.surfaces.front(), one_heat);
  const RadiatorDesign design = tile::design_of(plain.surfaces.front());
  EXPECT_NEAR(search.drawn_W_per_m2(design, 300.0), 0.4 * 5.670374419e-8 * 8.1e9, 1e-9);
}

TEST(RadiatorSearch, DrawsNothingThroughASurfaceThatSeesNoSpace) {
  tile::Case blind = test::finned_radiator();
  blind.surfaces.front().view_to_space = 0.0;
  const RadiatorSearch search(blind, blind.surfaces.front(), one_heat);
  EXPECT_EQ(search.drawn_W_per_m2(tile::design_of(blind.surfaces.front()), 300.0), 0.0);
  EXPECT_FALSE(search.best({}).has_value());
}

}  // namespace tileflux::studies::radiator_search_test
