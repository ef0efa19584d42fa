#include <fmt/format.h>

#include <cmath>
#include <functional>
#include <numbers>

#include "cli/device_states.h"
#include "cli/print.h"
#include "cli/print_parts.h"
#include "cli/text.h"

namespace tileflux::cli {

namespace {

using studies::OperatingPoint;

/// The least margin of a node at a point, as text.
std::string margin_text(const OperatingPoint& point, const std::string& node) {
  std::optional<double> least;
  for (const studies::Margin& margin : point.margins) {
    if (margin.kind != studies::LimitKind::temperature || margin.node != node) continue;
    if (!least || margin.margin < *least) least = margin.margin;
  }
  return least ? margin_cell(*least) : "";
}

std::string why(const OperatingPoint& point) {
  std::string text(studies::name_of(point.regime));
  switch (point.regime) {
    case studies::Regime::sun_limited:
      return text + fmt::format(": the cells feed {} of the {} W that the lasers ask for",
                                percent(point.chain.laser_input / point.chain.laser_demand, 1),
                                watts(point.chain.laser_demand));
    case studies::Regime::heat_limited:
      if (point.throttling && point.limits_met())
        return text + fmt::format(": {} throttles the drive to {} of the commanded {}", point.binding->node,
                                  percent(point.chain.throttle, 1), percent(point.drive, 1));
      return text + ": a limit is broken at the commanded drive";
    default:
      return text;
  }
}

std::string answer(const tile::TileSystem& system, const studies::Balance& balance) {
  const OperatingPoint& point = balance.beam_on ? *balance.beam_on : balance.beam_off;
  std::string text = "Answer\n";
  if (balance.beam_on && system.has_lasers()) {
    text += fmt::format(
        "  usable laser power  {} W, {} of the sunlight met", watts(balance.usable_laser_W),
        percent(point.ledger.sunlight_met_W > 0.0 ? balance.usable_laser_W / point.ledger.sunlight_met_W : 0.0));
    if (!point.limits_met()) {
      text += balance.usable_drive > 0.0
                  ? fmt::format(", at {} drive: the commanded drive breaks a limit", percent(balance.usable_drive, 1))
                  : ": no drive meets every limit";
    }
    text += '\n';
  }
  text += "  regime              " + (balance.beam_on ? why(point) : std::string("no beam is asked for")) + '\n';
  if (point.binding)
    text += "  binding limit       " + describe(*point.binding) + (balance.beam_on ? ", beam on" : "") + '\n';
  else
    text += "  binding limit       none is stated in the case\n";
  // Of both states: the same that the paragraph at the end and every other answer call next.
  const std::optional<studies::StateMargin> next =
      studies::limits_over_states(balance.beam_off, balance.beam_on).next;
  if (next)
    text += "  next limit          " + describe(next->margin) +
            (!balance.beam_on ? "" : next->beam ? ", beam on" : ", beam off") + '\n';
  if (balance.rating && point.throttling) {
    text += fmt::format("  without throttle    {} W at {} drive would meet every limit (the continuous rating)\n",
                        watts(balance.rating->light_W), percent(balance.rating->drive, 1));
  }
  if (point.chain.housekeeping_short) {
    text +=
        fmt::format("  housekeeping        SHORT: the cells can give it only {} W\n", watts(point.chain.housekeeping));
  }
  if (balance.beam_on && balance.beam_off.binding)
    text += "  with the beam off   " + describe(*balance.beam_off.binding) + '\n';
  return text + '\n';
}

std::string temperatures(const tile::TileSystem& system, const studies::Balance& balance) {
  const OperatingPoint* on = balance.beam_on ? &*balance.beam_on : nullptr;
  Table table(on != nullptr ? std::vector<std::string>{"Temperatures, degC", "beam on", "margin K", "beam off",
                                                       "margin K", "limit"}
                            : std::vector<std::string>{"Temperatures, degC", "beam off", "margin K", "limit"});
  for (network::NodeId id = 0; id < system.network().node_count(); ++id) {
    const std::string& name = system.network().node(id).name;
    std::vector<std::string> row{name};
    if (on != nullptr) {
      row.push_back(celsius(system.network().temperature_K(id, on->x)));
      row.push_back(margin_text(*on, name));
    }
    row.push_back(celsius(system.network().temperature_K(id, balance.beam_off.x)));
    row.push_back(margin_text(balance.beam_off, name));
    const bool fixed = system.network().node(id).kind == network::NodeKind::fixed;
    row.push_back(fixed ? "held" : limit_text(system, name));
    table.row(std::move(row));
  }
  return table.text() + '\n';
}

template <class Line>
void amplifier_lines(const tile::CaseFile& file, const Line& line) {
  for (std::size_t b = 0; b < file.description.lasers.size(); ++b) {
    const tile::Bank& bank = file.description.lasers[b];
    if (!bank.devices.amplifier) continue;
    line("  of it in the fibre of " + bank.name, [b](const OperatingPoint& p) { return p.chain.bank[b].fibre_heat; });
    line("    quantum defect", [b](const OperatingPoint& p) { return p.chain.bank[b].quantum_defect; });
    line("  of it unabsorbed pump light of " + bank.name,
         [b](const OperatingPoint& p) { return p.chain.bank[b].unabsorbed; });
  }
}

std::string when(const OperatingPoint& point, bool both) {
  if (!both) return "";
  return point.beam ? ", beam on" : ", beam off";
}

std::string heaters(const tile::TileSystem& system, const OperatingPoint& point, bool both) {
  constexpr double most_duty = 0.8;  // a quarter is to be kept in hand: SMC-S-016 (2014), 4.4.2.2
  std::string text;
  const std::vector<double>& power_W = point.heater_W;
  for (std::size_t h = 0; h < power_W.size(); ++h) {
    const tile::Heater& heater = system.description().heaters[h];
    const double duty = power_W[h] / heater.power_W;
    text += fmt::format("  {:<18}{} of {} W, a duty of {}{}{}\n", heater.name, watts(power_W[h]), watts(heater.power_W),
                        percent(duty), when(point, both), duty > most_duty ? ": LESS THAN 25 % IN HAND" : "");
  }
  const double fed = point.chain.heaters_fed;
  if (!power_W.empty() && fed < 1.0)
    text +=
        fmt::format("  SHORT: the bus gives them only {} of what they ask for{}\n", percent(fed, 1), when(point, both));
  return text;
}

std::string heat_pipes(const tile::TileSystem& system, const OperatingPoint& point, bool both) {
  std::string text;
  for (const PipeLoad& pipe : pipe_loads(system, point.x)) {
    text += fmt::format("  {:<18}carries {} of at most {} W{}{}\n", pipe.name, watts(std::abs(pipe.carried_W)),
                        watts(pipe.limit_W), when(point, both), pipe.at_limit() ? ": AT ITS LIMIT, frozen or dry" : "");
  }
  return text;
}

std::string stores(const tile::TileSystem& system, const OperatingPoint& point, bool both) {
  std::string text;
  for (const StoreState& store : store_states(system, point.x))
    text += fmt::format("  {:<18}{} molten{}\n", store.name, percent(store.melted_share, 1), when(point, both));
  return text;
}

/// Heaters, heat pipes, stores, battery, and where the light of the lasers would roll over.
std::string devices(const tile::CaseFile& file, const tile::TileSystem& system, const studies::Balance& balance) {
  const auto both_points = [&](const std::string& title, const auto& lines) {
    std::string text;
    if (balance.beam_on) text += lines(system, *balance.beam_on, true);
    text += lines(system, balance.beam_off, balance.beam_on.has_value());
    return text.empty() ? text : title + '\n' + text;
  };
  std::string text = both_points("Heaters, thermostats averaged over their dead bands", heaters) +
                     both_points("Heat pipes", heat_pipes) + both_points("Stores", stores);
  if (const auto& battery = system.description().battery)
    text += fmt::format("Battery\n  rests at {} in steady states, which hold for sunlight alone: `run` uses it\n",
                        percent(battery->start_percent / 100.0, 1));
  for (std::size_t b = 0; b < balance.roll_over.size(); ++b) {
    constexpr double of_interest = 2.0;  // beyond twice the rated drive nobody goes
    if (!balance.roll_over[b] || balance.roll_over[b]->drive > of_interest) continue;
    text += fmt::format("Light of {} rolls over at {} drive with its mount as warm as now\n",
                        file.description.lasers[b].name, percent(balance.roll_over[b]->drive, 1));
  }
  return text.empty() ? text : text + '\n';
}

std::string power_chain(const tile::CaseFile& file, const tile::TileSystem& system, const studies::Balance& balance) {
  const OperatingPoint* on = balance.beam_on ? &*balance.beam_on : nullptr;
  Table table(on != nullptr ? std::vector<std::string>{"Power chain, W", "beam on", "beam off"}
                            : std::vector<std::string>{"Power chain, W", "beam off"});
  const auto line = [&](const std::string& name, const std::function<double(const OperatingPoint&)>& power_W) {
    std::vector<std::string> row{name};
    if (on != nullptr) row.push_back(watts(power_W(*on)));
    row.push_back(watts(power_W(balance.beam_off)));
    table.row(std::move(row));
  };
  line("sunlight met", [](const OperatingPoint& p) { return p.ledger.sunlight_met_W; });
  line("  reflected", [](const OperatingPoint& p) { return p.ledger.reflected_W; });
  line("  absorbed", [](const OperatingPoint& p) { return p.ledger.absorbed_W; });
  if (file.description.orbit) line("from the planet", [](const OperatingPoint& p) { return p.ledger.planet_W; });
  if (!file.description.loads.empty()) line("heat loads", [](const OperatingPoint& p) { return p.ledger.loads_W; });
  if (system.has_cells()) {
    line("electricity available", [](const OperatingPoint& p) { return p.chain.available; });
    line("  left in the cells or shunt", [](const OperatingPoint& p) { return p.chain.undrawn; });
    line("  drawn", [](const OperatingPoint& p) { return p.chain.drawn; });
    line("    conditioning loss", [](const OperatingPoint& p) { return p.chain.conditioning_loss; });
    line("    housekeeping", [](const OperatingPoint& p) { return p.chain.housekeeping; });
    if (!file.description.heaters.empty()) line("    heaters", [](const OperatingPoint& p) { return p.chain.heaters; });
  }
  if (system.has_lasers()) {
    line("    laser input", [](const OperatingPoint& p) { return p.chain.laser_input; });
    const bool drivers = std::any_of(file.description.lasers.begin(), file.description.lasers.end(),
                                     [](const tile::Bank& bank) { return bank.devices.driver_loss > 0.0; });
    if (drivers) line("    driver loss", [](const OperatingPoint& p) { return p.chain.driver_loss; });
    line("laser waste heat",
         [](const OperatingPoint& p) { return p.chain.laser_input - p.chain.light_out - p.chain.optics_loss; });
    amplifier_lines(file, line);
    line("lost in optics", [](const OperatingPoint& p) { return p.chain.optics_loss; });
  }
  if (!system.has_cells() && !file.description.heaters.empty())
    line("heaters, fed from outside", [](const OperatingPoint& p) { return p.chain.heaters; });
  line("light out", [](const OperatingPoint& p) { return p.ledger.light_out_W; });
  line("heat to be rejected", [](const OperatingPoint& p) { return p.ledger.incoming_W() - p.ledger.light_out_W; });
  for (std::size_t i = 0; i < system.infrared_names().size(); ++i) {
    line("  infrared from " + system.infrared_names()[i], [i](const OperatingPoint& p) { return p.infrared_W[i]; });
  }
  const bool held = system.network().node_count() > system.network().unknown_count();
  if (held) line("  to parts held at a temperature", [](const OperatingPoint& p) { return p.ledger.to_fixed_W; });
  return table.text() + '\n';
}

std::string efficiencies(const tile::TileSystem& system, const studies::Balance& balance) {
  if (!balance.beam_on || !system.has_lasers()) return "";
  const OperatingPoint& point = *balance.beam_on;
  const auto share = [](double part, double whole) { return whole > 0.0 ? percent(part / whole) : std::string("-"); };
  return fmt::format("Sunlight to electricity {}, electricity to light {}, sunlight to light {}\n\n",
                     share(point.chain.available, point.ledger.sunlight_met_W),
                     share(point.chain.light_out, point.chain.laser_input),
                     share(point.chain.light_out, point.ledger.sunlight_met_W));
}

std::string books(const OperatingPoint& point) {
  return fmt::format(
      "  {:<9} residual {} W, {} %, worth {} K; worst node {} W; slowest time constant {}; {} Newton steps{}\n",
      point.beam ? "beam on" : "beam off", tiny(point.ledger.residual_W()), tiny(100.0 * point.ledger_relative),
      tiny(point.error_K), tiny(point.worst_node_W), point.slowest_s > 0.0 ? duration_text(point.slowest_s) : "none",
      point.newton_steps,
      point.continuation_steps > 0 ? fmt::format(" after {} of continuation", point.continuation_steps) : "");
}

/// Of which surroundings this is the steady state, and the tilt that the tile took in them.
std::string surroundings(const tile::TileSystem& system, const studies::Balance& balance) {
  std::string text;
  const std::optional<double>& at_s = system.description().steady_at_s;
  if (system.sky_moves() && at_s) text += fmt::format("Surroundings as at {:.6g} s\n", *at_s);
  if (system.sky_moves() && !at_s)
    text += system.sky_period_s() ? "Surroundings in their mean over one revolution\n"
                                  : "Surroundings in their mean over the time of the run\n";
  const auto held = [&](const OperatingPoint& point) {
    return fmt::format("{:.2f} deg with the beam {}", point.sky.tilt_rad * degrees_per_radian,
                       point.beam ? "on" : "off");
  };
  if (system.has_hold()) {
    text += "Tilt taken  " + (balance.beam_on ? held(*balance.beam_on) + ", " : "") + held(balance.beam_off) + '\n';
  }
  return text.empty() ? text : text + '\n';
}

}  // namespace

std::string print_balance(const tile::CaseFile& file, const tile::TileSystem& system, const studies::Balance& balance) {
  std::string text = print_head(file) + surroundings(system, balance) + answer(system, balance) +
                     temperatures(system, balance) + power_chain(file, system, balance) +
                     efficiencies(system, balance) + devices(file, system, balance);
  text += "Energy books\n";
  if (balance.beam_on) text += books(*balance.beam_on);
  text += books(balance.beam_off);
  return text + print_notes(file, balance.warnings);
}

}  // namespace tileflux::cli
