#include "support/sample_story.h"

#include <array>
#include <cmath>
#include <functional>
#include <numbers>

namespace tileflux::test {

namespace {

using namespace report;

constexpr double day_s = 86400.0;

using Naming = std::function<std::string(const std::string&)>;

std::string same(const std::string& name) { return name; }

const std::array hostile_names{
    std::string("<script>window.broken=1</script>"),
    std::string("</script><img src=x onerror=window.broken=1>"),
    std::string("\"' onmouseover=window.broken=1 x='"),
    std::string("{{title}} {{{script}}} ${broken} {a|b}"),
    std::string("\u202Eright to left\u202C \u05D0\u05D1\u05D2 \u0645\u0631\u062D\u0628\u0627"),
    std::string("\U0001F525\U0001F469\u200D\U0001F680 emoji"),
    std::string(400, 'W'),
    std::string("bell\a and \xFF\xFE broken bytes \xED\xA0\x80 \xEF\xBF\xBF"),
    std::string("</style><!-- ]]> &amp; %s \\u003c \u2028 line"),
    std::string("__proto__"),
    std::string("constructor"),
    std::string("a long name of many words that goes on and on and never seems to come to any end whatsoever at all")};

/// Each name in the place of a plain one, told apart by that.
std::string hostile(const std::string& name) {
  const std::size_t which = std::hash<std::string>{}(name) % hostile_names.size();
  return hostile_names[which] + " " + name;
}

FlowChart flow(bool beam_on, const Naming& as) {
  using End = FlowChart::End;
  FlowChart chart;
  chart.whole_W = 1361.0;
  const auto station = [&](const char* name, End kind) { chart.stations.push_back({as(name), kind}); };
  const auto link = [&](const char* from, const char* to, double power_W) {
    chart.links.push_back({as(from), as(to), power_W});
  };
  station("sunlight", End::sunlight);
  station("absorbed", End::through);
  station("electricity", End::electricity);
  station("laser input", End::electricity);
  station("heat", End::through);
  station("reflected", End::space);
  station("laser light", End::light);
  station("infrared, cells", End::heat);
  station("infrared, radiator", End::heat);
  link("sunlight", "absorbed", 1224.9);
  link("sunlight", "reflected", 136.1);
  const double drawn_W = beam_on ? 263.61 : 10.12;
  link("absorbed", "electricity", drawn_W);
  link("absorbed", "heat", 1224.9 - drawn_W);
  const double laser_W = beam_on ? 245.42 : 0.0;
  if (beam_on) {
    link("electricity", "laser input", laser_W);
    link("laser input", "laser light", 149.32);
    link("laser input", "heat", laser_W - 149.32);
  }
  link("electricity", "heat", drawn_W - laser_W);
  const double heat_W = 1224.9 - (beam_on ? 149.32 : 0.0);
  link("heat", "infrared, cells", 0.38 * heat_W);
  link("heat", "infrared, radiator", 0.62 * heat_W);
  return chart;
}

Table flow_table(const FlowChart& chart) {
  Table table{.caption = "Power by path",
              .columns = {{.name = "from", .number = false},
                          {.name = "to", .number = false},
                          {.name = "power", .unit = "W"},
                          {.name = "share of the sunlight", .unit = "%", .decimals = 1}}};
  for (const auto& link : chart.links)
    table.rows.push_back({link.from, link.to, link.power_W, 100.0 * link.power_W / chart.whole_W});
  return table;
}

Section flow_section(const std::string& id, const std::string& title, bool beam_on, const Naming& as) {
  FlowChart chart = flow(beam_on, as);
  Table table = flow_table(chart);
  return {.id = id,
          .title = as(title),
          .says = "Where each watt of sunlight goes.",
          .chart = std::move(chart),
          .tables = {std::move(table)}};
}

Section margin_section(const Naming& as) {
  MarginChart chart;
  const auto bar = [&](const char* name, const char* unit, double value, double limit, bool upper, double reserved) {
    const double distance = upper ? limit - value : value - limit;
    chart.bars.push_back({as(name), unit, value, limit, upper, distance - reserved, reserved});
  };
  bar("east.junction", "degC", 47.03, 52.0, true, 11.0);
  bar("west.junction", "degC", 47.62, 52.0, true, 2.0);
  bar("computer", "degC", 56.78, 60.0, true, 0.0);
  bar("converter", "degC", 55.18, 70.0, true, 0.0);
  bar("battery, lower limit", "degC", 18.2, 0.0, false, 5.0);
  bar("cells", "degC", 60.86, 110.0, true, 11.0);
  bar("bench rate", "K/min", 1.31, 2.0, true, 0.0);
  bar("battery charge", "%", 71.0, 40.0, false, 10.0);
  Table table{.caption = "Margins to limits",
              .columns = {{.name = "limit", .number = false},
                          {.name = "unit", .number = false},
                          {.name = "value"},
                          {.name = "limit"},
                          {.name = "margin"},
                          {.name = "reserved"}}};
  for (const auto& one : chart.bars)
    table.rows.push_back({one.name, one.unit, one.value, one.limit, one.margin, one.reserved});
  return {.id = "margins",
          .title = as("Temperatures against their limits"),
          .says = "Hatched: what the policy reserves.",
          .chart = std::move(chart),
          .tables = {std::move(table)}};
}

Section tile_section(const Naming& as) {
  using Role = SectionChart::Part::Role;
  SectionChart chart;
  chart.parts = {
      {as("cells"), Role::layer, 321.05, 2e-4, 62.1},       {as("adhesive"), Role::layer, 318.4, 1e-4, std::nullopt},
      {as("bench"), Role::bench, 313.9, 6e-3, 14.0},        {as("panel"), Role::fin, 301.2, 1e-3, std::nullopt},
      {as("west.junction"), Role::device, 320.77, 0, 4.38}, {as("east.junction"), Role::device, 320.18, 0, -1.2},
      {as("computer"), Role::device, 318.61, 0, 14.54}};
  chart.sunlight_W = 1361.0;
  chart.light_W = 149.32;
  chart.leaving = {{as("cells"), "space", 409.0}, {as("panel"), "space", 631.0}, {as("blanket"), "space", 35.6}};
  Table table{.caption = "Parts",
              .columns = {{.name = "part", .number = false},
                          {.name = "thickness", .unit = "mm", .decimals = -3},
                          {.name = "temperature", .unit = "degC"},
                          {.name = "margin", .unit = "K"}}};
  for (const auto& part : chart.parts)
    table.rows.push_back({part.name, part.thickness_m > 0.0 ? Cell(1e3 * part.thickness_m) : Cell(),
                          part.temperature_K - 273.15, part.margin_K ? Cell(*part.margin_K) : Cell()});
  Table powers{.caption = "Powers",
               .columns = {{.name = "what", .number = false}, {.name = "power", .unit = "W"}},
               .rows = {{std::string("sunlight"), chart.sunlight_W}, {std::string("laser light"), chart.light_W}}};
  for (const auto& one : chart.leaving) powers.rows.push_back({one.from, one.power_W});
  return {.id = "tile",
          .title = as("The tile as a section"),
          .says = "Beam on.",
          .chart = std::move(chart),
          .tables = {std::move(table), std::move(powers)}};
}

LineChart day(const StorySize& size, const Naming& as) {
  LineChart chart;
  chart.x_name = "time";
  chart.x_unit = "s";
  for (int i = 0; i < size.times; ++i) chart.x.push_back(day_s * i / (size.times - 1));
  const auto wave = [&](double mean, double swing, double phase, double period_s) {
    std::vector<double> values;
    for (const double time_s : chart.x) {
      values.push_back(mean + swing * std::sin(2.0 * std::numbers::pi * time_s / period_s + phase) +
                       0.1 * swing * std::sin(2.0 * std::numbers::pi * time_s / 613.0 + 3.0 * phase));
    }
    return values;
  };
  for (int i = 0; i < size.parts; ++i) {
    const char* group = i < size.parts / 2 ? "junctions" : i < size.parts - 2 ? "structure" : "devices";
    chart.lines.push_back({.name = as("part " + std::to_string(i + 1)),
                           .group = group,
                           .unit = "degC",
                           .values = wave(34.0 + 0.7 * i, 4.0 + 0.3 * i, 0.4 * i, 5700.0),
                           .shown = i % 5 == 0});
  }
  chart.lines.push_back({.name = as("laser light"),
                         .group = "power",
                         .unit = "W",
                         .values = wave(75.0, 70.0, 0.0, 20000.0),
                         .steps = true});
  chart.lines.push_back({.name = as("battery charge"),
                         .group = "",
                         .unit = "%",
                         .values = wave(60.0, 25.0, 1.0, 5700.0),
                         .shown = false});
  chart.levels = {{"part 1 below", "degC", 52.0, as("part 1")},
                  {"part 6 below", "degC", 52.0, as("part 6")},
                  {"part 11 below", "degC", 110.0, as("part 11")},
                  {"least charge", "%", 40.0, as("battery charge")}};
  for (int i = 0; i < 15; ++i)
    chart.bands.push_back({as("eclipse"), 5700.0 * i + 1500.0, 5700.0 * i + 3600.0, "eclipse"});
  const char* kinds[] = {"limit", "trip", "heater"};
  for (int i = 0; i < size.events; ++i) {
    const double at_s = day_s * (0.5 + 0.5 * std::sin(12.9898 * i)) * 0.98 + 600.0;
    chart.marks.push_back({as(i % 3 == 0   ? "part 1 at 52 degC"
                              : i % 3 == 1 ? "beam off"
                                           : "heater on"),
                           at_s, kinds[i % 3]});
  }
  return chart;
}

Section day_section(const StorySize& size, const Naming& as) {
  LineChart chart = day(size, as);
  Table table{.caption = "Course of the day",
              .columns = {{.name = "time", .unit = "h"}},
              .left_out = "Every tenth of an hour was left out."};
  for (std::size_t i = 0; i < 8 && i < chart.lines.size(); ++i)
    table.columns.push_back({.name = chart.lines[i].name, .unit = chart.lines[i].unit});
  const std::size_t every = std::max<std::size_t>(1, chart.x.size() / 100);
  for (std::size_t k = 0; k < chart.x.size(); k += every) {
    std::vector<Cell> row{chart.x[k] / 3600.0};
    for (std::size_t i = 0; i + 1 < table.columns.size(); ++i) row.emplace_back(chart.lines[i].values[k]);
    table.rows.push_back(std::move(row));
  }
  return {.id = "day",
          .title = as("The day"),
          .says = "Junctions swing with the eclipses.",
          .chart = std::move(chart),
          .tables = {std::move(table)}};
}

Section sweep_section(const Naming& as) {
  LineChart chart{.x_name = as("sun.distance"), .x_unit = "AU", .x_logarithmic = true};
  LineChart::Line light{.name = as("light"), .group = "", .unit = "W"},
      hottest{.name = as("hottest part"), .group = "", .unit = "degC"};
  for (int i = 0; i < 25; ++i) {
    chart.x.push_back(0.3 * std::pow(5.0 / 0.3, i / 24.0));
    const double x = chart.x.back();
    light.values.push_back(x < 0.45 ? NAN : 210.0 * std::exp(-std::pow(std::log(x / 1.05), 2) * 3.0));
    hottest.values.push_back(300.0 / std::sqrt(x) - 255.0);
  }
  chart.lines = {light, hottest};
  chart.levels = {{"cells below", "degC", 110.0, ""}};
  chart.bands = {{as("heat-limited"), 0.3, 1.047, "heat-limited"}, {as("sun-limited"), 1.047, 5.0, "sun-limited"}};
  chart.marks = {{as("heat-limited to sun-limited"), 1.047, "crossing"},
                 {as("cells to west.junction"), 0.72, "crossing"}};
  Table table{.caption = "Sweep",
              .columns = {{.name = chart.x_name, .unit = "AU", .decimals = -4},
                          {.name = light.name, .unit = "W"},
                          {.name = hottest.name, .unit = "degC"}}};
  for (std::size_t i = 0; i < chart.x.size(); ++i)
    table.rows.push_back({chart.x[i], light.values[i], hottest.values[i]});
  return {.id = "sweep",
          .title = as("Over the distance to the Sun"),
          .says = "Most light where heat and sunlight balance.",
          .chart = std::move(chart),
          .tables = {std::move(table)}};
}

Section map_section(const Naming& as) {
  HeatMap chart{.x_name = as("sun.distance"),
                .x_unit = "AU",
                .y_name = as("panel area"),
                .y_unit = "m2",
                .name = as("laser light"),
                .unit = "W"};
  for (int i = 0; i < 12; ++i) chart.x.push_back(0.5 + 0.25 * i);
  for (int i = 0; i < 9; ++i) chart.y.push_back(0.4 + 0.2 * i);
  Table table{
      .caption = "Map",
      .columns = {{.name = "distance", .unit = "AU"}, {.name = "area", .unit = "m2"}, {.name = "light", .unit = "W"}}};
  for (const double y : chart.y) {
    for (const double x : chart.x) {
      chart.values.push_back(x < 0.7 && y < 0.9 ? NAN : 220.0 * std::exp(-std::pow(std::log(x / (0.7 + 0.3 / y)), 2)));
      table.rows.push_back({x, y, chart.values.back()});
    }
  }
  return {.id = "map",
          .title = as("Distance and area together"),
          .says = "Dashed cells have no answer.",
          .chart = std::move(chart),
          .tables = {std::move(table)}};
}

Section rank_section(const Naming& as) {
  RankChart chart{.quantity = as("usable light for 1 % more"), .unit = "W"};
  chart.bars = {{as("laser efficiency"), 3.91, "laser"},    {as("sun.distance"), -3.2, "place"},
                {as("panel emissivity"), 2.44, "radiator"}, {as("panel area"), 2.31, "radiator"},
                {as("cell efficiency"), 1.2, "cells"},      {as("bench conductance"), 0.38, "structure"},
                {as("cells absorptance"), -0.29, "cells"},  {as("housekeeping"), -0.06, "power"}};
  Table table{.caption = "Gains",
              .columns = {{.name = "input", .number = false},
                          {.name = "group", .number = false},
                          {.name = "gain", .unit = "W", .decimals = -3}}};
  for (const auto& bar : chart.bars) table.rows.push_back({bar.name, bar.group, bar.value});
  return {.id = "gains",
          .title = as("What one per cent buys"),
          .says = "The laser first.",
          .chart = std::move(chart),
          .tables = {std::move(table)}};
}

Story story_of(const StorySize& size, const Naming& as) {
  Story story;
  story.title = as("A day of the sample tile");
  story.question = "How hot does it run, and how much light is usable?";
  story.answer =
      "149.3 W of laser light, 11.0 % of the sunlight met, is usable; west.junction sets it with 4.4 K to its limit.";
  story.met = false;
  story.binds =
      as("west.junction below 52 degC (at 47.62 degC, margin +4.38 K), beam on; next east.junction below 52 degC");
  story.next = {as("Bring the junctions closer to the bench: 1 % more conductance buys 0.4 W."),
                "Measure the emissivity of the panel.", "Repeat with the finish at the end of life."};
  story.sections = {flow_section("flow-on", "Energy flow, beam on", true, as),
                    flow_section("flow-off", "Energy flow, beam off", false, as),
                    margin_section(as),
                    tile_section(as),
                    day_section(size, as),
                    sweep_section(as),
                    map_section(as),
                    rank_section(as)};
  story.warnings = {as("The emissivity of the panel is from memory: measure it.")};
  story.cautions = {"Planning aid only: not qualified, not certified, no safety system.",
                    "Lasers at these powers are class 4."};
  story.provenance.version = "tileflux 0.1.0";
  story.provenance.inputs = {{as("balance"), as("case.yaml"), as("tileflux: 1\nname: sample\n"), std::string(64, 'a')}};
  story.provenance.sources = {
      {as("panel emissivity 0.88"), as("A handbook of finishes, 3rd edition, page 42"), "published"}};
  story.provenance.numbers = {
      {.caption = "Energy books",
       .columns = {{.name = "state", .number = false}, {.name = "left over", .unit = "W", .decimals = -2}},
       .rows = {{std::string("beam on"), 2.4e-9}, {std::string("beam off"), -1.1e-10}},
       .left_out = {}}};
  return story;
}

}  // namespace

report::Story sample_story(const StorySize& size) { return story_of(size, same); }
report::Story hostile_story() { return story_of({.parts = 12, .times = 300, .events = 30}, hostile); }

}  // namespace tileflux::test
