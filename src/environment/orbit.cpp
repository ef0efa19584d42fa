#include "tileflux/environment/orbit.h"

#include <algorithm>
#include <cmath>

#include "tileflux/base/errors.h"

namespace tileflux::environment {

SunDirection sun_direction(double longitude_rad, double obliquity_rad) {
  const double north = std::sin(obliquity_rad) * std::sin(longitude_rad);
  return {std::atan2(std::cos(obliquity_rad) * std::sin(longitude_rad), std::cos(longitude_rad)),
          std::asin(std::clamp(north, -1.0, 1.0))};
}

double beta_rad(const OrbitPlane& plane, const SunDirection& sun) {
  const double sine = std::cos(sun.declination_rad) * std::sin(plane.inclination_rad) *
                          std::sin(plane.ascending_node_rad - sun.right_ascension_rad) +
                      std::sin(sun.declination_rad) * std::cos(plane.inclination_rad);
  return std::asin(std::clamp(sine, -1.0, 1.0));
}

double noon_rad(const OrbitPlane& plane, const SunDirection& sun) {
  // The Sun's components along the node and, in the plane, a quarter turn further.
  const double turned = sun.right_ascension_rad - plane.ascending_node_rad;
  const double along = std::cos(sun.declination_rad) * std::cos(turned);
  const double ahead = std::cos(sun.declination_rad) * std::sin(turned) * std::cos(plane.inclination_rad) +
                       std::sin(sun.declination_rad) * std::sin(plane.inclination_rad);
  return std::atan2(ahead, along);
}

OrbitPoint PlanetOrbit::at_true_anomaly(double true_anomaly_rad) const {
  OrbitPoint point;
  point.distance_m = ellipse.distance_at_m(true_anomaly_rad);
  point.from_noon_rad = periapsis_from_noon_rad + true_anomaly_rad;
  // atan2 keeps its digits near the axis of the shadow, where the cosine has none.
  const double across = std::hypot(std::sin(beta_rad), std::cos(beta_rad) * std::sin(point.from_noon_rad));
  point.sun_zenith_rad = std::atan2(across, std::cos(beta_rad) * std::cos(point.from_noon_rad));
  return point;
}

OrbitPoint PlanetOrbit::at(double time_s) const { return at_true_anomaly(ellipse.true_anomaly_rad(time_s)); }

PlanetOrbit orbit_of(const Ellipse& ellipse, const OrbitPlane& plane, const SunDirection& sun) {
  ellipse.require_sound();
  return {ellipse, beta_rad(plane, sun), plane.argument_of_periapsis_rad - noon_rad(plane, sun)};
}

PlanetOrbit circular_orbit(double gravitational_parameter_m3_per_s2, double planet_radius_m, double altitude_m,
                           double beta_rad) {
  PlanetOrbit orbit;
  orbit.ellipse = ellipse_between(gravitational_parameter_m3_per_s2, planet_radius_m, altitude_m, altitude_m);
  orbit.beta_rad = beta_rad;
  return orbit;
}

Ellipse ellipse_between(double gravitational_parameter_m3_per_s2, double planet_radius_m, double lowest_m,
                        double highest_m) {
  if (!(lowest_m > 0.0)) throw Error(Code::value_out_of_range, "an orbit must lie above the surface");
  if (!(highest_m >= lowest_m))
    throw Error(Code::value_out_of_range, "an orbit's highest altitude must not lie below its lowest");
  const double semi_major_axis_m = planet_radius_m + 0.5 * (lowest_m + highest_m);
  const Ellipse ellipse{gravitational_parameter_m3_per_s2, semi_major_axis_m,
                        0.5 * (highest_m - lowest_m) / semi_major_axis_m, 0.0};
  ellipse.require_sound();
  return ellipse;
}

OblatenessRates oblateness_rates(const Ellipse& ellipse, double inclination_rad, double oblateness,
                                 double reference_radius_m) {
  ellipse.require_sound();
  const double semi_latus_rectum_m = ellipse.semi_major_axis_m * (1.0 - ellipse.eccentricity * ellipse.eccentricity);
  const double ratio = reference_radius_m / semi_latus_rectum_m;
  const double k = 1.5 * ellipse.mean_motion_rad_per_s() * oblateness * ratio * ratio;
  const double sine = std::sin(inclination_rad);
  return {-k * std::cos(inclination_rad), k * (2.0 - 2.5 * sine * sine)};
}

double BetaOverTime::at_rad(double time_s) const {
  OrbitPlane turned = plane;
  turned.ascending_node_rad += node_rate_rad_per_s * time_s;
  return beta_rad(turned, sun_direction(sun_longitude_rad + sun_rate_rad_per_s * time_s, obliquity_rad));
}

double BetaOverTime::mean_rad(double from_s, double to_s) const {
  if (!(to_s > from_s)) throw Error(Code::value_out_of_range, "a mean needs a later end than its beginning");
  // 200 a turn over a hundred turns: the midpoint rule is then right to 2e-7.
  constexpr int samples = 20000;
  double sum = 0.0;
  for (int i = 0; i < samples; ++i) sum += at_rad(from_s + (to_s - from_s) * (i + 0.5) / samples);
  return sum / samples;
}

}  // namespace tileflux::environment
