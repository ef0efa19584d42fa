#pragma once
/// What a planet or an airless body does to a flat plate: infrared and reflected sunlight.

#include <variant>

#include "tileflux/environment/kepler.h"
#include "tileflux/environment/planet_view.h"

namespace tileflux::environment {

/// The same infrared everywhere, day and night: a body with air and clouds.
struct UniformInfrared {
  double exitance_W_per_m2 = 0.0;
  bool operator==(const UniformInfrared&) const = default;
};

/// Infrared that follows the Sun: night + ((1 - albedo) S - 4 night) max(0, cos z), z the Sun's zenith angle at the
/// place. With night = 0 the law of a body without heat storage, (1 - albedo) S cos z; with any other night the body
/// still radiates just what it absorbs, (1 - albedo) S / 4 on average.
struct SubSolarInfrared {
  double night_exitance_W_per_m2 = 0.0;
  bool operator==(const SubSolarInfrared&) const = default;
};

/// A planet or moon as a sphere. Values with sources: materials/bodies.yaml.
struct Planet {
  double radius_m = 0.0;
  double gravitational_parameter_m3_per_s2 = 0.0;
  double sun_semi_major_axis_m = 0.0;
  double sun_eccentricity = 0.0;
  double albedo = 0.0;  ///< share of the sunlight that is reflected, to all sides and over all wavelengths (Bond)
  std::variant<UniformInfrared, SubSolarInfrared> infrared = UniformInfrared{};

  /// Its way around the Sun, from perihelion.
  Ellipse heliocentric() const;

  /// Throws Error(value_out_of_range): a size or gravity that is not positive, an albedo outside 0..1, infrared below
  /// zero.
  void require_sound() const;

  bool operator==(const Planet&) const = default;
};

/// Infrared that leaves the ground where the Sun stands at a zenith angle. Throws Error(value_out_of_range) where a
/// night exitance exceeds the mean of what is absorbed.
double infrared_exitance_W_per_m2(const Planet& planet, double irradiance_W_per_m2, double sun_zenith_rad);

/// The mean over the sphere.
double mean_infrared_exitance_W_per_m2(const Planet& planet, double irradiance_W_per_m2);

/// How reflected sunlight is found.
enum class AlbedoMethod {
  /// Albedo x S x view factor of the whole planet x max(0, cos z) with z below the plate: the usual estimate. Right
  /// close
  /// to the surface; it is 3/2 too high from afar at full phase, nothing past the terminator where a lit limb is
  /// still in sight, and knows no azimuth: a plate that looks to the night side gets as much as one that looks to the
  /// day side.
  zenith_cosine,
  /// Integral over the sunlit part in sight, which reflects equally in all directions.
  sunlit_part,
};

/// What arrives on a plate, in W per m2 of one side, before absorptance and emittance.
struct PlanetFlux {
  double infrared_W_per_m2 = 0.0;
  double albedo_W_per_m2 = 0.0;
};

/// `irradiance_W_per_m2` is that of the Sun at the planet. Infrared that follows the Sun is always integrated over the
/// part in sight.
PlanetFlux planet_flux(const Planet& planet, const PlateView& view, double irradiance_W_per_m2,
                       AlbedoMethod method = AlbedoMethod::sunlit_part);

}  // namespace tileflux::environment
