#pragma once
/// One line of a CSV table, split into cells.

#include <string>
#include <string_view>
#include <vector>

namespace tileflux::input {

struct CsvCell {
  std::string text;
  int column = 1;  ///< 1-based, in bytes: where the text begins
};

struct CsvCells {
  std::vector<CsvCell> cells;
  std::string fault;  ///< empty if there is none
  int fault_column = 1;
};

/// Splits at commas outside of double quotes; drops blanks around cells.
CsvCells split_csv_line(std::string_view line);

}  // namespace tileflux::input
