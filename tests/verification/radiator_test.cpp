/// Sized radiators against closed forms. The least-mass fin: for a sheet of given cross-section the heat is largest where
/// zeta^(1/3) eta(zeta) is, at sqrt(zeta) = 0.92 with eta = 0.565 (recalled as .919/.565; evaluated here by quadrature of the
/// fin's first integral, outside the project), whatever material, pipe and temperature. Rows FIN-09a and FIN-09b with a
/// fixed sheet. One node: area = heat / (emittance sigma T^4 - absorbed sunlight).

#include <gtest/gtest.h>

#include <cmath>

#include "support/sized_tiles.h"
#include "tileflux/base/constants.h"
#include "tileflux/studies/size.h"
#include "verification/groups.h"

namespace tileflux::verification::radiator_test {

constexpr double least_mass_zeta = 0.8464214513, least_mass_efficiency = 0.5653340194;
const char* const through_size = "studies::size";
const char* const flat = "the place of a flat optimum, told to five digits";
const char* const root = "a root found to 1e-12";

/// Digits beyond these differ from machine to machine: the valley is as flat as round-off there.
double five_digits(double value) { return std::round(value * 1e5) / 1e5; }

ClosedForms least_mass_fins() {
  ClosedForms forms;
  const studies::Size aluminium = studies::size(test::finned_radiator());
  constexpr double place = 1e-5;
  forms.push_back({"least-mass fin on pipes: sqrt(zeta)", std::sqrt(least_mass_zeta), place, flat,
                   five_digits(std::sqrt(aluminium.best.zeta)), through_size});
  forms.push_back({"least-mass fin on pipes: efficiency", least_mass_efficiency, place, flat, five_digits(aluminium.best.efficiency),
                   through_size});
  forms.push_back({"least-mass fin on pipes: mass of sheet over mass of pipes", 0.5, place, flat,
                   five_digits(aluminium.best.sheet_kg / aluminium.best.pipes_kg), through_size});
  tile::Case other = test::finned_radiator();
  other.surfaces[0].faces = 1;
  other.surfaces[0].area_m2 = 1.0;
  other.surfaces[0].fin->conductance_W_per_K = PropertyTable(0.4);
  other.surfaces[0].fin->density_kg_per_m3 = 8900.0;
  other.size->pipe_kg_per_m = 0.1;
  other.limits[0].below_K = 350.0;
  forms.push_back({"the same of copper, one face, lighter pipes, 350 K: sqrt(zeta)", std::sqrt(least_mass_zeta), place, flat,
                   five_digits(std::sqrt(studies::size(other).best.zeta)), through_size});
  return forms;
}

ClosedForms panels_of_fixed_sheet() {
  tile::Case panel = test::finned_radiator();
  panel.size->thickness_m.reset();
  const studies::SizedRadiator best = studies::size(panel).best;
  const double half_m = row("FIN-09a").values().at(0), heat_per_mass = row("FIN-09b").values().at(0);
  return {{"heat-pipe panel of 1 mm (FIN-09a): half-spacing of best W/kg, m", half_m, tolerance_of(row("FIN-09a"), 0), flat,
           five_digits(0.5 * best.design.pitch_m), through_size},
          {"heat-pipe panel of 1 mm (FIN-09b): best W/kg", heat_per_mass, tolerance_of(row("FIN-09b"), 0), "eight printed digits",
           400.0 / best.mass_kg(), through_size}};
}

ClosedForms one_node_radiators() {
  ClosedForms forms;
  constexpr double found = 1e-8;
  const double black = stefan_boltzmann_W_per_m2_K4 * std::pow(300.0, 4);
  forms.push_back({"radiator of one node, 400 W at 300 K, emittance 0.88: area, m2", 400.0 / (0.88 * black), found, root,
                   studies::size(test::plain_radiator()).best.needed_m2, through_size});
  tile::Case lit = test::plain_radiator();
  lit.surfaces[0].facing = tile::Surface::Facing::front;
  lit.surfaces[0].absorptance = 0.15;
  forms.push_back({"the same in the sun at 1 AU, absorptance 0.15: area, m2", 400.0 / (0.88 * black - 0.15 * 1361.0), found, root,
                   studies::size(lit).best.needed_m2, through_size});
  return forms;
}

ClosedForms sized_radiators() {
  ClosedForms all = sourced(least_mass_fins(), "largest zeta^(1/3) eta(zeta), by quadrature of the fin's first integral outside the project");
  for (const ClosedForms& more : {sourced(panels_of_fixed_sheet(), row("FIN-09a").source), sourced(one_node_radiators(), "area = heat/(emittance sigma T^4 - absorbed sunlight), by hand")})
    all.insert(all.end(), more.begin(), more.end());
  return all;
}

TEST(SizedRadiator, AgreesWithItsClosedForm) { check_all(sized_radiators()); }

TEST(SizedRadiator, IsAnotherFinWhereTheSheetIsHeldThicker) {
  tile::Case thick = test::finned_radiator();
  thick.size->thickness_m = tile::Bounds{1e-3, 1e-2};
  constexpr double clearly = 0.05;
  EXPECT_GT(std::abs(std::sqrt(studies::size(thick).best.zeta) - std::sqrt(least_mass_zeta)), clearly);
}

}  // namespace tileflux::verification::radiator_test
