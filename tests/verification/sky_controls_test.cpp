/// Negative controls of what moves in the sky of a tile: a tile fixed in space on an ellipse, a Sun that is partly behind a planet.
/// Each law passes its check as it is, and the same check refuses it with a wrong sign, a dropped term or quantities swapped. Checks
/// are rows, or closed forms that are derived here.

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "tileflux/base/constants.h"
#include "tileflux/tile/sky.h"
#include "verification/groups.h"
#include "verification/model.h"

namespace tileflux::verification::sky_controls_test {

constexpr double pi = std::numbers::pi;
constexpr double degree = pi / 180.0;
constexpr double sun_W_per_m2 = 1361.0;

/// An ellipse of 0.3 around the Sun whose start lies 40 deg past perihelion.
constexpr double eccentricity = 0.3, start_rad = 40.0 * degree, tilted_rad = 20.0 * degree;

/// Mean anomaly of a true one: tan(E/2) = sqrt((1 - e)/(1 + e)) tan(nu/2), M = E - e sin E; within half a turn of perihelion.
double mean_anomaly_rad(double true_anomaly_rad, double e = eccentricity) {
  const double E = 2.0 * std::atan(std::sqrt((1.0 - e) / (1.0 + e)) * std::tan(0.5 * true_anomaly_rad));
  return E - e * std::sin(E);
}

double angular_speed_rad_per_s() {
  return std::sqrt(environment::sun_gravitational_parameter_m3_per_s2 / std::pow(astronomical_unit_m, 3));
}

Model in_space(double tilt_rad, double e = eccentricity, tile::TiltLaw law = tile::TiltLaw::fixed_in_space) {
  Model model;
  model.sun(sun_W_per_m2, tilt_rad).massless("plate").sunlit("plate", 1.0, 0.9, 0.85).radiate("plate", 1.0, 0.88);
  model.description.sun_ellipse =
      environment::Ellipse{environment::sun_gravitational_parameter_m3_per_s2, astronomical_unit_m, e, mean_anomaly_rad(start_rad, e)};
  model.description.tilt_law = law;
  return model;
}

/// Sunlight that the front meets 60 deg of true anomaly after the start.
double met_later_W(Model model) {
  model.description.steady_at_s = (mean_anomaly_rad(start_rad + 60.0 * degree) - mean_anomaly_rad(start_rad)) / angular_speed_rad_per_s();
  return Steady(model).ledger().sunlight_met_W;
}

double met_on_average_W(const Model& model) { return Steady(model).ledger().sunlight_met_W; }

Controls fixed_in_space() {
  constexpr double e = eccentricity;
  const auto met_W = [](double tilt_rad) {
    const double over_r = (1.0 + e * std::cos(start_rad + 60.0 * degree)) / (1.0 - e * e);
    return sun_W_per_m2 * over_r * over_r * std::cos(tilt_rad);
  };
  // The Sun moves around the tile as the tile moves around the Sun: the tilt is |20 deg - 60 deg|, and 90 deg where nu is 150 deg.
  const double mean_turn = mean_anomaly_rad(start_rad + 60.0 * degree) - mean_anomaly_rad(start_rad);
  const auto edge_s = [](const Model& model) { return tile::Sky(model.description).next_edge_s(0.0); };
  const double edge_rad = mean_anomaly_rad(150.0 * degree) - mean_anomaly_rad(start_rad);
  // Over a year of T: dt/r^2 = dnu/h with T h = 2 pi a^2 sqrt(1 - e^2), and the cosine of the lit half turn sums to 2.
  const double mean_W = sun_W_per_m2 / (pi * std::sqrt(1.0 - e * e));
  constexpr double simpson = 1e-8;  // 512 stretches of a year: h^4/2880 of what is summed
  Model both = in_space(tilted_rad);
  both.description.surfaces.front().facing = tile::Surface::Facing::both;
  both.description.surfaces.front().area_m2 = 2.0;
  return {by_form("fixed in space on an ellipse", "S (a/r)^2 cos(nu - nu0 - tilt), 60 deg on", met_W(40.0 * degree), met_later_W(in_space(tilted_rad)),
                  {{"wrong sign of the turn", met_later_W(in_space(-tilted_rad))},
                   {"turn dropped: fixed to the Sun", met_later_W(in_space(tilted_rad, e, tile::TiltLaw::fixed))},
                   {"mean anomaly for the true one", met_W(mean_turn - tilted_rad)},
                   {"start dropped: turned since perihelion", met_W(100.0 * degree - tilted_rad)},
                   {"ellipse dropped", met_later_W(in_space(tilted_rad, 0.0))}}),
          by_form("fixed in space, when it stands edge-on", "(M(nu0 + tilt + 90 deg) - M(nu0))/n", edge_rad / angular_speed_rad_per_s(), edge_s(in_space(tilted_rad)),
                  {{"wrong sign of the tilt", edge_s(in_space(-tilted_rad))},
                   {"mean anomaly for the true one", 110.0 * degree / angular_speed_rad_per_s()},
                   {"ellipse dropped", edge_s(in_space(tilted_rad, 0.0))},
                   {"start dropped", mean_anomaly_rad(150.0 * degree) / angular_speed_rad_per_s()}}),
          by_form("fixed in space, mean of a year", "S/(pi sqrt(1 - e^2)) whatever the tilt", mean_W, met_on_average_W(in_space(tilted_rad)),
                  {{"turn dropped: fixed to the Sun", met_on_average_W(in_space(tilted_rad, e, tile::TiltLaw::fixed))},
                   {"ellipse dropped", met_on_average_W(in_space(tilted_rad, 0.0))},
                   {"wrong sign: lit from behind as well", met_on_average_W(both)},
                   {"root dropped", sun_W_per_m2 / (pi * (1.0 - e * e))}},
                  simpson)};
}

/// Row ENV-44c: 1440 min around the Earth at 42164.17 km, in the plane of the Sun.
constexpr double planet_m = 6378.137e3, orbit_m = 42164.17e3, day_s = 86400.0;

Model orbiting(double distance_m = orbit_m) {
  Model model;
  model.sun(sun_W_per_m2).massless("plate").sunlit("plate", 1.0, 0.9, 0.85);
  const double motion = 2.0 * pi / day_s, gravity = motion * motion * std::pow(distance_m, 3);
  tile::Orbit orbit;
  orbit.body = "planet";
  orbit.planet = {planet_m, gravity, astronomical_unit_m, 0.0, 0.3, environment::UniformInfrared{0.0}};
  orbit.path.ellipse = {gravity, distance_m, 0.0, 0.0};
  model.description.orbit = orbit;
  return model;
}

/// Angle at the planet's centre from the Sun to a place from which both centres stand `apart` from each other: the third angle of
/// the triangle, by the law of sines.
double zenith_rad(double apart_rad) { return pi - apart_rad - std::asin(orbit_m * std::sin(apart_rad) / astronomical_unit_m); }

double solar_radius_rad(double apart_rad) {
  return environment::solar_disc_rad(astronomical_unit_m * std::sin(zenith_rad(apart_rad)) / std::sin(apart_rad));
}

/// Sunlight of a share of the solar disc, over S, where both centres stand `apart` from each other, through the orbit.
double met_share(double from_noon_rad) { return tile::Sky(orbiting().description).at(from_noon_rad / (2.0 * pi) * day_s, false).front_sun_W_per_m2 / sun_W_per_m2; }

/// Share of the solar disc (radius s) past a planet (radius P) whose centre stands c from the Sun's, P < c < P + s: of a ring of
/// radius rho around the Sun's centre the arc with cos(phi) > (cos P - cos c cos rho)/(sin c sin rho) is hidden (law of cosines),
/// nothing of it below c - P. Simpson's rule over u with rho = c - P + (s - c + P) u^2, in which the arc begins smoothly.
double seen_by_rings(double c, double P, double s) {
  constexpr int intervals = 2000;
  const double inner = c - P;
  double hidden = 0.0;
  for (int i = 0; i <= intervals; ++i) {
    const double u = static_cast<double>(i) / intervals, rho = inner + (s - inner) * u * u;
    const double cosine = (std::cos(P) - std::cos(c) * std::cos(rho)) / (std::sin(c) * std::sin(rho));
    const double arc = std::acos(std::min(1.0, cosine)) / pi;
    hidden += (i == 0 || i == intervals ? 1.0 : i % 2 == 1 ? 4.0 : 2.0) * arc * std::sin(rho) * 2.0 * (s - inner) * u;
  }
  return 1.0 - hidden / (3.0 * intervals) / (1.0 - std::cos(s));
}

/// The same past a straight limb: a circle's segment.
double seen_past_line(double inner, double s) {
  const double half = std::acos(inner / s);
  return 1.0 - (half - std::sin(half) * std::cos(half)) / pi;
}

Controls partly_hidden() {
  const double P = std::asin(planet_m / orbit_m), middle_s = solar_radius_rad(P), bend = middle_s / (3.0 * pi * std::tan(P));
  // With the planet's limb through the Sun's centre the hidden half turn of a ring is acos(cot P tan(rho/2)), about pi/2 - cot P rho/2;
  // rho is 2 s/3 on average. The next term is 1e-7.
  const double on_limb = met_share(zenith_rad(P));
  const double apart = P + 0.5 * middle_s, s = solar_radius_rad(apart), quarter = met_share(zenith_rad(apart));
  constexpr double next_term = 1e-6, scale = 1e-5;  // the picture's change of scale over the solar disc
  const auto minutes = [](double half_angle_rad) { return 1440.0 * half_angle_rad / pi; };
  const environment::ShadowPass pass = environment::shadow_passes(orbiting().description.orbit->path, {planet_m, astronomical_unit_m}).front();
  constexpr double beyond_m = 1e10;
  const environment::ShadowCaster caster{planet_m, astronomical_unit_m};
  const double small = planet_m / beyond_m, large = environment::sun_radius_m / (astronomical_unit_m + beyond_m);
  return {by_row("penumbra", "ENV-44c", tile::Sky(orbiting().description).shadow_s() / 60.0,
                 {{"umbra alone", pass.umbra->duration_s() / 60.0},
                  {"size of the Sun dropped", minutes(P)},
                  {"wrong sign of the planet in the cone", minutes(P + std::asin((environment::sun_radius_m - planet_m) / astronomical_unit_m))},
                  {"another distance", tile::Sky(orbiting(1.01 * orbit_m).description).shadow_s() / 60.0}}),
          by_form("Sun partly behind a planet, limb through its centre", "1/2 + s cot(P)/(3 pi)", 0.5 + bend, on_limb,
                  {{"wrong sign of the limb's bend", 0.5 - bend},
                   {"bend of the limb dropped", 0.5},
                   {"the hidden share", 1.0 - on_limb},
                   {"Sun endlessly far", met_share(pi - P)}},
                  next_term),
          by_form("Sun partly behind a planet, a quarter of its diameter", "arcs of rings around the Sun's centre, by quadrature", seen_by_rings(apart, P, s), quarter,
                  {{"wrong sign: the limb on the other side of its centre", met_share(zenith_rad(P - 0.5 * middle_s))},
                   {"bend of the limb dropped", seen_past_line(apart - P, s)},
                   {"share of the diameter, not of the area", 0.75},
                   {"radius and half of it swapped", seen_by_rings(apart, P, 0.75 * s)}},
                  scale),
          by_form("Sun around a small planet", "1 - (planet/Sun)^2", 1.0 - std::pow(small / large, 2), environment::solar_disc_seen(caster, {beyond_m, pi, pi}),
                  {{"ring dropped: dark", 0.0},
                   {"square dropped", 1.0 - small / large},
                   {"wrong sign: the hidden share", std::pow(small / large, 2)},
                   {"the Sun's distance from the planet for that from the plate", 1.0 - std::pow(small / (environment::sun_radius_m / astronomical_unit_m), 2)}},
                  scale)};
}

Controls controls() {
  Controls all = fixed_in_space();
  for (const Control& more : partly_hidden()) all.push_back(more);
  return all;
}

TEST(SkyControls, PassAsTheyAreAndAreRefusedWithAFault) { check_all(controls()); }

}  // namespace tileflux::verification::sky_controls_test
