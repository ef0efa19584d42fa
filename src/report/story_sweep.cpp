/// The story of one value over a range: curves, regimes, crossings.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "report/story_parts.h"

namespace tileflux::report {

namespace {

constexpr double nothing = std::numeric_limits<double>::quiet_NaN();

/// A value of the sweep in the unit of its range.
std::string at_words(const View& varied, double value) {
  const std::string& unit = varied.text("unit");
  return fmt::format("{:.4g}{}", value, unit == "1" ? "" : " " + unit);
}

std::string limit_with_beam(const std::optional<LimitTold>& limit) {
  return limit ? limit_words(*limit) + (limit->beam.empty() ? "" : ", beam " + limit->beam) : "";
}

/// The curves, a gap where a value has no answer.
struct Curves {
  LineChart chart;
  std::size_t light = 0, duty = 0, hottest = 0, margin = 0;

  explicit Curves(const View& varied) {
    chart.x_name = varied.text("path");
    chart.x_unit = varied.text("unit");
    chart.x_logarithmic = varied.text_or("spacing", "") == "log";
    light = add("usable light", "W", "");
    duty = add("sustainable duty", "%", "");
    hottest = add("hottest part", "degC", "");
    margin = add("margin of the binding limit", "K", "");
  }

  std::size_t add(const std::string& name, const std::string& unit, const std::string& group) {
    LineChart::Line line{name, group, unit, std::vector<double>(chart.x.size(), nothing), group.empty()};
    chart.lines.push_back(std::move(line));
    return chart.lines.size() - 1;
  }

