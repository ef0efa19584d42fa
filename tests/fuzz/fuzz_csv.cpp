/// Fuzz target of the CSV reader: any text is read as a table with columns of every kind. Beyond crashes it checks what
/// must hold for every text.

#include <cmath>
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string_view>
#include <vector>

#include "tileflux/input/csv_table.h"

using namespace tileflux;
using namespace tileflux::input;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const std::vector<CsvColumn> columns{
      {.name = "time", .type = QuantityType{{"s"}}, .rising = true},
      {.name = "tilt", .type = QuantityType{{"rad"}, {0.0, 3.2}}, .required = false, .filled = false},
      {.name = "share", .type = QuantityType{{"1"}}, .required = false},
      {.name = "times", .type = CountType{1, 1000}, .required = false, .filled = false},
      {.name = "name", .type = NameType{}, .required = false}};
  constexpr CsvBounds bounds{.bytes = 1u << 16, .most_rows = 200, .most_columns = 10};
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  std::vector<Diagnostic> findings;
  const CsvTable table = parse_csv(text, "fuzz.csv", columns, findings, bounds);
  for (const Diagnostic& finding : findings) {
    if (finding.message.empty() || finding.place.line < 0 || finding.code == Code::internal) std::abort();
    if (describe(finding).empty()) std::abort();
  }
  if (table.rows() > bounds.most_rows) std::abort();
  const std::vector<double>& times_s = table.numbers("time");
  if (times_s.size() != table.rows() || table.names("name").size() != table.rows()) std::abort();
  if (!findings.empty()) return 0;
  // Without findings a required column is whole and rises.
  for (std::size_t i = 0; i < times_s.size(); ++i) {
    if (!std::isfinite(times_s[i]) || (i > 0 && times_s[i] <= times_s[i - 1])) std::abort();
    if (table.finding(Code::empty_value, "tilt", i, "here").place.line < 1) std::abort();
  }
  return 0;
}
