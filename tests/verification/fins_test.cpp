/// Radiating fins as chains of massless nodes from a fixed base.
/// theta'' = zeta (theta^4 - theta_s^4), theta(0) = 1, theta'(1) = 0, zeta = (eps1 + eps2) sigma Tb^3 L^2/(k t) (Lieblein, NASA
/// TN D-196, 1959; Mackay 1963; Sparrow and Cess, Radiation Heat Transfer). Second order in the spacing; four grids and
/// Richardson's extrapolation give eight digits. Grids of long fins are graded towards the base by a smooth map, which
/// keeps the error in even powers. This is independent of the product's closed fin law, which unit tests check.

#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "tileflux/base/constants.h"
#include "tileflux/network/fin.h"
#include "verification/chain.h"
#include "verification/groups.h"

namespace tileflux::verification::fins_test {

const char* const chain_of_nodes = "studies::balance of a chain; 4 grids extrapolated";
constexpr int coarsest = 16;

struct Fin {
  double base_K = 300.0;
  double length_m = 1.0;
  double conductance_W_m_per_K = 1.0;   ///< k t per metre of width
  double emittance_sum = 1.0;
  double space_K = 0.0;
  double absorbed_W_per_m2 = 0.0;       ///< per area of the sheet
  double grading = 0.0;                 ///< 0: equal intervals; more: finer at the base

  double position_m(int i, int intervals) const {
    const double share = static_cast<double>(i) / intervals;
    return length_m * (grading > 0.0 ? std::expm1(grading * share) / std::expm1(grading) : share);
  }

  Steady on_grid(int intervals) const {
    Model model;
    model.space(space_K).fixed(node_name(0), base_K);
    for (int i = 1; i <= intervals; ++i) model.massless(node_name(static_cast<std::size_t>(i)));
    for (int i = 0; i <= intervals; ++i) {
      const auto at = static_cast<std::size_t>(i);
      if (i < intervals) model.join(node_name(at), node_name(at + 1), conductance_W_m_per_K / (position_m(i + 1, intervals) - position_m(i, intervals)));
      const double from_m = i > 0 ? position_m(i - 1, intervals) : 0.0;
      const double to_m = i < intervals ? position_m(i + 1, intervals) : length_m;
      const double area_m2 = 0.5 * (to_m - from_m);
      model.radiate(node_name(at), area_m2, emittance_sum);
      if (absorbed_W_per_m2 > 0.0) model.heat(node_name(at), absorbed_W_per_m2 * area_m2);
    }
    return Steady(model);
  }

