#pragma once
/// What a case says about where the tile flies and how it turns. Times count from the start of the case.

#include <optional>
#include <string>
#include <vector>

#include "tileflux/environment/orbit.h"
#include "tileflux/environment/planet.h"

namespace tileflux::tile {

/// Distance from the Sun and tilt over time, straight between rows. Outside the table nothing is known.
struct Course {
  std::vector<double> time_s;
  std::vector<double> distance_m;  ///< empty: the distance of `sun`
  std::vector<double> tilt_rad;    ///< empty: the tilt law's

  bool operator==(const Course&) const = default;
};

/// How the tilt comes about, where no table of tilts says it.
enum class TiltLaw {
  fixed,           ///< as stated, from the direction to the Sun
  fixed_in_space,  ///< as stated at the start; then the Sun moves around the tile as the tile moves around the Sun
  hold,            ///< grows with the temperature of a node
};

/// The tile turns away from the Sun as a node warms: from the stated tilt at `below_K - band_K` and colder to
/// `most_tilt_rad` at `below_K` and warmer, in proportion between.
struct TiltHold {
  std::string node;
  double below_K = 0.0;
  double band_K = 1.0;
  double most_tilt_rad = 1.57079632679489662;

  bool operator==(const TiltHold&) const = default;
};

/// From when to when something holds.
struct TimeWindow {
  double from_s = 0.0;
  double to_s = 0.0;

  bool operator==(const TimeWindow&) const = default;
};

/// A revolution around a planet or moon, with the Sun fixed in its frame.
struct Orbit {
  /// What the front is kept to.
  enum class Attitude {
    sun,               ///< the Sun, by the tilt; turned from it towards the orbit's north
    away_from_planet,  ///< the zenith
    to_planet,         ///< the nadir
  };
  std::string body;  ///< its name, for people
  environment::Planet planet;
  environment::PlanetOrbit path;
  Attitude attitude = Attitude::sun;
  environment::AlbedoMethod albedo = environment::AlbedoMethod::sunlit_part;

  bool operator==(const Orbit&) const = default;
};

}  // namespace tileflux::tile