  /// The line of a name, made where a value first has it.
  LineChart::Line& line(const std::string& name, const std::string& unit, const std::string& group) {
    const auto known = std::find_if(chart.lines.begin(), chart.lines.end(),
                                    [&](const LineChart::Line& one) { return one.name == name; });
    return known != chart.lines.end() ? *known : chart.lines[add(name, unit, group)];
  }
};

void add_point(Curves& curves, const View& point) {
  curves.chart.x.push_back(point.number("value"));
  for (LineChart::Line& line : curves.chart.lines) line.values.push_back(nothing);
  if (point.has("trouble")) return;
  const auto put = [&](std::size_t line, double value) { curves.chart.lines[line].values.back() = value; };
  if (point.has("sustainable_beam")) put(curves.light, point.number("usable_laser_power_W"));
  if (const auto duty = point.find("sustainable_duty")) put(curves.duty, 100.0 * duty->number("fraction"));
  put(curves.hottest, celsius_of(point.at("hottest").number("temperature_K")));
  if (const auto binding = limit_if(point, "binding_limit")) {
    if (binding->kind == "temperature") put(curves.margin, binding->margin);
  }
  const View temperatures = point.at("temperature_K"), heaters = point.at("heaters_W");
  for (const char* beam : {"beam_on", "beam_off"}) {
    const std::string state = std::string(beam) == "beam_on" ? ", beam on" : ", beam off";
    if (const auto nodes = temperatures.find(beam)) {
      for (const auto& [name, value] : nodes->entries())
        curves.line(name + state, "degC", "temperatures" + state).values.back() = celsius_of(value.number());
    }
    if (const auto powers = heaters.find(beam)) {
      for (const auto& [name, value] : powers->entries())
        curves.line("heater " + name + state, "W", "heaters" + state).values.back() = value.number();
    }
  }
}

/// Lines without any value are left out.
void drop_empty_lines(LineChart& chart) {
  std::erase_if(chart.lines, [](const LineChart::Line& line) {
    return std::all_of(line.values.begin(), line.values.end(), [](double value) { return std::isnan(value); });
  });
}

/// Stretches of one regime; they change at crossings, or between two values where none was located.
std::vector<LineChart::Band> regime_bands(const View& result, const std::vector<View>& points) {
  std::vector<double> edges;
  for (const View& crossing : result.items("crossings")) {
    if (crossing.text("what") == "regime") edges.push_back(crossing.number("value"));
  }
  std::vector<LineChart::Band> bands;
  double before = 0.0;
  for (const View& point : points) {
    const double value = point.number("value");
    const std::string regime = point.has("trouble") ? "no answer" : point.text("regime");
    if (bands.empty() || bands.back().kind != regime) {
      double edge = bands.empty() ? value : 0.5 * (before + value);
      for (const double one : edges) {
        if (!bands.empty() && one >= before && one <= value) edge = one;
      }
      if (!bands.empty()) bands.back().end = edge;
      bands.push_back({regime, edge, value, regime});
    }
    bands.back().end = value;
    before = value;
  }
  return bands;
}

std::string crossing_words(const View& crossing) {
  const std::string& what = crossing.text("what");
  const std::string from = crossing.text_or("from", ""), to = crossing.text_or("to", "");
  const auto from_limit = limit_if(crossing, "from_limit"), to_limit = limit_if(crossing, "to_limit");
  if (what == "limit" && from_limit) return limit_with_beam(from_limit) + ": " + from + " to " + to;
  if (what == "binding limit") return limit_with_beam(from_limit) + " to " + limit_with_beam(to_limit);
  const std::string of = crossing.text_or("of", "");
  return (of.empty() ? what : of) + ": " + from + " to " + to;
}

Table points_table(const View& varied, const std::vector<View>& points) {
  Table table{"Value by value",
              {{varied.text("path"), varied.text("unit"), -5},
               {"usable light", "W"},
               {"sustainable duty", "%", 1},
               {"hottest", "", 0, false},
               {"at", "degC"},
               {"regime", "", 0, false},
               {"binding limit", "", 0, false},
               {"margin", "", -4},
               {"unit", "", 0, false}},
              {},
              ""};
  for (const View& point : points) {
    if (const auto trouble = point.find("trouble")) {
      table.rows.push_back(
          {point.number("value"), {}, {}, {}, {}, "no answer: " + trouble->text_or("code", ""), {}, {}, {}});
      continue;
    }
    const auto binding = limit_if(point, "binding_limit");
    const auto duty = point.find("sustainable_duty");
    table.rows.push_back(
        {point.number("value"), point.has("sustainable_beam") ? Cell(point.number("usable_laser_power_W")) : Cell(),
         duty ? Cell(100.0 * duty->number("fraction")) : Cell(), point.at("hottest").text("node"),
         celsius_of(point.at("hottest").number("temperature_K")), point.text("regime"), limit_with_beam(binding),
         binding ? Cell(binding->margin) : Cell(), binding ? binding->shown.margin_unit : std::string()});
  }
  return table;
}

/// Every line of the chart, so that nothing stands in the picture alone.
Table lines_table(const LineChart& chart, std::string caption) {
  Table table{std::move(caption), {{chart.x_name, chart.x_unit, -5}}, {}, ""};
  std::vector<const std::vector<double>*> columns;
  for (const LineChart::Line& line : chart.lines) {
    table.columns.push_back({line.name, line.unit, 2});
    columns.push_back(&line.values);
  }
  constexpr std::size_t most_told = 60;
  const auto rows = standing_rows(columns, chart.x.size(), {}, most_told);
  for (const std::size_t row : rows) {
    std::vector<Cell> cells{chart.x[row]};
    for (const auto* column : columns) cells.push_back(cell_of((*column)[row]));
    table.rows.push_back(std::move(cells));
  }
  if (rows.size() < chart.x.size())
    table.left_out = fmt::format("{} of {} values: the extremes of every column and others evenly between.",
                                 rows.size(), chart.x.size());
  return table;
}

std::string stretches_words(const View& result, const View& varied, double to_unit) {
  std::string text;
  for (const View& stretch : result.items("beam_sustained")) {
    const std::string from = at_words(varied, stretch.number("from_si") * to_unit);
    const std::string to = at_words(varied, stretch.number("to_si") * to_unit);
    text += (text.empty() ? "" : " and ") + (from == to ? "at " + from : "from " + from + " to " + to);
  }
  return text;
}

/// What the beam and the light do over the range.
std::string sweep_answer(const View& result, const View& varied, const std::vector<View>& points) {
  if (result.number("answered") <= 0.0) return "No value has an answer.";
  // Factor from SI to the unit of the range, by a value that has both.
  double to_unit = 1.0;
  bool linear = true;
  for (const View& point : points) {
    if (point.number("value_si") == 0.0) continue;
    const double factor = point.number("value") / point.number("value_si");
    constexpr double round_off = 1e-9;
    if (to_unit != 1.0 && std::abs(factor - to_unit) > round_off * std::abs(to_unit)) linear = false;
    to_unit = factor;
  }
  std::string text;
  if (!linear) return fmt::format("{} has {} with an answer.", varied.text("path"), plural(points.size(), "value"));
  const std::string stretches = stretches_words(result, varied, to_unit);
  text = stretches.empty() ? "The beam can be sustained at no value of " + varied.text("path")
                           : fmt::format("With {} {} the beam can be sustained", varied.text("path"), stretches);
  if (const auto most = result.find("most_light"))
    text += fmt::format("; most light is {} at {}", amount_words(most->number("usable_laser_power_W"), "W"),
                        at_words(varied, most->number("at_si") * to_unit));
  return text + ".";
}

}  // namespace

Chapter sweep_chapter(const ResultContent& content) {
  const View result = content.view();
  const View varied = result.at("varied");
  const std::vector<View> points = result.items("points");
  if (points.empty()) result.at("points").refuse(Code::value_out_of_range, "the sweep has no value");
  Chapter chapter;
  chapter.question = fmt::format("What does {} change, and where?", varied.text("path"));
  chapter.answer = sweep_answer(result, varied, points);
  const auto kept = std::count_if(points.begin(), points.end(),
                                  [](const View& point) { return !point.has("trouble") && point.flag("limits_met"); });
  chapter.met = kept > 0;
  chapter.limits = fmt::format("met at {} of {}", kept, plural(points.size(), "value"));
  if (const auto why = result.find("why")) {
    chapter.binds =
        "As the case stands: " + binding_sentence(limit_if(*why, "binding_limit"), limit_if(*why, "next_limit"));
  }
  chapter.next = next_steps(result);

  Curves curves(varied);
  for (const View& point : points) add_point(curves, point);
  LineChart chart = std::move(curves.chart);
  drop_empty_lines(chart);
  chart.bands = regime_bands(result, points);
  Table crossings{
      "Where something changes its kind",
      {{varied.text("path"), varied.text("unit"), -5}, {"what", "", 0, false}, {"from and to", "", 0, false}},
      {},
      ""};
  for (const View& crossing : result.items("crossings")) {
    chart.marks.push_back({crossing_words(crossing), crossing.number("value"), crossing.text("what")});
    crossings.rows.push_back({crossing.number("value"), crossing.text("what"), crossing_words(crossing)});
  }
  const auto present = varied.number_if("in_the_case_si");
  for (const View& point : points) {
    // The case itself, where the sweep goes through it.
    if (present && point.number("value_si") == *present)
      chart.marks.push_back({"the case", point.number("value"), "case"});
  }
  Section section{"curves", "What changes over " + varied.text("path"), "", {}, {}};
  section.says = fmt::format("{}, {}.", plural(points.size(), "value"), plural(crossings.rows.size(), "crossing"));
  section.tables.push_back(points_table(varied, points));
  if (!crossings.rows.empty()) section.tables.push_back(std::move(crossings));
  section.tables.push_back(lines_table(chart, "All curves"));
  section.chart = std::move(chart);
  chapter.sections.push_back(std::move(section));
  return chapter;
}

}  // namespace tileflux::report
