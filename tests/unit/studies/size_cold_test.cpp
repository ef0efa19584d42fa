#include <gtest/gtest.h>

#include <cmath>

#include "support/sized_tiles.h"
#include "tileflux/base/constants.h"
#include "tileflux/studies/size.h"

namespace tileflux::studies::size_cold_test {

/// The plain radiator whose load falls to 50 W in the cold, where the plate must stay above 260 K.
std::pair<tile::Case, tile::Case> hot_and_cold() {
  tile::Case hot = test::plain_radiator();
  hot.size->cold = tile::SizeSettings::Cold{{false, hot.sun}, false, "plate"};
  tile::Case cold = hot;
  cold.loads.front().power_W = 50.0;
  return {hot, cold};
}

TEST(ColdCase, TakesTheHeaterPowerWorkedOnPaper) {
  const auto [hot, cold] = hot_and_cold();
  const Size answer = size(hot, cold);
  ASSERT_TRUE(answer.cold.has_value());
  // The sized area carries 400 W at 300 K, so 400 (260/300)^4 at 260 K; 50 W of it are there.
  const double needed_W = 400.0 * std::pow(260.0 / 300.0, 4) - 50.0;
  EXPECT_NEAR(answer.cold->heater_W, needed_W, 1e-7 * needed_W);
  EXPECT_NEAR(answer.cold->installed_W, 1.25 * needed_W, 1e-7 * needed_W);
  EXPECT_NEAR(answer.cold->point.x[0], 260.0, 1e-6);
  EXPECT_TRUE(answer.cold->held);
}

TEST(ColdCase, TakesMoreForALargerRadiator) {
  auto [hot, cold] = hot_and_cold();
  const double needed_W = size(hot, cold).cold->heater_W;
  hot.size->area_margin = 0.10;
  EXPECT_NEAR(size(hot, cold).cold->heater_W, 1.10 * (needed_W + 50.0) - 50.0, 1e-6);
}

TEST(ColdCase, TakesNoHeaterWhereNothingGetsTooCold) {
  auto [hot, cold] = hot_and_cold();
  cold.loads.front().power_W = 390.0;
  const Size answer = size(hot, cold);
  EXPECT_EQ(answer.cold->heater_W, 0.0);
  EXPECT_TRUE(answer.cold->held);
  EXPECT_GT(answer.cold->point.x[0], 260.0);
}

TEST(ColdCase, SaysWhereNoHeaterHelps) {
  auto [hot, cold] = hot_and_cold();
  for (tile::Case* one : {&hot, &cold}) {
    one->parts.push_back({.name = "mast", .capacity_J_per_K = PropertyTable(10.0)});
    one->surfaces.push_back({.name = "mast", .node = "mast", .area_m2 = 0.01, .emittance = 0.8});
    one->loads.push_back({.node = "mast", .power_W = 0.1});
    one->limits.push_back({.node = "mast", .above_K = 200.0});
  }
  const Size answer = size(hot, cold);
  EXPECT_FALSE(answer.cold->held);
  EXPECT_EQ(answer.cold->unreached, "mast");
}

TEST(ColdCase, IsLeftOutWhereItIsNotAsked) { EXPECT_FALSE(size(test::plain_radiator()).cold.has_value()); }

}  // namespace tileflux::studies::size_cold_test
