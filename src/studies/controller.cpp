#include "studies/controller.h"

#include <algorithm>
#include <cmath>

#include "studies/warning.h"
#include "tileflux/tile/schedule.h"

namespace tileflux::studies {

namespace {

/// A charge this close to what the depth-of-discharge rule leaves is called low: little is given any more.
constexpr double low_percent = 1.0;

}  // namespace

Controller::Controller(tile::TileSystem& system, ControlSettings settings)
    : system_(system),
      settings_(std::move(settings)),
      tripped_(system.limits().size(), 0),
      may_return_s_(system.limits().size(), 0.0),
      heater_on_(system.description().heaters.size(), 0.0) {
  if (system.description().campaign)
    timetable_.emplace(*system.description().campaign, system.description().run.duration_s);
  for (std::size_t i = 0; i < system.limits().size(); ++i) {
    const tile::Limit& limit = system.limits()[i].limit;
    const bool trips = settings_.trips && limit.trip_reset_K;
    if (limit.below_K && (trips || settings_.reports)) watched_.push_back({Kind::broken_above, i, *limit.below_K});
    if (limit.above_K && settings_.reports) watched_.push_back({Kind::broken_below, i, *limit.above_K});
    if (limit.rate_below_K_per_s && settings_.reports)
      watched_.push_back({Kind::too_fast, i, *limit.rate_below_K_per_s});
    if (limit.throttle_from_K && settings_.reports) watched_.push_back({Kind::throttle, i, *limit.throttle_from_K});
    if (trips) watched_.push_back({Kind::reset, i, *limit.trip_reset_K});
  }
  for (std::size_t h = 0; h < heater_on_.size() && settings_.thermostats; ++h) {
    watched_.push_back({Kind::heater_on, h, system.description().heaters[h].on_below_K});
    watched_.push_back({Kind::heater_off, h, system.description().heaters[h].off_above_K});
  }
  if (settings_.reports) watch_for_report();
}

void Controller::watch_for_report() {
  for (std::size_t d = 0; d < system_.differences().size(); ++d)
    watched_.push_back({Kind::too_far_apart, d, system_.differences()[d].limit.most_K()});
  if (system_.has_lasers()) watched_.push_back({Kind::sun_limit, 0, 0.0});
  if (system_.description().battery) {
    watched_.push_back({Kind::battery_low, 0, system_.description().battery->law.least_percent + low_percent});
    const auto node = static_cast<std::size_t>(system_.network().find(system_.description().battery->node));
    watched_.push_back({Kind::charging_window, node, 0.0});
    watched_.push_back({Kind::discharging_window, node, 0.0});
  }
  if (system_.has_cells()) watched_.push_back({Kind::needs_short, 0, 0.0});
}

void Controller::remember(ControlState state) {
  heater_on_ = std::move(state.heater_on);
  tripped_ = std::move(state.tripped);
  may_return_s_ = std::move(state.may_return_s);
}

void Controller::set_commands(double time_s, std::span<const double> x) {
  for (std::size_t h = 0; h < heater_on_.size(); ++h) {
    const double sensor_K = system_.network().temperature_K(system_.sensor_of(h), x);
    if (sensor_K < system_.description().heaters[h].on_below_K) heater_on_[h] = 1.0;
  }
  command_changed(time_s);
}

double Controller::trip_left() const {
  const std::optional<std::size_t> hardest = hardest_trip();
  return hardest ? system_.limits()[*hardest].limit.trip_to : 1.0;
}

std::optional<std::size_t> Controller::hardest_trip() const {
  std::optional<std::size_t> hardest;
  double left = 1.0;
  for (std::size_t i = 0; i < tripped_.size(); ++i) {
    if (!tripped_[i] || (hardest && system_.limits()[i].limit.trip_to >= left)) continue;
    left = system_.limits()[i].limit.trip_to;
    hardest = i;
  }
  return hardest;
}

bool Controller::command_changed(double time_s) {
  const tile::Case& description = system_.description();
  tile::Mode mode;
  mode.drive = description.beam ? description.beam->drive : 0.0;
  mode.throttled = settings_.throttled;
  mode.battery = settings_.battery;
  mode.surroundings = settings_.surroundings;
  mode.instant_s = settings_.instant_s;
  if (settings_.thermostats) mode.heater_on = heater_on_;
  const std::optional<tile::TimePattern> pattern = beam_pattern();
  bool commanded = description.beam && (!pattern || tile::is_on_after(*pattern, time_s));
  if (follows_timetable()) commanded = command_by_timetable(time_s, mode);
  const double left = trip_left();
  mode.drive *= left;
  mode.beam = commanded && left > 0.0;
  mode.stowed = settings_.surroundings == tile::Mode::Surroundings::moving && system_.stowed_after(time_s);
  for (std::size_t i = 0; i < description.loads.size(); ++i) {
    const tile::Load& load = description.loads[i];
    const bool on = load.when == tile::Load::When::pattern && tile::is_on_after(load.pattern, time_s);
    mode.pattern_share.push_back(load_follows_pattern(i) ? (on ? 1.0 : 0.0) : settings_.mean_load_share[i]);
  }
  const tile::Mode& before = system_.mode();
  const bool changed = mode.beam != before.beam || mode.drive != before.drive || mode.light_W != before.light_W ||
                       mode.pattern_share != before.pattern_share || mode.heater_on != before.heater_on ||
                       mode.stowed != before.stowed || !beam_known_;
  if (description.beam && (mode.beam != before.beam || !beam_known_) && (beam_known_ || mode.beam)) {
    events_.push_back({time_s, mode.beam ? "beam_on" : "beam_off", "beam", 0.0});
  }
  beam_known_ = true;
  if (changed) system_.set_mode(std::move(mode));
  return changed;
}

std::optional<tile::TimePattern> Controller::beam_pattern() const {
  if (settings_.beam || !system_.description().beam) return settings_.beam;
  return system_.description().beam->pattern;
}

double Controller::next_sky_edge_s(double time_s) const {
  return settings_.surroundings == tile::Mode::Surroundings::moving ? system_.next_sky_edge_s(time_s) : tile::never_s;
}

bool Controller::load_follows_pattern(std::size_t load) const {
  return load >= settings_.mean_load_share.size() || settings_.mean_load_share[load] < 0.0;
}

bool Controller::follows_timetable() const { return timetable_ && !settings_.beam; }

bool Controller::command_by_timetable(double time_s, tile::Mode& mode) const {
  const long piece = timetable_->piece_at(time_s);
  const tile::Campaign& campaign = *system_.description().campaign;
  double light_W = 0.0, drive = 0.0;
  for (const std::size_t i : timetable_->open(piece)) {
    const tile::Request& request = campaign.requests[timetable_->occurrences()[i].request];
    light_W += request.light_W.value_or(0.0);
    drive += request.drive.value_or(0.0);
  }
  if (light_W > 0.0) mode.light_W = light_W;
  if (light_W <= 0.0) mode.drive = std::min(mode.drive, drive);
  return !timetable_->open(piece).empty() && !timetable_->kept_out(piece);
}

double Controller::next_edge_s(double time_s) const {
  const tile::Case& description = system_.description();
  double next_s = next_sky_edge_s(time_s);
  if (follows_timetable()) next_s = std::min(next_s, timetable_->next_edge_after(time_s));
  if (const std::optional<tile::TimePattern> pattern = beam_pattern(); pattern && !follows_timetable())
    next_s = std::min(next_s, tile::next_edge_after(*pattern, time_s));
  for (std::size_t i = 0; i < description.loads.size(); ++i) {
    const tile::Load& load = description.loads[i];
    if (load.when == tile::Load::When::pattern && load_follows_pattern(i))
      next_s = std::min(next_s, tile::next_edge_after(load.pattern, time_s));
  }
  for (std::size_t i = 0; i < tripped_.size(); ++i) {
    if (tripped_[i] && may_return_s_[i] > time_s) next_s = std::min(next_s, may_return_s_[i]);
  }
  return next_s;
}

Controller::Seen Controller::see(double time_s, std::span<const double> x) const {
  Seen seen{x, {}, {}};
  if (has_rate_limits(system_)) seen.rate = rates_at(system_, time_s, x);
  const bool bus = std::any_of(watched_.begin(), watched_.end(), [](const Watched& watched) {
    return watched.kind == Kind::sun_limit || watched.kind == Kind::needs_short;
  });
  if (bus) seen.chain = system_.chain_flows(time_s, x);
  return seen;
}

double Controller::value_of(const Watched& watched, const Seen& seen) const {
  const std::span<const double> x = seen.x;
  if (watched.kind == Kind::too_fast) {
    const network::NodeId node = system_.limits()[watched.index].node;
    return std::abs(temperature_rate_K_per_s(system_, node, x, seen.rate)) / watched.threshold - 1.0;
  }
  if (watched.kind == Kind::too_far_apart) {
    const tile::BoundDifference& bound = system_.differences()[watched.index];
    const network::Network& network = system_.network();
    return std::abs(network.temperature_K(bound.a, x) - network.temperature_K(bound.b, x)) - watched.threshold;
  }
  if (watched.kind == Kind::sun_limit) {
    // Zero where what the chain would draw without the sun's bound equals what the cells can give.
    return seen.chain.sun_limited ? seen.chain.laser_demand - seen.chain.laser_bus : -seen.chain.spare;
  }
  if (watched.kind == Kind::needs_short)
    return seen.chain.needs_short > 0.0 ? seen.chain.needs_short : -seen.chain.needs_spare;
  if (watched.kind == Kind::charging_window || watched.kind == Kind::discharging_window) {
    const tile::Battery& battery = *system_.description().battery;
    const devices::TemperatureWindow& window =
        watched.kind == Kind::charging_window ? battery.law.charge_window : battery.law.discharge_window;
    const double battery_K = system_.network().temperature_K(static_cast<network::NodeId>(watched.index), x);
    return std::min(battery_K - window.from_K, window.to_K - battery_K);
  }
  if (watched.kind == Kind::battery_low) return system_.charge_percent(x) - watched.threshold;
  const bool heater = watched.kind == Kind::heater_on || watched.kind == Kind::heater_off;
  const network::NodeId node = heater ? system_.sensor_of(watched.index) : system_.limits()[watched.index].node;
  return system_.network().temperature_K(node, x) - watched.threshold;
}

void Controller::evaluate(double time_s, std::span<const double> x, std::span<double> values) const {
  const Seen seen = see(time_s, x);
  for (std::size_t i = 0; i < watched_.size(); ++i) values[i] = value_of(watched_[i], seen);
}

bool Controller::holds(const Watched& watched, double value) const {
  switch (watched.kind) {
    case Kind::broken_above:
    case Kind::too_fast:
    case Kind::too_far_apart:
      return value > 0.0;
    case Kind::broken_below:
      return value < 0.0;
    case Kind::throttle:
      return value > 0.0 && system_.mode().beam;
    case Kind::reset:
      return value > 0.0;
    case Kind::sun_limit:
      return value > 0.0 && system_.mode().beam;
    case Kind::heater_on:
    case Kind::battery_low:
    case Kind::charging_window:
    case Kind::discharging_window:
      return value < 0.0;
    case Kind::heater_off:
    case Kind::needs_short:
      return value > 0.0;
  }
  return false;
}

void Controller::set_active(Watched& watched, bool active, double time_s, std::span<const double> x) {
  if (watched.active == active) return;
  watched.active = active;
  if (watched.kind == Kind::sun_limit) {
    events_.push_back({time_s, active ? "sun_limited_begins" : "sun_limited_ends", "beam", 0.0});
    return;
  }
  const auto tell = [&](const char* begins, const char* ends, const char* where) {
    events_.push_back({time_s, active ? begins : ends, where, 0.0});
  };
  if (watched.kind == Kind::battery_low) return tell("battery_low", "battery_recovers", "battery");
  if (watched.kind == Kind::charging_window) return tell("charging_barred", "charging_allowed", "battery");
  if (watched.kind == Kind::discharging_window) return tell("discharging_barred", "discharging_allowed", "battery");
  if (watched.kind == Kind::needs_short) return tell("bus_short_begins", "bus_short_ends", "bus");
  if (watched.kind == Kind::reset || watched.kind == Kind::heater_on || watched.kind == Kind::heater_off) return;
  const std::string_view broken = active ? "limit_broken" : "limit_met";
  if (watched.kind == Kind::too_far_apart) {
    const tile::DifferenceLimit& limit = system_.differences()[watched.index].limit;
    events_.push_back({time_s, broken, "difference of " + limit.a + " - " + limit.b, 0.0});
    return;
  }
  const network::NodeId node = system_.limits()[watched.index].node;
  if (watched.kind == Kind::too_fast) {
    events_.push_back(
        {time_s, broken, "rate of " + system_.network().node(node).name, system_.network().temperature_K(node, x)});
    return;
  }
  const bool throttle = watched.kind == Kind::throttle;
  const std::string_view what = throttle ? (active ? "throttle_begins" : "throttle_ends") : broken;
  events_.push_back({time_s, what, system_.network().node(node).name, system_.network().temperature_K(node, x)});
}

void Controller::update_states(double time_s, std::span<const double> x) {
  // A value this close to zero is the zero just located: its sign is decided by the root's direction, not by round-off.
  constexpr double located_K = 1e-6;
  const Seen seen = see(time_s, x);
  for (Watched& watched : watched_) {
    const double value = value_of(watched, seen);
    if (std::abs(value) > located_K) set_active(watched, holds(watched, value), time_s, x);
  }
}

bool Controller::take_edge(double time_s, std::span<const double> x) {
  const bool returned = reset_if_due(time_s, x);
  const bool edge = time_s >= sky_edge_s_;  // the slope of what arrives jumps, and so does the solver's past
  sky_edge_s_ = next_sky_edge_s(time_s);
  return command_changed(time_s) || returned || edge;
}

bool Controller::take_roots(double time_s, std::span<const double> x, std::span<const int> signs) {
  bool switched = false;
  for (std::size_t i = 0; i < watched_.size(); ++i) {
    if (signs[i] == 0) continue;
    Watched& watched = watched_[i];
    set_active(watched, holds(watched, signs[i]), time_s, x);
    if (watched.kind == Kind::broken_above && signs[i] > 0)
      switched = trip_if_due(time_s, watched.index, x) || switched;
    if (watched.kind == Kind::heater_on && signs[i] < 0)
      switched = thermostat_switched(time_s, watched.index, true, x) || switched;
    if (watched.kind == Kind::heater_off && signs[i] > 0)
      switched = thermostat_switched(time_s, watched.index, false, x) || switched;
    if (watched.kind == Kind::reset && signs[i] < 0) switched = reset_if_due(time_s, x) || switched;
  }
  return switched && command_changed(time_s);
}

network::NodeId Controller::switching_node(std::span<const int> signs) const {
  for (std::size_t i = 0; i < watched_.size(); ++i) {
    const Watched& watched = watched_[i];
    const bool trip = watched.kind == Kind::broken_above && signs[i] > 0 && system_.mode().beam &&
                      system_.limits()[watched.index].limit.trip_reset_K && !tripped_[watched.index];
    const bool reset = watched.kind == Kind::reset && signs[i] < 0 && tripped_[watched.index];
    if (trip || reset) return system_.limits()[watched.index].node;
    const bool on = watched.kind == Kind::heater_on && signs[i] < 0;
    const bool off = watched.kind == Kind::heater_off && signs[i] > 0;
    if ((on || off) && (heater_on_[watched.index] > 0.0) != on) return system_.sensor_of(watched.index);
  }
  return -1;
}

bool Controller::trip_if_due(double time_s, std::size_t limit, std::span<const double> x) {
  const tile::BoundLimit& bound = system_.limits()[limit];
  if (!settings_.trips || !bound.limit.trip_reset_K || tripped_[limit] || !system_.mode().beam) return false;
  tripped_[limit] = 1;
  may_return_s_[limit] = time_s + bound.limit.trip_min_off_s;
  ++trips_;
  events_.push_back({time_s, "trip", bound.limit.node, system_.network().temperature_K(bound.node, x)});
  note_chatter(time_s, "the beam trips at '" + bound.limit.node + "'");
  return true;
}

bool Controller::thermostat_switched(double time_s, std::size_t heater, bool on, std::span<const double> x) {
  const tile::Heater& described = system_.description().heaters[heater];
  if (described.stuck || (heater_on_[heater] > 0.0) == on) return false;
  heater_on_[heater] = on ? 1.0 : 0.0;
  events_.push_back({time_s, on ? "heater_on" : "heater_off", described.name,
                     system_.network().temperature_K(system_.sensor_of(heater), x)});
  if (on) note_chatter(time_s, "the heater '" + described.name + "' switches on");
  return true;
}

bool Controller::switch_where_due(double time_s, std::span<const double> x) {
  bool switched = false;
  const Seen seen = see(time_s, x);
  for (const Watched& watched : watched_) {
    const double value = value_of(watched, seen);
    if (watched.kind == Kind::broken_above && value >= 0.0)
      switched = trip_if_due(time_s, watched.index, x) || switched;
    // A thermostat that was just switched stands on its threshold, on either side by round-off.
    constexpr double located_K = 1e-6;
    if (watched.kind == Kind::heater_on && value < -located_K)
      switched = thermostat_switched(time_s, watched.index, true, x) || switched;
    if (watched.kind == Kind::heater_off && value > located_K)
      switched = thermostat_switched(time_s, watched.index, false, x) || switched;
  }
  return switched && command_changed(time_s);
}

bool Controller::reset_if_due(double time_s, std::span<const double> x) {
  bool any = false;
  constexpr double located_K = 1e-6;  // the root that reports the reset temperature is this close to it
  for (std::size_t i = 0; i < tripped_.size(); ++i) {
    const tile::BoundLimit& bound = system_.limits()[i];
    if (!tripped_[i] || time_s < may_return_s_[i]) continue;
    const double temperature_K = system_.network().temperature_K(bound.node, x);
    if (temperature_K > *bound.limit.trip_reset_K + located_K) continue;
    tripped_[i] = 0;
    any = true;
    events_.push_back({time_s, "trip_reset", bound.limit.node, temperature_K});
  }
  return any;
}

void Controller::note_chatter(double time_s, const std::string& who) {
  std::vector<double>& times_s = switch_times_s_[who];
  times_s.push_back(time_s);
  constexpr std::size_t recent = 20;
  constexpr double chatter_per_day = 1000.0;
  if (chatter_ || times_s.size() < recent) return;
  const double span_s = time_s - times_s[times_s.size() - recent];
  if (static_cast<double>(recent) * 86400.0 < chatter_per_day * span_s) return;
  char text[224];
  std::snprintf(text, sizeof text, "from about %.6g s %s every %.3g s: this is chatter", time_s, who.c_str(),
                span_s / static_cast<double>(recent - 1));
  chatter_ = warning_of(Code::control_chatter, text);
}

}  // namespace tileflux::studies
