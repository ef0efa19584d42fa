/// Cells, lasers and power conditioning: laws by themselves and in the sun.
/// Cells: eta = eta_ref (1 + beta (T - T_ref)). Array: (alpha - eta(T)) S = (ef + eb) sigma T^4. Diode: light = slope (I - threshold),
/// V = V0 + I Rs, threshold and slope exponential in the junction temperature (Senior, Optical Fiber Communications, examples
/// 6.6 and 6.7). Conditioning: loss = p0 + k1 P + k2 P^2. Laws are exact to round-off; steady states to 1e-10 of T.

#include <gtest/gtest.h>

#include <cmath>

#include "tileflux/devices/cells.h"
#include "tileflux/devices/conditioning.h"
#include "tileflux/devices/laser.h"
#include "verification/groups.h"
#include "verification/model.h"

namespace tileflux::verification::cells_and_lasers_test {

constexpr double reference_K = 301.15;

devices::CellLaw triple_junction() {
  devices::CellLaw law;
  law.area_m2 = 1.0;
  law.efficiency = 0.298;
  law.reference_K = reference_K;
  law.slope_per_K = -0.002;
  return law;
}

/// A cell-covered plate whose electricity is all drawn (housekeeping beyond what the cells give, used up elsewhere) or all
/// left in the cells.
struct Array {
  double absorptance, efficiency, slope_per_K, front, back, irradiance_W_per_m2;
  bool generating;

