#pragma once
/// What `size` is asked of a case.

#include <optional>
#include <string>
#include <vector>

#include "tileflux/environment/sun.h"

namespace tileflux::tile {

/// Where a free variable of a radiator may lie.
struct Bounds {
  double least = 0.0;
  double most = 0.0;
};

/// The surroundings and age for which a tile is looked at.
struct Surroundings {
  bool end_of_life = false;
  environment::Sun sun;
};

/// What `size` is asked: one surface as the radiator, what is free in it, what it must hold, with which margins.
struct SizeSettings {
  enum class Minimise { mass, area };
  struct Cold {
    Surroundings at;
    bool beam = false;
    std::string heater;  ///< node that a heater warms
  };
  std::string surface;
  std::vector<std::string> hold;  ///< nodes whose `below` is held; empty: every `below` of the case
  std::optional<double> light_W;  ///< light to be reached with the beam on; then throttles may act
  Minimise minimise = Minimise::mass;
  Bounds area_m2;                     ///< of one face
  std::optional<Bounds> thickness_m;  ///< of the fin's sheet; none: as the case states it
  std::optional<Bounds> pitch_m;      ///< between two pipes, twice the fin's length; none: as the case states it
  bool either_face_count = false;     ///< one face or two, whichever is better; else as the case states it
  double pipe_kg_per_m = 0.0;         ///< pipe and its filling
  double other_kg_per_m2 = 0.0;       ///< what comes on top per area of one face: coating, fixtures
  /// Policy (SMC-S-016, 2014, 4.4.2): passive parts keep 11 K to their limit; a radiator has 10 % more area than
  /// computed before correlation; controlled heaters have 25 % more power than needed.
  double margin_K = 11.0;
  double area_margin = 0.10;
  double heater_margin = 0.25;
  Surroundings hot{true, {}};
  std::optional<Cold> cold;
};

}  // namespace tileflux::tile
