#pragma once
/// On and off over time, with the exact times of the edges.

#include <limits>

#include "tileflux/tile/case.h"

namespace tileflux::tile {

inline constexpr double never_s = std::numeric_limits<double>::infinity();

/// Whether the pattern is on just after `time_s`. A time within round-off of an edge counts as after it.
bool is_on_after(const TimePattern& pattern, double time_s);

/// The first edge later than `time_s` (by more than round-off), or never_s.
double next_edge_after(const TimePattern& pattern, double time_s);

}  // namespace tileflux::tile