  double temperature_K() const {
    Model model;
    model.sun(irradiance_W_per_m2).massless("plate").sunlit("plate", 1.0, absorptance, front).fixed("elsewhere", 300.0);
    if (back > 0.0) model.radiate("plate", 1.0, back);
    tile::Cells cells;
    cells.surface = model.description.surfaces.front().name;
    cells.node = "plate";
    cells.efficiency = efficiency;
    cells.reference_K = reference_K;
    cells.slope_per_K = slope_per_K;
    model.description.cells = cells;
    constexpr double more_than_there_is_W = 1e5;
    if (generating) model.description.housekeeping = tile::Housekeeping{"elsewhere", more_than_there_is_W};
    return Steady(model).temperature_K("plate");
  }
};

Reproductions cell_laws() {
  Reproductions rows;
  const double degC[] = {-100.0, 0.0, 28.0, 80.0, 120.0};
  for (std::size_t i = 0; i < std::size(degC); ++i) {
    rows.emplace_back("PV-10_" + std::to_string(i), triple_junction().efficiency_at(degC[i] + 273.15), "devices::CellLaw");
  }
  return rows;
}

Reproductions arrays_in_the_sun() {
  const char* balance = "studies::balance with cells";
  const char* drawn = "all electricity drawn to a part at fixed temperature";
  return {
      {"PV-20a", Array{0.9, 0.298, -0.002, 0.85, 0.85, 1361.0, true}.temperature_K(), balance, drawn},
      {"PV-20b", Array{0.9, 0.298, -0.002, 0.85, 0.85, 1361.0, false}.temperature_K(), balance},
      {"PV-20c", Array{0.75, 0.18, -0.0045, 0.82, 0.8, 1361.0, true}.temperature_K(), balance, drawn},
      {"PV-20d", Array{0.88, 0.298, -0.002, 0.8, 0.0, 1361.0, true}.temperature_K(), balance, drawn},
      {"PV-20e", Array{0.9, 0.298, -0.002, 0.85, 0.85, 50.2748, true}.temperature_K(), balance, drawn},
  };
}

devices::DiodeLaw diode() {
  devices::DiodeLaw law;
  law.rated_current_A = 15.0;
  law.threshold_A = 0.5;
  law.slope_W_per_A = 1.1;
  law.turn_on_V = 1.35;
  law.series_resistance_ohm = 0.02;
  return law;
}

double efficiency_at(const devices::DiodeLaw& law, double current_A) {
  return law.light_W(current_A, law.reference_K) / law.electrical_W(current_A);
}

/// The current of best efficiency, where the law's own derivative is zero.
double best_current_A(const devices::DiodeLaw& law) {
  const auto slope = [&](double current_A) {
    const Dual<1> current = variable<1>(current_A, 0);
    const Dual<1> efficiency = law.light_W(current, Dual<1>(law.reference_K)) / law.electrical_W(current);
    return efficiency.derivatives()[0];
  };
  double low = 1.0, high = 15.0;
  for (int halving = 0; halving < 60; ++halving) {
    const double middle = 0.5 * (low + high);
    (slope(middle) > 0.0 ? low : high) = middle;
  }
  return low;
}

double threshold_ratio(double T0_K) {
  devices::DiodeLaw law = diode();
  law.reference_K = 293.15;
  law.threshold_T0_K = T0_K;
  return law.threshold_at(353.15) / law.threshold_at(293.15);
}

Reproductions diode_laws() {
  const char* through = "devices::DiodeLaw";
  Reproductions rows;
  for (const char* end : {"", "c"}) {
    rows.emplace_back(std::string("LAS-13a") + end, threshold_ratio(160.0), through);
    rows.emplace_back(std::string("LAS-13b") + end, threshold_ratio(55.0), through);
    devices::DiodeLaw senior;  // Senior 6.6: 0.18 of the photons of 1.43 eV leave, at 2.5 V and far above threshold
    senior.slope_W_per_A = 0.18 * 1.43;
    senior.turn_on_V = 2.5;
    rows.emplace_back(std::string("LAS-15") + end, 100.0 * efficiency_at(senior, 1.0), through, "slope = external quantum efficiency times photon energy over charge");
  }
  for (const char* current : {"2", "5", "10", "15"}) rows.emplace_back(std::string("LAS-20_") + current, efficiency_at(diode(), std::stod(current)), through);
  const double best_A = best_current_A(diode());
  rows.emplace_back("LAS-21a", best_A, "devices::DiodeLaw, zero of its exact derivative");
  rows.emplace_back("LAS-21b", efficiency_at(diode(), best_A), through);
  devices::DiodeLaw warm = diode();
  warm.threshold_T0_K = 140.0;
  warm.slope_T1_K = 600.0;
  for (const char* change : {"-20", "20", "40"}) rows.emplace_back(std::string("LAS-22_") + change, warm.light_W(10.0, warm.reference_K + std::stod(change)), through);
  devices::DiodeLaw ohmic;
  ohmic.series_resistance_ohm = 0.05;
  rows.emplace_back("LAS-78", ohmic.electrical_W(20.0), through, "the series resistance alone");
  return rows;
}

Reproductions converters() {
  const devices::ConditioningLaw law{2.0, 0.015, 1e-4};
  Reproductions rows;
  for (const char* power : {"20", "50", "100", "200"}) {
    const double delivered_W = std::stod(power);
    rows.emplace_back(std::string("LAS-62_") + power, delivered_W / (delivered_W + law.loss_W(delivered_W)), "devices::ConditioningLaw");
  }
  Model tile;  // row LAS-91's heat, 1047.6624 W/m2, on a plate of two faces
  tile.massless("plate").radiate("plate", 2.0, 0.85).heat("plate", 1047.6624);
  rows.emplace_back("LAS-92", Steady(tile).temperature_K("plate"), "studies::balance", "the heat of LAS-91 is an input");
  return rows;
}

TEST(CellLaw, FallsWithTemperatureAsPublished) { check_all(cell_laws()); }

TEST(CellLaw, IsRefusedWithARisingSlope) {
  devices::CellLaw law = triple_junction();
  law.slope_per_K = 0.002;
  expect_refused("PV-10_3", law.efficiency_at(353.15));
}

TEST(ArrayInTheSun, IsCooledByTheElectricityThatLeavesIt) { check_all(arrays_in_the_sun()); }

TEST(ArrayInTheSun, IsRefusedIfItsElectricityStays) { expect_refused("PV-20a", Array{0.9, 0.298, -0.002, 0.85, 0.85, 1361.0, false}.temperature_K()); }

TEST(DiodeLaw, GivesThePublishedLight) { check_all(diode_laws()); }

TEST(DiodeLaw, IsRefusedWithoutThresholdOrColdWhereHot) {
  devices::DiodeLaw without = diode();
  without.threshold_A = 0.0;
  expect_refused("LAS-20_5", efficiency_at(without, 5.0));
  devices::DiodeLaw warm = diode();
  warm.threshold_T0_K = 140.0;
  warm.slope_T1_K = 600.0;
  expect_refused("LAS-22_20", warm.light_W(10.0, warm.reference_K - 20.0));
}

TEST(ConditioningLaw, LosesThePublishedShare) { check_all(converters()); }

TEST(ConditioningLaw, IsRefusedAsAFlatEfficiency) { expect_refused("LAS-62_20", 1.0 / 1.035); }

}  // namespace tileflux::verification::cells_and_lasers_test
