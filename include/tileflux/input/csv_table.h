#pragma once
/// Tables of values from CSV files (RFC 4180 with a comma): a row of names, a row of units, then the rows of values.
/// Like the reader of cases it is safe with files from strangers and tells every finding with its place.

#include <cstddef>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "tileflux/input/definition.h"
#include "tileflux/input/document.h"

namespace tileflux::input {

/// What a column may hold: values whose unit stands in the second row, whole numbers or names (no unit, or `1`).
struct CsvColumn {
  std::string name;
  std::variant<QuantityType, CountType, NameType> type;
  bool required = true;  ///< the column must stand in the table
  bool filled = true;    ///< no cell of it may be empty
  bool rising = false;   ///< its values must rise from row to row
};

/// Bounds on a table. Beyond them it is refused.
struct CsvBounds {
  std::size_t bytes = 16u << 20;
  std::size_t least_rows = 1;
  std::size_t most_rows = 100'000;
  std::size_t most_columns = 100;
};

/// A table that was read. Asking for a column that `columns` did not have, or of another kind, is a programming error
/// (Error with Code::internal).
class CsvTable {
 public:
  const std::string& file() const { return text_.file; }
  std::size_t rows() const { return lines_.size(); }
  /// Whether the column stands in the table.
  bool has(const std::string& column) const;
  /// Values in SI units or whole numbers, one per row; NaN where a cell is empty, and for a column that does not stand.
  const std::vector<double>& numbers(const std::string& column) const;
  /// Names, one per row; empty where a cell is empty, and for a column that does not stand.
  const std::vector<std::string>& names(const std::string& column) const;
  /// A finding at a cell, with its line as excerpt; at the beginning of the row if the column does not stand. Rows are
  /// counted from 0; people are told them from 1: `at, row 1`.
  Diagnostic finding(Code code, const std::string& column, std::size_t row, std::string message) const;

 private:
  friend class CsvReader;
  struct Content {
    std::string name;
    bool stands = false;
    bool is_name = false;
    std::vector<double> numbers;
    std::vector<std::string> names;
    std::vector<int> at;  ///< column in bytes, per row; empty if it does not stand
  };
  const Content& content(const std::string& column) const;

  Document text_;           ///< file and lines
  std::vector<int> lines_;  ///< per row
  std::vector<Content> contents_;
};

/// Parses a table. The columns may stand in any order. Rows: names, units (`s`, `AU`, `deg`, `%`; `1` or nothing for
/// plain numbers), values. Blanks around a cell are dropped; a cell in double quotes may hold commas and doubled quotes
/// but no line end. Empty lines and lines that begin with # are skipped; LF and CR LF end a line; a byte order mark is
/// skipped. Findings, at most 100, are appended: text_too_large, text_encoding, csv_syntax, column_unknown (with the
/// nearest spelling), column_missing, name_taken (a column twice), unit_missing, unit_unknown, unit_malformed,
/// unit_ambiguous, unit_unexpected, dimension_wrong, table_shape (a row with too few or too many cells), empty_value (a
/// gap), number_malformed, number_not_finite, value_out_of_range, name_malformed, table_not_rising,
/// count_out_of_bounds. If any was found the table must not be used.
CsvTable parse_csv(std::string_view text, std::string file, const std::vector<CsvColumn>& columns,
                   std::vector<Diagnostic>& findings, const CsvBounds& bounds = {});

/// Reads a file and parses it; file_unreadable beside the findings of parse_csv.
CsvTable read_csv(const std::string& file, const std::vector<CsvColumn>& columns, std::vector<Diagnostic>& findings,
                  const CsvBounds& bounds = {});

/// Reads the table that a key of a document names. A case may come from a stranger, so that only a regular file in the
/// same folder as the document is read: `name` holds no slash, backslash or control character, is not `.` or `..`, and
/// is no symbolic link that leads out of the folder (file_elsewhere). Of a document that was parsed from text, the
/// folder is that of the file name it was given. Findings about the name stand at `place`, those of the table in it.
CsvTable read_csv_beside(const Document& document, const Place& place, const std::string& name,
                         const std::vector<CsvColumn>& columns, std::vector<Diagnostic>& findings,
                         const CsvBounds& bounds = {});

}  // namespace tileflux::input
