#include "tileflux/studies/duty.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "support/sample_tiles.h"
#include "tileflux/studies/run.h"

namespace tileflux::studies::duty_test {

TEST(Duty, NeedsABeamAndLimits) {
  tile::Case plate = test::burst_plate(2500.0, 250.0);
  plate.limits.clear();
  tile::TileSystem unlimited(plate);
  EXPECT_THROW(duty(unlimited), Error);
  plate = test::burst_plate(2500.0, 250.0);
  plate.beam.reset();
  tile::TileSystem dark(plate);
  EXPECT_THROW(duty(dark), Error);
}

TEST(Duty, WithoutAPeriodHasNoSustainableFraction) {
  tile::Case plate = test::burst_plate(2500.0, 250.0);
  plate.beam->pattern.reset();
  tile::TileSystem system(plate);
  const Duty result = duty(system);
  EXPECT_FALSE(result.sustainable.has_value());
  EXPECT_TRUE(result.burst.length_s.has_value());
}

TEST(Duty, RatesTheDriveAtWhichTheSteadyStateJustMeetsTheLimit) {
  tile::TileSystem system(test::burst_plate(2500.0, 250.0));
  const Duty result = duty(system);
  EXPECT_NEAR(result.rating.drive, 0.88 * stefan_boltzmann_W_per_m2_K4 * std::pow(313.0, 4) / 2500.0, 1e-8);
  EXPECT_TRUE(result.feasible());
}

TEST(Duty, OfATileWhoseIdleStateBreaksALimitIsNotFeasible) {
  tile::Case plate = test::burst_plate(2500.0, 600.0);
  plate.loads[0].when = tile::Load::When::always;
  plate.limits[0].below_K = 280.0;
  tile::TileSystem system(plate);
  const Duty result = duty(system);
  EXPECT_FALSE(result.feasible());
  EXPECT_EQ(result.sustainable->fraction, 0.0);
  EXPECT_EQ(result.sustainable->binding->node, "plate");
  EXPECT_EQ(result.rating.binding->node, "plate");
}

TEST(Duty, TellsThatTheBatteryRests) {
  tile::TileSystem system(test::with_idle_battery(test::burst_plate(2500.0, 100.0)));
  const Duty result = duty(system);
  EXPECT_EQ(std::count_if(result.warnings.begin(), result.warnings.end(), [](const Diagnostic& d) { return d.code == Code::battery_rests; }), 1);
  EXPECT_NEAR(result.start_x.back(), 60.0, 1e-9);
}

TEST(Duty, WarnsOfLoadsWithAPatternOfTheirOwn) {
  tile::TileSystem system(test::everything());
  const Duty result = duty(system);
  const bool told = std::any_of(result.warnings.begin(), result.warnings.end(), [](const Diagnostic& d) { return d.code == Code::pattern_contradicts; });
  EXPECT_TRUE(told);
}

}  // namespace tileflux::studies::duty_test
