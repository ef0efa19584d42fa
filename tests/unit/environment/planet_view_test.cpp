#include "tileflux/environment/planet_view.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "tileflux/base/errors.h"

namespace tileflux::environment::planet_view_test {

constexpr double pi = std::numbers::pi;
constexpr double promised = 1e-8;  // error of `sunlit_view_factor` by its contract
double radians(double degrees) { return degrees * pi / 180.0; }

TEST(PlanetView, OfAPlateMatchesTheCatalogueAtAnyTilt) {
  constexpr double low_orbit = 1.06271423772, digits = 5e-8;  // half a unit of the eighth digit, relative
  const double printed[][2] = {{0, 0.88545603}, {30, 0.77124921}, {60, 0.5371629}, {90, 0.28872722}, {120, 0.094434882}, {150, 0.0044217873}};
  for (const auto& [angle, factor] : printed) EXPECT_NEAR(plate_to_sphere_view_factor(low_orbit, radians(angle)), factor, digits * factor);
  EXPECT_EQ(plate_to_sphere_view_factor(low_orbit, radians(175)), 0.0);
}

TEST(PlanetView, IsContinuousAtTheHorizon) {
  constexpr double distance = 1.3, hair = 1e-9;
  const double horizon = std::acos(1.0 / distance);
  EXPECT_NEAR(plate_to_sphere_view_factor(distance, horizon - hair), plate_to_sphere_view_factor(distance, horizon + hair), 10 * hair);
  EXPECT_NEAR(plate_to_sphere_view_factor(distance, pi - horizon - hair), 0.0, 10 * hair);
}

TEST(PlanetView, OfASmallSphereIsTheMeanOfPlatesThatLookEverywhere) {
  constexpr double distance = 1.1;
  double sum = 0.0;
  constexpr int steps = 20000;
  for (int i = 0; i < steps; ++i) {
    const double angle = pi * (i + 0.5) / steps;
    sum += plate_to_sphere_view_factor(distance, angle) * 0.5 * std::sin(angle) * pi / steps;
  }
  constexpr double of_the_midpoint_rule = 1e-7;
  EXPECT_NEAR(sum, small_sphere_to_sphere_view_factor(distance), of_the_midpoint_rule);
}

TEST(PlanetView, IsRefusedInsideThePlanet) {
  EXPECT_THROW(plate_to_sphere_view_factor(1.0, 0.0), Error);
  EXPECT_THROW(small_sphere_to_sphere_view_factor(0.9), Error);
  EXPECT_THROW(sunlit_view_factor({0.5, 0.0, 0.0, 0.0}), Error);
}

TEST(SunlitView, UnderTheSunTakesTheClosedForm) {
  // Plate that looks down under a Sun in the zenith, h = r/R: 2 times the integral over s = sin(angle from nadir), 0..1/h, of
  // s [sqrt((1 - h^2 s^2)(1 - s^2)) + h s^2], by hand:
  for (const double h : {1.0001, 1.06, 1.5, 3.0, 10.0}) {
    const double expected = (1 + h * h) / (4 * h * h) - std::pow(h * h - 1, 2) / (8 * h * h * h) * std::log((h + 1) / (h - 1)) + 0.5 / (h * h * h);
    EXPECT_NEAR(sunlit_view_factor({h, 0.0, 0.0, 0.0}), expected, promised) << h;
  }
}

TEST(SunlitView, FromAfarIsThePhaseOfADiffuseSphere) {
  // Lambert 1760, Photometria: 2/3 [sin p + (pi - p) cos p] / pi of what a disc of the same size would send at p = 0.
  constexpr double far = 1e4, parallax = 3e-4;
  for (const double phase : {0.0, 30.0, 90.0, 140.0, 179.0}) {
    const double p = radians(phase);
    EXPECT_NEAR(far * far * sunlit_view_factor({far, 0.0, p, 0.3}), 2.0 / 3.0 * (std::sin(p) + (pi - p) * std::cos(p)) / pi, parallax) << phase;
  }
}

TEST(SunlitView, CloseToTheSurfaceIsTheWholeViewTimesTheCosine) {
  constexpr double close = 1.0 + 1e-7, bent = 2e-3;  // the horizon is some 4e-4 of a radius away
  for (const double zenith : {0.0, 40.0, 80.0, 100.0}) {
    for (const double nadir : {0.0, 50.0, 90.0}) {
      const double whole = plate_to_sphere_view_factor(close, radians(nadir));
      EXPECT_NEAR(sunlit_view_factor({close, radians(nadir), radians(zenith), 1.0}), whole * std::max(0.0, std::cos(radians(zenith))), bent) << zenith << ' ' << nadir;
    }
  }
}

/// The same integral over patches of the planet, without any of its edges.
double patched(const PlateView& view, int rings) {
  const double h = view.distance_over_radius, horizon = std::acos(1.0 / h);
  const double normal[] = {std::sin(view.nadir_angle_rad), 0.0, -std::cos(view.nadir_angle_rad)};
  const double sun[] = {std::sin(view.sun_zenith_rad) * std::cos(view.sun_azimuth_rad), std::sin(view.sun_zenith_rad) * std::sin(view.sun_azimuth_rad), std::cos(view.sun_zenith_rad)};
  double sum = 0.0;
  for (int i = 0; i < rings; ++i) {
    const double central = horizon * (i + 0.5) / rings;
    for (int j = 0; j < 2 * rings; ++j) {
      const double turn = pi * (j + 0.5) / rings;
      const double at[] = {std::sin(central) * std::cos(turn), std::sin(central) * std::sin(turn), std::cos(central)};
      const double way[] = {at[0], at[1], at[2] - h};
      const double square = way[0] * way[0] + way[1] * way[1] + way[2] * way[2];
      const double leaves = std::max(0.0, way[0] * normal[0] + way[1] * normal[1] + way[2] * normal[2]);
      const double arrives = std::max(0.0, h * std::cos(central) - 1.0);
      const double lit = std::max(0.0, at[0] * sun[0] + at[1] * sun[1] + at[2] * sun[2]);
      sum += leaves * arrives * lit / (square * square) * std::sin(central) * (horizon / rings) * (pi / rings) / pi;
    }
  }
  return sum;
}

TEST(SunlitView, IsThatOfPatchesAtAnyTiltPhaseAndAzimuth) {
  constexpr int rings = 150;
  constexpr double of_patches = 5e-6;  // the midpoint rule extrapolated; what is left comes from patches cut by an edge
  for (const double h : {1.06, 1.5, 4.0}) {
    for (const double nadir : {0.0, 40.0, 75.0, 110.0}) {
      for (const double zenith : {0.0, 60.0, 95.0, 120.0}) {
        for (const double azimuth : {0.0, 100.0, 180.0, 300.0}) {
          const PlateView view{h, radians(nadir), radians(zenith), radians(azimuth)};
          const double extrapolated = (4.0 * patched(view, 2 * rings) - patched(view, rings)) / 3.0;
          EXPECT_NEAR(sunlit_view_factor(view), extrapolated, of_patches) << h << ' ' << nadir << ' ' << zenith << ' ' << azimuth;
        }
      }
    }
  }
}

TEST(SunlitView, OverAllSunsIsAQuarterOfTheWholeView) {
  // The mean of max(0, cos) over the sphere is 1/4, so this holds for any plate.
  for (const double nadir : {0.0, 60.0, 100.0}) {
    double sum = 0.0;
    constexpr int steps = 100;
    for (int i = 0; i < steps; ++i) {
      const double zenith = pi * (i + 0.5) / steps;
      for (int j = 0; j < steps; ++j) sum += sunlit_view_factor({1.3, radians(nadir), zenith, 2.0 * pi * (j + 0.5) / steps}) * std::sin(zenith);
    }
    constexpr double of_the_midpoint_rule = 1e-4;
    EXPECT_NEAR(sum * pi / steps / steps / 2.0, 0.25 * plate_to_sphere_view_factor(1.3, radians(nadir)), of_the_midpoint_rule);
  }
}

TEST(SunlitView, IsNothingBehindThePlanetOrWithThePlateTurnedAway) {
  EXPECT_EQ(sunlit_view_factor({1.2, 0.0, pi, 0.0}), 0.0);
  EXPECT_EQ(sunlit_view_factor({1.2, pi, 0.0, 0.0}), 0.0);
  EXPECT_GT(sunlit_view_factor({1.2, 0.0, radians(95.0), 0.0}), 1e-4) << "a lit limb past the terminator is still in sight";
}

TEST(PlateView, KnowsTheSunOnThePlate) {
  EXPECT_NEAR((PlateView{1.1, 0.0, 0.0, 0.0}).sun_cosine(), -1.0, 1e-15) << "looks down, the Sun above";
  EXPECT_NEAR((PlateView{1.1, pi, 0.0, 0.0}).sun_cosine(), 1.0, 1e-15);
  EXPECT_NEAR((PlateView{1.1, 0.5 * pi, 0.5 * pi, 0.0}).sun_cosine(), 1.0, 1e-15);
  EXPECT_NEAR((PlateView{1.1, 0.5 * pi, 0.5 * pi, pi}).sun_cosine(), -1.0, 1e-15);
}

}  // namespace tileflux::environment::planet_view_test
