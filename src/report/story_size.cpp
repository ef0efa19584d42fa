/// The story of a radiator for a temperature or for a light.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "report/story_parts.h"

namespace tileflux::report {

namespace {

/// What is printed of a radiator: key, words, unit, factor.
struct RadiatorNumber {
  const char* key;
  const char* words;
  const char* unit;
  double factor;
};
constexpr RadiatorNumber radiator_numbers[] = {
    {"area_m2", "area", "m2", 1.0},
    {"area_before_margin_m2", "area before the margin", "m2", 1.0},
    {"thickness_m", "sheet thickness", "mm", 1e3},
    {"pitch_m", "pitch of the pipes", "mm", 1e3},
    {"fin_length_m", "fin length", "mm", 1e3},
    {"mass_kg", "mass", "kg", 1.0},
    {"sheet_kg", "of it the sheet", "kg", 1.0},
    {"pipes_kg", "of it the pipes", "kg", 1.0},
    {"other_kg", "of it other parts", "kg", 1.0},
    {"mass_per_area_kg_per_m2", "mass per area", "kg/m2", 1.0},
    {"fin_efficiency", "fin efficiency", "%", 100.0},
    {"heat_W", "heat rejected", "W", 1.0},
    {"heat_per_mass_W_per_kg", "heat per mass", "W/kg", 1.0},
};

Table radiator_table(const View& radiator) {
  Table table{"The radiator", {{"what", "", 0, false}, {"value", "", -4}, {"unit", "", 0, false}}, {}, ""};
  for (const RadiatorNumber& one : radiator_numbers) {
    const auto value = radiator.number_if(one.key);
    if (value) table.rows.push_back({std::string(one.words), one.factor * *value, std::string(one.unit)});
  }
  table.rows.push_back({std::string("faces"), radiator.number("faces"), std::string("")});
  return table;
}

std::string demand_words(const View& demand) {
  if (const auto light_W = demand.number_if("light_W")) return fmt::format("{} of light", amount_words(*light_W, "W"));
  return fmt::format("{} below {:.2f} degC with the beam {}", demand.text("node"),
                     celsius_of(demand.number("held_below_K")), demand.text("beam"));
}

Table demands_table(const View& result) {
  Table table{"What is demanded and the area that it takes alone",
              {{"demand", "", 0, false}, {"needs", "m2", 4}, {"limit", "degC"}},
              {},
              ""};
  for (const View& demand : result.items("demands")) {
    const auto limit_K = demand.number_if("limit_K");
    table.rows.push_back({demand_words(demand), cell_of(demand.number_if("needs_area_m2")),
                          limit_K ? Cell(celsius_of(*limit_K)) : Cell()});
  }
  return table;
}

/// One curve over sheet thickness, pitch or area: mass and area, and what is reached where that is told.
Section curve_of_size(const View& result, const View& curve) {
  const std::string over = curve.text("over");
  const bool over_area = over == "area", of_light = [&] {
    const std::vector<View> demands = result.items("demands");
    return !demands.empty() && demands.front().has("light_W");
  }();
  const std::string key = over + (over_area ? "_m2" : "_m");
  const double factor = over_area ? 1.0 : 1e3;
  const char* unit = over_area ? "m2" : "mm";
  Section section{"curve-" + over, "The radiator over its " + over, "", {}, {}};
  LineChart chart;
  chart.x_name = over;
  chart.x_unit = unit;
  chart.lines.push_back({"mass", "", "kg", {}});
  if (!over_area) chart.lines.push_back({"area", "", "m2", {}});
  chart.lines.push_back({"fin efficiency", "", "%", {}, false});
  const bool reached = !curve.items("rows").empty() && curve.items("rows").front().has("reached");
  if (reached) chart.lines.push_back({"reached", "", of_light ? "W" : "degC", {}});
  for (const View& row : curve.items("rows")) {
    const auto at = row.number_if(key.c_str());
    if (!at) continue;
    chart.x.push_back(factor * *at);
    std::size_t line = 0;
    chart.lines[line++].values.push_back(row.number("mass_kg"));
    if (!over_area) chart.lines[line++].values.push_back(row.number("area_m2"));
    const auto efficiency = row.number_if("fin_efficiency");
    chart.lines[line++].values.push_back(efficiency ? 100.0 * *efficiency : std::nan(""));
    if (reached)
      chart.lines[line].values.push_back(of_light ? row.number("reached") : celsius_of(row.number("reached")));
  }
  Table table{"Curve over the " + over, {{over, unit, -4}}, {}, ""};
  for (const LineChart::Line& line : chart.lines)
    table.columns.push_back({line.name, line.unit, line.unit == "degC" ? 2 : -5});
  for (std::size_t i = 0; i < chart.x.size(); ++i) {
    std::vector<Cell> cells{chart.x[i]};
    for (const LineChart::Line& line : chart.lines) cells.push_back(cell_of(line.values[i]));
    table.rows.push_back(std::move(cells));
  }
  if (const auto range = curve.find("within_one_percent_m")) {
    const std::vector<double> ends = range->numbers();
    if (ends.size() != 2) range->refuse(Code::table_shape, "a range has two ends");
    chart.bands.push_back({"within 1 % of the least", factor * ends[0], factor * ends[1], "optimum"});
    section.says = fmt::format("Within 1 % of the least from {:.3g} to {:.3g} {}: the optimum is flat.",
                               factor * ends[0], factor * ends[1], unit);
  }
  if (const auto radiator = result.find("radiator")) {
    if (const auto chosen = radiator->number_if(key.c_str()))
      chart.marks.push_back({"chosen", factor * *chosen, "choice"});
  }
  section.chart = std::move(chart);
  section.tables.push_back(std::move(table));
  return section;
}

/// Limits of a steady state with the chosen radiator.
void add_limits(std::vector<LimitTold>& all, const View& point, const char* when) {
  for (LimitTold limit : limits_of(point.at("margins"))) {
    limit.state = when;
    all.push_back(std::move(limit));
  }
}

Table shortfalls_table(const View& result) {
  Table table{"What no radiator within the bounds does",
              {{"demand", "", 0, false}, {"nearest", "", -6}, {"endless radiator", "", -6}, {"unit", "", 0, false}},
              {},
              ""};
  for (const View& one : result.items("shortfalls")) {
    const bool light = one.at("demand").has("light_W");
    const auto shown = [&](const char* key) {
      const auto value = one.number_if((std::string(key) + (light ? "_W" : "_K")).c_str());
      return value ? Cell(light ? *value : celsius_of(*value)) : Cell();
    };
    table.rows.push_back({demand_words(one.at("demand")), shown("nearest"), shown("endless_radiator"),
                          std::string(light ? "W" : "degC")});
  }
  return table;
}

std::string size_answer(const View& result) {
  const std::string surface = result.text("surface");
  if (!result.flag("possible")) return fmt::format("No radiator '{}' within the bounds does what is asked.", surface);
  const View radiator = result.at("radiator");
  std::string text = fmt::format("{} needs {:.3g} m2", surface, radiator.number("area_m2"));
  if (radiator.number("mass_kg") > 0.0) text += fmt::format(" and {:.3g} kg", radiator.number("mass_kg"));
  text += fmt::format(", the area margin of {:.0f} % included", 100.0 * result.number("area_margin"));
  if (const auto thickness_m = radiator.number_if("thickness_m"))
    text += fmt::format("; the sheet is {:.3g} mm thick and the pipes lie {:.3g} mm apart", 1e3 * *thickness_m,
                        1e3 * radiator.number("pitch_m"));
  if (const auto cold = result.find("cold")) {
    if (const auto heater = cold->find("heater"))
      text += fmt::format("; the cold case asks for {} of heating", amount_words(heater->number("power_W"), "W"));
  }
  return text + ".";
}

std::string size_binds(const View& result) {
  const std::vector<View> shortfalls = result.items("shortfalls");
  if (!shortfalls.empty()) return "What no radiator does is " + demand_words(shortfalls.front().at("demand")) + ".";
  const std::vector<View> demands = result.items("demands");
  std::optional<View> largest;
  for (const View& demand : demands) {
    const auto area = demand.number_if("needs_area_m2");
    if (area && (!largest || *area > largest->number_if("needs_area_m2").value_or(0.0))) largest = demand;
  }
  std::string text = largest ? "What asks for the area is " + demand_words(*largest) + "." : "";
  for (const View& bound : result.items("at_bounds")) text += " At its bound: " + bound.text() + ".";
  return text;
}

}  // namespace

Chapter size_chapter(const ResultContent& content) {
  const View result = content.view();
  Chapter chapter;
  chapter.question = "How large must the radiator be?";
  chapter.answer = size_answer(result);
  chapter.met = result.flag("possible");
  if (!chapter.met) chapter.limits = "not kept by any radiator within the bounds";
  chapter.binds = size_binds(result);
  chapter.next = next_steps(result);
  Section choice{"choice", "The radiator and what asks for it", "", {}, {}};
  choice.says =
      fmt::format("Least {} with {:.3g} K kept to the limits.", result.text("minimise"), result.number("margin_K"));
  if (const auto radiator = result.find("radiator")) choice.tables.push_back(radiator_table(*radiator));
  if (chapter.met) choice.tables.push_back(demands_table(result));
  Table shortfalls = shortfalls_table(result);
  if (!shortfalls.rows.empty()) choice.tables.push_back(std::move(shortfalls));
  chapter.sections.push_back(std::move(choice));
  for (const View& curve : result.items("curves")) chapter.sections.push_back(curve_of_size(result, curve));
  std::vector<LimitTold> limits;
  const View hot = result.at("hot");
  if (const auto on = hot.find("beam_on")) add_limits(limits, *on, "hot case, beam on");
  if (const auto off = hot.find("beam_off")) add_limits(limits, *off, "hot case, beam off");
  bool heated = false;
  if (const auto cold = result.find("cold")) {
    const auto heater = cold->find("heater");
    heated = heater.has_value();
    if (heated)
      std::erase_if(limits, [](const LimitTold& limit) { return limit.kind == "temperature" && !limit.upper; });
    add_limits(limits, cold->at("point"), "cold case");
    if (heater && !heater->flag("limits_held")) {
      chapter.met = false;
      chapter.warnings.push_back("In the cold case no heater on " + heater->text("node") + " keeps " +
                                 heater->text_or("unreached", "everything") + " warm enough.");
    }
  }
  if (!limits.empty()) {
    Section margins{"margins", "How far the parts are from their limits with this radiator", "", {}, {}};
    margins.says = met_sentence(limits);
    if (heated) margins.says += " The heater keeps the lower ones, and is counted in the cold case alone.";
    margins.chart = margin_chart(limits);
    margins.tables.push_back(margin_table("Limits, least margin first", limits));
    chapter.sections.push_back(std::move(margins));
  }
  for (const char* key : {"beam_on", "beam_off"}) {
    const auto point = hot.find(key);
    if (!point) continue;
    const std::string beam = std::string(key) == "beam_on" ? "on" : "off";
    const FlowChart chart = flow_chart(*point);
    if (chart.links.empty()) continue;
    Section flow{
        "flow-" + beam, "Where the power goes in the hot case with the beam " + beam, flow_sentence(chart), chart, {}};
    flow.tables.push_back(flow_table(chart, "Power from station to station, beam " + beam));
    chapter.sections.push_back(std::move(flow));
  }
  return chapter;
}

}  // namespace tileflux::report
