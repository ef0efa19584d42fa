#pragma once
/// A table of a story in so many columns of a terminal.

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "tileflux/report/story.h"

namespace tileflux::cli {

struct TableStyle {
  std::size_t width = 80;
  std::optional<std::size_t> most_rows;  ///< none: all
  std::vector<std::string> beside;       ///< behind each row: a bar, a sparkline; empty: nothing
  bool spread_rows = false;              ///< rows left out are those between, not those at the end
};

/// Two blanks before every line. Text that is too wide goes on below, columns that do not fit in a table of their own
/// with the first one repeated. Without room for what goes beside the rows that is left out.
std::string table_text(const report::Table& table, const TableStyle& style);

/// Bars for shares -1..1 of the largest one: `#` or blocks to the right of a line, or `-` where a share is negative.
std::vector<std::string> bar_column(const std::vector<double>& shares, bool blocks);

/// A number as its column has it; never `-0.00`.
std::string number_text(double value, int decimals);

}  // namespace tileflux::cli
