#include "studies/controller.h"

#include <algorithm>
#include <cmath>

#include "tileflux/tile/schedule.h"

namespace tileflux::studies {

Controller::Controller(tile::TileSystem& system)
    : system_(system), tripped_(system.limits().size(), 0), may_return_s_(system.limits().size(), 0.0) {
  for (std::size_t i = 0; i < system.limits().size(); ++i) {
    const tile::Limit& limit = system.limits()[i].limit;
    if (limit.below_K) watched_.push_back({Kind::broken_above, i, *limit.below_K});
    if (limit.above_K) watched_.push_back({Kind::broken_below, i, *limit.above_K});
    if (limit.throttle_from_K) watched_.push_back({Kind::throttle, i, *limit.throttle_from_K});
    if (limit.trip_reset_K) watched_.push_back({Kind::reset, i, *limit.trip_reset_K});
  }
  if (system.has_lasers()) watched_.push_back({Kind::sun_limit, 0, 0.0});
}

void Controller::set_commands(double time_s) { command_changed(time_s); }

bool Controller::command_changed(double time_s) {
  const tile::Case& description = system_.description();
  tile::Mode mode;
  mode.drive = description.beam ? description.beam->drive : 0.0;
  const bool commanded =
      description.beam && (!description.beam->pattern || tile::is_on_after(*description.beam->pattern, time_s));
  mode.beam = commanded && std::none_of(tripped_.begin(), tripped_.end(), [](char t) { return t != 0; });
  for (const tile::Load& load : description.loads) {
    mode.pattern_share.push_back(
        load.when == tile::Load::When::pattern && tile::is_on_after(load.pattern, time_s) ? 1.0 : 0.0);
  }
  const tile::Mode& before = system_.mode();
  const bool changed = mode.beam != before.beam || mode.pattern_share != before.pattern_share || !beam_known_;
  if (description.beam && (mode.beam != before.beam || !beam_known_) && (beam_known_ || mode.beam)) {
    events_.push_back({time_s, mode.beam ? "beam_on" : "beam_off", "beam", 0.0});
  }
  beam_known_ = true;
  if (changed) system_.set_mode(std::move(mode));
  return changed;
}

double Controller::next_edge_s(double time_s) const {
  const tile::Case& description = system_.description();
  double next_s = tile::never_s;
  if (description.beam && description.beam->pattern) next_s = tile::next_edge_after(*description.beam->pattern, time_s);
  for (const tile::Load& load : description.loads) {
    if (load.when == tile::Load::When::pattern) next_s = std::min(next_s, tile::next_edge_after(load.pattern, time_s));
  }
  for (std::size_t i = 0; i < tripped_.size(); ++i) {
    if (tripped_[i] && may_return_s_[i] > time_s) next_s = std::min(next_s, may_return_s_[i]);
  }
  return next_s;
}

double Controller::value_of(const Watched& watched, std::span<const double> x) const {
  if (watched.kind == Kind::sun_limit) {
    // Zero where what the chain would draw without the sun's bound equals what the cells can give.
    const devices::ChainFlows<double> chain = system_.chain_flows(x);
    return chain.sun_limited ? chain.laser_demand - chain.laser_input : -chain.undrawn;
  }
  return system_.network().temperature_K(system_.limits()[watched.limit].node, x) - watched.threshold_K;
}

void Controller::evaluate(double, std::span<const double> x, std::span<double> values) const {
  for (std::size_t i = 0; i < watched_.size(); ++i) values[i] = value_of(watched_[i], x);
}

bool Controller::holds(const Watched& watched, double value) const {
  switch (watched.kind) {
    case Kind::broken_above:
      return value > 0.0;
    case Kind::broken_below:
      return value < 0.0;
    case Kind::throttle:
      return value > 0.0 && system_.mode().beam;
    case Kind::reset:
      return value > 0.0;
    case Kind::sun_limit:
      return value > 0.0 && system_.mode().beam;
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
  if (watched.kind == Kind::reset) return;
  const network::NodeId node = system_.limits()[watched.limit].node;
  const bool throttle = watched.kind == Kind::throttle;
  const std::string_view what =
      throttle ? (active ? "throttle_begins" : "throttle_ends") : (active ? "limit_broken" : "limit_met");
  events_.push_back({time_s, what, system_.network().node(node).name, system_.network().temperature_K(node, x)});
}

void Controller::update_states(double time_s, std::span<const double> x) {
  // A value this close to zero is the zero just located: its sign is decided by the root's direction, not by round-off.
  constexpr double located_K = 1e-6;
  for (Watched& watched : watched_) {
    const double value = value_of(watched, x);
    if (std::abs(value) > located_K) set_active(watched, holds(watched, value), time_s, x);
  }
}

bool Controller::take_edge(double time_s, std::span<const double> x) {
  const bool returned = reset_if_due(time_s, x);
  return command_changed(time_s) || returned;
}

bool Controller::take_roots(double time_s, std::span<const double> x, std::span<const int> signs) {
  bool switched = false;
  for (std::size_t i = 0; i < watched_.size(); ++i) {
    if (signs[i] == 0) continue;
    Watched& watched = watched_[i];
    set_active(watched, holds(watched, signs[i]), time_s, x);
    if (watched.kind == Kind::broken_above && signs[i] > 0)
      switched = trip_if_due(time_s, watched.limit, x) || switched;
    if (watched.kind == Kind::reset && signs[i] < 0) switched = reset_if_due(time_s, x) || switched;
  }
  return switched && command_changed(time_s);
}

bool Controller::trip_if_due(double time_s, std::size_t limit, std::span<const double> x) {
  const tile::BoundLimit& bound = system_.limits()[limit];
  if (!bound.limit.trip_reset_K || tripped_[limit] || !system_.mode().beam) return false;
  tripped_[limit] = 1;
  may_return_s_[limit] = time_s + bound.limit.trip_min_off_s;
  ++trips_;
  events_.push_back({time_s, "trip", bound.limit.node, system_.network().temperature_K(bound.node, x)});
  note_chatter(time_s, limit);
  return true;
}

bool Controller::trip_where_broken(double time_s, std::span<const double> x) {
  bool tripped = false;
  for (const Watched& watched : watched_) {
    if (watched.kind == Kind::broken_above && value_of(watched, x) >= 0.0)
      tripped = trip_if_due(time_s, watched.limit, x) || tripped;
  }
  return tripped && command_changed(time_s);
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

void Controller::note_chatter(double time_s, std::size_t limit) {
  trip_times_s_.push_back(time_s);
  constexpr std::size_t recent = 20;
  constexpr double chatter_per_day = 1000.0;
  if (chatter_ || trip_times_s_.size() < recent) return;
  const double span_s = time_s - trip_times_s_[trip_times_s_.size() - recent];
  if (static_cast<double>(recent) * 86400.0 < chatter_per_day * span_s) return;
  Diagnostic warning;
  warning.code = Code::control_chatter;
  warning.severity = Severity::warning;
  char text[160];
  std::snprintf(text, sizeof text, "from about %.6g s the beam trips at '%s' every %.3g s: this is chatter", time_s,
                system_.limits()[limit].limit.node.c_str(), span_s / static_cast<double>(recent - 1));
  warning.message = text;
  chatter_ = std::move(warning);
}

}  // namespace tileflux::studies
