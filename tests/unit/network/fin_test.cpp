/// The radiating fin against published efficiencies and tip temperatures (check rows FIN-01 to FIN-08: evaluations of the
/// boundary-value problem to 8 digits), its limits, its derivative, and a finite-volume fin that shares no code with it.

#include "tileflux/network/fin.h"

#include <gtest/gtest.h>

#include <Eigen/Dense>

namespace tileflux::network::fin_test {

constexpr double eight_digits = 1e-7;  // relative, of the published figures

/// A fin with conductivity 167 W/(m K), 1 mm thick, 100 mm long, both faces with emittance 0.85.
RadiatingFin worked_fin(double sink_K) { return {1.0, 0.1, PropertyTable(0.167), 1.7, sink_K}; }

/// A fin whose zeta at 300 K is the given one.
RadiatingFin fin_of(double zeta, double sink_fourth_ratio) {
  RadiatingFin fin{1.0, 1.0, PropertyTable(1.0), 1.0, 300.0 * std::sqrt(std::sqrt(sink_fourth_ratio))};
  fin.conductance_W_per_K = PropertyTable(stefan_boltzmann_W_per_m2_K4 * std::pow(300.0, 3) / zeta);
  return fin;
}

TEST(RadiatingFin, HasThePublishedEfficiencyAndTipTemperature) {
  const double rows[][3] = {{0.01, 0.98695257, 0.99508148}, {0.1, 0.89003515, 0.9568205}, {1, 0.53398921, 0.77914516}, {5, 0.27376173, 0.57559621}, {50, 0.089302718, 0.31554065}};
  for (const auto& [zeta, efficiency, tip] : rows) {
    const RadiatingFin fin = fin_of(zeta, 0.0);
    EXPECT_NEAR(fin.efficiency(300.0), efficiency, eight_digits * efficiency) << "zeta " << zeta;
    EXPECT_NEAR(fin.tip_K(300.0) / 300.0, tip, eight_digits * tip) << "zeta " << zeta;
  }
}

TEST(RadiatingFin, HasThePublishedEfficiencyInAWarmEnvironment) {
  const double rows[][3] = {{0.5, 0.05, 0.66154507}, {1, 0.2, 0.5217948}, {2, 0.6, 0.36926587}};
  for (const auto& [zeta, sink, efficiency] : rows) EXPECT_NEAR(fin_of(zeta, sink).efficiency(300.0), efficiency, eight_digits * efficiency);
}

TEST(RadiatingFin, ReproducesTheWorkedFinWithAndWithoutSunlight) {
  const RadiatingFin dark = worked_fin(0.0);
  EXPECT_NEAR(dark.flow(300.0), 65.845795, eight_digits * 65.845795);
  EXPECT_NEAR(dark.tip_K(300.0), 281.15041, eight_digits * 281.15041);
  const double sink_K = std::sqrt(std::sqrt(0.15 * 1361.0 / (1.7 * stefan_boltzmann_W_per_m2_K4)));
  const RadiatingFin sunlit = worked_fin(sink_K);
  EXPECT_NEAR(sunlit.flow(300.0), 48.483759, eight_digits * 48.483759);
  EXPECT_NEAR(sunlit.tip_K(300.0), 286.13944, eight_digits * 286.13944);
}

TEST(RadiatingFin, TendsToTheLongFin) {
  constexpr double zeta = 100.0;
  constexpr double next_term = 2e-3;  // the efficiency of a long fin is sqrt(2/(5 zeta)) up to a small share (row FIN-04)
  EXPECT_NEAR(fin_of(zeta, 0.0).efficiency(300.0) * std::sqrt(zeta), std::sqrt(0.4), next_term);
}

TEST(RadiatingFin, WithoutEndInAWarmEnvironmentDrawsTheLimitAndIsSmooth) {
  // dT/dx = sqrt(2 s sigma/(k t) ((Tb^5 - Ts^5)/5 - Ts^4 (Tb - Ts))) where the tip has the sink's temperature.
  RadiatingFin fin = worked_fin(200.0);
  fin.length_m = 20.0;
  const double inner = (std::pow(300.0, 5) - std::pow(200.0, 5)) / 5.0 - std::pow(200.0, 4) * 100.0;
  const double limit = std::sqrt(2.0 * 1.7 * stefan_boltzmann_W_per_m2_K4 * 0.167 * inner);
  constexpr double round_off = 1e-12;
  EXPECT_NEAR(fin.flow(300.0), limit, round_off * limit);
  constexpr double step_K = 1e-3, truncation = 1e-8;
  const double slope = fin.flow(variable<1>(300.0, 0)).derivatives()[0];
  EXPECT_NEAR(slope, (fin.flow(300.0 + step_K) - fin.flow(300.0 - step_K)) / (2.0 * step_K), truncation * slope + 1e-9);
}

TEST(RadiatingFin, CarriesNothingAtTheSinkTemperatureAndIsSmoothThere) {
  const RadiatingFin fin = worked_fin(280.0);
  EXPECT_EQ(fin.flow(280.0), 0.0);
  constexpr double step_K = 1e-3;
  const double above = fin.flow(280.0 + step_K), below = fin.flow(280.0 - step_K);
  EXPECT_GT(above, 0.0);
  constexpr double curvature = 1e-5;  // relative: the radiation law bends by step/T
  EXPECT_NEAR(above, -below, curvature * above);
  const double slope = fin.flow(variable<1>(280.0, 0)).derivatives()[0];
  EXPECT_NEAR(slope, (above - below) / (2.0 * step_K), curvature * slope);
}

TEST(RadiatingFin, HasTheDerivativeOfItsDifferenceQuotient) {
  constexpr double step_K = 1e-3;
  constexpr double truncation = 1e-8;  // relative, of a central difference over this step with round-off
  for (const double base_K : {150.0, 220.0, 300.0, 420.0}) {
    const RadiatingFin fin = worked_fin(200.0);
    const double slope = fin.flow(variable<1>(base_K, 0)).derivatives()[0];
    EXPECT_NEAR(slope, (fin.flow(base_K + step_K) - fin.flow(base_K - step_K)) / (2.0 * step_K), truncation * slope + 1e-9);
  }
}

/// Heat from the base into a fin of `count` lumps, by Newton's method on the lumps' balances.
double lumped_fin_flow(const RadiatingFin& fin, double base_K, int count) {
  const double length_m = fin.length_m / count;
  const double conductance = fin.conductance_W_per_K.value(base_K) * fin.width_m / length_m;
  const double emission = fin.emittance_sum * stefan_boltzmann_W_per_m2_K4 * fin.width_m * length_m;
  Eigen::VectorXd x = Eigen::VectorXd::Constant(count, base_K);
  for (int step = 0; step < 30; ++step) {
    Eigen::MatrixXd jacobian = Eigen::MatrixXd::Zero(count, count);
    Eigen::VectorXd heat(count);
    for (int i = 0; i < count; ++i) {
      const double from_before = i == 0 ? 2.0 * conductance * (base_K - x[0]) : conductance * (x[i - 1] - x[i]);
      const double to_next = i + 1 < count ? conductance * (x[i] - x[i + 1]) : 0.0;
      heat[i] = from_before - to_next - emission * (std::pow(x[i], 4) - std::pow(fin.sink_K, 4));
      jacobian(i, i) = -(i == 0 ? 2.0 : 1.0) * conductance - (i + 1 < count ? conductance : 0.0) - 4.0 * emission * std::pow(x[i], 3);
      if (i > 0) jacobian(i, i - 1) = conductance;
      if (i + 1 < count) jacobian(i, i + 1) = conductance;
    }
    x -= jacobian.partialPivLu().solve(heat);
  }
  return 2.0 * conductance * (base_K - x[0]);
}

TEST(RadiatingFin, IsApproachedByLumpsWithSecondOrder) {
  const RadiatingFin fin = worked_fin(150.0);
  const double exact = fin.flow(300.0);
  const double coarse = std::abs(lumped_fin_flow(fin, 300.0, 10) - exact);
  const double fine = std::abs(lumped_fin_flow(fin, 300.0, 20) - exact);
  const double order = std::log2(coarse / fine);
  EXPECT_NEAR(order, 2.0, 0.1);  // halving a second-order lump quarters the error, but for the next term
}

TEST(RadiatingFin, ThatIsVeryShortIsNearlyIsothermal) {
  RadiatingFin fin = worked_fin(150.0);
  for (const double length_m : {1e-12, 1e-9, 1e-7, 1e-6, 1e-5, 1e-4}) {
    fin.length_m = length_m;
    const double zeta = fin.zeta(300.0);
    EXPECT_NEAR(fin.efficiency(300.0), 1.0 - 4.0 / 3.0 * zeta, 5.0 * zeta * zeta + 1e-14) << length_m;
  }
}

TEST(RadiatingFin, PassesSmoothlyFromShortToLong) {
  RadiatingFin fin = worked_fin(150.0);
  fin.length_m *= std::sqrt(1e-6 / (fin.zeta(300.0) * (1.0 + std::pow(fin.sink_K / 300.0, 4))));
  RadiatingFin longer = fin;
  longer.length_m *= 1.0 + 1e-9;
  fin.length_m *= 1.0 - 1e-9;
  constexpr double found = 1e-8;  // of a tip that differs from the base by a millionth
  EXPECT_NEAR(longer.flow(300.0) / longer.length_m, fin.flow(300.0) / fin.length_m, found * fin.flow(300.0) / fin.length_m);
}

}  // namespace tileflux::network::fin_test