  /// Net heat that leaves the base, per metre of width.
  double heat_W() const {
    return limit_of([&](int n) { return -on_grid(n).ledger().to_fixed_W; }, coarsest).value;
  }
  double tip_K() const {
    return limit_of([&](int n) { return on_grid(n).temperature_K(node_name(static_cast<std::size_t>(n))); }, coarsest).value;
  }
  double ideal_W() const {
    return length_m * (emittance_sum * stefan_boltzmann_W_per_m2_K4 * (std::pow(base_K, 4) - std::pow(space_K, 4)) - absorbed_W_per_m2);
  }
  double efficiency() const { return heat_W() / ideal_W(); }
};

Fin fin_of(double zeta, double sink_fourth = 0.0) {
  Fin fin;
  fin.emittance_sum = zeta / (stefan_boltzmann_W_per_m2_K4 * std::pow(fin.base_K, 3));
  fin.space_K = fin.base_K * std::pow(sink_fourth, 0.25);
  constexpr double steep = 5.0;  // beyond this zeta heat leaves near the base
  if (zeta >= steep) fin.grading = std::log(zeta) / 2.0;
  return fin;
}

/// 167 W/(m K), 1 mm, faces of 1.7 together, base at 300 K.
Fin aluminium_fin(double length_m) {
  Fin fin;
  fin.length_m = length_m;
  fin.conductance_W_m_per_K = 167.0 * 1e-3;
  fin.emittance_sum = 1.7;
  return fin;
}

Reproductions fins_at_zero() {
  Reproductions rows;
  for (const char* number : {"0.01", "0.05", "0.1", "0.2", "0.25", "0.5", "0.75", "1", "1.5", "2", "3", "4", "5", "10", "20", "50"}) {
    const Fin fin = fin_of(std::stod(number));
    rows.emplace_back(std::string("FIN-01_") + number, fin.efficiency(), chain_of_nodes);
    rows.emplace_back(std::string("FIN-02_") + number, fin.tip_K() / fin.base_K, chain_of_nodes);
  }
  constexpr double long_zeta = 1e6, short_zeta = 1e-3;  // the tip's share of a long fin's heat falls as zeta^(-5/3)
  rows.emplace_back("FIN-04", fin_of(long_zeta).efficiency() * std::sqrt(long_zeta), chain_of_nodes, "zeta = 1e6");
  rows.emplace_back("FIN-04b", (1.0 - fin_of(short_zeta).efficiency()) / short_zeta, chain_of_nodes);
  return rows;
}

Reproductions fins_in_surroundings() {
  Reproductions rows;
  for (const char* zeta : {"0.5", "1", "2"}) {
    for (const char* sink : {"0.05", "0.1", "0.2", "0.4", "0.6"}) {
      rows.emplace_back(std::string("FIN-03_") + zeta + '_' + sink, fin_of(std::stod(zeta), std::stod(sink)).efficiency(), chain_of_nodes);
    }
  }
  return rows;
}

constexpr double pipe_kg_per_m = 0.3, sheet_kg_per_m2 = 2700.0 * 1e-3;

/// A pipe with a fin to each side: heat per mass.
double specific_heat_W_per_kg(double half_spacing_m) {
  return 2.0 * aluminium_fin(half_spacing_m).heat_W() / (pipe_kg_per_m + 2.0 * half_spacing_m * sheet_kg_per_m2);
}

/// The half spacing of most heat per mass: vertex of the parabola through three points, taken about ever closer.
double best_half_spacing_m() {
  double best_m = 0.11;
  for (double apart_m = 0.02; apart_m > 2e-4; apart_m *= 0.25) {
    const double low = specific_heat_W_per_kg(best_m - apart_m), middle = specific_heat_W_per_kg(best_m), high = specific_heat_W_per_kg(best_m + apart_m);
    best_m += 0.5 * apart_m * (low - high) / (low - 2.0 * middle + high);
  }
  return best_m;
}

Reproductions worked_fins() {
  const Fin plain = aluminium_fin(0.1);
  Fin lit = plain;
  lit.absorbed_W_per_m2 = 0.15 * 1361.0;
  Fin endless = aluminium_fin(0.0);
  constexpr double long_zeta = 1e6;
  endless.length_m = std::sqrt(long_zeta * endless.conductance_W_m_per_K / (endless.emittance_sum * stefan_boltzmann_W_per_m2_K4 * std::pow(endless.base_K, 3)));
  endless.grading = std::log(long_zeta) / 2.0;
  const double best_m = best_half_spacing_m();
  network::RadiatingFin law;
  law.length_m = 0.1;
  law.conductance_W_per_K = PropertyTable(167.0 * 1e-3);
  law.emittance_sum = 1.7;
  return {
      {"FIN-07a", law.zeta(300.0), "network::RadiatingFin"},
      {"FIN-05", endless.heat_W(), chain_of_nodes, "zeta = 1e6"},
      {"FIN-07b", plain.efficiency(), chain_of_nodes},
      {"FIN-07c", plain.tip_K(), chain_of_nodes},
      {"FIN-07d", plain.heat_W(), chain_of_nodes},
      {"FIN-08a", lit.heat_W(), chain_of_nodes},
      {"FIN-08b", lit.efficiency(), chain_of_nodes},
      {"FIN-08c", lit.tip_K(), chain_of_nodes},
      {"FIN-09a", best_m, "studies::balance of chains, largest heat per mass"},
      {"FIN-09b", specific_heat_W_per_kg(best_m), "studies::balance of chains, largest heat per mass"},
  };
}

/// The fin of rows FIN-07 and FIN-08 as a surface of a tile in segments, per metre of width: net heat out of its root. Two
/// faces of 0.1 m2; the Sun reaches one of them.
double segmented_fin_W(int segments, double irradiance_W_per_m2) {
  Model model;
  model.sun(irradiance_W_per_m2).fixed("root", 300.0).radiate("root", 0.2, 0.85);
  tile::Surface& panel = model.description.surfaces.back();
  panel.faces = 2;
  panel.absorptance = 0.15;
  panel.facing = tile::Surface::Facing::both;
  panel.fin = tile::Fin{0.1, PropertyTable(0.167), PropertyTable(2430.0), "aluminium", segments, 1e-3, 2700.0};
  return -Steady(model).ledger().to_fixed_W;
}

Convergences segments_of_fins() {
  Convergences all;
  for (const auto& [id, irradiance_W_per_m2] : {std::pair{"FIN-07d", 0.0}, {"FIN-08a", 1361.0}}) {
    const double expected_W = row(id).values().at(0);
    Convergence series{irradiance_W_per_m2 > 0.0 ? "the same fin in the sun, heat" : "fin in segments, heat out of its root", id, "studies::balance of a fin in segments", {},
                       expected_order, order_within, "values in the middle of segments"};
    for (const int segments : {5, 10, 20, 40})
      series.refinements.push_back(
          {std::to_string(segments) + " segments", 1.0 / segments, std::abs(segmented_fin_W(segments, irradiance_W_per_m2) - expected_W) / expected_W});
    all.push_back(series);
  }
  return all;
}

TEST(FinInSegments, ConvergesWithTheSquareOfTheirLength) { check_all(segments_of_fins()); }

TEST(FinAtZero, RejectsThePublishedShare) { check_all(fins_at_zero()); }

TEST(FinAtZero, IsRefusedOnOneCoarseGridOrWithOneFace) {
  const Fin fin = fin_of(1.0);
  expect_refused("FIN-01_1", -fin.on_grid(coarsest).ledger().to_fixed_W / fin.ideal_W());
  expect_refused("FIN-01_1", fin_of(0.5).efficiency());
}

TEST(FinInSurroundings, RejectsThePublishedShare) { check_all(fins_in_surroundings()); }

TEST(FinInSurroundings, IsRefusedInTheDark) { expect_refused("FIN-03_1_0.4", fin_of(1.0).efficiency()); }

TEST(WorkedFin, RejectsThePublishedHeat) { check_all(worked_fins()); }

TEST(WorkedFin, IsRefusedAtHalfItsThickness) {
  Fin thin = aluminium_fin(0.1);
  thin.conductance_W_m_per_K *= 0.5;
  expect_refused("FIN-07b", thin.efficiency());
}

TEST(ChainOfAFin, ConvergesWithTheSquareOfTheSpacing) {
  const Fin fin = fin_of(2.0), graded = fin_of(20.0);
  EXPECT_NEAR(limit_of([&](int n) { return fin.on_grid(n).ledger().to_fixed_W; }, coarsest).observed_order, expected_order, order_within);
  EXPECT_NEAR(limit_of([&](int n) { return graded.on_grid(n).ledger().to_fixed_W; }, coarsest).observed_order, expected_order, order_within);
}

}  // namespace tileflux::verification::fins_test
