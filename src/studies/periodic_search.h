#pragma once
/// The search for the state that a cycle repeats.

#include <vector>

#include "studies/cycle.h"

namespace tileflux::studies {

struct SearchOptions {
  /// False: plain cycles, stopped on the same estimate of the distance. What the solved answer is held against.
  bool preconditioned = true;
  int most_cycles = 60;
};

/// How a search ended.
enum class SearchEnd {
  found,
  not_found,
  heaters_go_on,  ///< thermostats switch too often, or never in the same pattern
  trips_go_on
};

struct SearchResult {
  SearchEnd end = SearchEnd::not_found;
  PeriodicState state;  ///< of `found`; else its error_K alone holds
};

/// The state that a search begins with: the averaged tile's, or where trips prevent one, that of the case.
std::vector<double> first_state(tile::TileSystem& system, const CycleSettings& settings);

/// Steps x + (I - M)^-1 (cycle(x) - x) with the linearised map M of a cycle that was run, worked out anew where the
/// steps do not shrink tenfold; half-hearted and then plain cycles where a step leads away. A charge whose multiplier
/// is 1 goes to the end that it drifts to, and between two charges that drift towards each other. Stops when the step,
/// an estimate of the distance to the periodic state, is below ten times the absolute accuracy (K, and % of charge).
SearchResult search_periodic(tile::TileSystem& system, const CycleSettings& settings, std::vector<double> guess,
                             const SearchOptions& options = {});

}  // namespace tileflux::studies
