#include "tileflux/environment/shadow.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "tileflux/base/constants.h"
#include "tileflux/base/errors.h"

namespace tileflux::environment::shadow_test {

constexpr double pi = std::numbers::pi;
constexpr double earth_gravity = 3.986004418e14, earth_radius_m = 6378137.0;
constexpr ShadowCaster earth{earth_radius_m, astronomical_unit_m};
constexpr double asked_s = 1e-6;
double radians(double degrees) { return degrees * pi / 180.0; }

/// The share of the solar disc that is seen by counting points of the disc on the sphere of directions.
double counted_share(const ShadowCaster& caster, const OrbitPoint& point, int rings) {
  const double r = point.distance_m, zenith = point.sun_zenith_rad;
  // The planet's centre is the origin, the Sun on the x axis.
  const double plate[] = {r * std::cos(zenith), r * std::sin(zenith)};
  const double to_sun[] = {caster.sun_distance_m - plate[0], -plate[1]};
  const double distance = std::hypot(to_sun[0], to_sun[1]);
  const double disc = std::asin(sun_radius_m / distance);
  const double axis[] = {to_sun[0] / distance, to_sun[1] / distance}, across[] = {-axis[1], axis[0]};
  const double limb_cosine = std::sqrt(1.0 - std::pow(caster.planet_radius_m / r, 2));
  double seen = 0.0, all = 0.0;
  for (int i = 0; i < rings; ++i) {
    const double angle = disc * (i + 0.5) / rings;
    const int around = 4 * rings;
    for (int j = 0; j < around; ++j) {
      const double turn = 2.0 * pi * (j + 0.5) / around;
      const double x = std::cos(angle) * axis[0] + std::sin(angle) * std::cos(turn) * across[0];
      const double y = std::cos(angle) * axis[1] + std::sin(angle) * std::cos(turn) * across[1];
      const double to_planet_cosine = -(x * plate[0] + y * plate[1]) / r;
      all += std::sin(angle);
      if (to_planet_cosine < limb_cosine) seen += std::sin(angle);
    }
  }
  return seen / all;
}

/// The point at which the share of the edge's way from umbra to penumbra is passed.
OrbitPoint in_penumbra(const ShadowCaster& caster, double distance_m, double share) {
  const double umbra = shadow_half_angle_rad(caster, ShadowEdge::umbra, distance_m);
  const double penumbra = shadow_half_angle_rad(caster, ShadowEdge::penumbra, distance_m);
  return {distance_m, 0.0, pi - (umbra + share * (penumbra - umbra))};
}

TEST(SolarDisc, IsCoveredAsPointsOnItSay) {
  constexpr int rings = 600;
  constexpr double counting = 3e-4;  // points next to the limb, 600 rings
  for (const double distance_m : {6.5e6, 7e6, 4.2e7, 3.8e8, 1.2e9}) {
    for (const double share : {0.1, 0.35, 0.5, 0.65, 0.9}) {
      const OrbitPoint point = in_penumbra(earth, distance_m, share);
      EXPECT_NEAR(solar_disc_seen(earth, point), counted_share(earth, point, rings), counting) << distance_m << ' ' << share;
    }
  }
}

TEST(SolarDisc, IsSeenWhollyAtTheOuterEdgeAndNotAtAllAtTheInnerOne) {
  constexpr double hair = 1e-9, continuous = 1e-9;
  for (const double distance_m : {6.5e6, 7e6, 4.2e7, 3.8e8}) {
    EXPECT_EQ(solar_disc_seen(earth, in_penumbra(earth, distance_m, 1.0 + hair)), 1.0);
    EXPECT_EQ(solar_disc_seen(earth, in_penumbra(earth, distance_m, -hair)), 0.0);
    EXPECT_NEAR(solar_disc_seen(earth, in_penumbra(earth, distance_m, 1.0 - hair)), 1.0, continuous);
    EXPECT_NEAR(solar_disc_seen(earth, in_penumbra(earth, distance_m, hair)), 0.0, continuous);
  }
}

TEST(SolarDisc, IsHalfSeenWhenACloseStraightLimbPassesItsCentre) {
  // Close to a planet its limb is nearly straight over the small disc, and half-way the disc is halved; the bend of the limb
  // takes part of the disc's own radius.
  const double straightness = 0.4 * solar_disc_rad(astronomical_unit_m);
  EXPECT_NEAR(solar_disc_seen(earth, in_penumbra(earth, 6.6e6, 0.5)), 0.5, straightness);
}

TEST(SolarDisc, ShowsARingBehindASmallPlanet) {
  // From 1e10 m behind the Earth its disc is smaller than the Sun's: what is left is 1 - (ratio of the radii)^2.
  constexpr double distance_m = 1e10;
  const OrbitPoint point{distance_m, pi, pi};
  EXPECT_LT(shadow_half_angle_rad(earth, ShadowEdge::umbra, distance_m), 0.0) << "beyond the umbra's tip";
  const double sun = std::asin(sun_radius_m / (astronomical_unit_m + distance_m)), planet = std::asin(earth_radius_m / distance_m);
  constexpr double scale = 1e-5;  // change of scale in the picture
  EXPECT_NEAR(solar_disc_seen(earth, point), 1.0 - std::pow(planet / sun, 2), scale);
}

TEST(SolarDisc, IsSeenAllTheDay) {
  for (const double zenith : {0.0, 0.5, 1.0, 1.5}) EXPECT_EQ(solar_disc_seen(earth, {7e6, 0.0, zenith}), 1.0);
}

TEST(Shadow, TakesTheClosedFormOfACircularOrbit) {
  for (const double altitude_m : {4e5, 8e5, 1.2e6, 3.5786e7}) {
    for (const double beta : {0.0, 5.0, -8.0, 30.0, 55.0}) {
      const PlanetOrbit orbit = circular_orbit(earth_gravity, earth_radius_m, altitude_m, radians(beta));
      const double r = orbit.ellipse.semi_major_axis_m, period_s = orbit.ellipse.period_s();
      const std::vector<ShadowPass> passes = shadow_passes(orbit, earth);
      const double penumbra_s = period_s * circular_shadow_share(earth, ShadowEdge::penumbra, r, orbit.beta_rad);
      const double umbra_s = period_s * circular_shadow_share(earth, ShadowEdge::umbra, r, orbit.beta_rad);
      if (penumbra_s == 0.0) {
        EXPECT_TRUE(passes.empty()) << altitude_m << ' ' << beta;
        continue;
      }
      ASSERT_EQ(passes.size(), 1u) << altitude_m << ' ' << beta;
      EXPECT_NEAR(passes[0].penumbra.duration_s(), penumbra_s, asked_s);
      EXPECT_NEAR(passes[0].penumbra.entry_s, 0.5 * (period_s - penumbra_s), asked_s) << "the orbit starts at noon";
      ASSERT_EQ(passes[0].umbra.has_value(), umbra_s > 0.0);
      if (passes[0].umbra) { EXPECT_NEAR(passes[0].umbra->duration_s(), umbra_s, asked_s); }
    }
  }
}

TEST(Shadow, IsFoundWhereTheOrbitOnlyGrazesIt) {
  PlanetOrbit orbit = circular_orbit(earth_gravity, earth_radius_m, 6e5, 0.0);
  const double edge = shadow_half_angle_rad(earth, ShadowEdge::penumbra, orbit.ellipse.semi_major_axis_m);
  for (const double start : {0.0, 0.3, 1.0, 3.14159, 4.0}) {  // the graze anywhere between the samples
    orbit.ellipse.mean_anomaly_at_start_rad = start;
    orbit.beta_rad = edge - 1e-7;
    const std::vector<ShadowPass> passes = shadow_passes(orbit, earth);
    ASSERT_EQ(passes.size(), 1u) << start;
    const double expected_s = orbit.ellipse.period_s() * circular_shadow_share(earth, ShadowEdge::penumbra, orbit.ellipse.semi_major_axis_m, orbit.beta_rad);
    constexpr double grazing_s = 1e-4;  // round-off of the angle over the small slope of a graze
    EXPECT_NEAR(passes[0].penumbra.duration_s(), expected_s, grazing_s);
    EXPECT_FALSE(passes[0].umbra.has_value());
    orbit.beta_rad = edge + 1e-7;
    EXPECT_TRUE(shadow_passes(orbit, earth).empty()) << start;
  }
}

TEST(Shadow, OfAnEllipseIsEnteredAndLeftWhereTheDiscIsJustTouched) {
  PlanetOrbit orbit{{earth_gravity, 2.6e7, 0.7, 0.4}, radians(12.0), radians(130.0)};
  const std::vector<ShadowPass> passes = shadow_passes(orbit, earth);
  ASSERT_EQ(passes.size(), 1u);
  ASSERT_TRUE(passes[0].umbra.has_value());
  const auto seen = [&](double time_s) { return solar_disc_seen(earth, orbit.at(time_s)); };
  EXPECT_EQ(seen(passes[0].penumbra.entry_s - asked_s), 1.0);
  EXPECT_LT(seen(passes[0].penumbra.entry_s + 1e-2), 1.0) << "a hundredth of a second hides 1e-6 of the disc";
  EXPECT_EQ(seen(passes[0].umbra->entry_s + asked_s), 0.0);
  EXPECT_GT(seen(passes[0].umbra->entry_s - 1e-2), 0.0);
  EXPECT_EQ(seen(passes[0].umbra->exit_s - asked_s), 0.0);
  EXPECT_EQ(seen(passes[0].penumbra.exit_s + asked_s), 1.0);
  EXPECT_LT(passes[0].penumbra.entry_s, passes[0].umbra->entry_s);
  EXPECT_LT(passes[0].umbra->exit_s, passes[0].penumbra.exit_s);
}

TEST(Shadow, LastsLongerAtTheFarEndOfAnEllipse) {
  PlanetOrbit orbit{{earth_gravity, 2.6e7, 0.7, 0.0}, 0.0, 0.0};
  const double low_s = shadow_passes({orbit.ellipse, 0.0, pi}, earth).at(0).penumbra.duration_s();
  const double high_s = shadow_passes(orbit, earth).at(0).penumbra.duration_s();
  EXPECT_GT(high_s, 2.0 * low_s);
}

TEST(Shadow, ThatHoldsTheStartIsEnteredBeforeTheRevolutionEnds) {
  PlanetOrbit orbit = circular_orbit(earth_gravity, earth_radius_m, 5e5, 0.0);
  orbit.ellipse.mean_anomaly_at_start_rad = pi;  // midnight
  const std::vector<ShadowPass> passes = shadow_passes(orbit, earth);
  const double period_s = orbit.ellipse.period_s();
  ASSERT_EQ(passes.size(), 1u);
  EXPECT_LT(passes[0].penumbra.entry_s, period_s);
  EXPECT_GT(passes[0].penumbra.exit_s, period_s);
  EXPECT_NEAR(passes[0].penumbra.entry_s + passes[0].penumbra.exit_s, 2.0 * period_s, asked_s) << "symmetric about midnight";
}

TEST(Shadow, IsRefusedForAnOrbitThroughThePlanet) {
  EXPECT_THROW(shadow_passes({{earth_gravity, 7e6, 0.2, 0.0}, 0.0, 0.0}, earth), Error);
  EXPECT_THROW(shadow_half_angle_rad(earth, ShadowEdge::umbra, 6e6), Error);
}

TEST(Shadow, CylinderLiesBetweenUmbraAndPenumbra) {
  const double umbra = circular_shadow_share(earth, ShadowEdge::umbra, 7e6, 0.2), penumbra = circular_shadow_share(earth, ShadowEdge::penumbra, 7e6, 0.2);
  const double cylinder = circular_shadow_share(earth, ShadowEdge::cylinder, 7e6, 0.2);
  EXPECT_LT(umbra, cylinder);
  EXPECT_LT(cylinder, penumbra);
  constexpr double half_way = 1e-4;
  EXPECT_NEAR(cylinder, 0.5 * (umbra + penumbra), half_way);
}

}  // namespace tileflux::environment::shadow_test
