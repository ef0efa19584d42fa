/// The story of answers by name over a grid or a sample.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "report/story_parts.h"
#include "tileflux/base/constants.h"

namespace tileflux::report {

namespace {

using Answers = results::AnswersTable;

constexpr std::size_t most_maps = 8;
constexpr std::size_t most_told_rows = 60;

/// From the files beside the result, or from the rows that the JSON holds.
Answers answers_of(const ResultContent& content) {
  if (content.answers) return *content.answers;
  const View result = content.view();
  if (!result.has("answers"))
    result.refuse(Code::key_missing, "no answers.nc stands beside it, and it holds no answers itself");
  Answers table;
  table.grid = result.text("design") == "grid";
  table.rows = static_cast<long long>(result.number("rows"));
  table.without_answer = static_cast<long long>(result.number_if("without_an_answer").value_or(0.0));
  std::size_t rows = 0;
  for (const auto& [name, answer] : result.entries("answers")) {
    Answers::Answer one{name, answer.text_or("unit", ""), answer.text_or("meaning", ""), {}, {}};
    if (!answer.has("values"))
      answer.refuse(Code::key_missing, "the result holds no rows: name the directory in which answers.nc stands");
    one.values = answer.at("values").numbers();
    if (const auto codes = answer.find("codes")) {
      for (const View& code : codes->items()) one.flags.push_back(code.text());
    }
    if (rows == 0) rows = one.values.size();
    if (one.values.size() != rows) answer.refuse(Code::table_shape, "the answers have not equally many rows");
    table.answers.push_back(std::move(one));
  }
  table.not_solved = std::max(0LL, table.rows - static_cast<long long>(rows));
  for (const View& varied : result.items("varied")) {
    const std::vector<double> all = varied.at("values_si").numbers();
    if (all.size() != rows) varied.refuse(Code::table_shape, "there is not one value for each row");
    std::vector<double> values;
    for (const double value : all) {
      if (!table.grid || std::find(values.begin(), values.end(), value) == values.end()) values.push_back(value);
    }
    table.varied.push_back({varied.text("path"), varied.text_or("si_unit", "1"), std::move(values)});
  }
  if (table.answers.empty()) result.refuse(Code::value_out_of_range, "the result holds no answer");
  return table;
}

/// Inputs of a sample stand among the answers of the file.
void part_inputs(Answers& table, const View& result) {
  if (table.grid || !table.varied.empty()) return;
  for (const View& varied : result.items("varied")) {
    const auto found = std::find_if(table.answers.begin(), table.answers.end(),
                                    [&](const Answers::Answer& one) { return one.name == varied.text("path"); });
    if (found == table.answers.end())
      varied.refuse(Code::table_shape, "answers.nc beside it does not hold '" + varied.text("path") + "'");
    table.varied.push_back({found->name, found->unit, std::move(found->values)});
    table.answers.erase(found);
  }
}

void check_size(const Answers& table, const View& result) {
  if (!table.grid) return;
  std::size_t rows = 1;
  for (const Answers::Varied& varied : table.varied) rows *= std::max<std::size_t>(1, varied.values.size());
  for (const Answers::Answer& answer : table.answers) {
    if (answer.values.size() > rows) result.refuse(Code::table_shape, "the grid and its answers do not fit together");
  }
}

/// An input in units that people use.
struct InputShown {
  std::string unit;
  double factor = 1.0;
};

InputShown shown_input(const Answers::Varied& varied) {
  constexpr double degrees_per_radian = 57.29577951308232;
  if (varied.unit == "m" && varied.name.find("distance") != std::string::npos) return {"AU", 1.0 / astronomical_unit_m};
  if (varied.unit == "rad") return {"deg", degrees_per_radian};
  return {varied.unit, 1.0};
}

/// Temperatures in degC; codes stay numbers with their words in the table.
double shown_answer(const Answers::Answer& answer, double value) {
  return answer.unit == "K" && answer.name.starts_with("temperature") ? celsius_of(value) : value;
}
std::string unit_of_answer(const Answers::Answer& answer) {
  return answer.unit == "K" && answer.name.starts_with("temperature") ? "degC" : answer.unit == "1" ? "" : answer.unit;
}

constexpr int rank_of_temperature = 10;

/// What is worth a map comes first: light, duty, size, margins; temperatures of single nodes last.
int rank_of_answer(const Answers::Answer& answer) {
  constexpr std::string_view first[] = {
      "usable_laser_power", "sustainable_duty.fraction", "area", "mass", "burst.length", "mean_light",
      "binding_margin"};
  for (std::size_t i = 0; i < std::size(first); ++i) {
    if (answer.name == first[i]) return static_cast<int>(i);
  }
  if (answer.name.starts_with("temperature.")) return rank_of_temperature;
  if (answer.name.starts_with("margin.")) return 20;
  return answer.name.find('.') == std::string::npos ? 8 : 30;
}

struct Spread {
  double least = std::numeric_limits<double>::infinity(), most = -std::numeric_limits<double>::infinity();
  double sum = 0.0;
  std::size_t count = 0, least_row = 0, most_row = 0;
};

Spread spread_of_values(const Answers::Answer& answer) {
  Spread spread;
  for (std::size_t row = 0; row < answer.values.size(); ++row) {
    const double value = answer.values[row];
    if (!std::isfinite(value)) continue;
    if (value < spread.least) spread.least = value, spread.least_row = row;
    if (value > spread.most) spread.most = value, spread.most_row = row;
    spread.sum += value;
    ++spread.count;
  }
  return spread;
}

std::vector<const Answers::Answer*> worth_drawing(const Answers& table) {
  std::vector<const Answers::Answer*> chosen;
  for (const Answers::Answer& answer : table.answers) {
    const Spread spread = spread_of_values(answer);
    if (answer.flags.empty() && spread.count > 0 && spread.most > spread.least) chosen.push_back(&answer);
  }
  // Of temperatures the highest first.
  std::stable_sort(chosen.begin(), chosen.end(), [](const auto* a, const auto* b) {
    const int rank_a = rank_of_answer(*a), rank_b = rank_of_answer(*b);
    if (rank_a != rank_b || rank_a != rank_of_temperature) return rank_a < rank_b;
    return spread_of_values(*a).most > spread_of_values(*b).most;
  });
  // One picture of equal answers is enough.
  std::vector<const Answers::Answer*> unlike;
  for (const Answers::Answer* answer : chosen) {
    if (unlike.size() == most_maps) break;
    if (std::none_of(unlike.begin(), unlike.end(), [&](const auto* other) { return other->values == answer->values; }))
      unlike.push_back(answer);
  }
  return unlike;
}

std::vector<double> in_shown_unit(const Answers::Varied& varied) {
  std::vector<double> values = varied.values;
  for (double& value : values) value *= shown_input(varied).factor;
  return values;
}

double value_at(const Answers::Answer& answer, std::size_t row) {
  return row < answer.values.size() ? shown_answer(answer, answer.values[row]) : std::nan("");
}

/// Evenly spread places of a long axis, its ends among them.
std::vector<std::size_t> places_of(std::size_t size, std::size_t most) {
  std::vector<std::size_t> places;
  const std::size_t count = std::min(size, most);
  for (std::size_t i = 0; i < count; ++i) places.push_back(count > 1 ? i * (size - 1) / (count - 1) : 0);
  return places;
}

/// A slug that ids may hold.
std::string id_of(std::string name) {
  for (char& letter : name) {
    const bool plain = (letter >= 'a' && letter <= 'z') || (letter >= '0' && letter <= '9');
    if (!plain) letter = '-';
  }
  return name;
}

std::string range_sentence(const Answers::Answer& answer) {
  const Spread spread = spread_of_values(answer);
  const std::string unit = unit_of_answer(answer);
  return fmt::format("From {} to {}.", amount_words(shown_answer(answer, spread.least), unit),
                     amount_words(shown_answer(answer, spread.most), unit));
}

Section map_of_answer(const Answers& table, const Answers::Answer& answer) {
  const Answers::Varied &down = table.varied[0], &across = table.varied[1];
  Section section{"map-" + id_of(answer.name), answer.name, "", {}, {}};
  HeatMap chart;
  chart.x_name = across.name;
  chart.x_unit = shown_input(across).unit;
  chart.y_name = down.name;
  chart.y_unit = shown_input(down).unit;
  chart.name = answer.name;
  chart.unit = unit_of_answer(answer);
  chart.x = in_shown_unit(across);
  chart.y = in_shown_unit(down);
  for (std::size_t row = 0; row < chart.x.size() * chart.y.size(); ++row) chart.values.push_back(value_at(answer, row));
  constexpr std::size_t most_columns = 24;
  const auto columns = places_of(chart.x.size(), most_columns), rows = places_of(chart.y.size(), most_told_rows);
  Table grid{
      fmt::format("{}{}: {} downwards, {} across{}", answer.name, chart.unit.empty() ? "" : ", " + chart.unit,
                  down.name, across.name, chart.x_unit.empty() || chart.x_unit == "1" ? "" : " in " + chart.x_unit),
      {{down.name, chart.y_unit, -5}},
      {},
      ""};
  for (const std::size_t x : columns) grid.columns.push_back({fmt::format("{:.5g}", chart.x[x]), "", -4});
  for (const std::size_t y : rows) {
    std::vector<Cell> cells{chart.y[y]};
    for (const std::size_t x : columns) cells.push_back(cell_of(chart.values[y * chart.x.size() + x]));
    grid.rows.push_back(std::move(cells));
  }
  if (columns.size() < chart.x.size() || rows.size() < chart.y.size())
    grid.left_out = fmt::format("{} of {} rows and {} of {} columns, evenly spread; answers.csv has them all.",
                                rows.size(), chart.y.size(), columns.size(), chart.x.size());
  section.says = fmt::format("{}, over {} and {}. {}", answer.long_name.empty() ? answer.name : answer.long_name,
                             down.name, across.name, range_sentence(answer));
  section.says[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(section.says[0])));
  section.chart = std::move(chart);
  section.tables.push_back(std::move(grid));
  return section;
}

/// Of one varied input: every answer worth it is a curve.
Section curves_of_answers(const Answers& table, const std::vector<const Answers::Answer*>& chosen) {
  const Answers::Varied& varied = table.varied[0];
  Section section{"curves", "Answers over " + varied.name, "", {}, {}};
  LineChart chart;
  chart.x_name = varied.name;
  chart.x_unit = shown_input(varied).unit;
  chart.x = in_shown_unit(varied);
  std::vector<std::size_t> order(chart.x.size());
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
  std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return chart.x[a] < chart.x[b]; });
  Table told{"Answers", {{varied.name, chart.x_unit, -5}}, {}, ""};
  std::vector<double> sorted;
  for (const std::size_t i : order) sorted.push_back(chart.x[i]);
  for (const Answers::Answer* answer : chosen) {
    LineChart::Line line{answer->name, "", unit_of_answer(*answer), {}};
    for (const std::size_t i : order) line.values.push_back(value_at(*answer, i));
    told.columns.push_back({answer->name, line.unit, -5});
    chart.lines.push_back(std::move(line));
  }
  chart.x = std::move(sorted);
  std::vector<const std::vector<double>*> columns;
  for (const LineChart::Line& line : chart.lines) columns.push_back(&line.values);
  const auto rows = standing_rows(columns, chart.x.size(), {}, most_told_rows);
  for (const std::size_t row : rows) {
    std::vector<Cell> cells{chart.x[row]};
    for (const auto* column : columns) cells.push_back(cell_of((*column)[row]));
    told.rows.push_back(std::move(cells));
  }
  if (rows.size() < chart.x.size())
    told.left_out = fmt::format("{} of {} rows: the extremes of every column and others evenly between.", rows.size(),
                                chart.x.size());
  section.says = plural(chart.x.size(), "value") + ".";
  section.chart = std::move(chart);
  section.tables.push_back(std::move(told));
  return section;
}

