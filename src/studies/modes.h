#pragma once
/// The modes that studies put a tile into.

#include "tileflux/tile/tile_system.h"

namespace tileflux::studies {

/// Share of time that each load of pattern kind is on; 0 for the others.
std::vector<double> mean_pattern_shares(const tile::Case& description);

/// Beam on or off at the commanded drive, patterned loads at their mean.
tile::Mode steady_mode(const tile::Case& description, bool beam, bool throttled);

}  // namespace tileflux::studies
