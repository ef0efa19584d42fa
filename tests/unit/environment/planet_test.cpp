#include "tileflux/environment/planet.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "tileflux/base/constants.h"
#include "tileflux/base/errors.h"

namespace tileflux::environment::planet_test {

constexpr double pi = std::numbers::pi;
constexpr double sun_W_per_m2 = 1361.0;
constexpr double round_off = 1e-12;         // relative
constexpr double round_off_W_per_m2 = 1e-9; // of differences of some thousand W/m2, integrals to 1e-12 of them

Planet cloudy() { return {6.378e6, 3.986e14, astronomical_unit_m, 0.0167, 0.3, UniformInfrared{240.0}}; }
Planet airless(double night_W_per_m2) { return {1.7374e6, 4.9028e12, astronomical_unit_m, 0.0167, 0.11, SubSolarInfrared{night_W_per_m2}}; }

TEST(Planet, WithoutHeatStorageRadiatesWhatItsGroundAbsorbs) {
  for (const double zenith : {0.0, 0.7, 1.5}) EXPECT_NEAR(infrared_exitance_W_per_m2(airless(0.0), sun_W_per_m2, zenith), 0.89 * sun_W_per_m2 * std::cos(zenith), round_off_W_per_m2);
  EXPECT_EQ(infrared_exitance_W_per_m2(airless(0.0), sun_W_per_m2, 2.0), 0.0);
}

TEST(Planet, RadiatesWhatItAbsorbsWhateverItsNight) {
  for (const double night : {0.0, 5.2, 100.0, 0.25 * 0.89 * sun_W_per_m2}) {
    EXPECT_NEAR(mean_infrared_exitance_W_per_m2(airless(night), sun_W_per_m2), 0.25 * 0.89 * sun_W_per_m2, round_off_W_per_m2) << night;
    double sum = 0.0;
    constexpr int steps = 10000;
    for (int i = 0; i < steps; ++i) {
      const double zenith = pi * (i + 0.5) / steps;
      sum += infrared_exitance_W_per_m2(airless(night), sun_W_per_m2, zenith) * 0.5 * std::sin(zenith) * pi / steps;
    }
    constexpr double of_the_midpoint_rule = 1e-4;
    EXPECT_NEAR(sum, 0.25 * 0.89 * sun_W_per_m2, of_the_midpoint_rule);
  }
}

TEST(Planet, IsRefusedWithANightThatRadiatesMoreThanTheDayBrings) {
  EXPECT_THROW(infrared_exitance_W_per_m2(airless(0.26 * 0.89 * sun_W_per_m2), sun_W_per_m2, 0.0), Error);
}

TEST(Planet, WithAnEvenNightIsAsWarmAllOver) {
  // At the limit the two laws are one.
  const double even = 0.25 * 0.89 * sun_W_per_m2;
  Planet uniform = airless(0.0);
  uniform.infrared = UniformInfrared{even};
  const PlateView view{1.2, 0.4, 1.0, 2.0};
  EXPECT_NEAR(planet_flux(airless(even), view, sun_W_per_m2).infrared_W_per_m2, planet_flux(uniform, view, sun_W_per_m2).infrared_W_per_m2, round_off_W_per_m2);
}

TEST(PlanetFlux, OfACloudyPlanetIsItsExitanceTimesTheView) {
  for (const double nadir : {0.0, 1.0, 2.0}) {
    const PlateView view{1.06, nadir, 0.3, 0.0};
    EXPECT_NEAR(planet_flux(cloudy(), view, sun_W_per_m2).infrared_W_per_m2, 240.0 * plate_to_sphere_view_factor(1.06, nadir), round_off * 240.0);
  }
}

TEST(PlanetFlux, ByTheUsualEstimateKnowsNoAzimuthAndEndsAtTheTerminator) {
  const auto albedo = [](double zenith, double azimuth, AlbedoMethod method) {
    return planet_flux(cloudy(), {1.3, 1.2, zenith, azimuth}, sun_W_per_m2, method).albedo_W_per_m2;
  };
  using enum AlbedoMethod;
  EXPECT_NEAR(albedo(1.0, 0.0, zenith_cosine), 0.3 * sun_W_per_m2 * std::cos(1.0) * plate_to_sphere_view_factor(1.3, 1.2), round_off * sun_W_per_m2);
  EXPECT_EQ(albedo(1.0, 0.0, zenith_cosine), albedo(1.0, pi, zenith_cosine));
  EXPECT_GT(albedo(1.0, 0.0, sunlit_part), 1.2 * albedo(1.0, pi, sunlit_part)) << "a plate that looks to the Sun's side gets more";
  EXPECT_EQ(albedo(1.7, 0.0, zenith_cosine), 0.0);
  EXPECT_GT(albedo(1.7, 0.0, sunlit_part), 1.0) << "W/m2 from the lit limb";
}

TEST(PlanetFlux, FromAfarAtFullPhaseIsTwoThirdsOfTheUsualEstimate) {
  const PlateView view{1e3, 0.0, 0.0, 0.0};
  constexpr double parallax = 1e-3;  // 1 / distance
  EXPECT_NEAR(planet_flux(cloudy(), view, sun_W_per_m2).albedo_W_per_m2 / planet_flux(cloudy(), view, sun_W_per_m2, AlbedoMethod::zenith_cosine).albedo_W_per_m2, 2.0 / 3.0, parallax);
}

TEST(PlanetFlux, OfAnAirlessBodyFollowsTheSun) {
  const auto infrared = [](double zenith) { return planet_flux(airless(5.0), {1.05, 0.0, zenith, 0.0}, sun_W_per_m2).infrared_W_per_m2; };
  const double whole = plate_to_sphere_view_factor(1.05, 0.0);
  EXPECT_GT(infrared(0.0), 0.9 * whole * infrared_exitance_W_per_m2(airless(5.0), sun_W_per_m2, 0.0));
  EXPECT_NEAR(infrared(pi), 5.0 * whole, round_off * 5.0) << "the night side alone";
}

TEST(PlanetFlux, OfDayAndNightTogetherKeepsTheEnergyOfTheSun) {
  // Reflected and infrared from afar, averaged over all directions, are S pi R^2 / (4 pi r^2).
  constexpr double far = 1e3;
  double sum = 0.0;
  constexpr int steps = 400;
  for (int i = 0; i < steps; ++i) {
    const double zenith = pi * (i + 0.5) / steps;
    const PlanetFlux flux = planet_flux(airless(20.0), {far, 0.0, zenith, 0.0}, sun_W_per_m2);
    sum += (flux.infrared_W_per_m2 + flux.albedo_W_per_m2) * 0.5 * std::sin(zenith) * pi / steps;
  }
  constexpr double of_the_midpoint_rule = 2e-5;
  EXPECT_NEAR(sum * far * far / (0.25 * sun_W_per_m2), 1.0, of_the_midpoint_rule);
}

TEST(Planet, IsRefusedWithoutSizeGravityOrASoundAlbedo) {
  EXPECT_NO_THROW(cloudy().require_sound());
  for (const auto& spoil : {+[](Planet& p) { p.radius_m = 0.0; }, +[](Planet& p) { p.gravitational_parameter_m3_per_s2 = -1.0; }, +[](Planet& p) { p.albedo = 1.1; },
                            +[](Planet& p) { p.infrared = UniformInfrared{-1.0}; }, +[](Planet& p) { p.sun_eccentricity = 1.0; }}) {
    Planet planet = cloudy();
    spoil(planet);
    EXPECT_THROW(planet.require_sound(), Error);
  }
}

}  // namespace tileflux::environment::planet_test
