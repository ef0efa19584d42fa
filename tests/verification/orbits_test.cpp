/// Planets, orbits and shadows.
/// Plate and sphere: Howell, A Catalog of Radiation Heat Transfer Configuration Factors, B-43. Period: Kepler's third law.
/// Rates of node and periapsis: Roddy, Satellite Communications, examples 2.5 and 2.6. Eclipses: two spheres and their common
/// tangents; the classical cylinder where the row says so. Sizes and gravity of the Earth come from materials/bodies.yaml
/// where the row does not state its own. Closed forms are exact to round-off; eclipses are found to 1e-6 s; rows ask for 1e-7.

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "tileflux/base/constants.h"
#include "tileflux/environment/planet.h"
#include "tileflux/environment/shadow.h"
#include "tileflux/materials/library.h"
#include "verification/groups.h"

namespace tileflux::verification::orbits_test {

using namespace environment;
constexpr double pi = std::numbers::pi;
constexpr double day_s = 86400.0;
double radians(double degrees) { return degrees * pi / 180.0; }
double degrees(double radians) { return radians * 180.0 / pi; }

const materials::Body& earth() {
  static const materials::Library library = materials::read_library(TILEFLUX_PROJECT_DIR "/materials");
  return *library.body("earth");
}

const char* const plate_to_sphere = "environment::plate_to_sphere_view_factor";

PlanetOrbit low_orbit(double altitude_km, double beta_rad = 0.0) {
  return circular_orbit(earth().gravitational_parameter.value, earth().radius.value, altitude_km * 1e3, beta_rad);
}

/// An orbit with a stated size and period, which together say the gravity.
Ellipse timed(double semi_major_axis_m, double eccentricity, double period_s) {
  const double mean_motion = 2.0 * pi / period_s;
  return {mean_motion * mean_motion * std::pow(semi_major_axis_m, 3), semi_major_axis_m, eccentricity, 0.0};
}

Reproductions planet_factors() {
  Reproductions rows;
  const struct {
    char letter;
    double height_over_radius, angle_deg;
  } all[] = {{'a', 0.06271423772, 0}, {'b', 0.06271423772, 30}, {'c', 0.06271423772, 60}, {'d', 0.06271423772, 90}, {'e', 0.06271423772, 120},
             {'f', 0.06271423772, 150}, {'g', 0.1254284754, 60}, {'h', 0.1254284754, 90}, {'i', 1.0, 45}, {'j', 1.0, 90},
             {'k', 5.610729277, 0}, {'l', 5.610729277, 80}, {'m', 5.610729277, 95}};
  for (const auto& each : all) {
    rows.emplace_back(std::string("ENV-32") + each.letter, plate_to_sphere_view_factor(1.0 + each.height_over_radius, radians(each.angle_deg)), plate_to_sphere);
  }
  constexpr double near = 1e-12;
  rows.emplace_back("ENV-33a", small_sphere_to_sphere_view_factor((6378.137 + 400.0) / 6378.137), "environment::small_sphere_to_sphere_view_factor");
  rows.emplace_back("ENV-33d", plate_to_sphere_view_factor(1.0 + near, pi / 2.0), plate_to_sphere, "height over radius 1e-12");
  return rows;
}

Reproductions planet_fluxes() {
  const Planet planet{earth().radius.value, earth().gravitational_parameter.value, earth().sun_distance.value, earth().sun_eccentricity.value,
                      earth().albedo.mean.value, UniformInfrared{earth().infrared->mean.value}};
  const PlateView nadir{1.06271423772, 0.0, 0.0, 0.0};
  const PlanetFlux flux = planet_flux(planet, nadir, solar_irradiance_at_1AU_W_per_m2, AlbedoMethod::zenith_cosine);
  const char* through = "environment::planet_flux, materials library";
  return {{"ENV-26", earth().albedo.mean.value, "materials library"},
          {"ENV-33b", flux.albedo_W_per_m2, through, "by the cosine of the Sun's zenith angle below the plate"},
          {"ENV-33c", flux.infrared_W_per_m2, through}};
}

Reproductions orbits() {
  const char* third_law = "environment::Ellipse, materials library";
  const Ellipse sun_synchronous = timed(7192.3e3, 0.0011501, day_s / 14.23304826);
  // K1 of the row is 1.5 J2 R^2; any radius will do.
  constexpr double radius_m = 6378.137e3;
  const OblatenessRates rates = oblateness_rates(sun_synchronous, radians(98.6328), 66063.1704e6 / (1.5 * radius_m * radius_m), radius_m);
  const double node_deg_a_day = degrees(rates.ascending_node_rad_per_s) * day_s, periapsis_deg_a_day = degrees(rates.periapsis_rad_per_s) * day_s;
  const char* oblate = "environment::oblateness_rates";
  const char* stated = "gravity from the row's period and axis, J2 from its K1";
  return {{"ENV-35_400", low_orbit(400.0).ellipse.period_s(), third_law},
          {"ENV-35_550", low_orbit(550.0).ellipse.period_s(), third_law},
          {"ENV-35_800", low_orbit(800.0).ellipse.period_s(), third_law},
          {"ENV-35_1200", low_orbit(1200.0).ellipse.period_s(), third_law},
          {"ENV-35_35786", low_orbit(35786.035).ellipse.period_s(), third_law},
          {"ENV-37", node_deg_a_day, oblate, stated},
          {"ENV-37c", node_deg_a_day, oblate, stated},
          {"ENV-38", periapsis_deg_a_day, oblate, stated},
          {"ENV-38c", periapsis_deg_a_day, oblate, stated}};
}

double beta_deg(double declination_deg, double inclination_deg, double node_from_sun_deg) {
  return degrees(beta_rad({radians(inclination_deg), radians(node_from_sun_deg), 0.0}, {0.0, radians(declination_deg)}));
}

/// Half a season: how far from the equinox the shadow still reaches a geostationary orbit, in rad of the Sun's longitude.
double season_half_rad(double half_angle_rad) {
  double low = 0.0, high = 0.5 * pi;
  for (int i = 0; i < 60; ++i) {
    const double middle = 0.5 * (low + high);
    (beta_rad({}, sun_direction(middle, radians(23.44))) < half_angle_rad ? low : high) = middle;
  }
  return low;
}

constexpr double geostationary_m = 42164.17e3;

Reproductions sun_and_orbit() {
  const char* beta = "environment::beta_rad";
  return {{"ENV-48a", beta_deg(0.0, 51.6, 90.0), beta},
          {"ENV-48b", beta_deg(23.44, 51.6, 90.0), beta},
          {"ENV-48c", beta_deg(23.44, 0.0, 0.0), beta},
          {"ENV-48d", beta_deg(-23.44, 97.5, 262.5), beta},
          {"ENV-48e", beta_deg(10.0, 28.5, 200.0), beta},
          {"ENV-49", degrees(solar_disc_rad(astronomical_unit_m)), "environment::solar_disc_rad"}};
}

Reproductions eclipses() {
  const ShadowCaster caster{earth().radius.value, astronomical_unit_m};
  const char* share = "environment::circular_shadow_share";
  const char* cylinder = "the Sun infinitely far";
  const double wiki_s = 17280.0 * circular_shadow_share({6371e3, astronomical_unit_m}, ShadowEdge::cylinder, 12789e3, 0.0);
  Reproductions rows{{"ENV-40", wiki_s, share, cylinder}, {"ENV-40c", wiki_s, share, cylinder}};
  for (const char* altitude : {"400", "550", "800", "1200"}) {
    const double distance_m = low_orbit(std::stod(altitude)).ellipse.semi_major_axis_m;
    rows.emplace_back(std::string("ENV-42_") + altitude, degrees(shadow_half_angle_rad(caster, ShadowEdge::cylinder, distance_m)),
                      "environment::shadow_half_angle_rad, materials library", cylinder);
  }
  const Ellipse low = low_orbit(550.0).ellipse;
  rows.emplace_back("ENV-43", low.period_s() / 60.0 * circular_shadow_share(caster, ShadowEdge::cylinder, low.semi_major_axis_m, 0.0), share, cylinder);
  const PlanetOrbit geostationary{timed(geostationary_m, 0.0, day_s), 0.0, 0.0};
  const std::vector<ShadowPass> passes = shadow_passes(geostationary, caster);
  const double umbra_min = passes.at(0).umbra.value().duration_s() / 60.0, penumbra_min = passes.at(0).penumbra.duration_s() / 60.0;
  const char* found = "environment::shadow_passes";
  rows.emplace_back("ENV-44a", 1440.0 * circular_shadow_share(caster, ShadowEdge::cylinder, geostationary_m, 0.0), share, cylinder);
  rows.emplace_back("ENV-44b", umbra_min, found);
  rows.emplace_back("ENV-44c", penumbra_min, found);
  rows.emplace_back("ENV-45", umbra_min, found, "of a geostationary orbit at the equinox; the observatory's is inclined");
  rows.emplace_back("ENV-45c", umbra_min, found);
  const double season_rad = 2.0 * season_half_rad(shadow_half_angle_rad(caster, ShadowEdge::cylinder, geostationary_m));
  rows.emplace_back("ENV-46", degrees(season_rad) / 0.98565, "environment::beta_rad, sun_direction, shadow_half_angle_rad", "days by the row's mean motion of the Sun");
  return rows;
}

TEST(PlanetFactors, AreThoseOfAnElementAndASphere) { check_all(planet_factors()); }

TEST(PlanetFactors, AreRefusedForThePlatesOtherSide) { expect_refused("ENV-32c", plate_to_sphere_view_factor(1.06271423772, radians(120.0))); }

TEST(PlanetFluxes, AreThoseOfTheClosedForms) { check_all(planet_fluxes()); }

TEST(PlanetFluxes, AreRefusedForATiltedPlate) { expect_refused("ENV-33c", 238.0 * plate_to_sphere_view_factor(1.06271423772, radians(30.0))); }

TEST(Orbits, TurnAsKeplersLawAndTheWorkedExampleSay) { check_all(orbits()); }

TEST(Orbits, AreRefusedWithAnotherRadiusOrARetrogradeInclinationFlownForward) {
  expect_refused("ENV-35_400", circular_orbit(earth().gravitational_parameter.value, 6371e3, 400e3, 0.0).ellipse.period_s());
  const Ellipse ellipse = timed(7192.3e3, 0.0011501, day_s / 14.23304826);
  expect_refused("ENV-37", degrees(oblateness_rates(ellipse, radians(180.0 - 98.6328), 1.0826e-3, 6378.137e3).ascending_node_rad_per_s) * day_s);
}

TEST(SunAndOrbit, MeetAtTheAnglesOfTheRows) { check_all(sun_and_orbit()); }

TEST(SunAndOrbit, AreRefusedWithTheNodeOnTheOtherSide) { expect_refused("ENV-48e", beta_deg(10.0, 28.5, -200.0)); }

TEST(Eclipses, LastAsLongAsTheRowsSay) { check_all(eclipses()); }

TEST(Eclipses, AreRefusedWithTheWrongEdgeOfTheShadow) {
  const ShadowCaster caster{earth().radius.value, astronomical_unit_m};
  expect_refused("ENV-44b", 1440.0 * circular_shadow_share(caster, ShadowEdge::cylinder, geostationary_m, 0.0));
  expect_refused("ENV-44c", 1440.0 * circular_shadow_share(caster, ShadowEdge::umbra, geostationary_m, 0.0));
}

}  // namespace tileflux::verification::orbits_test
