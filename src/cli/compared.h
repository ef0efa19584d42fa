#pragma once
/// Two case files with what a comparison found, for people and for programs.

#include <functional>
#include <string>

#include "cli/invocation.h"
#include "tileflux/studies/compare.h"
#include "tileflux/tile/case_difference.h"

namespace tileflux::cli {

struct Compared {
  const tile::CasePair& cases;
  studies::Comparison result;  ///< its inputs are the differences of the tile, in their order

  std::size_t differences() const;  ///< of the tile: those of studies come behind them
  /// `sun.distance`, `surfaces.rear.finish and 2 more`.
  std::string name_of(const studies::ComparedPart& part) const;
};

/// With at most so many inputs in the table of contributions.
std::string print_compare(const Compared& compared, std::size_t most);
std::string json_compare(const Compared& compared);

/// Reads both cases, compares, prints, writes. Returns the exit status. Throws Error.
int compare_verb(const Invocation& wanted, const materials::Library& library,
                 const std::function<bool(double share)>& progress);

}  // namespace tileflux::cli
