#include "tileflux/tile/sky.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "support/sample_tiles.h"
#include "tileflux/tile/schedule.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::tile::sky_test {

constexpr double pi = std::numbers::pi;
constexpr double degree = pi / 180.0;
constexpr double sun_W_per_m2 = 1361.0;
/// A few operations on doubles.
constexpr double round_off = 1e-14;

template <class Action>
Code code_of(const Action& action) {
  try {
    action();
  } catch (const Error& error) {
    return error.code();
  }
  ADD_FAILURE() << "nothing was refused";
  return Code::internal;
}

Case at_one_AU(double tilt_deg) {
  Case description = test::plate_in_the_sun();
  description.sun.tilt_rad = tilt_deg * degree;
  return description;
}

/// Around the Earth at 550 km, by the numbers of its radius and gravity.
Case low_orbit(double beta_deg, Orbit::Attitude attitude = Orbit::Attitude::sun) {
  Case description = at_one_AU(0.0);
  Orbit orbit;
  orbit.body = "earth";
  orbit.planet = {6378137.0, 3.98600436e14, 1.495978871e11, 0.0167, 0.298, environment::UniformInfrared{238.0}};
  orbit.path = environment::circular_orbit(3.98600436e14, 6378137.0, 550e3, beta_deg * degree);
  orbit.attitude = attitude;
  description.orbit = orbit;
  return description;
}

TEST(Sky, OfAFixedDistanceNeverChanges) {
  const Sky sky(at_one_AU(60.0));
  EXPECT_TRUE(sky.constant());
  EXPECT_EQ(sky.next_edge_s(0.0), never_s);
  EXPECT_FALSE(sky.period_s());
  const SkyState state = sky.at(1e6, false);
  EXPECT_NEAR(state.front_sun_W_per_m2, 0.5 * sun_W_per_m2, sun_W_per_m2 * round_off);
  EXPECT_EQ(state.rear_sun_W_per_m2, 0.0);
  EXPECT_EQ(state.front_infrared_W_per_m2, 0.0);
}

TEST(Sky, LightsTheRearOfATileThatLooksAway) {
  const SkyState state = Sky(at_one_AU(120.0)).at(0.0, false);
  EXPECT_EQ(state.front_sun_W_per_m2, 0.0);
  EXPECT_NEAR(state.rear_sun_W_per_m2, 0.5 * sun_W_per_m2, sun_W_per_m2 * round_off);
  EXPECT_EQ(state.cells_W_per_m2, 0.0);
}

TEST(Sky, OnAnEllipseFollowsTheInverseSquareOfKeplersDistance) {
  Case description = at_one_AU(0.0);
  description.sun_ellipse = environment::Ellipse{.semi_major_axis_m = astronomical_unit_m, .eccentricity = 0.3};
  const Sky sky(description);
  // A year of 365.25 days but for the constants of Kepler's third law.
  EXPECT_NEAR(*sky.period_s() / 86400.0, 365.2569, 1e-3);
  EXPECT_NEAR(sky.at(0.0, false).front_sun_W_per_m2, sun_W_per_m2 / 0.49, 1e-9);
  EXPECT_NEAR(sky.at(0.5 * *sky.period_s(), false).front_sun_W_per_m2, sun_W_per_m2 / 1.69, 1e-9);
  // Mean of 1/r^2 over time: 1 / (a^2 sqrt(1 - e^2)), from the constant areal velocity.
  EXPECT_NEAR(sky.mean(1.0).front_sun_W_per_m2, sun_W_per_m2 / std::sqrt(0.91), 1e-6);
}

TEST(Sky, FixedInSpaceIsLitFromBehindHalfAYearLater) {
  Case description = at_one_AU(0.0);
  description.sun_ellipse = environment::Ellipse{.semi_major_axis_m = astronomical_unit_m};
  description.tilt_law = TiltLaw::fixed_in_space;
  const Sky sky(description);
  EXPECT_NEAR(sky.at(0.25 * *sky.period_s(), false).tilt_rad, 0.5 * pi, 1e-9);
  EXPECT_NEAR(sky.at(0.5 * *sky.period_s(), false).rear_sun_W_per_m2, sun_W_per_m2, 1e-6);
  EXPECT_NEAR(sky.mean(1.0).front_sun_W_per_m2, sun_W_per_m2 / pi, 1e-6);
}

