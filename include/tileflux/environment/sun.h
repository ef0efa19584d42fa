#pragma once
/// Sunlight at a distance, on a face that is tilted away from it.

#include <algorithm>
#include <cmath>

#include "tileflux/base/constants.h"

namespace tileflux::environment {

/// The Sun as a tile sees it. The tilt is the angle between the face's *normal* and the direction to the Sun: 0 faces
/// it.
struct Sun {
  double irradiance_at_1AU_W_per_m2 = solar_irradiance_at_1AU_W_per_m2;
  double distance_m = astronomical_unit_m;
  double tilt_rad = 0.0;

  /// Irradiance on a plane normal to the Sun: inverse square of the distance.
  double normal_irradiance_W_per_m2() const {
    const double distances = distance_m / astronomical_unit_m;
    return irradiance_at_1AU_W_per_m2 / (distances * distances);
  }

  /// Irradiance on the tilted face (Lambert's cosine law); none from behind.
  double irradiance_W_per_m2() const { return normal_irradiance_W_per_m2() * std::max(0.0, std::cos(tilt_rad)); }

  bool operator==(const Sun&) const = default;
};

/// Temperature of the microwave background that a surface sees in deep space. Fixsen 2009, The Astrophysical Journal
/// 707, 916: 2.72548 +/- 0.00057 K.
inline constexpr double deep_space_temperature_K = 2.72548;

}  // namespace tileflux::environment
