/// The story of a transient: what the parts went through, what was delivered, what happened.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "report/story_parts.h"

namespace tileflux::report {

namespace {

/// Rows of a thinned table of a series, and of events.
constexpr std::size_t rows_told = 60;

/// Events that a person must see; the others come with every pulse of the beam.
bool matters(const std::string& what) {
  static const std::set<std::string> everyday{"beam_on",   "beam_off",   "throttle_begins",    "throttle_ends",
                                              "heater_on", "heater_off", "sun_limited_begins", "sun_limited_ends"};
  return everyday.count(what) == 0;
}

std::string words(std::string name) {
  std::replace(name.begin(), name.end(), '_', ' ');
  return name;
}

struct Event {
  double time_s = 0.0;
  std::string what, where;
  std::optional<double> temperature_K;
};

std::vector<Event> events_of(const View& result) {
  std::vector<Event> events;
  for (const View& one : result.items("events"))
    events.push_back(
        {one.number("time_s"), one.text("what"), one.text_or("where", ""), one.number_if("temperature_K")});
  return events;
}

/// Nodes by the role that they have in the section of the tile.
std::map<std::string, std::string> groups_of(const View& result) {
  std::map<std::string, std::string> groups;
  const auto parts = result.find("section");
  if (!parts) return groups;
  for (const View& part : parts->items()) {
    for (const View& node : part.items("nodes")) groups[node.text()] = part.text("role") + "s";
  }
  return groups;
}

std::string group_of(const std::map<std::string, std::string>& groups, const std::string& node) {
  if (node.ends_with(".junction")) return "junctions";
  const auto found = groups.find(node);
  return found != groups.end() ? found->second : "other parts";
}

/// What a scalar of the series is called, grouped and shown as.
struct ScalarTold {
  std::string name, group, unit;
  double factor = 1.0;
  bool shown = false;
};

ScalarTold told_scalar(const results::SeriesTable::Scalar& scalar) {
  constexpr double degrees_per_radian = 57.29577951308232;
  std::string name = scalar.name;
  for (const char* unit : {"_W_per_m2", "_W", "_rad", "_m"}) {
    if (name.ends_with(unit)) {
      name.resize(name.size() - std::string(unit).size());
      break;
    }
  }
  if (scalar.name == "light_out_W") return {"light out", "light", "W", 1.0, true};
  if (scalar.name == "electricity_available_W") return {"electricity available", "power", "W", 1.0, true};
  if (scalar.name == "electricity_drawn_W") return {"electricity drawn", "power", "W", 1.0, true};
  if (scalar.name == "battery_charge") return {"battery charge", "charge", "%", 100.0, true};
  if (scalar.unit == "1") return {words(name), "shares", "%", 100.0, false};
  if (scalar.unit == "rad") return {words(name), "sun", "deg", degrees_per_radian, false};
  if (scalar.unit == "W m-2") return {words(name), "sun", "W/m2", 1.0, false};
  return {words(name), scalar.unit == "W" ? "power" : "sun", scalar.unit, 1.0, false};
}

/// A scalar that never is anything but nothing says nothing.
bool says_something(const std::vector<double>& values) {
  return std::any_of(values.begin(), values.end(), [](double value) { return !std::isnan(value) && value != 0.0; });
}

bool is_constant(const std::vector<double>& values) {
  return std::all_of(values.begin(), values.end(), [&](double value) { return value == values.front(); });
}

void add_temperatures(LineChart& chart, const results::SeriesTable& series, const View& result) {
  const std::map<std::string, std::string> groups = groups_of(result);
  std::set<std::string> limited;
  for (const LimitTold& limit : limits_of(result.at("margins"))) {
    if (limit.kind == "temperature") limited.insert(limit.node);
  }
  constexpr std::size_t few = 8;
  const std::size_t parts = series.parts.size(), rows = series.times_s.size();
  for (std::size_t p = 0; p < parts; ++p) {
    LineChart::Line line;
    line.name = series.parts[p];
    line.group = group_of(groups, line.name);
    line.unit = "degC";
    line.shown = parts <= few || limited.count(line.name) > 0;
    line.values.resize(rows);
    for (std::size_t row = 0; row < rows; ++row) line.values[row] = celsius_of(series.temperatures_K[row * parts + p]);
    chart.lines.push_back(std::move(line));
  }
}

void add_scalars(LineChart& chart, const results::SeriesTable& series) {
  for (const results::SeriesTable::Scalar& scalar : series.scalars) {
    if (!says_something(scalar.values)) continue;
    const ScalarTold told = told_scalar(scalar);
    LineChart::Line line{told.name,
                         told.group,
                         told.unit,
                         scalar.values,
                         told.shown && !is_constant(scalar.values),
                         scalar.name == "beam"};
    for (double& value : line.values) value *= told.factor;
    chart.lines.push_back(std::move(line));
  }
}

/// Where less than half of the Sun is seen, with edges where the share passes a half.
std::vector<LineChart::Band> eclipses_of(const results::SeriesTable& series) {
  std::vector<LineChart::Band> bands;
  const auto seen = std::find_if(series.scalars.begin(), series.scalars.end(),
                                 [](const auto& scalar) { return scalar.name == "sun_seen"; });
  if (seen == series.scalars.end()) return bands;
  constexpr double half = 0.5;
  const std::vector<double>& share = seen->values;
  const std::vector<double>& time_s = series.times_s;
  double begin_s = 0.0;
  bool inside = false;
  for (std::size_t i = 0; i < share.size(); ++i) {
    const bool dark = share[i] < half;
    if (dark == inside) continue;
    double edge_s = time_s[i];
    if (i > 0) {
      const double portion = (half - share[i - 1]) / (share[i] - share[i - 1]);
      edge_s = time_s[i - 1] + portion * (time_s[i] - time_s[i - 1]);
    }
    if (dark)
      begin_s = edge_s;
    else
      bands.push_back({"eclipse", begin_s, edge_s, "eclipse"});
    inside = dark;
  }
  if (inside) bands.push_back({"eclipse", begin_s, time_s.back(), "eclipse"});
  return bands;
}

std::vector<LineChart::Level> levels_of(const View& result) {
  std::vector<LineChart::Level> levels;
  for (const LimitTold& limit : limits_of(result.at("margins"))) {
    if (limit.kind == "temperature")
      levels.push_back({limit_words(limit), limit.shown.unit, limit.limit, limit.node});
    else if (limit.kind == "charge")
      levels.push_back({limit_words(limit), limit.shown.unit, limit.limit, "battery charge"});
  }
  return levels;
}

/// Events that matter, and of the others the kinds that do not crowd the chart.
std::vector<LineChart::Mark> marks_of(const std::vector<Event>& events, std::string& says) {
  constexpr std::size_t most_of_a_kind = 40;
  std::map<std::string, std::size_t> counts;
  for (const Event& event : events) ++counts[event.what];
  std::vector<LineChart::Mark> marks;
  for (const Event& event : events) {
    if (!matters(event.what) && counts[event.what] > most_of_a_kind) continue;
    // `beam on: beam` says nothing more than `beam on`.
    const bool says_where = !event.where.empty() && !event.what.starts_with(event.where);
    marks.push_back({words(event.what) + (says_where ? ": " + event.where : ""), event.time_s, words(event.what)});
  }
  std::string crowded;
  for (const auto& [what, count] : counts) {
    if (!matters(what) && count > most_of_a_kind)
      crowded += (crowded.empty() ? "" : ", ") + fmt::format("{} {}", count, words(what));
  }
  if (!crowded.empty()) says += " Not marked, being too many: " + crowded + ".";
  return marks;
}

/// Rows of the series at or just behind events that matter.
std::vector<std::size_t> rows_at(const std::vector<Event>& events, const std::vector<double>& times_s) {
  constexpr std::size_t most = 20;
  std::vector<std::size_t> rows;
  for (const Event& event : events) {
    if (!matters(event.what)) continue;
    const auto at = std::lower_bound(times_s.begin(), times_s.end(), event.time_s);
    rows.push_back(static_cast<std::size_t>(at - times_s.begin()));
    if (rows.size() == most) break;
  }
  return rows;
}

Table series_table(const LineChart& chart, const std::vector<Event>& events, long long rows_in_file) {
  Table table{"The series", {{"time", "s", 1}}, {}, ""};
  std::vector<const std::vector<double>*> columns;
  for (const LineChart::Line& line : chart.lines) {
    table.columns.push_back({line.name, line.unit, line.unit == "m" ? -7 : 2});
    columns.push_back(&line.values);
  }
  const std::vector<std::size_t> rows = standing_rows(columns, chart.x.size(), rows_at(events, chart.x), rows_told);
  for (const std::size_t row : rows) {
    std::vector<Cell> cells{chart.x[row]};
    for (const auto* column : columns) cells.push_back(cell_of((*column)[row]));
    table.rows.push_back(std::move(cells));
  }
  if (rows.size() < static_cast<std::size_t>(rows_in_file))
    table.left_out = fmt::format(
        "{} of {} rows: first and last, the extremes of every column, events that matter, and others evenly between; "
        "series.csv has them all.",
        rows.size(), rows_in_file);
  return table;
}

Section series_section(const ResultContent& content, const std::vector<Event>& events) {
  const results::SeriesTable& series = *content.series;
  const View result = content.view();
  Section section{"series", "Temperatures and powers over time", "", {}, {}};
  LineChart chart;
  chart.x_name = "time";
  chart.x_unit = "s";
  chart.x = series.times_s;
  add_temperatures(chart, series, result);
  add_scalars(chart, series);
  chart.levels = levels_of(result);
  chart.bands = eclipses_of(series);
  section.says = fmt::format("{} over {}.", plural(series.times_s.size(), "row"),
                             time_words(series.times_s.back() - series.times_s.front()));
  if (static_cast<long long>(series.times_s.size()) < series.rows_in_file)
    section.says +=
        fmt::format(" The file has {} rows; those kept are evenly spread, extremes among them.", series.rows_in_file);
  if (!chart.bands.empty()) section.says += fmt::format(" {} shaded.", plural(chart.bands.size(), "eclipse"));
  chart.marks = marks_of(events, section.says);
  section.tables.push_back(series_table(chart, events, series.rows_in_file));
  section.chart = std::move(chart);
  return section;
}

/// Digits of seconds that mean something beside the length of the run.
int decimals_of_times(const View& result) {
  constexpr double long_run_s = 1e6;
  return result.number("end_s") < long_run_s ? 1 : 0;
}

Section extremes_section(const View& result) {
  Section section{"extremes", "The coldest and the warmest of every part", "", {}, {}};
  const int decimals = decimals_of_times(result);
  Table table{"Extremes and when",
              {{"part", "", 0, false},
               {"lowest", "degC"},
               {"at", "s", decimals},
               {"highest", "degC"},
               {"at", "s", decimals},
               {"least margin", "K"}},
              {},
              ""};
  std::map<std::string, double> least;
  for (const LimitTold& limit : limits_of(result.at("margins"))) {
    if (limit.kind != "temperature") continue;
    const auto [known, is_new] = least.emplace(limit.node, limit.margin);
    if (!is_new) known->second = std::min(known->second, limit.margin);
  }
  for (const auto& [name, range] : result.entries("extremes")) {
    const auto margin = least.find(name);
    table.rows.push_back({name, celsius_of(range.number("lowest_K")), range.number("lowest_at_s"),
                          celsius_of(range.number("highest_K")), range.number("highest_at_s"),
                          margin != least.end() ? Cell(margin->second) : Cell()});
  }
  section.says = "Located between the rows of the series too.";
  section.tables.push_back(std::move(table));
  return section;
}

Section events_section(const View& result, const std::vector<Event>& events) {
  Section section{"events", "What happened", "", {}, {}};
  Table counts{"Events by kind", {{"what", "", 0, false}, {"how often", "", 0}}, {}, ""};
  for (const auto& [what, count] : result.entries("event_counts")) counts.rows.push_back({words(what), count.number()});
  Table table{"Events",
              {{"time", "s", decimals_of_times(result)}, {"what", "", 0, false}, {"where", "", 0, false}, {"at", "degC"}},
              {},
              ""};
  std::vector<std::size_t> told;
  for (std::size_t i = 0; i < events.size() && told.size() < rows_told; ++i) {
    if (matters(events[i].what)) told.push_back(i);
  }
  for (std::size_t i = 0; i < events.size() && told.size() < rows_told; ++i) {
    if (!matters(events[i].what)) told.push_back(i);
  }
  std::sort(told.begin(), told.end());
  for (const std::size_t i : told) {
    const Event& event = events[i];
    table.rows.push_back({event.time_s, words(event.what), event.where,
                          event.temperature_K ? Cell(celsius_of(*event.temperature_K)) : Cell()});
  }
  const auto all = static_cast<std::size_t>(result.number("event_count"));
  if (all > table.rows.size())
    table.left_out = fmt::format(
        "{} of {} events: those that matter first, then those that come first; events.csv has "
        "them all.",
        table.rows.size(), all);
  section.says = all == 0 ? "Nothing happened." : plural(all, "event") + ".";
  if (!counts.rows.empty()) section.tables.push_back(std::move(counts));
  if (!table.rows.empty()) section.tables.push_back(std::move(table));
  return section;
}

/// Heaters, battery, wear, emitting path: a table each where there is something.
Section devices_section(const View& result) {
  Section section{"devices", "Heaters, battery, wear, emitting path", "", {}, {}};
  Table heaters{
      "Heaters", {{"heater", "", 0, false}, {"power", "W"}, {"duty", "%", 1}, {"switched on", "", 0}}, {}, ""};
  for (const auto& [name, use] : result.entries("heaters"))
    heaters.rows.push_back({name, use.number("power_W"), 100.0 * use.number("duty"), use.number("switched_on")});
  Table battery{"Charge of the battery", {{"begin", "%"}, {"end", "%"}, {"least", "%"}, {"most", "%"}}, {}, ""};
  if (const auto use = result.find("battery"))
    battery.rows.push_back({use->number("begin_percent"), use->number("end_percent"), use->number("least_percent"),
                            use->number("most_percent")});
  Table ageing{"What wears", {{"what", "", 0, false}, {"begin", "", -6}, {"end", "", -6}}, {}, ""};
  for (const auto& [name, state] : result.entries("ageing"))
    ageing.rows.push_back({name, state.number("begin"), state.number("end")});
  Table path{"Emitting path with the beam on",
             {{"part", "", 0, false}, {"lowest", "degC"}, {"highest", "degC"}, {"range", "K"}, {"fastest", "K/s", -3}},
             {},
             ""};
  for (const auto& [name, node] : result.entries("emitting_path"))
    path.rows.push_back({name, celsius_of(node.number("lowest_K")), celsius_of(node.number("highest_K")),
                         node.number("range_K"), node.number("fastest_K_per_s")});
  for (Table* table : {&heaters, &battery, &ageing, &path}) {
    if (!table->rows.empty()) section.tables.push_back(std::move(*table));
  }
  return section;
}

/// The unit in which energies up to a size are read, and its joules.
std::pair<const char*, double> energy_unit(double largest_J) {
  return largest_J < 1e9 ? std::pair("kJ", 1e3) : largest_J < 1e12 ? std::pair("MJ", 1e6) : std::pair("GJ", 1e9);
}

Table run_books(const View& result) {
  double largest_J = 0.0;
  for (const auto& [name, value] : result.entries("ledger_J")) largest_J = std::max(largest_J, std::abs(value.number()));
  const auto [unit, unit_J] = energy_unit(largest_J);
  Table table{"Energy books of the run", {{"energy", "", 0, false}, {"amount", unit}}, {}, ""};
  for (const auto& [name, value] : result.entries("ledger_J"))
    table.rows.push_back({words(name), value.number() / unit_J});
  return table;
}

/// What the solver did, and how exactly: counts, and numbers of which the size matters.
std::vector<Table> run_solver(const View& result) {
  Table counts{"Solver", {{"what", "", 0, false}, {"how often", "", 0}}, {}, ""};
  Table sizes{"Accuracy of the run", {{"what", "", 0, false}, {"number", "", -3}}, {}, ""};
  for (const auto& [name, value] : result.entries("solver")) {
    const bool tolerance = name.find("tolerance") != std::string::npos;
    (tolerance ? sizes : counts).rows.push_back({words(name), value.number()});
  }
  sizes.rows.push_back({std::string("residual relative to what came in"), result.number("ledger_residual_relative")});
  sizes.rows.push_back({std::string("residual as a temperature, K"), result.number("ledger_residual_K")});
  return {std::move(counts), std::move(sizes)};
}

std::string run_answer(const View& result, const std::optional<LimitTold>& binding) {
  const double end_s = result.number("end_s"), light_J = result.number("light_J");
  std::string text =
      light_J > 0.0 ? fmt::format("In {} the tile delivers {} of light, {} on average over the run", time_words(end_s),
                                  amount_words(light_J, "J"), amount_words(result.number("mean_light_W"), "W"))
                    : fmt::format("In {} the tile delivers no light", time_words(end_s));
  if (!binding) return text + ".";
  return text + fmt::format("; {}{}, {}.",
                            result.flag("limits_met") ? "every limit is met, nearest " : "limits are broken, worst ",
                            limit_words(*binding), left_words(*binding));
}

Chapter accelerated_chapter(const View& result) {
  Chapter chapter;
  chapter.question = "What does wear leave after all that time?";
  chapter.met = result.flag("limits_met");
  const std::vector<View> rows = result.items("rows");
  if (rows.empty()) result.at("rows").refuse(Code::value_out_of_range, "the run has no row");
  LineChart chart;
  chart.x_name = "time";
  chart.x_unit = "d";
  chart.lines.push_back({"mean light", "light", "W", {}});
  const auto [energy, energy_J] = energy_unit(result.number("light_J"));
  Table table{"Wear by time", {{"time", "d", 1}, {"mean light", "W", 3}, {"light so far", energy}}, {}, ""};
  for (const auto& [name, value] : rows.front().entries("ageing")) {
    chart.lines.push_back({name, "wear", "", {}});
    table.columns.push_back({name, "", -6});
  }
  table.columns.push_back({"binding limit", "", 0, false});
  for (const View& row : rows) {
    constexpr double day_s = 86400.0;
    const double time_d = row.number("time_s") / day_s;
    chart.x.push_back(time_d);
    chart.lines[0].values.push_back(row.number("mean_light_W"));
    std::vector<Cell> cells{time_d, row.number("mean_light_W"), row.number("light_J") / energy_J};
    const auto ages = row.entries("ageing");
    if (ages.size() + 1 != chart.lines.size()) row.refuse(Code::table_shape, "its ageing is not that of the first row");
    for (std::size_t i = 0; i < ages.size(); ++i) {
      chart.lines[i + 1].values.push_back(ages[i].second.number());
      cells.emplace_back(ages[i].second.number());
    }
    const auto binding = limit_if(row, "binding_limit");
    cells.emplace_back(binding ? limit_words(*binding) + ", " + left_words(*binding) : "");
    table.rows.push_back(std::move(cells));
  }
  chapter.answer = fmt::format("In {} the tile delivers {} of light; its mean falls from {} to {}.",
                               time_words(result.number("end_s")), amount_words(result.number("light_J"), "J"),
                               amount_words(rows.front().number("mean_light_W"), "W"),
                               amount_words(rows.back().number("mean_light_W"), "W"));
  const auto last = limit_if(rows.back(), "binding_limit");
  chapter.binds = binding_sentence(last, std::nullopt);
  chapter.next = next_steps(result);
  Section section{"wear", "Light and wear over time", "Between the rows one repeating cycle stands for many.", {}, {}};
  section.chart = std::move(chart);
  section.tables.push_back(std::move(table));
  chapter.sections.push_back(std::move(section));
  return chapter;
}

}  // namespace

Chapter run_chapter(const ResultContent& content) {
  const View result = content.view();
  if (result.has("accelerated") && result.flag("accelerated")) return accelerated_chapter(result);
  Chapter chapter;
  chapter.question = "What do the parts go through, and how much light is delivered?";
  chapter.met = result.flag("limits_met");
  const auto binding = limit_if(result, "binding_limit"), next = limit_if(result, "next_limit");
  chapter.answer = run_answer(result, binding);
  chapter.binds = binding_sentence(binding, next);
  chapter.next = next_steps(result);
  const std::vector<Event> events = events_of(result);
  if (content.series)
    chapter.sections.push_back(series_section(content, events));
  else
    chapter.warnings.push_back(content.file + ": no series.nc stands beside it, so nothing is drawn over time");
  Section margins{"margins", "How far the parts were from their limits at their worst instants", "", {}, {}};
  const std::vector<LimitTold> limits = limits_of(result.at("margins"));
  if (!limits.empty()) {
    margins.says = result.flag("limits_met") ? "Every limit is met at every instant." : "At least one limit is broken.";
    margins.chart = margin_chart(limits);
    margins.tables.push_back(margin_table("Limits over the run, least margin first", limits));
    chapter.sections.push_back(std::move(margins));
  }
  chapter.sections.push_back(extremes_section(result));
  chapter.sections.push_back(events_section(result, events));
  Section devices = devices_section(result);
  if (!devices.tables.empty()) chapter.sections.push_back(std::move(devices));
  chapter.sections.push_back({"books",
                              "Where the energy went",
                              "What came in is what left, is stored, or is the residual.",
                              {},
                              {run_books(result)}});
  for (Table& table : run_solver(result)) chapter.numbers.push_back(std::move(table));
  return chapter;
}

}  // namespace tileflux::report