/// The inputs of a row: `1.1 AU, 0.97`.
std::string row_words(const Answers& table, std::size_t row) {
  std::string text;
  std::size_t stride = 1;
  std::vector<std::size_t> places(table.varied.size(), row);
  for (std::size_t i = table.varied.size(); table.grid && i-- > 0;) {
    places[i] = row / stride % table.varied[i].values.size();
    stride *= table.varied[i].values.size();
  }
  for (std::size_t i = 0; i < table.varied.size(); ++i) {
    const InputShown shown = shown_input(table.varied[i]);
    const std::vector<double>& values = table.varied[i].values;
    text += text.empty() ? "" : ", ";
    if (places[i] < values.size())
      text += fmt::format("{:.5g}{}", values[places[i]] * shown.factor, shown.unit == "1" ? "" : " " + shown.unit);
  }
  return text;
}

Table spreads_table(const Answers& table) {
  Table told{"Every answer over all rows",
             {{"answer", "", 0, false},
              {"unit", "", 0, false},
              {"least", "", -4},
              {"mean", "", -4},
              {"most", "", -4},
              {"least at", "", 0, false},
              {"most at", "", 0, false}},
             {},
             ""};
  for (const Answers::Answer& answer : table.answers) {
    if (!answer.flags.empty()) continue;
    const Spread spread = spread_of_values(answer);
    if (spread.count == 0) {
      told.rows.push_back({answer.name, unit_of_answer(answer), {}, {}, {}, std::string("no answer"), {}});
      continue;
    }
    told.rows.push_back({answer.name, unit_of_answer(answer), shown_answer(answer, spread.least),
                         shown_answer(answer, spread.sum / static_cast<double>(spread.count)),
                         shown_answer(answer, spread.most), row_words(table, spread.least_row),
                         row_words(table, spread.most_row)});
  }
  return told;
}

