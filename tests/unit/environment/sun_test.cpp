#include "tileflux/environment/sun.h"

#include <gtest/gtest.h>

#include <numbers>

namespace tileflux::environment::sun_test {

/// A product of a few doubles, relative.
constexpr double round_off = 1e-15;

Sun at(double distance_AU, double tilt_deg) {
  Sun sun;
  sun.distance_m = distance_AU * astronomical_unit_m;
  sun.tilt_rad = tilt_deg * std::numbers::pi / 180.0;
  return sun;
}

TEST(Sun, AtOneAstronomicalUnitIsTheNominalIrradiance) { EXPECT_EQ(at(1.0, 0.0).irradiance_W_per_m2(), 1361.0); }

TEST(Sun, FallsWithTheSquareOfTheDistance) {
  EXPECT_NEAR(at(2.0, 0.0).irradiance_W_per_m2(), 1361.0 / 4.0, round_off * 1361.0);
  // 15 122 W/m2 at 0.3 AU and 54.4 at 5 AU: 1361 / 0.09 and 1361 / 25.
  EXPECT_NEAR(at(0.3, 0.0).irradiance_W_per_m2(), 1361.0 / 0.09, round_off * 1361.0 / 0.09 * 4.0);
  EXPECT_NEAR(at(5.0, 0.0).irradiance_W_per_m2(), 54.44, 54.44 * round_off * 4.0);
}

TEST(Sun, TiltIsFromTheNormal) {
  EXPECT_NEAR(at(1.0, 60.0).irradiance_W_per_m2(), 0.5 * 1361.0, 4.0 * round_off * 1361.0);
  EXPECT_EQ(at(1.0, 60.0).normal_irradiance_W_per_m2(), 1361.0);
}

TEST(Sun, EdgeOnGivesNothingThatCounts) {
  constexpr double round_off_of_pi = 1e-16;  // cos of the double nearest to pi / 2
  EXPECT_NEAR(at(1.0, 90.0).irradiance_W_per_m2(), 0.0, round_off_of_pi * 1361.0);
}

TEST(Sun, FromBehindGivesExactlyNothing) {
  EXPECT_EQ(at(1.0, 90.001).irradiance_W_per_m2(), 0.0);
  EXPECT_EQ(at(1.0, 135.0).irradiance_W_per_m2(), 0.0);
  EXPECT_EQ(at(1.0, 180.0).irradiance_W_per_m2(), 0.0);
}

TEST(Sun, TakesAnotherIrradianceAtOneAstronomicalUnit) {
  Sun sun = at(1.0, 0.0);
  sun.irradiance_at_1AU_W_per_m2 = 1353.0;
  EXPECT_EQ(sun.irradiance_W_per_m2(), 1353.0);
}

}  // namespace tileflux::environment::sun_test
