#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/device_states.h"
#include "cli/print.h"
#include "cli/print_parts.h"
#include "cli/text.h"

namespace tileflux::cli {

namespace {

std::string line(const std::string& name, const std::string& value, const std::string& binding,
                 const std::optional<studies::Margin>& next = {}) {
  std::string text = fmt::format("  {:<20} {}\n", name, value);
  if (!binding.empty()) text += fmt::format("  {:<20} {}\n", "", binding);
  if (next) text += fmt::format("  {:<20} next {}\n", "", describe(*next));
  return text;
}

std::string ends(const std::optional<studies::Margin>& margin, const std::string& words) {
  return margin ? words + describe(*margin) : std::string();
}

/// What ends a burst or binds a duty.
std::string what_ends(const std::optional<studies::Margin>& margin, const std::string& words) {
  if (margin && margin->kind == studies::LimitKind::charge)
    return words +
           fmt::format("the charge of the battery: at {:.2f} % it no longer feeds the commanded drive", margin->value);
  if (margin && margin->kind == studies::LimitKind::power)
    return words + fmt::format("power: the lasers no longer get the {} W that the commanded drive asks for",
                               watts(margin->limit));
  if (margin && margin->kind == studies::LimitKind::energy)
    return words + fmt::format("energy: the lasers ask for {:.1f} kJ in a cycle, and {:.1f} kJ can be had",
                               margin->limit / 1e3, margin->value / 1e3);
  return ends(margin, words);
}

std::string burst_text(const tile::TileSystem& system, const studies::Burst& burst) {
  if (!burst.length_s) {
    return line("burst length", "no limit within " + duration_text(system.description().duty.longest_wait_s),
                ends(burst.binding, "nearest at the end: "), burst.next);
  }
  std::string value = duration_text(*burst.length_s);
  if (burst.light_J > 0.0) value += fmt::format(", {:.3f} kJ of light", burst.light_J / 1e3);
  std::string text = line("burst length", value, what_ends(burst.binding, "ended by "), burst.next);
  if (burst.adiabatic_s) {
    const bool other = burst.binding && burst.binding->kind != studies::LimitKind::temperature;
    text += line(
        "  kept adiabatic",
        duration_text(*burst.adiabatic_s) +
            (other ? " to " + burst.adiabatic_limit->node + " at " + celsius(burst.adiabatic_limit->limit) + " degC"
                   : std::string()) +
            " if the tile were one lump that loses nothing",
        "");
  }
  for (const StoreState& store : store_states(system, burst.end_x))
    text += line("  " + store.name, percent(store.melted_share, 1) + " molten at its end", "");
  return text;
}

std::string recovery_text(const tile::TileSystem& system, const studies::Recovery& recovery) {
  const double within_K = system.description().duty.recovered_within_K;
  std::string within = fmt::format("within {:.3g} K of the start", within_K);
  if (studies::battery_acts(system))
    within += fmt::format(" and {:.3g} % of its charge", system.description().duty.charge_within_percent);
  if (recovery.never && recovery.node == "battery") {
    return line("recovery time",
                fmt::format("never: with the beam off the battery does not recharge (its store gains {} W near the "
                            "charge of the start)",
                            watts(recovery.charging_W)),
                "(recovered means " + within + ")");
  }
  if (recovery.never) {
    return line("recovery time",
                "never: the background alone holds " + recovery.node + " at " + celsius(recovery.held_K) + " degC",
                "(recovered means " + within + ")");
  }
  if (!recovery.time_s)
    return line("recovery time", "not within " + duration_text(system.description().duty.longest_wait_s),
                recovery.node + " is the slowest");
  return line("recovery time", duration_text(*recovery.time_s) + " to " + within,
              recovery.node.empty() ? "" : recovery.node + " is the last to recover");
}

std::string rating_text(const tile::TileSystem& system, const studies::ContinuousRating& rating) {
  if (rating.drive <= 0.0)
    return line("continuous rating", "none: a limit is broken at any drive", ends(rating.binding, "with no drive: "),
                rating.next);
  std::string value = percent(rating.drive) + " drive";
  if (system.has_lasers()) value += ", " + watts(rating.light_W) + " W of light";
  if (!rating.limited)
    value += rating.regime == studies::Regime::sun_limited ? "; sun-limited, no temperature limit binds"
                                                           : "; no limit binds";
  return line("continuous rating", value, ends(rating.binding, rating.limited ? "bound by " : "nearest: "),
              rating.next);
}

/// How long a mode of the cycle lasts; nothing where it is gone after one.
std::string lasting(const studies::Multiplier& one, double cycle_s) {
  constexpr double gone = 1e-9;
  if (one.magnitude < gone) return {};
  return one.magnitude < 1.0 ? ", " + duration_text(-cycle_s / std::log(one.magnitude)) : ", for ever";
}

std::string sustainable_text(const tile::TileSystem& system, const studies::SustainableDuty& duty) {
  std::string value = duty.fraction > 0.0
                          ? fmt::format("{} at a period of {} (on for {})", percent(duty.fraction),
                                        duration_text(duty.period_s), duration_text(duty.fraction * duty.period_s))
                          : std::string("none: a limit is broken without any beam");
  if (system.has_lasers() && duty.fraction > 0.0)
    value += fmt::format(", {} W of light on average", watts(duty.mean_light_W));
  std::string text =
      line("sustainable duty", value, what_ends(duty.binding, duty.limited ? "bound by " : "nearest: "), duty.next);
  if (duty.short_period_fraction) {
    std::string bound = percent(*duty.short_period_fraction) + " is the bound as the period goes to zero";
    if (duty.short_period_energy_fraction)
      bound += fmt::format(", {} by the charge of the battery alone", percent(*duty.short_period_energy_fraction));
    text += line("  short periods", bound, "");
  }
  if (duty.cycle.moving)
    text += line(
        "  surroundings",
        fmt::format("repeat after {}, with {} of the beam", duration_text(duty.cycle.cycle_s),
                    duty.cycle.pulses == 1 ? std::string("one period") : fmt::format("{} periods", duty.cycle.pulses)),
        "");
  text += fmt::format("  {:<20} {} cycle evaluations in all; within {} K of the repeating state\n", "  periodic state",
                      duty.cycles, tiny(duty.state.error_K));
  if (duty.ratchet)
    text += line("  ratcheting",
                 fmt::format("{:.4g} cycles from the idle tile until 95 % of the way is gone", *duty.ratchet), "");
  for (const studies::Multiplier& one : duty.state.multipliers)
    text += fmt::format("  {:<20} {:.6f} ({}{})\n", &one == &duty.state.multipliers.front() ? "  multipliers" : "",
                        one.magnitude, one.unknown, lasting(one, duty.cycle.cycle_s));
  return text;
}

/// The limit without its margin, which is none where it binds.
std::string what_binds(const studies::Margin& margin) {
  if (margin.kind == studies::LimitKind::temperature)
    return fmt::format("{} {} {} degC", margin.where(), margin.upper ? "below" : "above", celsius(margin.limit));
  return fmt::format("{} of {}", studies::name_of(margin.kind), margin.where());
}

/// The sustainable duty over periods.
std::string curve_text(const tile::TileSystem& system, const studies::DutyCurve& curve) {
  Table table({"Period", "duty", "on for", "light W", "cycles to 95 %", "slowest", "bound by"});
  for (const studies::SustainableDuty& point : curve.points) {
    table.row({duration_text(point.period_s), percent(point.fraction), duration_text(point.fraction * point.period_s),
               system.has_lasers() ? watts(point.mean_light_W) : "",
               point.ratchet ? fmt::format("{:.0f}", *point.ratchet) : "", point.state.slowest_unknown,
               point.limited && point.binding ? what_binds(*point.binding) : "nothing"});
  }
  constexpr std::size_t slowest_column = 5, bound_column = 6;
  return "\nSustainable duty over periods\n" + table.text({0, slowest_column, bound_column}) +
         fmt::format("  {} cycle evaluations for {} periods\n", curve.cycles, curve.points.size());
}

/// The sustainable duty over drive and period, and the drives along which it is the same.
std::string map_text(const studies::DutyMap& map) {
  std::vector<std::string> head{"Sustainable duty, %"};
  for (const double drive : map.drives) head.push_back(percent(drive, 1) + " drive");
  Table table(head);
  for (std::size_t p = 0; p < map.periods_s.size(); ++p) {
    std::vector<std::string> row{duration_text(map.periods_s[p])};
    for (std::size_t d = 0; d < map.drives.size(); ++d) row.push_back(percent(map.fraction[d][p], 1));
    table.row(std::move(row));
  }
  std::string text = "\n" + table.text();
  for (const studies::DutyMap::Line& one : map.lines) {
    if (one.drives.empty()) continue;
    const auto [least, most] = std::minmax_element(one.drives.begin(), one.drives.end());
    text += fmt::format("  {} duty at drives from {} to {} ({} periods)\n", percent(one.fraction, 0),
                        percent(*least, 1), percent(*most, 1), one.drives.size());
  }
  return text + fmt::format("  {} cycle evaluations\n", map.cycles);
}

}  // namespace

namespace {

std::string start_text(const tile::Case& description) {
  const tile::Start& start = description.start;
  std::string text;
  if (start.from == tile::Start::From::beam_off_balance) {
    text = "the balance with the beam off";
  } else if (start.from == tile::Start::From::beam_on_balance) {
    text = "the balance with the beam on";
  } else {
    const auto stated = [](const auto& described) { return described.start_K.has_value(); };
    const bool own =
        std::any_of(description.parts.begin(), description.parts.end(), stated) ||
        std::any_of(description.stores.begin(), description.stores.end(), stated) ||
        (description.stack && std::any_of(description.stack->layers.begin(), description.stack->layers.end(), stated));
    text = celsius(start.temperature_K) + " degC" + (own && !start.everywhere ? ", but for what states its own" : "");
  }
  if (description.battery) text += fmt::format(", battery at {:.4g} %", description.battery->start_percent);
  return text;
}

}  // namespace

std::string print_duty(const tile::CaseFile& file, const tile::TileSystem& system, const studies::Duty& duty) {
  std::string text = print_head(file);
  text += fmt::format("Duty limits at {} drive, without throttle or trip\n", percent(file.description.beam->drive, 1));
  text += line("starting state", start_text(file.description), "");
  text += burst_text(system, duty.burst) + recovery_text(system, duty.recovery) + rating_text(system, duty.rating);
  if (duty.sustainable)
    text += sustainable_text(system, *duty.sustainable);
  else
    text += line("sustainable duty", "the case's beam has no period: give `on` and `every`", "");
  if (duty.curve) text += curve_text(system, *duty.curve);
  if (duty.map) text += map_text(*duty.map);
  return text + print_notes(file, duty.warnings);
}

}  // namespace tileflux::cli
