#include "tileflux/input/csv_table.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <filesystem>
#include <limits>
#include <map>
#include <system_error>
#include <utility>

#include "input/csv_cells.h"
#include "input/file_text.h"
#include "input/text_scan.h"
#include "input/tree_builder.h"
#include "input/wording.h"
#include "tileflux/base/spelling.h"

namespace tileflux::input {

namespace {

constexpr double gap = std::numeric_limits<double>::quiet_NaN();

/// A plain number that is the whole text.
std::optional<double> plain_number(std::string_view text) {
  if (text.starts_with('+') && !text.starts_with("+-")) text.remove_prefix(1);
  double value = 0.0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || end != text.data() + text.size() || !std::isfinite(value)) return std::nullopt;
  return value;
}

std::string column_and_row(const std::string& column, std::size_t row) {
  return column + ", row " + std::to_string(row + 1);
}

}  // namespace

const CsvTable::Content& CsvTable::content(const std::string& column) const {
  for (const Content& one : contents_) {
    if (one.name == column) return one;
  }
  throw Error(Code::internal, "the column '" + column + "' was asked of a table that was not read with it");
}

bool CsvTable::has(const std::string& column) const { return content(column).stands; }

const std::vector<double>& CsvTable::numbers(const std::string& column) const {
  if (content(column).is_name) throw Error(Code::internal, "the column '" + column + "' holds names, not numbers");
  return content(column).numbers;
}

const std::vector<std::string>& CsvTable::names(const std::string& column) const {
  if (!content(column).is_name) throw Error(Code::internal, "the column '" + column + "' holds numbers, not names");
  return content(column).names;
}

Diagnostic CsvTable::finding(Code code, const std::string& column, std::size_t row, std::string message) const {
  const Content& one = content(column);
  const int line = row < lines_.size() ? lines_[row] : 0;
  const int at = row < one.at.size() ? one.at[row] : 1;
  return text_.finding(code, line, at, column_and_row(column, row), std::move(message));
}

class CsvReader {
 public:
  CsvReader(const std::vector<CsvColumn>& columns, std::vector<Diagnostic>& findings, const CsvBounds& bounds)
      : columns_(columns), findings_(findings), bounds_(bounds) {}

  CsvTable read(std::string_view text, std::string file) {
    table_.text_.file = std::move(file);
    prepare();
    if (text.size() > bounds_.bytes) {
      report(Code::text_too_large, 0, 0, {}, too_large_text(text.size(), bounds_.bytes));
      return std::move(table_);
    }
    if (text.starts_with(byte_order_mark)) text.remove_prefix(byte_order_mark.size());
    const std::vector<TextFault> faults = scan_text(text, most_findings);
    for (const TextFault& fault : faults) report(Code::text_encoding, fault.line, fault.column, {}, fault.message);
    if (!faults.empty()) return std::move(table_);
    table_.text_.lines = split_lines(text);
    read_lines();
    return std::move(table_);
  }

 private:
  using Content = CsvTable::Content;

  void report(Code code, int line, int column, std::string path, std::string message, std::string suggestion = {}) {
    if (added_ >= most_findings) return;
    ++added_;
    Diagnostic finding = table_.text_.finding(code, line, column, std::move(path), std::move(message));
    finding.suggestion = std::move(suggestion);
    findings_.push_back(std::move(finding));
  }

  void prepare() {
    for (const CsvColumn& column : columns_) {
      Content content;
      content.name = column.name;
      content.is_name = std::holds_alternative<NameType>(column.type);
      table_.contents_.push_back(std::move(content));
    }
    scales_.resize(columns_.size());
    last_.assign(columns_.size(), gap);
  }

  static bool is_skipped(const std::string& line) {
    const std::size_t first = line.find_first_not_of(" \t");
    return first == std::string::npos || line[first] == '#';
  }

