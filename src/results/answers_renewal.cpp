#include "results/answers_renewal.h"

#include <algorithm>
#include <fstream>
#include <string_view>
#include <system_error>
#include <vector>

#include "results/netcdf_answers.h"
#include "results/text_file.h"
#include "tileflux/base/errors.h"
#include "tileflux/results/csv.h"

namespace tileflux::results {

namespace {

/// The inputs of a row of a grid, the last varying fastest.
void inputs_of_grid(const AnswersLayout& layout, long long row, std::vector<double>& inputs) {
  for (std::size_t i = layout.varied.size(); i-- > 0;) {
    const auto count = static_cast<long long>(layout.varied[i].values.size());
    inputs[i] = layout.varied[i].values[static_cast<std::size_t>(row % count)];
    row /= count;
  }
}

/// Whether the last cell tells this code: nothing for an answer, else a text that begins with its slug.
bool tells_trouble(std::string_view cell, int code, const AnswersLayout& layout) {
  if (code == 0) return cell.empty();
  if (code < 0 || static_cast<std::size_t>(code) > layout.troubles.size()) return false;
  if (!cell.empty() && cell.front() == '"') cell.remove_prefix(1);
  return cell.starts_with(layout.troubles[static_cast<std::size_t>(code) - 1]);
}

/// Reads the CSV file line by line.
class Lines {
 public:
  explicit Lines(const std::filesystem::path& path) : file_(path, std::ios::binary) {}
  /// False behind the last line that ends.
  bool next(std::string& line) { return std::getline(file_, line) && !file_.eof(); }

 private:
  std::ifstream file_;
};

/// Drops what follows the first row that the lines do not tell alike; false if there is one.
bool keep_alike(Lines& lines, const AnswersLayout& layout, long long first, NetcdfAnswers::Rows& rows) {
  std::string line;
  std::vector<double> inputs(layout.varied.size()), answers(layout.answers.size());
  std::size_t alike = 0;
  for (; alike < rows.troubles.size() && lines.next(line); ++alike) {
    if (layout.grid) inputs_of_grid(layout, first + static_cast<long long>(alike), inputs);
    for (std::size_t i = 0; i < rows.inputs.size(); ++i) inputs[i] = rows.inputs[i][alike];
    for (std::size_t i = 0; i < answers.size(); ++i) answers[i] = rows.answers[i][alike];
    const std::string cells = csv_cells(inputs, answers);
    if (!line.starts_with(cells)) break;
    if (!tells_trouble(std::string_view(line).substr(cells.size()), rows.troubles[alike], layout)) break;
  }
  const bool all = alike == rows.troubles.size();
  for (std::vector<double>& column : rows.inputs) column.resize(alike);
  for (std::vector<double>& column : rows.answers) column.resize(alike);
  rows.troubles.resize(alike);
  return all;
}

void check_head(Lines& lines, const std::filesystem::path& csv, const AnswersLayout& layout) {
  std::string names, units;
  if (lines.next(names) && lines.next(units) && names + '\n' + units + '\n' == csv_head(layout)) return;
  refuse_damaged(csv, "its head is not that of this sweep");
}

}  // namespace

std::string csv_head(const AnswersLayout& layout) {
  std::string names, units;
  const auto add = [&](const std::string& name, const std::string& unit) {
    names += csv_text(name) + ',';
    units += csv_text(unit) + ',';
  };
  for (const VariedVariable& varied : layout.varied) add(varied.name, varied.unit);
  for (const AnswerVariable& answer : layout.answers) add(answer.name, answer.unit);
  return names + "trouble\n" + units + "\n";
}

std::string csv_cells(std::span<const double> inputs, std::span<const double> answers) {
  std::string cells;
  for (const double input : inputs) cells += csv_number(input) + ',';
  for (const double answer : answers) cells += csv_number(answer) + ',';
  return cells;
}

long long renew_answers(const std::filesystem::path& netcdf, const std::filesystem::path& csv,
                        const std::filesystem::path& temporary, const AnswersLayout& layout) {
  constexpr std::size_t numbers_at_once = std::size_t{1} << 20;
  const auto rows_at_once =
      static_cast<long long>(std::max<std::size_t>(1, numbers_at_once / (layout.answers.size() + layout.varied.size())));
  Lines lines(csv);
  check_head(lines, csv, layout);
  const NetcdfAnswers old(netcdf, layout);
  const std::filesystem::path renewed = temporary.string() + ".new";
  long long alike = 0;
  try {
    NetcdfAnswers::create(renewed, temporary, layout);
    NetcdfAnswers copy(renewed, layout);
    for (bool all = true; all && alike < layout.rows;) {
      NetcdfAnswers::Rows rows =
          old.get(alike, static_cast<std::size_t>(std::min(rows_at_once, layout.rows - alike)));
      all = keep_alike(lines, layout, alike, rows);
      if (!rows.troubles.empty()) copy.put(alike, rows.inputs, rows.answers, rows.troubles);
      alike += static_cast<long long>(rows.troubles.size());
    }
    copy.close();
    std::error_code failure;
    std::filesystem::rename(renewed, netcdf, failure);
    if (failure) refuse("write", netcdf, failure.message());
  } catch (...) {
    std::error_code ignored;
    std::filesystem::remove(renewed, ignored);
    throw;
  }
  return alike;
}

}  // namespace tileflux::results
