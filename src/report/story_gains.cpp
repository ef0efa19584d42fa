/// The story of what one per cent more of each input buys.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "report/story_parts.h"
#include "tileflux/base/constants.h"

namespace tileflux::report {

namespace {

constexpr std::size_t most_bars = 20;

/// `computer below 60 degC`.
std::string short_limit(const LimitTold& limit) {
  return fmt::format("{}{} {} {:.5g} {}", limit.kind == "temperature" ? "" : limit.kind + " of ", limit.where(),
                     limit.upper ? "below" : "above", limit.limit, limit.shown.unit);
}

/// An output as people name it.
struct OutputTold {
  std::string name, unit, id;
  std::string limit;  ///< of which it is told, where the name does not say it
  double value = 0.0, factor = 1.0;
  bool light = false;
};

OutputTold told_output(const View& output, std::size_t number) {
  OutputTold told;
  const std::string& what = output.text("what");
  told.name = what;
  std::replace(told.name.begin(), told.name.end(), '_', ' ');
  told.unit = output.text_or("unit", "");
  told.light = what == "usable_laser_power";
  if (const auto limit = limit_if(output, "limit")) {
    if (what.starts_with("margin"))
      told.name += " of " + short_limit(*limit);
    else
      told.limit = limit_words(*limit);
  }
  if (output.has("beam")) told.name += ", beam " + output.text("beam");
  if (told.unit == "1") told.unit = "", told.factor = 1.0;
  told.id = fmt::format("gain-{}", number + 1);
  told.value = output.number_if("value").value_or(std::nan(""));
  return told;
}

/// `surfaces.front.area` belongs to `surfaces`, a factor on a material to `materials`.
std::string group_of_input(const std::string& path) { return path.substr(0, path.find_first_of(".[")); }

struct Gain {
  std::string input;
  double value = 0.0, portion = 0.0, slope = 0.0;
  std::string unit;
};

/// What a portion of each input buys of one output, largest first.
std::vector<Gain> gains_of_output(const std::vector<View>& inputs, std::size_t output) {
  std::vector<Gain> gains;
  for (const View& input : inputs) {
    if (input.has("no_slopes")) continue;
    const View bought = input.at("bought_by_portion").at(output), slope = input.at("slope_of_each_output").at(output);
    if (bought.is_null() || bought.number() == 0.0) continue;
    Gain gain{input.text("input"), bought.number(), input.number_if("portion").value_or(std::nan("")),
              slope.is_null() ? std::nan("") : slope.number(), input.text_or("unit", "")};
    // Of a distance to the Sun nobody thinks in metres.
    constexpr double least_AU = 1e-3;
    if (gain.unit == "m" && std::abs(gain.portion) > least_AU * astronomical_unit_m) {
      gain.portion /= astronomical_unit_m;
      gain.slope *= astronomical_unit_m;
      gain.unit = "AU";
    }
    gains.push_back(std::move(gain));
  }
  std::stable_sort(gains.begin(), gains.end(),
                   [](const Gain& a, const Gain& b) { return std::abs(a.value) > std::abs(b.value); });
  return gains;
}

std::optional<Section> gains_section(const OutputTold& output, const std::vector<Gain>& gains) {
  if (gains.empty()) return std::nullopt;
  Section section{output.id, "What moves the " + output.name, "", {}, {}};
  RankChart chart{output.name, output.unit, {}};
  Table table{"Largest first",
              {{"input", "", 0, false},
               {"one per cent buys", output.unit, -3},
               {"portion", "", -3},
               {"unit", "", 0, false},
               {"slope for each unit", output.unit, -3}},
              {},
              ""};
  for (const Gain& gain : gains) {
    if (chart.bars.size() == most_bars) break;
    chart.bars.push_back({gain.input, gain.value, group_of_input(gain.input)});
    table.rows.push_back(
        {gain.input, gain.value, cell_of(gain.portion), gain.unit == "1" ? "" : gain.unit, cell_of(gain.slope)});
  }
  if (gains.size() > chart.bars.size())
    table.left_out = fmt::format("{} more, each of {} or less.", gains.size() - chart.bars.size(),
                                 amount_words(std::abs(gains[most_bars].value), output.unit));
  section.says =
      fmt::format("It is {} now. {} moves it most: {}{} for one per cent more.",
                  std::isfinite(output.value) ? amount_words(output.value, output.unit) : "not known", gains[0].input,
                  gains[0].value > 0.0 ? "+" : "", amount_words(gains[0].value, output.unit));
  if (!output.limit.empty()) section.says += fmt::format(" The limit that sets it is {}.", output.limit);
  section.chart = std::move(chart);
  section.tables.push_back(std::move(table));
  return section;
}

Section steps_section(const View& result) {
  Section section{"steps", "What one point of efficiency buys at each step", "", {}, {}};
  Table table{"For one point of efficiency of each step",
              {{"step", "", 0, false},
               {"efficiency", "%", 2},
               {"usable light", "W", -3},
               {"binding temperature", "K", -3},
               {"radiator area", "m2", -3},
               {"radiator mass", "kg", -3},
               {"continuous rating", "", -3},
               {"sustainable duty", "", -3}},
              {},
              ""};
  for (const View& step : result.items("conversion_steps")) {
    const View buys = step.at("per_point");
    table.rows.push_back({step.text("step"), 100.0 * step.number("efficiency"),
                          cell_of(buys.number_if("usable_laser_power_W")),
                          cell_of(buys.number_if("binding_temperature_K")), cell_of(buys.number_if("radiator_area_m2")),
                          cell_of(buys.number_if("radiator_mass_kg")), cell_of(buys.number_if("continuous_rating")),
                          cell_of(buys.number_if("sustainable_duty"))});
  }
  section.says = "The step with the most light for a point is where development pays first.";
  section.tables.push_back(std::move(table));
  return section;
}

Section lasers_section(const View& result) {
  Section section{"lasers", "What a better laser would do", "The whole tile solved anew with each.", {}, {}};
  Table table{"Lasers side by side",
              {{"efficiency", "%", 1},
               {"usable light", "W"},
               {"drive", "%", 1},
               {"hottest junction", "degC"},
               {"cells", "degC"},
               {"sustainable duty", "%", 1},
               {"regime", "", 0, false}},
              {},
              ""};
  for (const View& laser : result.items("lasers")) {
    if (const auto trouble = laser.find("trouble")) {
      table.rows.push_back(
          {100.0 * laser.number("efficiency"), {}, {}, {}, {}, {}, "no answer: " + trouble->text_or("code", "")});
      continue;
    }
    const auto cells_K = laser.number_if("cells_K"), duty = laser.number_if("sustainable_duty");
    table.rows.push_back({100.0 * laser.number("efficiency"), laser.number("usable_laser_power_W"),
                          100.0 * laser.number("usable_drive"), celsius_of(laser.number("hottest_junction_K")),
                          cells_K ? Cell(celsius_of(*cells_K)) : Cell(), duty ? Cell(100.0 * *duty) : Cell(),
                          laser.text("regime") + (laser.flag("present") ? " (the present one)" : "")});
  }
  section.tables.push_back(std::move(table));
  return section;
}

/// Outputs in the order in which they are told: light first, margins of the limits that bind early.
std::vector<std::size_t> told_order(const std::vector<View>& outputs) {
  std::vector<std::size_t> order(outputs.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  const auto rank = [&](std::size_t i) {
    const std::string& what = outputs[i].text("what");
    if (what == "usable_laser_power") return 0;
    return what == "margin" || what == "margin_over_run" ? 2 : 1;
  };
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    if (rank(a) != rank(b)) return rank(a) < rank(b);
    if (rank(a) != 2) return false;
    const auto limit_a = limit_if(outputs[a], "limit"), limit_b = limit_if(outputs[b], "limit");
    return limit_a && limit_b && limit_a->comparable() < limit_b->comparable();
  });
  return order;
}

}  // namespace