TEST(Sky, OfACourseIsStraightBetweenRowsAndUnknownOutside) {
  Case description = at_one_AU(0.0);
  description.course = Course{{0.0, 100.0, 300.0}, {1e11, 2e11, 1e11}, {0.0, 1.0, 1.0}};
  const Sky sky(description);
  EXPECT_NEAR(sky.at(50.0, false).sun_distance_m, 1.5e11, 1.0);
  EXPECT_NEAR(sky.at(50.0, false).tilt_rad, 0.5, round_off);
  EXPECT_NEAR(sky.at(200.0, false).sun_distance_m, 1.5e11, 1.0);
  EXPECT_EQ(sky.next_edge_s(0.0), 100.0);
  EXPECT_EQ(sky.next_edge_s(100.0), 300.0);
  EXPECT_EQ(sky.next_edge_s(300.0), never_s);
  EXPECT_EQ(code_of([&] { sky.at(301.0, false); }), Code::value_out_of_range);
  EXPECT_FALSE(sky.period_s());
}

TEST(Sky, RefusesACourseThatRunsBackwardsOrHasAColumnTooShort) {
  Case description = at_one_AU(0.0);
  description.course = Course{{0.0, 100.0, 100.0}, {}, {0.0, 1.0, 1.0}};
  EXPECT_EQ(code_of([&] { Sky sky(description); }), Code::table_not_rising);
  description.course = Course{{0.0, 100.0}, {1e11}, {}};
  EXPECT_EQ(code_of([&] { Sky sky(description); }), Code::table_shape);
}

TEST(Sky, StowedMeetsNoSunInItsWindow) {
  Case description = at_one_AU(0.0);
  description.stow = {{100.0, 200.0}, {500.0, 600.0}};
  const Sky sky(description);
  EXPECT_FALSE(sky.stowed_after(99.0));
  EXPECT_TRUE(sky.stowed_after(100.0));
  EXPECT_FALSE(sky.stowed_after(200.0));
  EXPECT_EQ(sky.next_edge_s(0.0), 100.0);
  EXPECT_EQ(sky.next_edge_s(100.0), 200.0);
  EXPECT_EQ(sky.next_edge_s(200.0), 500.0);
  EXPECT_EQ(sky.at(150.0, true).front_sun_W_per_m2, 0.0);
  EXPECT_NEAR(sky.at(150.0, true).tilt_rad, 0.5 * pi, round_off);
  EXPECT_NEAR(sky.mean(1000.0).front_sun_W_per_m2, 0.8 * sun_W_per_m2, 1e-9);
}

TEST(Sky, InALowOrbitIsDarkForTheShareThatTheCylinderGivesButForThePenumbra) {
  const Sky sky(low_orbit(20.0));
  const double ratio = 6378137.0 / 6928137.0;
  const double half = std::acos(std::sqrt(1.0 - ratio * ratio) / std::cos(20.0 * degree));
  // Half of the penumbra, 8 s of 2096 s, lies outside the cylinder on each side.
  EXPECT_NEAR(sky.shadow_s(), half / pi * *sky.period_s(), 15.0);
  EXPECT_GT(sky.shadow_s(), half / pi * *sky.period_s());
  EXPECT_EQ(sky.at(0.5 * *sky.period_s(), false).front_sun_W_per_m2, 0.0);
  EXPECT_EQ(sky.at(3.5 * *sky.period_s(), false).seen, 0.0);
  EXPECT_NEAR(sky.mean(1.0).seen, 1.0 - half / pi, 1e-4);
}

