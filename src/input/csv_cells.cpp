#include "input/csv_cells.h"

#include <algorithm>

namespace tileflux::input {

namespace {

constexpr std::string_view blanks = " \t";

int column_of(std::size_t byte) { return static_cast<int>(byte) + 1; }

/// A quoted cell that begins at `begin`; `end` becomes the byte behind its closing quote, npos without one.
CsvCell quoted_cell(std::string_view line, std::size_t begin, std::size_t& end) {
  CsvCell cell{{}, column_of(begin)};
  for (std::size_t i = begin + 1; i < line.size(); ++i) {
    if (line[i] != '"') {
      cell.text += line[i];
    } else if (i + 1 < line.size() && line[i + 1] == '"') {
      cell.text += line[i++];
    } else {
      end = i + 1;
      return cell;
    }
  }
  end = std::string_view::npos;
  return cell;
}

}  // namespace

CsvCells split_csv_line(std::string_view line) {
  CsvCells result;
  const auto fail = [&](std::size_t byte, const char* fault) {
    result.fault = fault;
    result.fault_column = column_of(byte);
    return result;
  };
  std::size_t at = 0;
  while (true) {
    const std::size_t begin = std::min(line.find_first_not_of(blanks, at), line.size());
    std::size_t comma = std::min(line.find(',', at), line.size());
    if (begin < line.size() && line[begin] == '"') {
      std::size_t end = 0;
      result.cells.push_back(quoted_cell(line, begin, end));
      if (end == std::string_view::npos) return fail(begin, "the quote is not closed in this line");
      comma = std::min(line.find_first_not_of(blanks, end), line.size());
      if (comma < line.size() && line[comma] != ',')
        return fail(comma, "a comma is expected behind the closing quote; a quote inside a quoted cell is doubled");
    } else {
      const std::size_t first = std::min(begin, comma);
      std::string_view text = line.substr(first, comma - first);
      text = text.substr(0, text.find_last_not_of(blanks) + 1);
      if (const std::size_t quote = text.find('"'); quote != std::string_view::npos)
        return fail(first + quote, "a quote stands inside a cell that does not begin with one");
      result.cells.push_back({std::string(text), column_of(first)});
    }
    if (comma >= line.size()) return result;
    at = comma + 1;
  }
}

}  // namespace tileflux::input
