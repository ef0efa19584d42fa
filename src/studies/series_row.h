#pragma once
/// One row of the series of a transient.

#include <span>
#include <vector>

#include "tileflux/studies/run.h"

namespace tileflux::studies {

/// Puts the values of a state together, in the order of series_columns().
class SeriesRow {
 public:
  void emit(RunSink& sink, const tile::TileSystem& system, double time_s, std::span<const double> x);

 private:
  std::vector<double> temperatures_;
};

}  // namespace tileflux::studies
