#include "cli/run_files.h"

namespace tileflux::cli {

namespace {

results::SeriesLayout layout_of(const tile::TileSystem& system) {
  results::SeriesLayout layout;
  layout.title = system.description().title;
  for (network::NodeId id = 0; id < system.network().node_count(); ++id)
    layout.parts.push_back(system.network().node(id).name);
  for (const studies::SeriesColumn& column : studies::series_columns()) {
    layout.scalars.push_back({std::string(column.name), std::string(column.unit), std::string(column.meaning)});
  }
  return layout;
}

}  // namespace

RunFiles::RunFiles(const results::OutputDirectory& directory, const tile::TileSystem& system)
    : series_(directory, layout_of(system)), events_(directory) {}

void RunFiles::row(const studies::RunRow& row) { series_.append(row.time_s, row.temperature_K, row.scalars); }

void RunFiles::event(const studies::RunEvent& event) {
  results::Event record{event.time_s, std::string(event.what), event.where, std::nullopt, ""};
  if (event.temperature_K > 0.0) {
    record.value = event.temperature_K;
    record.unit = "K";
  }
  events_.append(record);
}

void RunFiles::close() {
  series_.close();
  events_.close();
}

}  // namespace tileflux::cli
