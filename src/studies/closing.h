#pragma once
/// Whether the energy books of a transient close.

#include <span>

#include "tileflux/studies/run.h"

namespace tileflux::studies {

/// The residual of the books spread over the heat capacity of the tile, in kelvin. Throws Error(ledger_open) where it
/// is more than round-off and more than transient_ledger_bound of what passed through; `what` is what did not close.
double close_books(const tile::TileSystem& system, const EnergyBooks& books, double end_s,
                   std::span<const double> end_x, const char* what);

}  // namespace tileflux::studies
