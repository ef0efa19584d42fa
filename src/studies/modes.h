#pragma once
/// The modes that studies put a tile into, and the tolerances that its case asks for.

#include "tileflux/solvers/transient.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::studies {

/// Share of time that each load of pattern kind is on; 0 for the others.
std::vector<double> mean_pattern_shares(const tile::Case& description);

/// Beam on or off at the commanded drive, patterned loads at their mean.
tile::Mode steady_mode(const tile::Case& description, bool beam, bool throttled);

/// The case's accuracy as the solver takes it, `finer` times tighter. Call with the system in a mode: energies are held
/// to what its power amounts to.
solvers::TransientOptions transient_options(const tile::TileSystem& system, double finer = 1.0);

}  // namespace tileflux::studies
