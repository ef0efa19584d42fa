/// Grey enclosures against textbook examples (sources beside each) and against what must hold for any of them.

#include "tileflux/network/enclosure.h"

#include <gtest/gtest.h>

#include <Eigen/Dense>
#include <cmath>

#include "tileflux/base/constants.h"
#include "tileflux/network/laws.h"

namespace tileflux::network::enclosure_test {

constexpr double round_off = 1e-13;
constexpr double eight_digits = 1e-7;

TEST(Enclosure, OfTwoWidePlatesIsTheParallelExchangeArea) {
  Eigen::MatrixXd factors(2, 2);
  factors << 0, 1, 1, 0;
  const ExchangeAreas areas = exchange_areas(factors, {2.0, 2.0}, {0.2, 0.7});
  EXPECT_NEAR(areas.between_m2(0, 1), parallel_exchange_area_m2(2.0, 0.2, 0.7), round_off);
  EXPECT_NEAR(areas.to_space_m2.cwiseAbs().maxCoeff(), 0.0, round_off);
}

TEST(Enclosure, TriangularFurnaceWithARadiatingWallMatchesTheTextbook) {
  // Cengel, Heat and Mass Transfer, triangular furnace: hot black 1000 K, cold eps 0.7 at 600 K, the third re-radiating;
  // 28.010413 kW per m2 with sigma = 5.67e-8 (check row VF-42c).
  Eigen::MatrixXd factors(3, 3);
  factors << 0, 0.5, 0.5, 0.5, 0, 0.5, 0.5, 0.5, 0;
  const ExchangeAreas areas = exchange_areas(factors, {1, 1, 1}, {1.0, 0.7, 0.5});
  const double hot = std::pow(1000.0, 4), cold = std::pow(600.0, 4);
  const Eigen::MatrixXd& r = areas.between_m2;
  const double wall = (r(2, 0) * hot + r(2, 1) * cold) / (r(2, 0) + r(2, 1));  // where its balance is nought
  constexpr double textbook_sigma = 5.67e-8;
  const double heat_kW = textbook_sigma * (r(0, 1) * (hot - cold) + r(0, 2) * (hot - wall)) / 1e3;
  EXPECT_NEAR(heat_kW, 28.010413, eight_digits * 28.010413);
}

TEST(Enclosure, ShieldAroundAHotCylinderTakesTheTextbookTemperature) {
  // Holman, Heat Transfer, cylinder in an open shield: 715.93585 K (check row VF-51ac); F of the shield's inside from the row.
  const double inner = M_PI * 0.1 * 0.2, shield = M_PI * 0.2 * 0.2;
  Eigen::MatrixXd factors = Eigen::MatrixXd::Zero(3, 3);
  factors(0, 1) = 0.8253;
  factors(1, 0) = factors(0, 1) * inner / shield;
  factors(1, 1) = 1.0 - factors(1, 0) - 0.2588;
  const ExchangeAreas areas = exchange_areas(factors, {inner, shield, shield}, {0.8, 0.2, 0.2});
  const double hot = std::pow(1000.0, 4), room = std::pow(300.0, 4);
  const double to_room = areas.to_space_m2[1] + areas.to_space_m2[2];
  const double shield_K = std::pow((areas.between_m2(0, 1) * hot + to_room * room) / (areas.between_m2(0, 1) + to_room), 0.25);
  constexpr double four_digit_factors = 1e-4;  // the view factors are printed with four digits and are not quite reciprocal
  EXPECT_NEAR(shield_K, 715.93585, four_digit_factors * 715.93585);
}

TEST(Enclosure, GivesEveryWattSomewhere) {
  Eigen::MatrixXd factors(3, 3);
  factors << 0, 0.3, 0.2, 0.6, 0, 0.1, 0.4, 0.1, 0;
  const std::vector<double> area{1.0, 0.5, 0.5}, emittance{0.9, 0.3, 0.05};
  const ExchangeAreas areas = exchange_areas(factors, area, emittance);
  EXPECT_NEAR((areas.between_m2 - areas.between_m2.transpose()).cwiseAbs().maxCoeff(), 0.0, round_off);
  for (int i = 0; i < 3; ++i) {
    const double emitted = emittance[static_cast<std::size_t>(i)] * area[static_cast<std::size_t>(i)];
    EXPECT_NEAR(areas.between_m2.row(i).sum() + areas.to_space_m2[i], emitted, round_off) << i;
  }
}

TEST(Enclosure, CheckFindsTheOpenRowAndTheBrokenReciprocity) {
  Eigen::MatrixXd factors(2, 2);
  factors << 0, 1, 0.4, 0.5;
  const ViewFactorCheck check = check_view_factors(factors, {1.0, 2.0});
  EXPECT_EQ(check.open_row, 1);
  EXPECT_NEAR(check.smallest_row_sum, 0.9, round_off);
  EXPECT_NEAR(check.worst_reciprocity, 0.2, round_off);
}

TEST(Enclosure, OfASurfaceAloneIsItsEmissionToSpace) {
  const ExchangeAreas areas = exchange_areas(Eigen::MatrixXd::Zero(1, 1), {3.0}, {0.4});
  EXPECT_NEAR(areas.to_space_m2[0], 1.2, round_off);
}

}  // namespace tileflux::network::enclosure_test
