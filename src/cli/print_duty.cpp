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

std::string burst_end(const studies::Burst& burst) {
  if (burst.binding && burst.binding->kind == studies::LimitKind::charge)
    return fmt::format("ended by the charge of the battery: at {:.2f} % it no longer feeds the commanded drive",
                       burst.binding->value);
  if (burst.binding && burst.binding->kind == studies::LimitKind::power)
    return fmt::format("ended by power: the lasers no longer get the {} W that the commanded drive asks for",
                       watts(burst.binding->limit));
  return ends(burst.binding, "ended by ");
}

std::string burst_text(const tile::TileSystem& system, const studies::Burst& burst) {
  if (!burst.length_s) {
    return line("burst length", "no limit within " + duration_text(system.description().duty.longest_wait_s),
                ends(burst.binding, "nearest at the end: "), burst.next);
  }
  std::string value = duration_text(*burst.length_s);
  if (burst.light_J > 0.0) value += fmt::format(", {:.3f} kJ of light", burst.light_J / 1e3);
  std::string text = line("burst length", value, burst_end(burst), burst.next);
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

/// ` (wax, 7.5 d)`
std::string slowest_text(const studies::PeriodicState& state) {
  if (state.slowest_unknown.empty() || !std::isfinite(state.slowest_s)) return {};
  return " (" + state.slowest_unknown + ", " + duration_text(state.slowest_s) + ")";
}

std::string sustainable_text(const tile::TileSystem& system, const studies::SustainableDuty& duty) {
  std::string value = duty.fraction > 0.0
                          ? fmt::format("{} at a period of {} (on for {})", percent(duty.fraction),
                                        duration_text(duty.period_s), duration_text(duty.fraction * duty.period_s))
                          : std::string("none: a limit is broken without any beam");
  if (system.has_lasers() && duty.fraction > 0.0)
    value += fmt::format(", {} W of light on average", watts(duty.mean_light_W));
  std::string text =
      line("sustainable duty", value, ends(duty.binding, duty.limited ? "bound by " : "nearest: "), duty.next);
  text += line("  short periods", percent(duty.short_period_fraction) + " is the bound as the period goes to zero", "");
  text += fmt::format(
      "  {:<20} slowest multiplier {:.6f}{}; {} cycle evaluations in all; within {} K of the repeating state\n",
      "  periodic state", duty.state.slowest_multiplier, slowest_text(duty.state), duty.cycles,
      tiny(duty.state.error_K));
  return text;
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
  return text + print_notes(file, duty.warnings);
}

}  // namespace tileflux::cli