  void read_lines() {
    enum class Next { names, units, values } next = Next::names;
    const std::vector<std::string>& lines = table_.text_.lines;
    int line = 0;
    for (const std::string& text : lines) {
      ++line;
      if (is_skipped(text)) continue;
      if (added_ >= most_findings) return;
      if (next == Next::values && table_.rows() == bounds_.most_rows) {
        report(Code::count_out_of_bounds, line, 1, {},
               "more than " + std::to_string(bounds_.most_rows) + " rows: no more are read");
        return;
      }
      const CsvCells split = split_csv_line(text);
      if (!split.fault.empty()) {
        report(Code::csv_syntax, line, split.fault_column, {}, split.fault);
        if (next != Next::values) return;  // nothing below can be told apart
        continue;
      }
      switch (next) {
        case Next::names:
          if (!read_names(split.cells, line)) return;
          next = Next::units;
          break;
        case Next::units:
          if (!fits(split.cells, line, "the row of units")) return;
          read_units(split.cells, line);
          next = Next::values;
          break;
        case Next::values:
          read_row(split.cells, line);
      }
    }
    const int end = std::max(line, 1);
    if (next == Next::names) return report(Code::empty_value, 1, 1, {}, "expected a row of names, found nothing");
    if (next == Next::units) return report(Code::unit_missing, end, 1, {}, "expected a row of units below the names");
    if (table_.rows() < bounds_.least_rows && added_ == 0)
      report(Code::count_out_of_bounds, end, 1, {},
             "expected at least " + std::to_string(bounds_.least_rows) + " rows of values, found " +
                 std::to_string(table_.rows()));
  }

  /// False if what follows could not be told apart.
  bool read_names(const std::vector<CsvCell>& cells, int line) {
    const std::size_t before = added_;
    if (cells.size() > bounds_.most_columns) {
      report(Code::count_out_of_bounds, line, 1, {},
             "more than " + std::to_string(bounds_.most_columns) + " columns: no more are read");
      return false;
    }
    std::vector<std::string> known;
    for (const CsvColumn& column : columns_) known.push_back(column.name);
    for (const CsvCell& cell : cells) {
      const auto found = std::find(known.begin(), known.end(), cell.text);
      const auto index = static_cast<std::size_t>(found - known.begin());
      if (found == known.end()) {
        report_unknown(cell, line, known);
        order_.push_back(columns_.size());
      } else if (std::exchange(table_.contents_[index].stands, true)) {
        report(Code::name_taken, line, cell.column, {}, "the column " + in_quotes(cell.text) + " stands twice");
        order_.push_back(columns_.size());
      } else {
        order_.push_back(index);
      }
    }
    for (std::size_t i = 0; i < columns_.size(); ++i) {
      if (!columns_[i].required || table_.contents_[i].stands) continue;
      report(Code::column_missing, line, 1, {}, "the column '" + columns_[i].name + "' is missing");
    }
    return added_ == before || cells.size() > 1;
  }

  void report_unknown(const CsvCell& cell, int line, const std::vector<std::string>& known) {
    const std::string nearest = nearest_spelling(cell.text, known);
    std::string suggestion = nearest.empty() ? "known here: " + choice_of(known) : "did you mean '" + nearest + "'?";
    if (cell.text.find_first_of(";\t") != std::string::npos) suggestion = "separate the columns with commas";
    const std::string what = cell.text.empty() ? "a column without a name" : "the column " + in_quotes(cell.text);
    report(Code::column_unknown, line, cell.column, {}, what + " is not known here", suggestion);
  }

  bool fits(const std::vector<CsvCell>& cells, int line, const std::string& what) {
    if (cells.size() == order_.size()) return true;
    const CsvCell& odd = cells[std::min(order_.size(), cells.size() - 1)];
    report(Code::table_shape, line, odd.column, {},
           "expected " + std::to_string(order_.size()) + " cells as in the row of names, found " +
               std::to_string(cells.size()) + " in " + what,
           cells.size() > order_.size() ? "a comma inside a number or a text is one too many" : "");
    return false;
  }

