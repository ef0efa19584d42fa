#include "studies/linear.h"

#include <gtest/gtest.h>

#include <cmath>

#include "support/sample_tiles.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::studies::linear_test {

/// Solutions of small well-conditioned linear systems, relative.
constexpr double round_off = 1e-10;

TEST(TimeConstant, OfARadiatingPlateIsCapacityOverFourTimesItsEmissionPerKelvin) {
  const tile::TileSystem system(test::plate_in_the_sun());
  const double expected_s = 2400.0 / (4.0 * stefan_boltzmann_W_per_m2_K4 * 1.73 * 300.0 * 300.0 * 300.0);
  EXPECT_NEAR(slowest_time_constant_s(system, std::vector<double>{300.0}), expected_s, round_off * expected_s);
}

TEST(TimeConstant, EliminatesMasslessNodes) {
  tile::Case row;
  row.parts = {{.name = "mass", .capacity_J_per_K = PropertyTable(100.0)}, {.name = "between"}, {.name = "wall", .fixed_K = 300.0}};
  row.joins = {{.a = "mass", .b = "between", .conductance_W_per_K = 3.0}, {.a = "between", .b = "wall", .conductance_W_per_K = 6.0}};
  const tile::TileSystem system(row);
  EXPECT_NEAR(slowest_time_constant_s(system, std::vector<double>{310.0, 305.0}), 100.0 / 2.0, round_off * 50.0);
}

TEST(TimeConstant, OfATileThatStoresNothingIsZero) {
  tile::Case bare = test::plate_in_the_sun();
  bare.parts[0].capacity_J_per_K.reset();
  EXPECT_EQ(slowest_time_constant_s(tile::TileSystem(bare), std::vector<double>{300.0}), 0.0);
}

TEST(TimeConstant, OfATileThatLosesNothingIsEndless) {
  tile::Case brick;
  brick.parts = {{.name = "brick", .capacity_J_per_K = PropertyTable(100.0)}};
  EXPECT_TRUE(std::isinf(slowest_time_constant_s(tile::TileSystem(brick), std::vector<double>{300.0})));
}

TEST(TemperatureError, IsHeatLeftOverDividedByConductance) {
  tile::Case row;
  row.parts = {{.name = "mass", .capacity_J_per_K = PropertyTable(100.0)}, {.name = "wall", .fixed_K = 300.0}};
  row.joins = {{.a = "mass", .b = "wall", .conductance_W_per_K = 4.0}};
  const tile::TileSystem system(row);
  EXPECT_NEAR(temperature_error_K(system, std::vector<double>{310.0}, {2.0}, 0.0), 0.5, round_off);
  EXPECT_NEAR(temperature_error_K(system, std::vector<double>{310.0}, {0.0}, -8.0), 2.0, round_off);
}

}  // namespace tileflux::studies::linear_test
