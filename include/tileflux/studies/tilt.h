#pragma once
/// How far a tile must turn from the Sun to keep its upper limits.

#include <optional>

#include "tileflux/studies/limits.h"
#include "tileflux/tile/case.h"

namespace tileflux::studies {

/// The smallest tilt from 0 to 90 deg at which the steady states keep every upper limit, both with the beam off and
/// with it on at the commanded drive, without throttle. The case's own tilt, or law by which it tilts, does not count.
struct TiltNeeded {
  enum class Need {
    no_limit,  ///< the case has no upper limit
    not_free,  ///< a course, an attitude to a planet or stow windows say how the tile is turned
    none,      ///< facing the Sun every upper limit is kept
    tilted,    ///< `tilt_rad` keeps them
    too_cold,  ///< `tilt_rad` keeps them, but `limit`, a lower one, is broken there
    in_vain,   ///< not even edge-on are they kept
  };
  Need need = Need::no_limit;
  double tilt_rad = 0.0;
  bool beam = false;            ///< which state asks for it: beam on or off
  std::optional<Margin> limit;  ///< the limit that asks for it; where it is too cold, the lower one that forbids it
  std::optional<double> off_rad, on_rad;  ///< what each state asks for alone; none: in vain, or no beam
};

/// A state that is not found is too hot. Throws Error: node_isolated and what a TileSystem throws.
TiltNeeded tilt_needed(const tile::Case& description);

}  // namespace tileflux::studies
