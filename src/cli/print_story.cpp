#include "cli/print_story.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <vector>

#include "cli/story_table.h"
#include "cli/terminal_text.h"

namespace tileflux::cli {

namespace {

using report::FlowChart;
using report::HeatMap;
using report::LineChart;
using report::MarginChart;
using report::RankChart;
using report::Section;
using report::Story;

/// The shares that bars beside the rows of the first table take, where the chart has one for each row.
std::vector<double> bars_of(const report::Chart& chart) {
  std::vector<double> sizes;
  double largest = 0.0;
  if (const auto* flow = std::get_if<FlowChart>(&chart)) {
    for (const FlowChart::Link& link : flow->links) sizes.push_back(link.power_W);
    largest = flow->whole_W;
  } else if (const auto* margins = std::get_if<MarginChart>(&chart)) {
    for (const MarginChart::Bar& bar : margins->bars) sizes.push_back(bar.margin);
  } else if (const auto* ranks = std::get_if<RankChart>(&chart)) {
    for (const RankChart::Bar& bar : ranks->bars) sizes.push_back(bar.value);
  }
  for (const double size : sizes) largest = std::max(largest, std::abs(size));
  for (double& size : sizes) size = largest > 0.0 ? size / largest : 0.0;
  return sizes;
}

/// One line of a chart as letters, as wide as there is room for: the mean of what falls into each column.
std::string sparkline(const std::vector<double>& x, const std::vector<double>& values, bool logarithmic,
                      std::size_t columns, bool blocks) {
  constexpr const char* plain[] = {"_", ".", ":", "-", "=", "+", "*", "#"};
  constexpr const char* block[] = {"▁", "▂", "▃", "▄", "▅", "▆", "▇", "█"};
  constexpr int levels = 8;
  double least = INFINITY, most = -INFINITY;
  for (const double value : values) {
    if (std::isfinite(value)) least = std::min(least, value), most = std::max(most, value);
  }
  if (!(least <= most)) return "";
  const auto place = [&](double at) { return logarithmic && at > 0.0 ? std::log(at) : at; };
  const double begin = place(x.front()), span = place(x.back()) - begin;
  const auto column_of = [&](double at) {
    const double share = span > 0.0 ? (place(at) - begin) / span : 0.0;
    return std::clamp(share, 0.0, 1.0) * static_cast<double>(columns - 1);
  };
  std::vector<double> sums(columns, 0.0), counts(columns, 0.0);
  const std::size_t points = std::min(values.size(), x.size());
  for (std::size_t i = 0; i < points; ++i) {
    if (!std::isfinite(values[i])) continue;
    const auto column = static_cast<std::size_t>(column_of(x[i]) + 0.5);
    sums[column] += values[i];
    counts[column] += 1.0;
  }
  // Straight lines over the columns between two points.
  for (std::size_t i = 1; i < points; ++i) {
    if (!std::isfinite(values[i - 1]) || !std::isfinite(values[i])) continue;
    const double from = column_of(x[i - 1]), to = column_of(x[i]);
    for (double c = std::ceil(from + 0.5); c <= to - 0.5; c += 1.0) {
      const auto column = static_cast<std::size_t>(c);
      if (counts[column] > 0.0) continue;
      sums[column] = values[i - 1] + (values[i] - values[i - 1]) * (c - from) / (to - from);
      counts[column] = 1.0;
    }
  }
  std::string line;
  for (std::size_t c = 0; c < columns; ++c) {
    if (counts[c] == 0.0) {
      line += ' ';
      continue;
    }
    const double share = most > least ? (sums[c] / counts[c] - least) / (most - least) : 0.0;
    const int level = std::clamp(static_cast<int>(share * levels), 0, levels - 1);
    line += blocks ? block[level] : plain[level];
  }
  return line;
}

std::string range_words(const LineChart& chart) {
  if (chart.x.empty()) return "";
  return fmt::format("{} from {:.6g} to {:.6g}{}", chart.x_name, chart.x.front(), chart.x.back(),
                     chart.x_unit.empty() || chart.x_unit == "1" ? "" : ' ' + chart.x_unit);
}

std::string lines_text(const LineChart& chart, const StoryStyle& style) {
  if (chart.x.empty()) return "";
  report::Table table{
      "", {{"line", "", 0, false}, {"least", "", -5}, {"most", "", -5}, {"unit", "", 0, false}}, {}, ""};
  std::vector<std::string> pictures;
  constexpr std::size_t others = 52, narrowest = 12, widest = 60;
  const std::size_t columns = std::clamp(style.width > others ? style.width - others : narrowest, narrowest, widest);
  std::size_t hidden = 0;
  for (const LineChart::Line& line : chart.lines) {
    if (!line.shown && !style.all) {
      ++hidden;
      continue;
    }
    const auto finite = [](double value) { return std::isfinite(value); };
    double least = INFINITY, most = -INFINITY;
    for (const double value : line.values) {
      if (finite(value)) least = std::min(least, value), most = std::max(most, value);
    }
    const bool any = least <= most;
    table.rows.push_back(
        {line.name, any ? report::Cell(least) : report::Cell(), any ? report::Cell(most) : report::Cell(), line.unit});
    pictures.push_back(sparkline(chart.x, line.values, chart.x_logarithmic, columns, style.blocks));
  }
  std::string text = wrapped_to(harmless(range_words(chart)), style.width, 2);
  text += table_text(table, {style.width, std::nullopt, pictures, false});
  if (hidden > 0)
    text += wrapped_to(fmt::format("{} more {}; `--all` shows all.", hidden, hidden == 1 ? "line" : "lines"),
                       style.width, 2);
  const auto list = [&](const std::string& head, std::vector<std::string> items) {
    if (items.empty()) return;
    constexpr std::size_t most_items = 12;
    const std::size_t all = items.size();
    if (!style.all && all > most_items) items.resize(most_items);
    std::string line = head;
    for (std::size_t i = 0; i < items.size(); ++i) line += (i > 0 ? "; " : " ") + items[i];
    if (items.size() < all) line += fmt::format("; and {} more", all - items.size());
    text += wrapped_to(harmless(line), style.width, 2);
  };
  const std::string unit = chart.x_unit.empty() || chart.x_unit == "1" ? "" : ' ' + chart.x_unit;
  std::vector<std::string> bands, marks;
  for (const LineChart::Band& band : chart.bands)
    bands.push_back(fmt::format("{} {:.6g} to {:.6g}{}", band.name, band.begin, band.end, unit));
  for (const LineChart::Mark& mark : chart.marks)
    marks.push_back(fmt::format("{} at {:.6g}{}", mark.name, mark.at, unit));
  list("Bands:", bands);
  list("Marks:", marks);
  return text;
}

/// Which columns of a table go with lines that are not shown at first: the table of a chart has one column for each.
std::optional<std::vector<bool>> hidden_columns(const Section& section, const report::Table& table) {
  if (!section.chart) return std::nullopt;
  const auto* chart = std::get_if<LineChart>(&*section.chart);
  if (chart == nullptr) return std::nullopt;
  std::vector<bool> hidden;
  for (const report::Column& column : table.columns) {
    hidden.push_back(std::any_of(chart->lines.begin(), chart->lines.end(),
                                 [&](const LineChart::Line& line) { return !line.shown && line.name == column.name; }));
  }
  return hidden;
}

report::Table without_hidden(const Section& section, report::Table table) {
  const auto hidden = hidden_columns(section, table);
  if (!hidden || std::none_of(hidden->begin(), hidden->end(), [](bool one) { return one; })) return table;
  const auto drop = [&](auto& list) {
    std::size_t at = 0;
    std::erase_if(list, [&](const auto&) { return at < hidden->size() ? bool((*hidden)[at++]) : false; });
  };
  drop(table.columns);
  for (auto& row : table.rows) drop(row);
  const auto count = std::count(hidden->begin(), hidden->end(), true);
  table.left_out += (table.left_out.empty() ? "" : " ") +
                    fmt::format("{} {} left out; `--all` shows all.", count, count == 1 ? "column" : "columns");
  return table;
}

std::string section_text(const Section& section, const StoryStyle& style) {
  std::string text =
      '\n' + wrapped_to(harmless((section.of.empty() ? "" : section.of + ": ") + section.title), style.width, 0);
  if (!section.says.empty()) text += wrapped_to(harmless(section.says), style.width, 2);
  std::vector<double> bars;
  if (section.chart) {
    bars = bars_of(*section.chart);
    if (const auto* lines = std::get_if<LineChart>(&*section.chart)) text += '\n' + lines_text(*lines, style);
  }
  constexpr std::size_t most_rows = 20;
  for (std::size_t i = 0; i < section.tables.size(); ++i) {
    const report::Table& table = section.tables[i];
    TableStyle how{style.width, style.all ? std::nullopt : std::optional<std::size_t>(most_rows), {}, false};
    how.spread_rows = section.chart && std::holds_alternative<LineChart>(*section.chart);
    if (i == 0 && bars.size() == table.rows.size()) how.beside = bar_column(bars, style.blocks);
    text += '\n' + table_text(style.all ? table : without_hidden(section, table), how);
  }
  return text;
}

std::string provenance_text(const Story& story, const StoryStyle& style) {
  std::string text = "\nWhere it comes from\n";
  for (const report::Provenance::Input& input : story.provenance.inputs) {
    text += wrapped_to(
        harmless(fmt::format("{}: {}{}", input.name, input.case_file.empty() ? "case not told" : input.case_file,
                             input.sha256.empty() ? "" : ", SHA-256 " + input.sha256)),
        style.width, 2);
  }
  text += wrapped_to(harmless(story.provenance.version), style.width, 2);
  if (!story.provenance.sources.empty()) {
    report::Table table{
        "Values of materials", {{"value", "", 0, false}, {"basis", "", 0, false}, {"source", "", 0, false}}, {}, ""};
    for (const auto& source : story.provenance.sources)
      table.rows.push_back({source.value, source.basis, source.source});
    text += '\n' + table_text(table, {style.width, std::nullopt, {}, false});
  }
  constexpr std::size_t most_rows = 12;
  for (const report::Table& table : story.provenance.numbers)
    text +=
        '\n' +
        table_text(table, {style.width, style.all ? std::nullopt : std::optional<std::size_t>(most_rows), {}, false});
  return text;
}

}  // namespace

std::string print_story(const Story& story, const StoryStyle& style) {
  constexpr std::size_t blanks = 10;
  std::string text = wrapped_to(harmless(story.title), style.width, 0);
  const auto line = [&](const char* head, const std::string& words) {
    if (!words.empty()) text += wrapped_to(harmless(words), style.width, blanks, fmt::format("{:<10}", head));
  };
  line("Question", story.question);
  line("Answer", story.answer);
  for (const std::string& answer : story.also) line("", answer);
  line("Limits", !story.limits.empty() ? story.limits : story.met ? "met" : "NOT MET");
  line("Binds", story.binds);
  for (std::size_t i = 0; i < story.next.size(); ++i) line(i == 0 ? "Next" : "", story.next[i]);
  for (const Section& section : story.sections) text += section_text(section, style);
  text += provenance_text(story, style);
  if (!story.warnings.empty()) text += "\nWarnings\n";
  for (const std::string& warning : story.warnings) text += wrapped_to(harmless(warning), style.width, 4, "  - ");
  text += '\n';
  for (const std::string& caution : story.cautions) text += wrapped_to(harmless(caution), style.width, 0);
  return text;
}

}  // namespace tileflux::cli
