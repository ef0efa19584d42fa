#include "tileflux/environment/planet.h"

#include <algorithm>
#include <cmath>

#include "tileflux/base/errors.h"

namespace tileflux::environment {

namespace {

/// Infrared as a part that is the same everywhere and a part that goes with the cosine of the Sun's zenith angle.
struct InfraredParts {
  double everywhere_W_per_m2, at_noon_W_per_m2;
};
InfraredParts parts_of(const Planet& planet, double irradiance_W_per_m2) {
  if (const auto* uniform = std::get_if<UniformInfrared>(&planet.infrared)) return {uniform->exitance_W_per_m2, 0.0};
  const double night = std::get<SubSolarInfrared>(planet.infrared).night_exitance_W_per_m2;
  const double at_noon = (1.0 - planet.albedo) * irradiance_W_per_m2 - 4.0 * night;
  if (at_noon < 0.0)
    throw Error(Code::value_out_of_range, "the infrared of the night side is more than the body absorbs on average");
  return {night, at_noon};
}

double exitance_of(const std::variant<UniformInfrared, SubSolarInfrared>& infrared) {
  if (const auto* uniform = std::get_if<UniformInfrared>(&infrared)) return uniform->exitance_W_per_m2;
  return std::get<SubSolarInfrared>(infrared).night_exitance_W_per_m2;
}

}  // namespace

Ellipse Planet::heliocentric() const {
  return {sun_gravitational_parameter_m3_per_s2, sun_semi_major_axis_m, sun_eccentricity, 0.0};
}

void Planet::require_sound() const {
  if (!(radius_m > 0.0 && gravitational_parameter_m3_per_s2 > 0.0))
    throw Error(Code::value_out_of_range, "radius and gravitational parameter of a planet must be positive");
  if (!(albedo >= 0.0 && albedo <= 1.0)) throw Error(Code::value_out_of_range, "an albedo lies between 0 and 1");
  if (!(exitance_of(infrared) >= 0.0))
    throw Error(Code::value_out_of_range, "a planet's infrared must not be negative");
  heliocentric().require_sound();
}

double infrared_exitance_W_per_m2(const Planet& planet, double irradiance_W_per_m2, double sun_zenith_rad) {
  const InfraredParts parts = parts_of(planet, irradiance_W_per_m2);
  return parts.everywhere_W_per_m2 + parts.at_noon_W_per_m2 * std::max(0.0, std::cos(sun_zenith_rad));
}

double mean_infrared_exitance_W_per_m2(const Planet& planet, double irradiance_W_per_m2) {
  const InfraredParts parts = parts_of(planet, irradiance_W_per_m2);
  return parts.everywhere_W_per_m2 + 0.25 * parts.at_noon_W_per_m2;
}

PlanetFlux planet_flux(const Planet& planet, const PlateView& view, double irradiance_W_per_m2, AlbedoMethod method) {
  const InfraredParts parts = parts_of(planet, irradiance_W_per_m2);
  const double whole = plate_to_sphere_view_factor(view.distance_over_radius, view.nadir_angle_rad);
  const bool integrated = method == AlbedoMethod::sunlit_part || parts.at_noon_W_per_m2 > 0.0;
  const double sunlit = integrated ? sunlit_view_factor(view) : 0.0;
  const double lit =
      method == AlbedoMethod::sunlit_part ? sunlit : whole * std::max(0.0, std::cos(view.sun_zenith_rad));
  return {parts.everywhere_W_per_m2 * whole + parts.at_noon_W_per_m2 * sunlit,
          planet.albedo * irradiance_W_per_m2 * lit};
}

}  // namespace tileflux::environment
