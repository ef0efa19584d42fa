#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/print.h"
#include "cli/print_parts.h"
#include "cli/text.h"
#include "tileflux/base/constants.h"

namespace tileflux::cli {

namespace {

using studies::GainOutput;
using studies::Gains;
using studies::InputGains;

/// A change with its sign and three digits; nothing where nothing follows.
std::string change(const std::optional<double>& amount, double scale = 1.0) {
  if (!amount) return "?";
  if (*amount == 0.0) return "-";
  const double value = *amount * scale, size = std::abs(value);
  if (size >= 1e5 || size < 1e-4) return fmt::format("{:+.1e}", value);
  return fmt::format("{:+.{}f}", value, size >= 100.0 ? 0 : size >= 10.0 ? 1 : size >= 1.0 ? 2 : size >= 0.1 ? 3 : 4);
}

std::string value_text(const InputGains& input, double value) {
  if (input.unit == "K") return fmt::format("{:.2f} degC", value - zero_celsius_K);
  if (input.unit == "m" && value > 0.01 * astronomical_unit_m)
    return fmt::format("{:.5g} AU", value / astronomical_unit_m);
  if (input.unit == "rad") return fmt::format("{:.4g} deg", value * degrees_per_radian);
  if (input.unit == "1") return fmt::format("{:.5g}", value);
  return fmt::format("{:.5g} {}", value, input.unit);
}

std::string portion_text(const InputGains& input) {
  if (input.unit == "K") return "1 K";
  if (input.unit == "rad") return "1 deg";
  return input.portion() ? "1 %" : "-";
}

struct GainColumn {
  std::string head;
  std::size_t output;
  double scale;
};

/// The margin over the run that is the smallest.
std::optional<std::size_t> worst_of_run(const Gains& gains) {
  std::optional<std::size_t> worst;
  for (std::size_t i = 0; i < gains.outputs.size(); ++i) {
    if (gains.outputs[i].kind != GainOutput::Kind::run_margin) continue;
    if (!worst || gains.outputs[i].limit->comparable() < gains.outputs[*worst].limit->comparable()) worst = i;
  }
  return worst;
}

std::vector<GainColumn> gain_columns(const Gains& gains, std::size_t ranked_by) {
  std::vector<GainColumn> columns;
  const auto add = [&](const char* head, std::optional<std::size_t> output, double scale) {
    if (output) columns.push_back({head, *output, scale});
  };
  add("light, W", gains.output(GainOutput::Kind::light), 1.0);
  if (gains.binding) add("margin, K", gains.margin(*gains.binding), 1.0);
  add("area, cm2", gains.output(GainOutput::Kind::radiator_area), 1e4);
  add("rating, %", gains.output(GainOutput::Kind::rating), 100.0);
  add("duty, %", gains.output(GainOutput::Kind::duty), 100.0);
  if (ranked_by == gains.output(GainOutput::Kind::duty_light)) add("mean light, W", ranked_by, 1.0);
  add("run: light, W", gains.output(GainOutput::Kind::run_light), 1.0);
  if (const auto worst = worst_of_run(gains)) add("run: margin, K", worst, 1.0);
  return columns;
}

std::string described(const studies::StateMargin& limit) {
  return describe(limit.margin) + (limit.beam ? ", beam on" : ", beam off");
}

std::string now(const Gains& gains) {
  std::string text;
  const studies::Balance& balance = gains.balance;
  if (balance.beam_on) {
    text += fmt::format("  usable light      {} at a commanded drive of {}; {}\n", watts(balance.usable_laser_W) + " W",
                        percent(balance.usable_drive, 1), studies::name_of(balance.beam_on->regime));
  }
  if (gains.binding) text += "  binds             " + described(*gains.binding) + "\n";
  if (gains.next) text += "  next              " + described(*gains.next) + "\n";
  for (const GainOutput& output : gains.outputs) {
    if (output.kind == GainOutput::Kind::rating)
      text += fmt::format("  continuous rating {}\n", percent(output.value, 2));
    if (output.kind == GainOutput::Kind::duty) {
      text += fmt::format("  sustainable duty  {}{}\n", percent(output.value, 3),
                          output.limit ? ", bound by " + describe(*output.limit) : "");
    }
  }
  if (gains.radiator) {
    const studies::GainRadiator& radiator = *gains.radiator;
    text += fmt::format("  radiator          {}, {:.4g} m2{}\n", radiator.surface, radiator.area_m2,
                        radiator.areal_mass_kg_per_m2
                            ? fmt::format("; {:.3g} kg/m2 ({})", *radiator.areal_mass_kg_per_m2, radiator.mass_of)
                            : "; mass " + radiator.mass_of);
  }
  if (const auto worst = worst_of_run(gains))
    text += "  over the run      " + describe(*gains.outputs[*worst].limit) + "\n";
  if (!gains.run_note.empty()) text += "  no slopes over the run: " + gains.run_note + "\n";
  if (!gains.duty_note.empty()) text += "  no slopes of the duty: " + gains.duty_note + "\n";
  return text;
}

std::string ranking(const Gains& gains, std::size_t output, std::size_t most) {
  const std::vector<GainColumn> columns = gain_columns(gains, output);
  const std::vector<std::size_t> order = gains.ranked(output);
  std::vector<std::string> heads{"input", "has", "more"};
  for (const GainColumn& column : columns) heads.push_back(column.head);
  Table table(heads);
  for (std::size_t k = 0; k < std::min(order.size(), most); ++k) {
    const InputGains& input = gains.inputs[order[k]];
    std::vector<std::string> cells{input.name, value_text(input, input.value), portion_text(input)};
    for (const GainColumn& column : columns) cells.push_back(change(input.bought(column.output), column.scale));
    table.row(std::move(cells));
  }
  std::string text = table.text();
  if (order.size() > most)
    text += fmt::format("  and {} more that it follows: --top {} or --json\n", order.size() - most, order.size());
  return text;
}

std::string ends(const Gains& gains) {
  Table table({"input", "has", "ends at", "there"});
  bool any = false;
  for (const InputGains& input : gains.inputs) {
    for (const auto& end : {input.below, input.above}) {
      if (!end) continue;
      any = true;
      table.row(
          {input.name, value_text(input, input.value), value_text(input, end->value), end->from + " -> " + end->to});
    }
  }
  if (!any) return "";
  return "\nWhere one of them, alone, ends this regime or changes the limit that binds (looked for from half to twice "
         "its "
         "value)\n" +
         table.text({0, 3});
}

std::string steps(const Gains& gains) {
  if (gains.steps.empty()) return "";
  Table table({"one point more in", "now", "light, W", gains.binding ? gains.binding->margin.where() + ", K" : "K",
               "radiator, cm2", "g", "rating, %", "duty, %"});
  for (const studies::ConversionStep& step : gains.steps) {
    table.row({step.name, percent(step.efficiency, 1), change(step.light_W), change(step.temperature_K),
               change(step.area_m2, 1e4), change(step.mass_kg, 1e3), change(step.rating, 100.0),
               change(step.duty, 100.0)});
  }
  return "\nOne point (1 % of what goes in) more efficiency in a step of the conversion\n" + table.text() +
         "  K: negative is cooler; radiator: area with that temperature held, negative is saved\n";
}

std::string lasers(const Gains& gains) {
  if (gains.lasers.empty()) return "";
  Table table({"lasers", "usable, W", "regime", "binds", "margin K", "junction", "cells", "rating", "radiator m2",
               "duty", "mean light, W"});
  std::string troubles;
  for (const studies::LaserChoice& one : gains.lasers) {
    std::string name = percent(one.efficiency, 1);
    if (one.present) name += " now";
    if (one.trouble) {
      table.row({name});
      troubles += fmt::format("  {}: {}\n", name, one.trouble->message);
      continue;
    }
    table.row({name, watts(one.usable_light_W), std::string(studies::name_of(one.regime)),
               one.binding ? one.binding->margin.where() + (one.binding->beam ? ", on" : ", off") : "",
               one.binding ? margin_cell(one.binding->margin.margin) : "", celsius(one.junction_K),
               one.cells_K > 0.0 ? celsius(one.cells_K) : "", one.rating ? percent(*one.rating, 1) : "",
               !one.area_m2         ? "no area does"
               : *one.area_m2 > 0.0 ? fmt::format("{:.4g}", *one.area_m2)
                                    : "not needed",
               one.duty ? percent(*one.duty, 1) : "", one.duty_light_W ? watts(*one.duty_light_W) : ""});
  }
  return "\nLasers of another efficiency at the beam-on point, all else the same\n" + table.text({0, 2, 3}) + troubles +
         "  radiator: area with which the whole command can be given for ever without throttle\n";
}

}  // namespace

std::string print_gains(const tile::CaseFile& file, const Gains& gains, std::size_t ranked_by, std::size_t most) {
  std::string text = print_head(file);
  text += "\nGains: what a little more of each input buys, everything else as it is\n" + now(gains);
  const GainOutput& output = gains.outputs[ranked_by];
  std::string by;
  switch (output.kind) {
    case GainOutput::Kind::light:
      by = "usable light";
      break;
    case GainOutput::Kind::margin:
      by = "the margin of " + output.limit->where();
      break;
    case GainOutput::Kind::radiator_area:
      by = "radiator area at that temperature held";
      break;
    case GainOutput::Kind::rating:
      by = "continuous rating";
      break;
    case GainOutput::Kind::duty:
      by = "sustainable duty";
      break;
    case GainOutput::Kind::duty_light:
      by = "mean light at the sustainable duty";
      break;
    case GainOutput::Kind::run_margin:
      by = "the margin of " + output.limit->where() + " over the run";
      break;
    case GainOutput::Kind::run_light:
      by = "mean light over the run";
      break;
  }
  text += "\nRanked by " + by + "\n" + ranking(gains, ranked_by, most);
  text += ends(gains) + steps(gains) + lasers(gains);
  return text + print_notes(file, gains.balance.warnings);
}

}  // namespace tileflux::cli
