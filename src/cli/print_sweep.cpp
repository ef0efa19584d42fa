#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/print.h"
#include "cli/print_parts.h"
#include "cli/text.h"

namespace tileflux::cli {

namespace {

using studies::Crossing;
using studies::SweepPoint;
using studies::TiltNeeded;

std::string title(const Swept& swept) {
  const auto& values = swept.range.values_si;
  std::string how = fmt::format("{} values", values.size());
  if (swept.range.spacing == input::Spacing::linear) how += " in equal steps";
  if (swept.range.spacing == input::Spacing::logarithmic) how += " in equal ratios";
  const std::string present =
      swept.varied.text ? fmt::format("; the case {} {}", swept.varied.stated ? "has" : "takes", *swept.varied.text)
                        : std::string("; the case does not state it");
  return fmt::format("Sweep of {} from {} to {}: {}{}\n", swept.varied.path, swept.in_unit(values.front()),
                     swept.in_unit(values.back()), how, present);
}

std::string tilt_cell(const studies::Sweep& sweep, const SweepPoint& point) {
  const std::optional<TiltNeeded>& tilt = point.tilt;
  if (sweep.holds_tilt) {
    const bool on = sweep.has_beam && point.on_tilt_rad > point.off_tilt_rad;
    if (!on && point.off_tilt_rad <= 0.0) return "none";
    return fmt::format("{:.1f}{}", std::max(point.off_tilt_rad, point.on_tilt_rad) * degrees_per_radian,
                       !sweep.has_beam ? ""
                       : on            ? " on"
                                       : " off");
  }
  if (!tilt) return "-";
  if (tilt->need != TiltNeeded::Need::tilted) return tilt_word(*tilt);
  return fmt::format("{:.1f} {}", tilt->tilt_rad * degrees_per_radian, tilt->beam ? "on" : "off");
}

/// In kelvin as its column says, or with the unit of another kind.
std::string margin_text(const studies::Margin& margin) {
  if (margin.kind == studies::LimitKind::temperature) return margin_cell(margin.margin);
  return (margin.margin < 0.0 ? "BROKEN " : "") + amount_text(margin.kind, margin.margin, true);
}

std::string light_cell(const studies::Sweep& sweep, const SweepPoint& point) {
  if (!point.sustainable) return "no beam";
  return sweep.has_lasers ? watts(point.usable_light_W) : percent(point.usable_drive, 1);
}

std::string duty_cell(const studies::Sweep& sweep, const SweepPoint& point) {
  if (point.duty_trouble) return "?";
  if (!point.duty) return "-";
  if (sweep.has_lasers && point.duty->fraction > 0.0 && point.duty->mean_light_W <= 0.0) return "no light";
  return point.duty->fraction > 0.0 ? percent(point.duty->fraction, 1) : "none";
}

bool any_duty(const studies::Sweep& sweep) {
  return std::any_of(sweep.points.begin(), sweep.points.end(),
                     [](const SweepPoint& p) { return p.duty || p.duty_trouble; });
}

bool any_tilt(const studies::Sweep& sweep) {
  return sweep.holds_tilt || std::any_of(sweep.points.begin(), sweep.points.end(), [](const SweepPoint& p) {
           return p.tilt && p.tilt->need != TiltNeeded::Need::no_limit && p.tilt->need != TiltNeeded::Need::not_free;
         });
}

std::string table(const Swept& swept) {
  const studies::Sweep& sweep = swept.sweep;
  const bool duty = any_duty(sweep), tilt = any_tilt(sweep);
  const bool limits =
      std::any_of(sweep.points.begin(), sweep.points.end(), [](const SweepPoint& p) { return p.binding.has_value(); });
  std::vector<std::string> heads{swept.range.unit == "1" ? swept.varied.path : swept.range.unit};
  std::vector<std::size_t> left;
  const auto head = [&](const char* text, bool is_left = false) {
    if (is_left) left.push_back(heads.size());
    heads.emplace_back(text);
  };
  if (tilt) head("tilt, deg");
  if (sweep.has_beam) head(sweep.has_lasers ? "light, W" : "drive");
  if (duty) head("duty");
  head("hottest", true);
  head("degC");
  if (sweep.has_beam) head("regime", true);
  if (limits) {
    head("limit that binds", true);
    head("margin K");
  }
  if (!sweep.heaters.empty()) head("heaters, W");
  Table rows(heads);
  for (const SweepPoint& point : sweep.points) {
    std::vector<std::string> cells{swept.number(point.value)};
    if (point.trouble) {
      rows.row(cells);
      continue;
    }
    const SweepPoint::Hottest hottest = point.hottest();
    if (tilt) cells.push_back(tilt_cell(sweep, point));
    if (sweep.has_beam) cells.push_back(light_cell(sweep, point));
    if (duty) cells.push_back(duty_cell(sweep, point));
    cells.push_back(sweep.nodes[hottest.node]);
    cells.push_back(celsius(hottest.temperature_K));
    if (sweep.has_beam) cells.emplace_back(studies::name_of(point.regime));
    if (limits) {
      cells.push_back(point.binding ? limit_words(point.binding->margin) +
                                          (sweep.has_beam ? (point.binding->beam ? ", on" : ", off") : "")
                                    : "");
      cells.push_back(point.binding ? margin_text(point.binding->margin) : "");
    }
    if (!sweep.heaters.empty()) cells.push_back(watts(std::max(point.heaters_W(false), point.heaters_W(true))));
    rows.row(cells);
  }
  std::string text = rows.text(left);
  if (sweep.has_beam) text += "  on, off: with the beam on or off\n";
  if (tilt)
    text += sweep.holds_tilt
                ? "  tilt: what the tile takes by itself, the larger of both\n"
                : "  tilt: the least at which every upper limit is kept, the beam off and at its full command\n";
  if (sweep.has_beam) text += "  no beam: no drive meets every limit for ever (or nothing is left for the lasers)\n";
  if (any_duty(sweep))
    text += "  duty: none where no share of the time meets every limit, no light where nothing is left for the lasers\n";
  if (!sweep.heaters.empty() && sweep.has_beam)
    text += "  heaters: the larger of beam on and off, thermostats averaged\n";
  return text;
}

std::string troubles(const Swept& swept) {
  std::string text;
  for (const SweepPoint& point : swept.sweep.points) {
    if (point.trouble)
      text += fmt::format("  {}: {}: {}\n", swept.in_unit(point.value), entry_of(point.trouble->code).slug,
                          point.trouble->message);
    else if (point.duty_trouble)
      text += fmt::format("  {}: no duty: {}: {}\n", swept.in_unit(point.value),
                          entry_of(point.duty_trouble->code).slug, point.duty_trouble->message);
  }
  return text.empty() ? text : "\nValues without an answer\n" + text;
}

std::string limit_full(const studies::Margin& margin) {
  return limit_words(margin) + ' ' +
         (margin.kind == studies::LimitKind::temperature ? celsius(margin.limit) + " degC"
                                                         : amount_text(margin.kind, margin.limit));
}

std::string limit_full(const std::optional<studies::StateMargin>& limit, bool has_beam) {
  if (!limit) return "none";
  return limit_full(limit->margin) + (!has_beam ? "" : limit->beam ? " (beam on)" : " (beam off)");
}

/// Whether two crossings are of one limit, in both states and at the same value.
bool are_one(const Crossing& a, const Crossing& b) {
  return a.kind == Crossing::Kind::margin && b.kind == Crossing::Kind::margin && a.subject == b.subject &&
         a.from == b.from && studies::same_limit(a.from_limit->margin, b.from_limit->margin) &&
         a.from_limit->beam != b.from_limit->beam &&
         std::abs(a.value - b.value) <= studies::crossing_tolerance * std::abs(a.value);
}

std::string crossing_words(const Crossing& crossing, bool has_beam) {
  switch (crossing.kind) {
    case Crossing::Kind::binding:
      return limit_full(crossing.from_limit, has_beam) + " -> " + limit_full(crossing.to_limit, has_beam);
    case Crossing::Kind::margin:
      return limit_full(crossing.from_limit, has_beam) + ": " + crossing.from + " -> " + crossing.to;
    case Crossing::Kind::heater:
      return crossing.subject + ": " + crossing.from + " -> " + crossing.to;
    case Crossing::Kind::answer:
    case Crossing::Kind::regime:
    case Crossing::Kind::sustainable:
    case Crossing::Kind::tilt:
      break;
  }
  return crossing.from + " -> " + crossing.to;
}

std::string crossings(const Swept& swept) {
  const studies::Sweep& sweep = swept.sweep;
  if (sweep.crossings.empty()) return "\nCrossings\n  none: nothing changes its kind over the range\n";
  Table table({"at", "what", "from -> to"});
  for (auto one = sweep.crossings.begin(); one != sweep.crossings.end(); ++one) {
    const Crossing& crossing = *one;
    const auto is_one = [&](const Crossing& other) { return are_one(crossing, other); };
    if (std::any_of(sweep.crossings.begin(), one, is_one)) continue;
    const bool both = std::any_of(one, sweep.crossings.end(), is_one);
    const std::string at = fmt::format("{:.7g}{}", swept.range.in_unit(crossing.value),
                                       swept.range.unit == "1" ? "" : ' ' + swept.range.unit);
    table.row({at, std::string(studies::name_of(crossing.kind)),
               both ? limit_full(crossing.from_limit->margin) + ": " + crossing.from + " -> " + crossing.to
                    : crossing_words(crossing, sweep.has_beam)});
  }
  return "\nCrossings\n" + table.text({0, 1, 2});
}

std::string stretch_words(const Swept& swept, const studies::Stretch& stretch) {
  if (stretch.from == stretch.to) return "at " + swept.in_unit(stretch.from);
  return fmt::format("from {}{} to {}{}", swept.in_unit(stretch.from),
                     stretch.begins_inside ? "" : " (where the sweep begins)", swept.in_unit(stretch.to),
                     stretch.ends_inside ? "" : " (where it ends)");
}

std::string verdict(const Swept& swept) {
  const studies::Sweep& sweep = swept.sweep;
  if (sweep.answered() == 0) return "\nNo value has an answer.\n";
  if (!sweep.has_beam) {
    const auto kept = std::count_if(sweep.points.begin(), sweep.points.end(),
                                    [](const SweepPoint& p) { return !p.trouble && p.limits_met; });
    return fmt::format("\nThe case has no beam. Every limit is kept at {} of {} values.\n", kept, sweep.answered());
  }
  std::string text;
  if (sweep.sustained.empty()) {
    text = fmt::format("\nNo sustainable beam anywhere from {} to {}", swept.in_unit(swept.range.values_si.front()),
                       swept.in_unit(swept.range.values_si.back()));
  } else {
    text = "\nThe beam can be sustained ";
    for (std::size_t i = 0; i < sweep.sustained.size(); ++i)
      text += (i == 0                            ? ""
               : i + 1 == sweep.sustained.size() ? " and "
                                                 : ", ") +
              stretch_words(swept, sweep.sustained[i]);
  }
  if (sweep.most_light_at)
    text += fmt::format("; most light is {} W, at {}", watts(sweep.most_light_W), swept.in_unit(*sweep.most_light_at));
  text += ".\n";
  const auto broken_off = std::count_if(sweep.points.begin(), sweep.points.end(), [](const SweepPoint& p) {
    return !p.trouble && p.sustainable && p.binding && p.binding->margin.margin < 0.0;
  });
  if (broken_off > 0)
    text += fmt::format(
        "At {} of these values a limit is broken all the same, at the commanded drive or with the beam off.\n",
        broken_off);
  return text;
}

/// The warnings of all points: each kind once, with how many values it is about.
std::vector<Diagnostic> folded_warnings(const Swept& swept) {
  struct Folded {
    Diagnostic first;
    double value;
    int count;
  };
  std::vector<Folded> kinds;
  for (const SweepPoint& point : swept.sweep.points) {
    std::vector<Code> told;
    for (const Diagnostic& warning : point.warnings) {
      if (std::find(told.begin(), told.end(), warning.code) != told.end()) continue;
      told.push_back(warning.code);
      const auto known =
          std::find_if(kinds.begin(), kinds.end(), [&](const Folded& one) { return one.first.code == warning.code; });
      if (known != kinds.end())
        ++known->count;
      else
        kinds.push_back({warning, point.value, 1});
    }
  }
  std::vector<Diagnostic> warnings;
  for (Folded& kind : kinds) {
    kind.first.message = fmt::format("at {} of {} values, first at {}: {}", kind.count, swept.sweep.points.size(),
                                     swept.in_unit(kind.value), kind.first.message);
    warnings.push_back(std::move(kind.first));
  }
  return warnings;
}

}  // namespace

std::string print_sweep(const tile::CaseFile& file, const Swept& swept) {
  std::string text =
      print_head(file) + title(swept) + '\n' + table(swept) + troubles(swept) + crossings(swept) + verdict(swept);
  if (swept.sweep.interrupted)
    text +=
        fmt::format("Interrupted after {} of {} values.\n", swept.sweep.points.size(), swept.range.values_si.size());
  return text + print_notes(file, folded_warnings(swept));
}

}  // namespace tileflux::cli