TEST(Sky, StopsAtTheFourEdgesOfTheShadowOnEveryRevolution) {
  const Sky sky(low_orbit(0.0));
  double time_s = 0.0;
  std::vector<double> edges;
  for (int i = 0; i < 8; ++i) edges.push_back(time_s = sky.next_edge_s(time_s));
  for (int i = 0; i < 4; ++i)
    EXPECT_NEAR(edges[static_cast<std::size_t>(i + 4)] - edges[static_cast<std::size_t>(i)], *sky.period_s(), 1e-9);
  constexpr double beside_s = 1e-3;
  EXPECT_EQ(sky.at(edges[0] - beside_s, false).seen, 1.0);
  EXPECT_LT(sky.at(edges[0] + beside_s, false).seen, 1.0);
  EXPECT_GT(sky.at(edges[1] - beside_s, false).seen, 0.0);
  EXPECT_EQ(sky.at(edges[1] + beside_s, false).seen, 0.0);
  EXPECT_GT(sky.at(edges[2] + beside_s, false).seen, 0.0);
  EXPECT_EQ(sky.at(edges[3] + beside_s, false).seen, 1.0);
}

TEST(Sky, OverThePolesOfTheTerminatorHasNoShadow) {
  const Sky sky(low_orbit(75.0));
  EXPECT_EQ(sky.shadow_s(), 0.0);
  EXPECT_EQ(sky.next_edge_s(0.0), never_s);
}

TEST(Sky, GivesTheFluxesOfThePlanetAtTheFacesThatTheTiltTurnsToIt) {
  // At noon a front that faces the Sun looks away from the planet and the rear looks down on it.
  const Case description = low_orbit(0.0);
  const Sky sky(description);
  const SkyState noon = sky.at(0.0, false);
  const double squeeze = std::pow(6378137.0 / 6928137.0, 2.0);
  EXPECT_NEAR(noon.rear_infrared_W_per_m2, 238.0 * squeeze, 1e-3);
  EXPECT_NEAR(noon.front_infrared_W_per_m2, 0.0, 1e-3);
  EXPECT_GT(noon.rear_albedo_W_per_m2, 0.298 * sun_W_per_m2 * squeeze * 0.9);
  // At midnight it is the other way round, and nothing is reflected.
  const SkyState midnight = sky.at(0.5 * *sky.period_s(), false);
  EXPECT_NEAR(midnight.front_infrared_W_per_m2, 238.0 * squeeze, 1e-3);
  EXPECT_NEAR(midnight.front_albedo_W_per_m2, 0.0, 1e-6);
}

TEST(Sky, InterpolatesTheFluxesOfThePlanet) {
  const Case description = low_orbit(35.0);
  const Sky sky(description);
  const Orbit& orbit = *description.orbit;
  double worst = 0.0;
  for (int i = 0; i < 500; ++i) {
    const double time_s = *sky.period_s() * (i + 0.37) / 500.0;
    const environment::OrbitPoint point = orbit.path.at(time_s);
    // The front faces the Sun: its normal and the Sun have the same azimuth.
    const environment::PlateView view{point.distance_m / orbit.planet.radius_m, pi - point.sun_zenith_rad, point.sun_zenith_rad, 0.0};
    const environment::PlanetFlux flux = environment::planet_flux(orbit.planet, view, sun_W_per_m2);
    const SkyState state = sky.at(time_s, false);
    worst = std::max({worst, std::abs(state.front_albedo_W_per_m2 - flux.albedo_W_per_m2), std::abs(state.front_infrared_W_per_m2 - flux.infrared_W_per_m2)});
  }
  // 0.005 % of what is reflected where the lit limb comes into sight; hundred times less elsewhere.
  EXPECT_LT(worst, 0.02);
}

