/// Fuzz target of timetables: any three tables of requests, of times without light and of the course of the Sun, parted
/// by lines `====`, beside a sound case. They are refused with findings, or give a timetable that holds together.

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string>
#include <string_view>

#include "fuzz/fuzz_files.h"
#include "tileflux/materials/library.h"
#include "tileflux/tile/case_reader.h"
#include "tileflux/tile/schedule.h"

using namespace tileflux;
using namespace tileflux::tile;

namespace {

constexpr const char* case_text = R"(tileflux: 1
title: Tables from strangers
sun: {course: {file: course.csv}}
parts:
  plate: {heat_capacity: 2 kJ/K}
surfaces:
  face: {on: plate, area: 1 m2, emittance: 85 %, absorptance: 90 %, sunlit: yes}
cells: {surface: face, on: plate, efficiency: 30 %, slope: -0.2 %/K}
lasers:
  main: {mount: plate, resistance: 0.5 K/W, modules: 4, table: {rated_input: 80 W, efficiency: 50 %}}
campaign: {file: requests.csv, keep_out_file: keep_out.csv}
run: {duration: 1 day}
)";

void require(bool holds) {
  if (!holds) std::abort();
}

/// The first pieces follow each other without a gap, and what is open in one is open all through it.
void check(const Timetable& timetable) {
  constexpr long pieces_looked_at = 5000;
  double time_s = -1.0;
  for (long k = 0; k < pieces_looked_at && time_s != never_s; ++k, time_s = timetable.next_edge_after(time_s)) {
    const long piece = timetable.piece_at(time_s);
    require(timetable.begin_s(piece) < timetable.end_s(piece));
    // Edges closer than round-off are one.
    const double slack_s = 1e-6 * (1.0 + std::abs(time_s));
    for (const std::size_t open : timetable.open(piece)) {
      const Occurrence& one = timetable.occurrences().at(open);
      require(one.begin_s <= timetable.begin_s(piece) + slack_s && one.end_s >= timetable.end_s(piece) - slack_s);
    }
  }
  timetable.repeats_until(0.0, 3600.0);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const materials::Library library = materials::read_library(TILEFLUX_PROJECT_DIR "/materials");
  static const std::filesystem::path folder = fuzz::folder("timetable");
  const auto tables = fuzz::parts({reinterpret_cast<const char*>(data), size}, 3);
  fuzz::write(folder / "requests.csv", tables[0]);
  fuzz::write(folder / "keep_out.csv", tables[1]);
  fuzz::write(folder / "course.csv", tables[2]);
  try {
    const CaseFile file = read_case_text(case_text, (folder / "case.yaml").string(), library);
    check(Timetable(file.description.campaign.value(), file.description.run.duration_s));
    check(Timetable(file.description.campaign.value(), never_s));
  } catch (const Error& error) {
    require(!error.diagnostics().empty() && error.code() != Code::internal);
  }
  return 0;
}