/// How often each word of a code comes.
Table words_table(const Answers& table) {
  Table told{"Rows by word", {{"answer", "", 0, false}, {"word", "", 0, false}, {"rows", "", 0}}, {}, ""};
  for (const Answers::Answer& answer : table.answers) {
    std::vector<double> counts(answer.flags.size(), 0.0);
    for (const double value : answer.values) {
      if (value >= 0.0 && value < static_cast<double>(counts.size())) counts[static_cast<std::size_t>(value)] += 1.0;
    }
    for (std::size_t i = 0; i < counts.size(); ++i) {
      if (counts[i] > 0.0) told.rows.push_back({answer.name, answer.flags[i], counts[i]});
    }
  }
  return told;
}

std::string rows_answer(const Answers& table) {
  const auto light = std::find_if(table.answers.begin(), table.answers.end(),
                                  [](const auto& one) { return one.name == "usable_laser_power"; });
  const auto best = light != table.answers.end() ? light : table.answers.begin();
  const Spread spread = spread_of_values(*best);
  const long long solved = table.rows - table.not_solved;
  if (spread.count == 0) return fmt::format("None of {} rows has an answer.", solved);
  return fmt::format(
      "Of {} rows, {} is most at {}: {}; least at {}: {}.", solved, best == light ? "usable light" : best->name,
      row_words(table, spread.most_row), amount_words(shown_answer(*best, spread.most), unit_of_answer(*best)),
      row_words(table, spread.least_row), amount_words(shown_answer(*best, spread.least), unit_of_answer(*best)));
}

