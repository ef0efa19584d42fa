#pragma once
/// Two case files with what a comparison found, for those who print it.

#include <string>

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

}  // namespace tileflux::cli
