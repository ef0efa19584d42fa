#pragma once
/// Plates in the sun over distance, with closed forms: sigma (0.85 + 0.88) T^4 = (0.9 - exported) S0 cos(tilt)/r^2 + heat.

#include <cmath>

#include "support/sample_tiles.h"
#include "tileflux/base/constants.h"

namespace tileflux::test {

inline constexpr double absorbed_share = 0.9, emitted_share = 0.85 + 0.88;

/// The sample plate, massless and with a limit.
inline tile::Case limited_plate(double below_K) {
  tile::Case plate = plate_in_the_sun();
  plate.limits.push_back({.node = "plate", .below_K = below_K});
  return plate;
}

inline tile::Case at_distance(tile::Case plate, double distance_AU) {
  plate.sun.distance_m = distance_AU * astronomical_unit_m;
  return plate;
}

/// Temperature of the plate at a distance in AU.
inline double plate_K(double distance_AU, double share = absorbed_share) {
  const double absorbed_W = share * solar_irradiance_at_1AU_W_per_m2 / (distance_AU * distance_AU);
  return std::pow(absorbed_W / (emitted_share * stefan_boltzmann_W_per_m2_K4), 0.25);
}

/// Distance in AU at which the plate has a temperature.
inline double distance_of_AU(double temperature_K, double share = absorbed_share) {
  return std::sqrt(share * solar_irradiance_at_1AU_W_per_m2 /
                   (emitted_share * stefan_boltzmann_W_per_m2_K4 * std::pow(temperature_K, 4.0)));
}

/// Tilt at which the plate has a temperature.
inline double tilt_of_rad(double temperature_K, double distance_AU, double share = absorbed_share) {
  const double ratio = distance_AU / distance_of_AU(temperature_K, share);
  return std::acos(ratio * ratio);
}

/// Cells of 40 % and a laser of 25 % that takes all they give: 10 % of the sunlight met leaves as light.
inline void export_a_tenth(tile::Case& plate) {
  plate.cells = tile::Cells{.surface = "front", .node = "plate", .efficiency = 0.4};
  plate.lasers = {{.name = "bank", .mount = "plate", .devices = {1, devices::EfficiencyLaw{1e5, {300.0}, {1.0}, {0.25}}}, .resistance_K_per_W = 1e-3}};
  plate.beam = tile::Beam{};
}

}  // namespace tileflux::test
