#pragma once
/// How much of a planet, and of its sunlit part, a small flat plate sees at any tilt.

namespace tileflux::environment {

/// View factor from a small flat plate to a sphere: `distance_over_radius` from the plate to the sphere's *centre* (>
/// 1), `angle` between the plate's normal and the direction to the centre, 0..pi. Partly below the plate's horizon
/// included (Howell, A Catalog of Radiation Heat Transfer Configuration Factors, B-43). Throws
/// Error(value_out_of_range) inside.
double plate_to_sphere_view_factor(double distance_over_radius, double angle_rad);

/// View factor from a small sphere to a large one: (1 - sqrt(1 - (R/r)^2)) / 2, the share of the sky that it fills.
double small_sphere_to_sphere_view_factor(double distance_over_radius);

/// A plate beside a planet in the Sun.
struct PlateView {
  double distance_over_radius = 2.0;  ///< from the plate to the planet's centre
  double nadir_angle_rad = 0.0;       ///< between the plate's normal and the direction to the planet's centre, 0..pi
  double sun_zenith_rad = 0.0;        ///< at the planet's centre between the plate and the Sun, 0..pi
  double sun_azimuth_rad = 0.0;       ///< about the vertical, from the normal's to the Sun's azimuth

  /// Cosine of the angle between the plate's normal and the Sun (infinitely far); negative from behind.
  double sun_cosine() const;
};

/// View factor to a planet that radiates in proportion to the cosine of the Sun's zenith angle where it is lit and not
/// at all where it is dark: the integral of max(0, cos(zenith)) over the view factor. For a planet seen from afar 2/3
/// of 1/r^2 at full phase; near the surface cos(zenith) times the whole view factor. Azimuth in closed form, the rest
/// by Gauss-Legendre between the edges; error below 1e-8. Throws Error(value_out_of_range) inside the planet.
double sunlit_view_factor(const PlateView& view);

}  // namespace tileflux::environment