  void read_units(const std::vector<CsvCell>& cells, int line) {
    for (std::size_t j = 0; j < cells.size(); ++j) {
      if (order_[j] == columns_.size()) continue;
      const CsvColumn& column = columns_[order_[j]];
      const std::string& unit = cells[j].text;
      const auto refuse = [&](Code code, const std::string& message) {
        report(code, line, cells[j].column, column.name + ", units", message);
      };
      const auto* quantity = std::get_if<QuantityType>(&column.type);
      const bool plain = quantity == nullptr || quantity->dimension.si_unit == "1";
      if (plain) {
        if (unit == "%" && quantity != nullptr) {
          scales_[order_[j]].factor = 0.01;
        } else if (!unit.empty() && unit != "1") {
          refuse(Code::unit_unexpected, "expected no unit or '1', found " + in_quotes(unit));
        }
        continue;
      }
      read_unit(unit, *quantity, scales_[order_[j]], refuse);
    }
  }

  template <class Refuse>
  static void read_unit(const std::string& unit, const QuantityType& type, units::Scale& scale, const Refuse& refuse) {
    const units::DimensionName name = units::name_of(type.dimension);
    const std::string expected = "expected the unit of " + name.name + " such as '" +
                                 name.example.substr(std::min(name.example.find(' '), name.example.size() - 1) + 1) +
                                 "', found ";
    if (unit.empty() || unit == "1") return refuse(Code::unit_missing, expected + (unit.empty() ? "nothing" : "'1'"));
    if (plain_number(unit))
      return refuse(Code::unit_missing, expected + in_quotes(unit) + ": the second row holds the units");
    try {
      scale = units::scale_to_si(unit, type.dimension.si_unit);
      if (type.dimension.kind == units::Kind::difference) scale.offset = 0.0;
    } catch (const Error& error) {
      refuse(error.code(), error.diagnostics().front().message);
    }
  }

  void read_row(const std::vector<CsvCell>& cells, int line) {
    const std::size_t row = table_.rows();
    table_.lines_.push_back(line);
    for (Content& content : table_.contents_) {
      if (content.is_name) content.names.emplace_back();
      if (!content.is_name) content.numbers.push_back(gap);
      if (content.stands) content.at.push_back(1);
    }
    if (!fits(cells, line, "row " + std::to_string(row + 1))) return;
    for (std::size_t j = 0; j < cells.size(); ++j) {
      if (order_[j] == columns_.size()) continue;
      table_.contents_[order_[j]].at[row] = cells[j].column;
      read_cell(cells[j], order_[j], row);
    }
  }

  void read_cell(const CsvCell& cell, std::size_t index, std::size_t row) {
    const CsvColumn& column = columns_[index];
    Content& content = table_.contents_[index];
    const auto refuse = [&](Code code, std::string message) {
      report(code, table_.lines_[row], cell.column, column_and_row(column.name, row), std::move(message));
    };
    if (cell.text.empty()) {
      if (column.filled) refuse(Code::empty_value, "the cell is empty");
      return;
    }
    if (const auto* name = std::get_if<NameType>(&column.type)) {
      if (is_name(cell.text, *name)) {
        content.names[row] = cell.text;
      } else {
        refuse(
            Code::name_malformed,
            "expected a name of a-z, 0-9 and _, a letter first, at most 64 characters, found " + in_quotes(cell.text));
      }
      return;
    }
    const std::optional<double> found = plain_number(cell.text);
    if (!found) return report_number(cell.text, refuse);
    double value = *found;
    if (const auto* count = std::get_if<CountType>(&column.type)) {
      const std::string expected = "expected a whole number from " + std::to_string(count->least) + " to " +
                                   std::to_string(count->most) + ", found " + in_quotes(cell.text);
      if (value != std::floor(value)) return refuse(Code::number_malformed, expected);
      if (value < static_cast<double>(count->least) || value > static_cast<double>(count->most))
        return refuse(Code::count_out_of_bounds, expected);
    } else {
      const auto& quantity = std::get<QuantityType>(column.type);
      value = value * scales_[index].factor + scales_[index].offset;
      if (!std::isfinite(value))
        return refuse(Code::number_not_finite, in_quotes(cell.text) + " is beyond the numbers of the machine");
      if (!is_within(value, quantity.range)) {
        return refuse(Code::value_out_of_range, "expected " + range_text(quantity.range, quantity.dimension.si_unit) +
                                                    ", found " + number_text(value, quantity.dimension.si_unit));
      }
    }
    if (column.rising && value <= last_[index]) {
      refuse(Code::table_not_rising,
             "the values of this column must rise, found " + in_quotes(cell.text) + " after one that is not less");
    }
    last_[index] = value;
    content.numbers[row] = value;
  }