/// `met in 31 of 144 rows`; empty where that was not asked.
std::string limits_words(const Answers& table) {
  const auto met = std::find_if(table.answers.begin(), table.answers.end(),
                                [](const Answers::Answer& one) { return one.name == "limits_met"; });
  if (met == table.answers.end()) return "";
  return fmt::format("met in {} of {} rows", std::count(met->values.begin(), met->values.end(), 1.0), table.rows);
}

}  // namespace

Chapter rows_chapter(const ResultContent& content) {
  const View result = content.view();
  Answers table = answers_of(content);
  part_inputs(table, result);
  check_size(table, result);
  if (table.varied.empty() || table.answers.empty())
    result.refuse(Code::value_out_of_range, "the result varies nothing or answers nothing");
  Chapter chapter;
  std::string names;
  for (const Answers::Varied& varied : table.varied) names += (names.empty() ? "" : ", ") + varied.name;
  chapter.question = fmt::format("What comes of {} together?", names);
  chapter.answer = rows_answer(table);
  chapter.met = table.without_answer < table.rows - table.not_solved;
  chapter.limits = limits_words(table);
  if (const auto why = result.find("why")) {
    chapter.binds =
        "As the case stands: " + binding_sentence(limit_if(*why, "binding_limit"), limit_if(*why, "next_limit"));
  }
  chapter.next = next_steps(result);
  const auto chosen = worth_drawing(table);
  if (table.grid && table.varied.size() == 2) {
    for (const Answers::Answer* answer : chosen) chapter.sections.push_back(map_of_answer(table, *answer));
  } else if (table.varied.size() == 1 && !chosen.empty()) {
    chapter.sections.push_back(curves_of_answers(table, chosen));
  }
  Section spreads{"answers", "All answers", "", {}, {spreads_table(table)}};
  spreads.says = fmt::format("{} of {} rows solved, {} without an answer.", table.rows - table.not_solved, table.rows,
                             table.without_answer);
  if (Table words = words_table(table); !words.rows.empty()) spreads.tables.push_back(std::move(words));
  chapter.sections.push_back(std::move(spreads));
  if (table.not_solved > 0)
    chapter.warnings.push_back(fmt::format("{}: {} of {} rows are not solved yet; the same command goes on with them",
                                           content.file, table.not_solved, table.rows));
  return chapter;
}

}  // namespace tileflux::report
