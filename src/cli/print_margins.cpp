#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/margined.h"
#include "cli/print.h"
#include "cli/print_parts.h"
#include "cli/text.h"
#include "tileflux/base/constants.h"

namespace tileflux::cli {

namespace {

using studies::Bounding;
using studies::LimitKind;
using studies::MarginRow;
using studies::Margins;
using studies::ProbabilityRange;
using studies::Spread;
using studies::Verdict;
using studies::Watched;

bool is_heater(const Watched& watched) { return watched.kind == Watched::Kind::heater; }
bool is_temperature(const Watched& watched) {
  return watched.kind == Watched::Kind::limit && watched.margin.kind == LimitKind::temperature;
}

/// A value or a limit: temperatures in degC without the word, the rest with its unit.
std::string value_cell(const Watched& watched, double value) {
  if (!std::isfinite(value)) return "none";
  if (is_heater(watched)) return percent(value, 1);
  if (is_temperature(watched)) return celsius(value);
  return amount_text(watched.margin.kind, value);
}

/// A margin or what is added to a value.
std::string amount_cell(const Watched& watched, double amount, bool sign = true) {
  if (!std::isfinite(amount)) return "none";
  if (is_heater(watched)) return sign ? fmt::format("{:+.1f} %", 100.0 * amount) : percent(amount, 1);
  return amount_text(watched.margin.kind, amount, sign);
}

std::string state_text(const Bounding& bounding) {
  return fmt::format("{}, beam {}", bounding.end_of_life ? "end" : "begin", bounding.beam ? "on" : "off");
}

std::string probability_text(double probability) {
  if (probability == 0.0) return "0";
  if (probability < 1e-12) return "< 1e-12";
  if (probability < 1e-3) return fmt::format("{:.1e}", probability);
  return percent(probability, 2);
}

std::string range_text(const ProbabilityRange& range) {
  return fmt::format("{} ({} to {})", probability_text(range.estimate), probability_text(range.from),
                     probability_text(range.to));
}

const char* cause_of(const MarginRow& row) {
  if (row.from_deviations) return "from the spread of inputs";
  if (!row.asked) return "no number of the policy";
  switch (row.control) {
    case studies::Control::heater:
      return "held by a heater";
    case studies::Control::throttle:
      return "held by its throttle";
    case studies::Control::passive:
      break;
  }
  return is_heater(row.stated) ? "of its share of time" : "passive";
}

/// The worst limit in one sentence, and what more an engineer must know at once.
std::string answer(const Margined& margined) {
  const Margins& margins = margined.margins;
  std::string text = "Answer\n";
  if (margins.rows.empty()) return text + "  the case has no limit on a steady state: there is no margin to tell\n\n";
  const MarginRow& row = margins.rows.front();
  const Bounding& bounding = row.bounding;
  const std::string where = fmt::format("{} ({} of life, beam {})", name_of(row.stated),
                                        bounding.end_of_life ? "end" : "begin", bounding.beam ? "on" : "off");
  const std::string worst = value_cell(row.stated, bounding.value) + (is_temperature(row.stated) ? " degC" : "");
  const std::string limit =
      value_cell(row.stated, row.stated.margin.limit) + (is_temperature(row.stated) ? " degC" : "");
  const double asked = row.uncertainty + row.step_K;
  if (bounding.trouble) {
    text +=
        fmt::format("  BROKEN: {} has no steady state in its bounding case: {}\n", where, bounding.trouble->message);
  } else if (row.verdict == Verdict::broken) {
    text += fmt::format("  BROKEN: {} comes to {} in its bounding case, {} beyond its limit of {}\n", where, worst,
                        amount_cell(row.stated, -bounding.margin, false), limit);
  } else if (row.verdict == Verdict::too_small) {
    text += fmt::format("  TOO SMALL: {} keeps {} to its limit of {} in its bounding case; `{}` asks {}: {} missing\n",
                        where, amount_cell(row.stated, bounding.margin, false), limit, margined.options.policy.name,
                        is_heater(row.stated) ? "no more than that" : amount_cell(row.stated, asked, false),
                        amount_cell(row.stated, -row.left, false));
  } else {
    text += fmt::format("  KEPT: the least is left at {}: {} at worst, limit {}, {} left after all that `{}` asks\n",
                        where, worst, limit, amount_cell(row.stated, row.left, false), margined.options.policy.name);
  }
  const auto count = [&](Verdict verdict) {
    return std::count_if(margins.rows.begin(), margins.rows.end(),
                         [&](const MarginRow& one) { return one.verdict == verdict; });
  };
  text += fmt::format("  of {} rows {} broken, {} with too small a margin, {} kept\n", margins.rows.size(),
                      count(Verdict::broken), count(Verdict::too_small), count(Verdict::kept));
  if (margins.least_light)
    text +=
        fmt::format("  light {} W as stated, {} in its worst case ({})\n", watts(margins.watched.back().margin.value),
                    margins.least_light->trouble ? "no steady state" : watts(margins.least_light->margin) + " W",
                    state_text(*margins.least_light));
  return text + '\n';
}

std::string margin_table(const Margined& margined) {
  std::string text = "Margins: values as stated, in the worst bounding case, and with what the policy adds\n";
  Table table(
      {"limit", "as stated", "bounding", "policy", "predicted", "bound", "left", "", "life and state", "control"});
  bool mixed = false;
  for (const MarginRow& row : margined.margins.rows) {
    const double asked = row.uncertainty + row.step_K;
    // As stated it may be worse in the other state, where less is asked: a throttle costs light and no kelvins.
    const bool other = row.stated.beam != row.bounding.beam;
    mixed = mixed || other;
    table.row({name_of(row.stated),
               value_cell(row.stated, row.stated.margin.value) + (!other ? "" : row.stated.beam ? " on" : " off"),
               value_cell(row.stated, row.bounding.value),
               asked > 0.0 ? amount_cell(row.stated, row.stated.margin.upper ? asked : -asked) : "-",
               value_cell(row.stated, row.predicted), value_cell(row.stated, row.stated.margin.limit),
               amount_cell(row.stated, row.left),
               row.verdict == Verdict::kept     ? "kept"
               : row.verdict == Verdict::broken ? "BROKEN"
                                                : "TOO SMALL",
               state_text(row.bounding), cause_of(row)});
  }
  text += table.text({0, 7, 8, 9});
  if (mixed)
    text += "  on, off: as stated it is worse in that state of the beam; in the bounding cases less is left in the other\n"
            "  (where a throttle holds a limit the policy asks for no kelvins: it is paid for in light)\n";
  const auto& area = margined.margins.area;
  if (area && area->worst)
    text += fmt::format("  radiator `{}` with {} less area: worst {}{}\n", area->surface,
                        percent(area->share / (1.0 + area->share), 1), describe(*area->worst),
                        area->worst->margin < 0.0 ? " BROKEN" : "");
  return text + '\n';
}

/// `sun.distance low, materials.surfaces.white.absorptance.factor high`.
std::string moved_text(const Margined& margined, const Bounding& bounding) {
  std::string text;
  for (std::size_t i = 0; i < bounding.moved.size(); ++i) {
    if (bounding.moved[i] == 0) continue;
    text += fmt::format("{}{} {}", text.empty() ? "" : ", ", margined.known.inputs[i].path,
                        bounding.moved[i] < 0 ? "low" : "high");
  }
  return text.empty() ? "no input matters" : text;
}

std::string bounding_cases(const Margined& margined) {
  std::string text = "Bounding cases: each limit has its own, of one age throughout\n";
  for (const MarginRow& row : margined.margins.rows) {
    const Bounding& bounding = row.bounding;
    text += fmt::format("  {} ({})\n", name_of(row.stated), state_text(bounding));
    text += wrapped(moved_text(margined, bounding), 4);
    if (bounding.alone) text += "    one input alone is worse than all together: that is what is given\n";
    for (const std::size_t i : bounding.not_monotone)
      text += fmt::format("    not monotone in {}: both its ends are {} than the stated value\n",
                          margined.known.inputs[i].path, bounding.moved[i] == 0 ? "better" : "worse");
    if (row.other_age && !row.other_age->trouble)
      text += fmt::format("    at {} of life at worst {}\n", row.other_age->end_of_life ? "end" : "begin",
                          value_cell(row.stated, row.other_age->value));
  }
  return text + '\n';
}

std::string deviation_cell(const Watched& watched, double mean, double deviation) {
  if (!std::isfinite(mean)) return "none";
  return fmt::format("{} +/- {}", amount_cell(watched, mean), amount_cell(watched, deviation, false));
}

std::string chances(const Margined& margined) {
  const Margins& margins = margined.margins;
  std::string text =
      "How likely each limit is exceeded, at the age that the case states: margin, mean +/- standard deviation\n";
  Table table({"limit", "beam", "first order", "exceeded", "sampled", "exceeded (95 % sure)"});
  std::string words;
  for (const MarginRow& row : margins.rows) {
    const std::size_t k = row.watched;
    const Watched& watched = margins.watched[k];
    const Spread& linear = margins.linear[k];
    const bool drawn = margins.sampled && !margins.sampled->outputs.empty();
    table.row(
        {name_of(watched), watched.beam ? "on" : "off", deviation_cell(watched, linear.mean, linear.standard_deviation),
         probability_text(linear.below_zero.estimate),
         drawn
             ? deviation_cell(watched, margins.sampled->outputs[k].mean, margins.sampled->outputs[k].standard_deviation)
             : "-",
         drawn ? range_text(margins.sampled->outputs[k].below_zero) : "-"});
    if (!margins.disagreements[k].empty())
      words +=
          fmt::format("  they disagree for {}: {}; trust the samples\n", name_of(watched), margins.disagreements[k]);
  }
  text += table.text({0, 1}) + words;
  if (words.empty() && margins.sampled && !margins.sampled->outputs.empty())
    text += "  first order and samples agree\n";
  if (margins.least_light) {
    const Spread& light = margins.linear.back();
    text += fmt::format("  light {} +/- {} W to first order", watts(light.mean), watts(light.standard_deviation));
    if (margins.sampled && !margins.sampled->outputs.empty()) {
      const Spread& drawn = margins.sampled->outputs.back();
      text += fmt::format("; sampled {} +/- {} W, {} to {} W in 90 % of tiles", watts(drawn.mean),
                          watts(drawn.standard_deviation), watts(drawn.low), watts(drawn.high));
    }
    text += '\n';
  }
  if (margins.sampled) {
    text += fmt::format("  {} samples, seed {}", margins.sampled->samples, margined.options.sampling.seed);
    if (margins.sampled->failed > 0)
      text += fmt::format("; {} of them without an answer, counted as exceeded. The first: {}", margins.sampled->failed,
                          margins.sampled->first_failure->message);
    text += '\n';
  }
  return text + '\n';
}

std::string worst_tiles(const Margined& margined) {
  const Margins& margins = margined.margins;
  const long tiles = margined.options.sampling.tiles;
  if (tiles <= 1) return {};
  std::string text =
      fmt::format("The worst of {} tiles: margin, and how likely any of them exceeds the limit\n", tiles);
  const bool drawn = margins.sampled && margins.sampled->no_worst.empty() && !margins.sampled->outputs.empty();
  Table table(
      {"limit", "of one", "median worst", "5 % worst", "any exceeds", "common part", "sampled median", "any exceeds"});
  for (const MarginRow& row : margins.rows) {
    const Watched& watched = margins.watched[row.watched];
    const Spread& linear = margins.linear[row.watched];
    if (!linear.worst) continue;
    const double whole = linear.standard_deviation;
    std::vector<std::string> cells{name_of(watched),
                                   amount_cell(watched, linear.mean),
                                   amount_cell(watched, linear.worst->median),
                                   amount_cell(watched, linear.worst->low),
                                   probability_text(linear.worst->any_below_zero.estimate),
                                   whole > 0.0 ? percent(std::pow(linear.common_deviation / whole, 2), 0) : "-"};
    if (drawn && margins.sampled->outputs[row.watched].worst) {
      const studies::WorstTile& worst = *margins.sampled->outputs[row.watched].worst;
      cells.push_back(amount_cell(watched, worst.median));
      cells.push_back(range_text(worst.any_below_zero));
    } else {
      cells.insert(cells.end(), {"-", "-"});
    }
    table.row(std::move(cells));
  }
  text += table.text();
  text += "  common part: share of the variance that is the same in all tiles and no number of them averages away\n";
  if (margins.sampled && !margins.sampled->no_worst.empty())
    text += "  not sampled: " + margins.sampled->no_worst + '\n';
  return text + '\n';
}

std::string inputs(const Margined& margined) {
  if (margined.known.inputs.empty())
    return "Uncertain inputs: none. Without `uncertainty` in the case, and with nothing from the library, nothing "
           "moves\n";
  std::string text = "Uncertain inputs\n";
  Table table({"input", "law", "same in all tiles", "from"});
  for (const tile::UncertainInput& input : margined.known.inputs) {
    const double common = input.batch.empty() ? 0.0 : input.correlation;
    table.row({input.path, law_text(input), percent(common, 0),
               input.from_library.empty() ? "the case" : "the library: " + input.from_library});
  }
  text += table.text({0, 1, 3});
  if (!margined.known.unknown.empty()) {
    text += "  the library does not say how well it knows";
    for (const std::string& path : margined.known.unknown)
      text += ' ' + path + (path == margined.known.unknown.back() ? "" : ",");
    text += ": they are held\n";
  }
  for (const std::string& path : margined.known.shortened)
    text += "  " + path + " was cut where it would make more than 100 % of a share\n";
  return text;
}

}  // namespace

std::string name_of(const Watched& watched) {
  if (watched.kind == Watched::Kind::heater) return "heater " + watched.margin.node;
  if (watched.kind == Watched::Kind::light) return "light";
  const std::string bound = watched.margin.upper ? " below" : " above";
  if (watched.margin.kind == LimitKind::temperature) return watched.margin.where() + bound;
  return std::string(studies::name_of(watched.margin.kind)) + " " + watched.margin.where() + bound;
}

std::string law_text(const tile::UncertainInput& input) {
  using Kind = tile::InputLaw::Kind;
  const tile::InputLaw& law = input.law;
  const std::string unit = input.unit == "1" ? "" : " " + input.unit;
  switch (law.kind) {
    case Kind::normal:
      return fmt::format("{:.5g}{} normal, sd {:.3g}", law.value, unit, law.standard_deviation);
    case Kind::uniform:
      return fmt::format("{:.5g}{} uniform, {:.5g} to {:.5g}", law.value, unit, law.from, law.to);
    case Kind::bounded:
      return fmt::format("{:.5g}{} normal, sd {:.3g}, within {:.5g} to {:.5g}", law.value, unit, law.standard_deviation,
                         law.from, law.to);
  }
  return "";
}

std::string policy_line(const Margined& margined) {
  const tile::Policy& policy = margined.options.policy;
  std::string text = fmt::format("Policy `{}`: {}", policy.name, policy.title);
  const bool tested = margined.options.tested;
  // The source below its number.
  const auto told = [](const materials::Pedigree& number) {
    const std::string lines = wrapped(fmt::format("[{}: {}]", number.basis, number.source), 4);
    return '\n' + lines.substr(0, lines.size() - 1);
  };
  if (policy.tested) {
    const tile::PolicyNumber& number = tested ? *policy.tested : *policy.untested;
    text += fmt::format("\n  {:.4g} K on passive parts, {} a balance test{}", number.value, tested ? "after" : "before",
                        told(number));
    if (tested && policy.tested_cold)
      text += fmt::format("\n  less below {:.0f} degC{}", policy.tested_cold->rows.back().up_to_K - zero_celsius_K,
                          told(*policy.tested_cold));
  } else {
    text += fmt::format("\n  {:.3g} standard deviations{}", policy.sigmas->value, told(*policy.sigmas));
  }
  if (policy.heater_duty)
    text += fmt::format("\n  heaters on for {} of the time at most{}", percent(policy.heater_duty->value, 0),
                        told(*policy.heater_duty));
  if (policy.acceptance && policy.acceptance->value > 0.0)
    text +=
        fmt::format("\n  {:.4g} K more to limits of acceptance{}", policy.acceptance->value, told(*policy.acceptance));
  if (policy.qualification && policy.qualification->value > 0.0)
    text += fmt::format("\n  {:.4g} K more to limits of qualification{}", policy.qualification->value,
                        told(*policy.qualification));
  if (policy.radiator_area && !tested)
    text += fmt::format("\n  {} more radiator than computed{}{}", percent(policy.radiator_area->value, 0),
                        margined.margins.area ? "" : ", not looked at: no `size.surface` names it",
                        told(*policy.radiator_area));
  return text + "\n\n";
}

std::string print_margins(const tile::CaseFile& file, const Margined& margined) {
  std::string text = print_head(file) + answer(margined) + policy_line(margined);
  if (!margined.margins.rows.empty()) {
    text += margin_table(margined) + bounding_cases(margined);
    if (!margined.known.inputs.empty()) text += chances(margined) + worst_tiles(margined);
  }
  return text + inputs(margined) + print_notes(file, margined.margins.warnings);
}

}  // namespace tileflux::cli
