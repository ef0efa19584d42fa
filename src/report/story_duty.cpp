/// The story of bursts, recoveries, ratings and sustainable duties.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "report/story_parts.h"

namespace tileflux::report {

namespace {

/// A limit that a burst, a drive or a duty was chosen to reach: what is missing within the accuracy of the search for a
/// repeating state is nothing.
std::optional<LimitTold> reached(const View& of, const char* key) {
  auto limit = limit_if(of, key);
  constexpr double accuracy = 1e-3;  // ten times what is asked of repeating states, as margins are compared
  if (limit && limit->margin < 0.0 && limit->comparable() > -accuracy) {
    limit->margin = 0.0;
    limit->value = limit->limit;
  }
  return limit;
}

std::string full_words(const std::optional<LimitTold>& limit) {
  return limit ? limit_words(*limit) + ", " + left_words(*limit) : "";
}

/// Without the last column, of texts, where none of them says anything.
Table without_idle_last(Table table) {
  const auto idle = [](const std::vector<Cell>& row) { return std::get<std::string>(row.back()).empty(); };
  if (!std::all_of(table.rows.begin(), table.rows.end(), idle)) return table;
  table.columns.pop_back();
  for (std::vector<Cell>& row : table.rows) row.pop_back();
  return table;
}

/// Burst, recovery, rating and duty with their limits.
Table limits_of_duty(const View& result) {
  Table table{"Duty limits",
              {{"what", "", 0, false},
               {"value", "", -4},
               {"unit", "", 0, false},
               {"binding limit", "", 0, false},
               {"next limit", "", 0, false}},
              {},
              ""};
  const auto add = [&](const char* what, const std::optional<double>& value, const char* unit,
                       const std::optional<View>& of) {
    table.rows.push_back({std::string(what), cell_of(value), std::string(unit),
                          of ? full_words(reached(*of, "binding_limit")) : "",
                          of ? full_words(reached(*of, "next_limit")) : ""});
  };
  const View burst = result.at("burst"), recovery = result.at("recovery"), rating = result.at("continuous_rating");
  add("burst length", burst.number_if("length_s"), "s", burst);
  add("burst if the tile were one lump that loses nothing", burst.number_if("adiabatic_bound_s"), "s", {});
  add("light of a burst", burst.number_if("light_J"), "J", {});
  add("recovery time", recovery.number_if("time_s"), "s", {});
  add("continuous rating, drive", 100.0 * rating.number("drive"), "%", rating);
  add("continuous rating, light", rating.number("light_W"), "W", {});
  const auto duty = result.find("sustainable_duty");
  if (!duty) return without_idle_last(std::move(table));
  add("sustainable duty", 100.0 * duty->number("fraction"), "%", *duty);
  add("at a period of", duty->number("period_s"), "s", {});
  add("mean light", duty->number("mean_light_W"), "W", {});
  const auto bound = duty->number_if("short_period_fraction");
  add("bound as the period goes to zero", bound ? std::optional<double>(100.0 * *bound) : std::nullopt, "%", {});
  return without_idle_last(std::move(table));
}

Table start_table(const View& result) {
  Table table{"Temperatures at the start of the burst", {{"part", "", 0, false}, {"temperature", "degC"}}, {}, ""};
  for (const auto& [name, value] : result.entries("start_temperature_K"))
    table.rows.push_back({name, celsius_of(value.number())});
  return table;
}

/// The limits at the end of a burst, at the rating and in the cycle.
std::vector<LimitTold> nearest_limits(const View& result) {
  std::vector<LimitTold> limits;
  for (const auto& [part, state] : {std::pair{"burst", "burst"}, std::pair{"continuous_rating", "rating"},
                                    std::pair{"sustainable_duty", "cycle"}}) {
    const auto of = result.find(part);
    if (!of) continue;
    for (const char* key : {"binding_limit", "next_limit"}) {
      auto limit = reached(*of, key);
      if (!limit) continue;
      limit->state = state;
      limits.push_back(std::move(*limit));
    }
  }
  return limits;
}

Section curve_section(const View& result, const View& curve) {
  Section section{"curve", "Sustainable duty over the period", "", {}, {}};
  LineChart chart;
  chart.x_name = "period";
  chart.x_unit = "s";
  chart.x_logarithmic = true;
  chart.lines.push_back({"sustainable duty", "", "%", {}});
  chart.lines.push_back({"mean light", "", "W", {}});
  chart.lines.push_back({"bound for short periods", "", "%", {}, false});
  Table table{"Duty over periods",
              {{"period", "s", -5},
               {"sustainable duty", "%"},
               {"mean light", "W"},
               {"bound for short periods", "%"},
               {"binding limit", "", 0, false}},
              {},
              ""};
  std::string bound_by;
  for (const View& point : curve.items("points")) {
    const double period_s = point.number("period_s");
    const auto binding = reached(point, "binding_limit");
    const auto bound = point.number_if("short_period_fraction");
    const std::optional<double> bound_percent = bound ? std::optional<double>(100.0 * *bound) : std::nullopt;
    chart.x.push_back(period_s);
    chart.lines[0].values.push_back(100.0 * point.number("fraction"));
    chart.lines[1].values.push_back(point.number("mean_light_W"));
    chart.lines[2].values.push_back(bound_percent.value_or(std::nan("")));
    table.rows.push_back({period_s, 100.0 * point.number("fraction"), point.number("mean_light_W"),
                          cell_of(bound_percent), binding ? limit_words(*binding) : std::string("none")});
    const std::string binds = binding ? binding->where() : "no limit";
    if (chart.bands.empty() || binds != bound_by) chart.bands.push_back({binds + " binds", period_s, period_s, binds});
    chart.bands.back().end = period_s;
    bound_by = binds;
  }
  // A band ends where the next one begins.
  for (std::size_t i = 1; i < chart.bands.size(); ++i) chart.bands[i - 1].end = chart.bands[i].begin;
  if (const auto duty = result.find("sustainable_duty"))
    chart.marks.push_back({"the case", duty->number("period_s"), "case"});
  if (chart.bands.size() == 1)
    section.says = "Over all periods " + chart.bands.front().name + ".";
  else
    section.says = fmt::format("What binds changes {}.", plural(chart.bands.size() - 1, "time"));
  section.chart = std::move(chart);
  section.tables.push_back(std::move(table));
  return section;
}

Section map_section(const View& map) {
  Section section{"map", "Sustainable duty over drive and period", "", {}, {}};
  HeatMap chart;
  chart.x_name = "period";
  chart.x_unit = "s";
  chart.y_name = "drive";
  chart.y_unit = "%";
  chart.name = "sustainable duty";
  chart.unit = "%";
  chart.x = map.at("period_s").numbers();
  for (const double drive : map.at("drive").numbers()) chart.y.push_back(100.0 * drive);
  Table table{"Sustainable duty, %: drives downwards, periods across", {{"drive", "%", 1}}, {}, ""};
  for (const double period_s : chart.x) table.columns.push_back({time_words(period_s), "", 2});
  const std::vector<View> rows = map.items("fraction");
  if (rows.size() != chart.y.size()) map.refuse(Code::table_shape, "the map has not one row for each drive");
  for (std::size_t d = 0; d < rows.size(); ++d) {
    const std::vector<double> fractions = rows[d].numbers();
    if (fractions.size() != chart.x.size())
      rows[d].refuse(Code::table_shape, "the row has not one value for each period");
    std::vector<Cell> cells{chart.y[d]};
    for (const double fraction : fractions) {
      chart.values.push_back(100.0 * fraction);
      cells.push_back(cell_of(100.0 * fraction));
    }
    table.rows.push_back(std::move(cells));
  }
  section.says = "The largest share of a period that the beam can be on, for ever.";
  section.chart = std::move(chart);
  section.tables.push_back(std::move(table));
  return section;
}

Section cycle_section(const View& duty) {
  Section section{"cycle", "The cycle that repeats", "", {}, {}};
  section.says = fmt::format("Found to within {:.1e} K of the state that repeats.", duty.number("periodic_error_K"));
  Table table{
      "What is left of a disturbance after one cycle", {{"multiplier", "", -4}, {"mostly of", "", 0, false}}, {}, ""};
  for (const View& one : duty.items("multipliers"))
    table.rows.push_back({one.number("magnitude"), one.text("unknown")});
  if (!table.rows.empty()) section.tables.push_back(std::move(table));
  return section;
}

std::string duty_answer(const View& result) {
  const View burst = result.at("burst"), recovery = result.at("recovery");
  const auto length_s = burst.number_if("length_s"), recovery_s = recovery.number_if("time_s");
  std::string text =
      length_s ? fmt::format("A burst can last {}", time_words(*length_s)) : std::string("A burst never meets a limit");
  if (recovery.flag("never"))
    text += " and the tile never recovers";
  else if (length_s && recovery_s)
    text += fmt::format(" and the tile recovers in {}", time_words(*recovery_s));
  if (const auto duty = result.find("sustainable_duty")) {
    text += fmt::format("; repeated every {} the beam can be on for {:.3g} % of the time",
                        time_words(duty->number("period_s")), 100.0 * duty->number("fraction"));
    if (duty->number("mean_light_W") > 0.0)
      text += fmt::format(", {} of light on average", amount_words(duty->number("mean_light_W"), "W"));
  }
  const View rating = result.at("continuous_rating");
  return text + fmt::format("; without a pause {:.3g} % drive holds.", 100.0 * rating.number("drive"));
}

}  // namespace

Chapter duty_chapter(const ResultContent& content) {
  const View result = content.view();
  const auto duty = result.find("sustainable_duty");
  Chapter chapter;
  chapter.question = "How long, how often and how strongly can the beam be on?";
  chapter.answer = duty_answer(result);
  const View rating = result.at("continuous_rating");
  const auto length_s = result.at("burst").number_if("length_s");
  chapter.met =
      rating.number("drive") > 0.0 || !length_s || *length_s > 0.0 || (duty && duty->number("fraction") > 0.0);
  chapter.limits =
      chapter.met ? "kept by the bursts, drive and duty that are told" : "not kept by any burst, drive or duty";
  const View bound = duty.value_or(result.at("burst"));
  chapter.binds = binding_sentence(reached(bound, "binding_limit"), reached(bound, "next_limit"));
  chapter.next = next_steps(result);
  Section limits{"limits", "How long, how often, how strongly", "", {}, {}};
  limits.says = fmt::format("At {:.1f} % drive, without throttle or trip.", 100.0 * result.number("drive"));
  const std::vector<LimitTold> nearest = nearest_limits(result);
  if (!nearest.empty()) {
    limits.chart = margin_chart(nearest);
    limits.tables.push_back(margin_table("Limits that bind or come next", nearest));
  }
  limits.tables.push_back(limits_of_duty(result));
  limits.tables.push_back(start_table(result));
  chapter.sections.push_back(std::move(limits));
  if (const auto curve = result.find("curve")) chapter.sections.push_back(curve_section(result, *curve));
  if (const auto map = result.find("map")) chapter.sections.push_back(map_section(*map));
  if (duty) {
    chapter.sections.push_back(cycle_section(*duty));
    Table numbers{"Energy books of the cycle",
                  {{"residual relative to what came in", "", -3},
                   {"error of the periodic state", "K", -3},
                   {"cycle evaluations", "", 0}},
                  {},
                  ""};
    numbers.rows.push_back({duty->number("ledger_residual_relative"), duty->number("periodic_error_K"),
                            duty->number("cycle_evaluations")});
    chapter.numbers.push_back(std::move(numbers));
  }
  return chapter;
}

}  // namespace tileflux::report
