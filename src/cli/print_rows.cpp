#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "cli/print.h"
#include "cli/print_parts.h"
#include "cli/text.h"

namespace tileflux::cli {

namespace {

constexpr std::size_t widest_line = 110;
constexpr long long rows_shown = 12;

std::string input_text(const AskedInput& one, double value_si) {
  return fmt::format("{:.5g}", one.range.in_unit(value_si));
}

/// `sun.distance 0.3 AU, sun.tilt 10 deg`
std::string row_words(const AskedSweep& asked, long long row) {
  const std::vector<double> values = asked.design.row(row);
  std::string words;
  constexpr std::size_t most_named = 2;
  for (std::size_t i = 0; i < values.size() && i < most_named; ++i) {
    const AskedInput& one = asked.inputs[i];
    words += (i == 0 ? "" : ", ") + input_text(one, values[i]);
    if (one.range.unit != "1") words += ' ' + one.range.unit;
  }
  return values.size() > most_named ? words + fmt::format(", ... (row {})", row) : words;
}

std::string value_text(const studies::AnswerField& field, double value) {
  if (std::isnan(value)) return "-";
  if (!field.flags.empty()) {
    const auto code = static_cast<std::size_t>(value);
    return code < field.flags.size() ? field.flags[code] : "?";
  }
  return fmt::format("{:.6g}", value);
}

std::string head_of(const studies::AnswerField& field) {
  return field.unit == "1" ? field.name : field.name + " (" + field.unit + ')';
}

/// The first rows: as many answers as fit a line, and which do not.
std::string first_rows(const AskedSweep& asked, const SweptRows& swept) {
  std::vector<std::string> heads;
  std::size_t width = 0;
  for (const AskedInput& one : asked.inputs) {
    heads.push_back(one.range.unit == "1" ? one.varied.path : one.varied.path + " (" + one.range.unit + ')');
    width += heads.back().size() + 2;
  }
  std::vector<std::vector<double>> columns;
  const auto& fields = asked.answers->fields();
  for (std::size_t i = 0; i < fields.size(); ++i) {
    std::size_t wide = head_of(fields[i]).size();
    for (const std::string& flag : fields[i].flags) wide = std::max(wide, flag.size());
    width += wide + 2;
    if (width > widest_line) break;
    heads.push_back(head_of(fields[i]));
    columns.push_back(swept.answer(i));
  }
  Table table(heads);
  for (long long row = 0; row < std::min(swept.rows, rows_shown); ++row) {
    std::vector<std::string> cells;
    const std::vector<double> values = asked.design.row(row);
    for (std::size_t i = 0; i < values.size(); ++i) cells.push_back(input_text(asked.inputs[i], values[i]));
    for (std::size_t i = 0; i < columns.size(); ++i)
      cells.push_back(value_text(fields[i], columns[i][static_cast<std::size_t>(row)]));
    table.row(std::move(cells));
  }
  std::string text = table.text();
  if (columns.size() < fields.size()) {
    std::string names;
    constexpr std::size_t most_named = 4;
    for (std::size_t i = columns.size(); i < std::min(fields.size(), columns.size() + most_named); ++i)
      names += (names.empty() ? "" : ", ") + fields[i].name;
    if (fields.size() > columns.size() + most_named) names += ", ...";
    text += wrapped(fmt::format("not in these rows, for want of width, but with --json and --out: {}", names), 2);
  }
  return text;
}

/// `regime: sun-limited 40, heat-limited 20`, by falling number of rows.
std::string counts(const studies::AnswerField& field, const std::vector<double>& values) {
  std::vector<std::pair<long long, std::string>> found;
  for (std::size_t code = 0; code < field.flags.size(); ++code) {
    const long long rows = std::count(values.begin(), values.end(), static_cast<double>(code));
    if (rows > 0) found.emplace_back(-rows, field.flags[code]);
  }
  std::stable_sort(found.begin(), found.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  constexpr std::size_t most_told = 4;
  std::string words;
  for (std::size_t i = 0; i < std::min(found.size(), most_told); ++i)
    words += fmt::format("{}{} {}", i == 0 ? "" : ", ", found[i].second, -found[i].first);
  if (found.size() > most_told) words += fmt::format(", {} more", found.size() - most_told);
  return words.empty() ? words : fmt::format("  {}: {}\n", field.name, words);
}

std::string spreads(const AskedSweep& asked, const SweptRows& swept) {
  Table table({"over all rows", "least", "mean", "most", "least at", "most at"});
  std::string words;
  const auto& fields = asked.answers->fields();
  for (std::size_t i = 0; i < fields.size(); ++i) {
    const std::vector<double> values = swept.answer(i);
    if (!fields[i].flags.empty()) {
      words += counts(fields[i], values);
      continue;
    }
    const AnswerSpread spread = answer_spread(values);
    if (spread.values == 0) continue;
    const auto where = [&](long long row) { return spread.least == spread.most ? "" : row_words(asked, row); };
    table.row({head_of(fields[i]), value_text(fields[i], spread.least), fmt::format("{:.6g}", spread.mean),
               value_text(fields[i], spread.most), where(spread.least_row), where(spread.most_row)});
  }
  return table.text() + (words.empty() ? words : "\n  rows by word\n" + words);
}

}  // namespace

std::string print_rows(const tile::CaseFile& file, const AskedSweep& asked, const SweptRows& swept) {
  std::string text = print_head(file);
  const studies::Design& design = asked.design;
  text += fmt::format("{} of {} rows of a {} over {}: {} solved now, {} without an answer{}\n\n", swept.rows,
                      design.rows(), studies::name_of(design.kind()),
                      asked.inputs.size() == 1 ? "one input" : fmt::format("{} inputs", asked.inputs.size()),
                      swept.solved, swept.failed, swept.interrupted ? ", interrupted" : "");
  if (swept.rows > 0) {
    text += first_rows(asked, swept);
    if (swept.rows > rows_shown) text += fmt::format("  ... {} more\n", swept.rows - rows_shown);
    text += '\n' + spreads(asked, swept);
  }
  for (const std::string& trouble : swept.troubles) text += "\nwithout an answer: " + trouble + '\n';
  return text + '\n' + print_notes(file, {});
}

}  // namespace tileflux::cli
