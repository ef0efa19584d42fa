#pragma once
/// The states of ageing of a case: what they are called, what they do to the case, how fast they move.

#include <span>
#include <string>
#include <vector>

#include "tileflux/tile/tile_system.h"

namespace tileflux::tile {

/// Names of the states in order: `cells.remaining`, `<surface>.absorptance`, `<bank>.wear`. Empty without ageing.
std::vector<std::string> age_names(const Case& description);

/// The states of a case as it is described: remaining factor, absorptances, wear (0 when new).
std::vector<double> age_of(const Case& description);

/// Gives a case other states. Throws Error(name_unknown) if ageing refers to something that is not described.
void set_age(Case& description, std::span<const double> age);

/// Carries over to the states what a failure made of them: a finish that was degraded goes on ageing from there. Tells
/// which states were changed.
std::vector<bool> take_over(const Case& before, const Case& after, std::span<double> age);

/// Rates of the states in 1/s at a state of the tile, under its present mode.
void age_rates(const TileSystem& system, double time_s, std::span<const double> x, std::span<double> rate);

}  // namespace tileflux::tile
