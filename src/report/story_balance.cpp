/// The story of a steady operating point.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "report/story_parts.h"

namespace tileflux::report {

namespace {

std::vector<LimitTold> limits_of_state(const View& point, const char* beam) {
  std::vector<LimitTold> limits = limits_of(point.at("margins"));
  for (LimitTold& limit : limits) limit.state = std::string("beam ") + beam;
  return limits;
}

/// The hottest node of a state and its temperature.
std::pair<std::string, double> hottest_of(const View& point) {
  std::pair<std::string, double> hottest{"", -1.0};
  for (const auto& [name, value] : point.entries("temperature_K")) {
    if (value.number() > hottest.second) hottest = {name, value.number()};
  }
  return hottest;
}

Section flow_section(const View& point, const char* beam) {
  Section section{std::string("flow-") + beam, std::string("Where the power goes with the beam ") + beam, "", {}, {}};
  const FlowChart chart = flow_chart(point);
  section.says = flow_sentence(chart);
  section.tables.push_back(flow_table(chart, std::string("Power from station to station, beam ") + beam));
  if (!chart.links.empty()) section.chart = chart;
  return section;
}

Table temperatures_table(const std::optional<View>& on, const View& off) {
  Table table{"Temperatures of all parts", {{"part", "", 0, false}}, {}, ""};
  if (on) table.columns.push_back({"beam on", "degC"});
  table.columns.push_back({"beam off", "degC"});
  std::vector<std::pair<std::string, View>> first = off.entries("temperature_K");
  for (const auto& [name, value] : first) {
    std::vector<Cell> row{name};
    if (on) row.emplace_back(celsius_of(on->at("temperature_K").number(name.c_str())));
    row.emplace_back(celsius_of(value.number()));
    table.rows.push_back(std::move(row));
  }
  return table;
}

Table power_table(const std::optional<View>& on, const View& off) {
  Table table{"Power chain and heat", {{"power", "", 0, false}}, {}, ""};
  if (on) table.columns.push_back({"beam on", "W"});
  table.columns.push_back({"beam off", "W"});
  std::string nothing;
  for (const auto& [name, value] : off.entries("power_W")) {
    std::string words = name;
    std::replace(words.begin(), words.end(), '_', ' ');
    if (value.number() == 0.0 && (!on || on->at("power_W").number(name.c_str()) == 0.0)) {
      nothing += (nothing.empty() ? "" : ", ") + words;
      continue;
    }
    std::vector<Cell> row{words};
    if (on) row.emplace_back(on->at("power_W").number(name.c_str()));
    row.emplace_back(value.number());
    table.rows.push_back(std::move(row));
  }
  if (!nothing.empty()) table.left_out = "0 W: " + nothing + ".";
  return table;
}

/// Banks, heaters, pipes and stores of a state, in a table each if there are any.
void add_devices(Section& section, const View& point, const std::string& beam) {
  Table lasers{"Lasers, beam " + beam,
               {{"bank", "", 0, false},
                {"input", "W"},
                {"light", "W"},
                {"heat", "W"},
                {"driver loss", "W"},
                {"loop gain", "", -3}},
               {},
               ""};
  for (const auto& [name, bank] : point.entries("lasers"))
    lasers.rows.push_back({name, bank.number("input_W"), bank.number("light_W"), bank.number("heat_W"),
                           bank.number("driver_loss_W"), bank.number("loop_gain")});
  Table heaters{"Heaters, thermostats averaged, beam " + beam,
                {{"heater", "", 0, false}, {"power", "W"}, {"duty", "%", 1}},
                {},
                ""};
  for (const auto& [name, heater] : point.entries("heaters"))
    heaters.rows.push_back({name, heater.number("power_W"), 100.0 * heater.number("duty")});
  Table pipes{"Heat pipes, beam " + beam,
              {{"pipe", "", 0, false}, {"carried", "W"}, {"at most", "W"}, {"state", "", 0, false}},
              {},
              ""};
  for (const auto& [name, pipe] : point.entries("heat_pipes"))
    pipes.rows.push_back({name, pipe.number("carried_W"), cell_of(pipe.number_if("limit_W")),
                          std::string(pipe.flag("at_limit") ? "AT ITS LIMIT" : "carries")});
  Table stores{"Stores, beam " + beam, {{"store", "", 0, false}, {"molten", "%", 1}}, {}, ""};
  for (const auto& [name, share] : point.entries("melted_share")) stores.rows.push_back({name, 100.0 * share.number()});
  for (Table* table : {&lasers, &heaters, &pipes, &stores}) {
    if (!table->rows.empty()) section.tables.push_back(std::move(*table));
  }
}

Section margins_section(const std::optional<View>& on, const View& off) {
  std::vector<LimitTold> limits = limits_of_state(off, "off");
  if (on) {
    const std::vector<LimitTold> more = limits_of_state(*on, "on");
    limits.insert(limits.end(), more.begin(), more.end());
  }
  Section section{"margins", "How far the parts are from their limits", "", {}, {}};
  section.says = met_sentence(limits);
  if (!limits.empty()) {
    section.chart = margin_chart(limits);
    section.tables.push_back(margin_table("Limits, least margin first", limits));
  }
  return section;
}

Section section_section(const View& result, const View& point, const char* beam) {
  Section section{std::string("section-") + beam, std::string("The tile in section with the beam ") + beam, "", {}, {}};
  const SectionChart chart = section_chart(result, point);
  const auto [name, value_K] = hottest_of(point);
  section.says = fmt::format("The hottest part is {} at {:.1f} degC.", name, celsius_of(value_K));
  Table table{std::string("Parts from the Sun downwards, beam ") + beam,
              {{"part", "", 0, false}, {"is", "", 0, false}, {"temperature", "degC"}, {"least margin", "K"}},
              {},
              ""};
  const bool layers = std::any_of(chart.parts.begin(), chart.parts.end(),
                                  [](const SectionChart::Part& part) { return part.thickness_m > 0.0; });
  if (layers) table.columns.push_back({"thickness", "mm", -4});
  constexpr const char* roles[] = {"layer", "bench", "fin", "device"};
  for (const SectionChart::Part& part : chart.parts) {
    table.rows.push_back({part.name, std::string(roles[static_cast<int>(part.role)]), celsius_of(part.temperature_K),
                          cell_of(part.margin_K)});
    if (layers) table.rows.back().push_back(part.thickness_m > 0.0 ? Cell(1e3 * part.thickness_m) : Cell());
  }
  section.tables.push_back(std::move(table));
  section.chart = chart;
  return section;
}

Table balance_books(const std::optional<View>& on, const View& off) {
  Table table{"Energy books of the steady states",
              {{"state", "", 0, false},
               {"residual", "W", -3},
               {"share of what comes in", "", -3},
               {"worth", "K", -3},
               {"worst node", "W", -3},
               {"slowest time constant", "s", -6},
               {"Newton steps", "", 0}},
              {},
              ""};
  const auto add = [&](const char* name, const View& point) {
    table.rows.push_back({std::string(name), point.number("ledger_residual_W"),
                          point.number("ledger_residual_relative"), cell_of(point.number_if("ledger_residual_K")),
                          point.number("worst_node_residual_W"), cell_of(point.number_if("slowest_time_constant_s")),
                          point.number("newton_steps")});
  };
  if (on) add("beam on", *on);
  add("beam off", off);
  return table;
}

Table answer_table(const View& result, const std::optional<View>& on) {
  Table table{"The answer in numbers", {{"what", "", 0, false}, {"value", "", -5}, {"unit", "", 0, false}}, {}, ""};
  table.rows.push_back({std::string("usable laser power"), result.number("usable_laser_power_W"), std::string("W")});
  table.rows.push_back(
      {std::string("drive that goes with it"), 100.0 * result.number("usable_drive"), std::string("%")});
  if (on) {
    table.rows.push_back(
        {std::string("light with the beam on"), on->at("power_W").number("light_out"), std::string("W")});
    table.rows.push_back({std::string("throttle"), 100.0 * on->number("throttle"), std::string("% of the command")});
  }
  if (const auto rating = result.find("rating_without_throttle")) {
    table.rows.push_back({std::string("continuous rating, no throttle"), rating->number("light_W"), std::string("W")});
    table.rows.push_back({std::string("drive that goes with it"), 100.0 * rating->number("drive"), std::string("%")});
  }
  return table;
}

std::string balance_answer(const View& result, const std::optional<View>& on, const View& off) {
  const auto [hot_off, off_K] = hottest_of(off);
  if (!on)
    return fmt::format("{} is the hottest part, at {:.1f} degC; the case has no beam.", hot_off, celsius_of(off_K));
  const auto [hot_on, on_K] = hottest_of(*on);
  const double light_W = result.number("usable_laser_power_W"), met_W = on->at("power_W").number("sunlight_met");
  const std::string share = met_W > 0.0 ? fmt::format(", {} of the sunlight met", percent_words(light_W / met_W)) : "";
  const std::string hot =
      hot_on == hot_off
          ? fmt::format("{} is the hottest part, at {:.1f} degC with the beam on and {:.1f} degC with it off", hot_on,
                        celsius_of(on_K), celsius_of(off_K))
          : fmt::format("hottest are {} at {:.1f} degC with the beam on and {} at {:.1f} degC with it off", hot_on,
                        celsius_of(on_K), hot_off, celsius_of(off_K));
  if (on->entries("lasers").empty() && light_W == 0.0)
    return fmt::format("{}; {} can be kept up without a pause.", hot,
                       result.number("usable_drive") > 0.0
                           ? fmt::format("{:.0f} % drive", 100.0 * result.number("usable_drive"))
                           : std::string("no drive"));
  if (light_W <= 0.0) return fmt::format("No light can be used without a pause; {}.", hot);
  return fmt::format("{} of light can be used without a pause{}; {}.", amount_words(light_W, "W"), share, hot);
}

}  // namespace

Chapter balance_chapter(const ResultContent& content) {
  const View result = content.view();
  const std::optional<View> on = result.find("beam_on");
  const View off = result.at("beam_off");
  Chapter chapter;
  chapter.question = "How hot does it run, and how much light can be used?";
  chapter.met = result.flag("limits_met");
  chapter.answer = balance_answer(result, on, off);
  const std::string regime = on ? "The tile is " + on->text("regime") + ". " : "";
  std::optional<LimitTold> binding, next;
  if (const auto why = result.find("why")) {
    binding = limit_if(*why, "binding_limit");
    next = limit_if(*why, "next_limit");
  } else {
    binding = limit_if(on.value_or(off), "binding_limit");
    next = limit_if(on.value_or(off), "next_limit");
    for (auto* limit : {&binding, &next}) {
      if (*limit) (*limit)->beam = on ? "on" : "off";
    }
  }
  chapter.binds = regime + binding_sentence(binding, next);
  chapter.next = next_steps(result);
  if (on) chapter.sections.push_back(flow_section(*on, "on"));
  chapter.sections.push_back(flow_section(off, "off"));
  chapter.sections.push_back(margins_section(on, off));
  if (on) chapter.sections.push_back(section_section(result, *on, "on"));
  chapter.sections.push_back(section_section(result, off, "off"));
  Section numbers{"numbers", "All numbers of the steady states", "", {}, {}};
  numbers.says = "As the result file has them, in the units that people use.";
  numbers.tables = {answer_table(result, on), temperatures_table(on, off), power_table(on, off)};
  if (on) add_devices(numbers, *on, "on");
  add_devices(numbers, off, "off");
  chapter.sections.push_back(std::move(numbers));
  chapter.numbers.push_back(balance_books(on, off));
  return chapter;
}

}  // namespace tileflux::report
