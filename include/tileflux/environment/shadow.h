#pragma once
/// A planet's shadow: umbra and penumbra by geometry of two spheres, and when an orbit passes through them.
///
/// Left out: refraction and dust in an atmosphere, flattening of the planet, darkening of the solar disc towards its
/// limb, the time that light takes.

#include <optional>
#include <vector>

#include "tileflux/environment/orbit.h"

namespace tileflux::environment {

/// The Sun's radius. IAU 2015 Resolution B3 (nominal).
inline constexpr double sun_radius_m = 695700e3;

/// Half the angle of the solar disc at a distance: asin(R / d).
double solar_disc_rad(double sun_distance_m);

/// The two bodies that make a shadow.
struct ShadowCaster {
  double planet_radius_m = 0.0;
  double sun_distance_m = 0.0;  ///< from the planet
};

/// Which edge of the shadow. `cylinder`: the Sun taken as infinitely far, which is half-way between the two.
enum class ShadowEdge { umbra, penumbra, cylinder };

/// Half the angle, at the planet's centre, that the shadow takes up at a distance from it: asin(R/r) less the umbra's,
/// more the penumbra's cone angle, asin((Rs -+ R)/d). Negative beyond the umbra's tip. Throws Error(value_out_of_range)
/// inside the planet.
double shadow_half_angle_rad(const ShadowCaster& caster, ShadowEdge edge, double distance_m);

/// Share of a circular orbit's revolution within that edge: acos(cos(half angle) / cos(beta)) / pi, 0 where the orbit
/// passes beside it.
double circular_shadow_share(const ShadowCaster& caster, ShadowEdge edge, double distance_m, double beta_rad);

/// Share 0..1 of the solar disc that is seen past the planet, with both limbs as the circles they are on the sky: the
/// stereographic picture about the Sun's centre keeps them circles, whose common area is exact; the picture's change of
/// scale over the solar disc is below 1e-5 at 1 AU. 1 in full sun, 0 in the umbra, never 0 beyond its tip. The solar
/// disc is uniform.
double solar_disc_seen(const ShadowCaster& caster, const OrbitPoint& point);

/// From entry to exit in seconds.
struct Interval {
  double entry_s = 0.0, exit_s = 0.0;
  double duration_s() const { return exit_s - entry_s; }
};

/// One passage through the shadow.
struct ShadowPass {
  Interval penumbra;              ///< includes the umbra
  std::optional<Interval> umbra;  ///< not in every passage
};

/// The passages of the revolution that starts at time 0, in order of entry: entries lie in the period [0, T), an exit
/// may lie after its end. Times are exact to 1e-6 s. Empty if the orbit stays in the sun. Throws
/// Error(value_out_of_range) for an orbit that touches the planet.
std::vector<ShadowPass> shadow_passes(const PlanetOrbit& orbit, const ShadowCaster& caster);

}  // namespace tileflux::environment