  /// The words of the reader of quantities, but for a unit in the cell.
  template <class Refuse>
  static void report_number(const std::string& text, const Refuse& refuse) {
    const units::Parsed parsed = units::parse_quantity(text, {});
    if (parsed.value_si || parsed.code == Code::unit_unexpected)
      return refuse(Code::unit_unexpected,
                    "expected a number alone, found " + in_quotes(text) + ": the unit stands in the second row");
    refuse(parsed.code, parsed.message);
  }

  const std::vector<CsvColumn>& columns_;
  std::vector<Diagnostic>& findings_;
  const CsvBounds& bounds_;
  CsvTable table_;
  std::vector<std::size_t> order_;  ///< per column of the file, among `columns_`; their number: none of them
  std::vector<units::Scale> scales_;
  std::vector<double> last_;
  std::size_t added_ = 0;
};

CsvTable parse_csv(std::string_view text, std::string file, const std::vector<CsvColumn>& columns,
                   std::vector<Diagnostic>& findings, const CsvBounds& bounds) {
  return CsvReader(columns, findings, bounds).read(text, std::move(file));
}

CsvTable read_csv(const std::string& file, const std::vector<CsvColumn>& columns, std::vector<Diagnostic>& findings,
                  const CsvBounds& bounds) {
  const FileText read = read_file_text(file, bounds.bytes);
  if (read.text) return parse_csv(*read.text, file, columns, findings, bounds);
  std::vector<Diagnostic> of_nothing;
  CsvTable table = parse_csv({}, file, columns, of_nothing, bounds);
  Diagnostic finding;
  finding.code = read.code;
  finding.place.file = file;
  finding.message = read.message;
  findings.push_back(std::move(finding));
  return table;
}

namespace {

/// Why a name is not that of a file beside another, or empty.
std::string why_elsewhere(const std::string& name) {
  constexpr std::size_t longest_name_bytes = 255;
  if (name.find_first_of("/\\") != std::string::npos) return "expected the bare name of a file beside the case";
  const bool control =
      std::any_of(name.begin(), name.end(), [](char c) { return static_cast<unsigned char>(c) < 32u; });
  if (name.empty() || name == "." || name == ".." || control || name.size() > longest_name_bytes)
    return "expected the name of a file";
  return {};
}

}  // namespace

CsvTable read_csv_beside(const Document& document, const Place& place, const std::string& name,
                         const std::vector<CsvColumn>& columns, std::vector<Diagnostic>& findings,
                         const CsvBounds& bounds) {
  const auto refuse = [&](Code code, std::string message) {
    findings.push_back(document.finding(code, place.line, place.column, place.path, std::move(message)));
    std::vector<Diagnostic> of_nothing;
    return parse_csv({}, name, columns, of_nothing, bounds);
  };
  if (const std::string why = why_elsewhere(name); !why.empty())
    return refuse(Code::file_elsewhere, why + ", found " + in_quotes(name));
  namespace fs = std::filesystem;
  const fs::path folder = fs::path(document.file).parent_path();
  const fs::path file = folder / name;
  std::error_code error;
  if (!fs::exists(file, error)) return refuse(Code::file_unreadable, in_quotes(name) + " does not lie beside the case");
  const fs::path real = fs::canonical(file, error);
  const fs::path real_folder = fs::canonical(folder.empty() ? fs::path(".") : folder, error);
  if (error || real.parent_path() != real_folder)
    return refuse(Code::file_elsewhere, in_quotes(name) + " is a link that leads out of the folder of the case");
  if (!fs::is_regular_file(real, error)) return refuse(Code::file_unreadable, in_quotes(name) + " is no regular file");
  return read_csv(file.string(), columns, findings, bounds);
}

}  // namespace tileflux::input