Chapter gains_chapter(const ResultContent& content) {
  const View result = content.view();
  const std::vector<View> outputs = result.items("outputs"), inputs = result.items("inputs");
  Chapter chapter;
  chapter.question = "What does one per cent more of each input buy?";
  constexpr std::size_t most_outputs = 10;
  std::size_t told = 0, left = 0;
  for (const std::size_t place : told_order(outputs)) {
    const OutputTold output = told_output(outputs[place], place);
    const std::vector<Gain> gains = gains_of_output(inputs, place);
    if (chapter.answer.empty() && !gains.empty())
      chapter.answer =
          fmt::format("One per cent more of {} changes {} by {}, most of {} inputs; it is {} now.", gains[0].input,
                      output.light ? "usable light" : output.name, amount_words(gains[0].value, output.unit),
                      inputs.size(), amount_words(output.value, output.unit));
    std::optional<Section> section = gains_section(output, gains);
    if (!section) continue;
    if (told++ < most_outputs)
      chapter.sections.push_back(std::move(*section));
    else
      ++left;
  }
  if (chapter.answer.empty()) chapter.answer = "No input changes anything that is asked for.";
  chapter.binds = fmt::format("The tile is {}. ", result.text_or("regime", "without a regime")) +
                  binding_sentence(limit_if(result, "binding_limit"), limit_if(result, "next_limit"));
  const auto binding = limit_if(result, "binding_limit");
  chapter.met = !binding || binding->margin >= 0.0;
  chapter.next = next_steps(result);
  if (left > 0 && !chapter.sections.empty())
    chapter.sections.back().says +=
        fmt::format(" What moves {} stands in the result file alone.", plural(left, "more output"));
  if (!result.items("conversion_steps").empty()) chapter.sections.push_back(steps_section(result));
  if (!result.items("lasers").empty()) chapter.sections.push_back(lasers_section(result));
  for (const char* note : {"no_slopes_of_duty", "no_slopes_over_run"}) {
    const std::string text = result.text_or(note, "");
    if (!text.empty()) chapter.warnings.push_back(text);
  }
  return chapter;
}

}  // namespace tileflux::report
