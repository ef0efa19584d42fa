/// Fuzz target of what `show` and `report` read: any text is refused with a code, or gives a story whose tables and
/// charts fit together, and its page.

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <set>
#include <string>
#include <string_view>
#include <type_traits>
#include <variant>

#include "tileflux/base/errors.h"
#include "tileflux/report/page.h"
#include "tileflux/report/result_files.h"

using namespace tileflux;
using namespace tileflux::report;

namespace {

void require(bool holds) {
  if (!holds) std::abort();
}

void check(const Table& table) {
  for (const std::vector<Cell>& row : table.rows) require(row.size() == table.columns.size());
}

void check(const Chart& chart) {
  if (const auto* lines = std::get_if<LineChart>(&chart)) {
    for (const LineChart::Line& line : lines->lines) require(line.values.size() == lines->x.size());
  }
  if (const auto* map = std::get_if<HeatMap>(&chart)) require(map->values.size() == map->x.size() * map->y.size());
  if (const auto* flow = std::get_if<FlowChart>(&chart)) {
    for (const FlowChart::Link& link : flow->links) require(link.power_W > 0.0);
  }
}

void check(const Story& story) {
  std::set<std::string> ids;
  for (const Section& section : story.sections) {
    require(ids.insert(section.id).second);
    for (const Table& table : section.tables) check(table);
    if (section.chart) check(*section.chart);
  }
  for (const Table& table : story.provenance.numbers) check(table);
  require(!story.answer.empty());
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  try {
    const Story story = story_of({result_of_text(text, "fuzz.json")});
    check(story);
    if (page_available()) require(!page_of(story).empty());
  } catch (const Error& error) {
    require(!error.diagnostics().empty() && error.code() != Code::internal);
  }
  return 0;
}
