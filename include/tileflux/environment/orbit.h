#pragma once
/// Orbits around a planet as the Sun sees them.
///
/// What sunlight and shadow depend on is the Sun's height above the orbit's plane (beta) and where periapsis stands
/// from noon; both follow from the usual elements and the direction to the Sun. Equations: Wertz, Mission Geometry;
/// Orbit and Constellation Design and Management (beta, eclipses); rates of node and periapsis by the oblateness:
/// Roddy, Satellite Communications, chapter 2.

#include "tileflux/environment/kepler.h"

namespace tileflux::environment {

/// Direction to the Sun in the frame in which the elements are given.
struct SunDirection {
  double right_ascension_rad = 0.0;
  double declination_rad = 0.0;
};

/// The Sun's direction in the planet's equator, from its longitude along the planet's year (0 at the equinox at which
/// it goes north) and the obliquity between equator and the planet's path.
SunDirection sun_direction(double longitude_rad, double obliquity_rad);

/// How an orbit's plane lies and where its periapsis is.
struct OrbitPlane {
  double inclination_rad = 0.0;
  double ascending_node_rad = 0.0;
  double argument_of_periapsis_rad = 0.0;
};

/// Height of the Sun above the orbit's plane, positive on the side from which the motion is counter-clockwise:
/// sin(beta) = cos d sin i sin(node - ra) + sin d cos i.
double beta_rad(const OrbitPlane& plane, const SunDirection& sun);

/// Angle along the motion from the ascending node to the orbit's noon, the point nearest to the Sun.
double noon_rad(const OrbitPlane& plane, const SunDirection& sun);

/// Where the plate is at an instant.
struct OrbitPoint {
  double distance_m = 0.0;      ///< from the planet's centre
  double from_noon_rad = 0.0;   ///< along the orbit
  double sun_zenith_rad = 0.0;  ///< at the planet's centre, between the directions to the plate and to the Sun; 0..pi
};

/// An orbit around a planet, with the Sun fixed in its frame: good for a revolution, or for a day at high orbits if the
/// period is taken relative to the Sun.
struct PlanetOrbit {
  Ellipse ellipse;
  double beta_rad = 0.0;
  double periapsis_from_noon_rad = 0.0;  ///< along the motion; of no matter for a circle but for the start

  OrbitPoint at(double time_s) const;
  OrbitPoint at_true_anomaly(double true_anomaly_rad) const;

  bool operator==(const PlanetOrbit&) const = default;
};

/// An orbit from its elements.
PlanetOrbit orbit_of(const Ellipse& ellipse, const OrbitPlane& plane, const SunDirection& sun);

/// A circular orbit that starts at noon. Throws Error(value_out_of_range) unless the altitude is above the surface.
PlanetOrbit circular_orbit(double gravitational_parameter_m3_per_s2, double planet_radius_m, double altitude_m,
                           double beta_rad);

/// An ellipse from its lowest and highest altitude, starting at periapsis. Throws Error(value_out_of_range) unless the
/// lowest is above the surface and not above the highest.
Ellipse ellipse_between(double gravitational_parameter_m3_per_s2, double planet_radius_m, double lowest_m,
                        double highest_m);

/// Mean rates, to first order in the planet's second zonal harmonic `oblateness` (J2; 1.0826e-3 for the Earth), which
/// belongs to `reference_radius_m`: k = 1.5 n J2 (R / p)^2, p the semi-latus rectum.
struct OblatenessRates {
  double ascending_node_rad_per_s = 0.0;  ///< -k cos i
  double periapsis_rad_per_s = 0.0;       ///< k (2 - 2.5 sin^2 i)
};
OblatenessRates oblateness_rates(const Ellipse& ellipse, double inclination_rad, double oblateness,
                                 double reference_radius_m);

/// How beta wanders as the Sun goes around (evenly, as from a circular path) and the node turns.
struct BetaOverTime {
  OrbitPlane plane;                  ///< at time 0
  double node_rate_rad_per_s = 0.0;  ///< from `oblateness_rates`
  double sun_longitude_rad = 0.0;    ///< at time 0, see `sun_direction`
  double sun_rate_rad_per_s = 0.0;   ///< 2 pi over the planet's year
  double obliquity_rad = 0.0;

  double at_rad(double time_s) const;

  /// The mean over time from one time to a later one, to 1e-6 rad for spans of up to a hundred turns of node or Sun.
  double mean_rad(double from_s, double to_s) const;
};

}  // namespace tileflux::environment