TEST(Sky, KeepsTheFrontToZenithOrNadir) {
  const Sky zenith(low_orbit(0.0, Orbit::Attitude::away_from_planet)), nadir(low_orbit(0.0, Orbit::Attitude::to_planet));
  EXPECT_NEAR(zenith.at(0.0, false).tilt_rad, 0.0, 1e-9);
  EXPECT_NEAR(nadir.at(0.0, false).tilt_rad, pi, 1e-9);
  EXPECT_NEAR(nadir.at(0.0, false).rear_sun_W_per_m2, sun_W_per_m2, 1e-6);
  const double sixth_s = *zenith.period_s() / 6.0;
  EXPECT_NEAR(zenith.at(sixth_s, false).front_sun_W_per_m2, 0.5 * sun_W_per_m2, 1e-6);
  EXPECT_NEAR(zenith.at(sixth_s, false).rear_infrared_W_per_m2, nadir.at(sixth_s, false).front_infrared_W_per_m2, 1e-9);
}

TEST(Sky, RefusesWaysThatExcludeEachOtherAndOrbitsBelowTheSurface) {
  Case both = low_orbit(0.0);
  both.course = Course{{0.0, 1.0}, {1e11, 1e11}, {}};
  EXPECT_EQ(code_of([&] { Sky sky(both); }), Code::key_conflict);
  Case low = low_orbit(0.0);
  low.orbit->path.ellipse.semi_major_axis_m = 6.3e6;
  EXPECT_EQ(code_of([&] { Sky sky(low); }), Code::value_out_of_range);
  Case turning = low_orbit(0.0);
  turning.tilt_law = TiltLaw::hold;
  EXPECT_EQ(code_of([&] { Sky sky(turning); }), Code::key_conflict);
}

TEST(TileInAMovingSky, AsksForTheTime) {
  Case description = low_orbit(0.0);
  description.surfaces[1].facing = Surface::Facing::rear;
  TileSystem system(description);
  system.set_mode({});
  const std::vector<double> x = system.uniform_state(300.0);
  EXPECT_EQ(code_of([&] { system.ledger(x); }), Code::internal);
  const double night_s = 0.5 * *system.sky_period_s();
  EXPECT_EQ(system.ledger(night_s, x, {}).absorbed_W, 0.0);
  EXPECT_NEAR(system.ledger(0.0, x, {}).absorbed_W, 0.9 * sun_W_per_m2, 1e-9);
  Mode rest;
  rest.surroundings = Mode::Surroundings::instant;
  rest.instant_s = night_s;
  system.set_mode(rest);
  EXPECT_EQ(system.ledger(x).absorbed_W, 0.0);
  EXPECT_GT(system.ledger(x).planet_W, 100.0);
}

TEST(TileThatTurnsAway, HoldsTheTemperatureOfTheTradesTable) {
  // Tilt that holds 350 K with a tenth of the sunlight met exported as light: 83.0, 77.5, 70.2, 48.5 deg at 0.3, 0.4,
  // 0.5, 0.7 AU. The export is a lower absorptance here: it is the same share of the sunlight met.
  for (const auto& [distance_AU, tilt_deg] : {std::pair{0.3, 83.0}, {0.4, 77.5}, {0.5, 70.2}, {0.7, 48.5}}) {
    Case description = at_one_AU(0.0);
    description.sun.distance_m = distance_AU * astronomical_unit_m;
    description.surfaces.front().absorptance = 0.8;
    description.tilt_law = TiltLaw::hold;
    description.hold = TiltHold{"plate", 350.0, 1e-3, 0.5 * pi};
    TileSystem system(description);
    system.set_mode({});
    // Solved by halving: the balance falls as the plate warms.
    double cold_K = 349.0, warm_K = 351.0;
    for (int i = 0; i < 60; ++i) {
      const double middle_K = 0.5 * (cold_K + warm_K);
      const std::vector<double> x = system.uniform_state(middle_K), still(x.size(), 0.0);
      std::vector<double> heat(x.size());
      ASSERT_TRUE(system.residual(0.0, x, still, heat));
      (heat[0] > 0.0 ? cold_K : warm_K) = middle_K;
    }
    EXPECT_NEAR(system.sky(system.uniform_state(cold_K)).tilt_rad / degree, tilt_deg, 0.05) << distance_AU;  // as printed
    EXPECT_NEAR(cold_K, 350.0, 1e-3);
  }
}

}  // namespace tileflux::tile::sky_test
