#pragma once
/// The files of a run: series.nc, series.csv, events.csv.

#include "tileflux/results/events.h"
#include "tileflux/results/files.h"
#include "tileflux/results/series.h"
#include "tileflux/studies/run.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::cli {

/// Writes what a run tells, as it tells it.
class RunFiles : public studies::RunSink {
 public:
  RunFiles(const results::OutputDirectory& directory, const tile::TileSystem& system);
  void row(const studies::RunRow& row) override;
  void event(const studies::RunEvent& event) override;
  void close();

 private:
  results::SeriesWriter series_;
  results::EventsWriter events_;
};

}  // namespace tileflux::cli
