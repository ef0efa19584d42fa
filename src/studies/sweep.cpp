#include "tileflux/studies/sweep.h"

#include <algorithm>
#include <boost/math/tools/minima.hpp>
#include <cmath>
#include <iterator>
#include <numeric>

#include "studies/modes.h"
#include "studies/reason.h"
#include "studies/sweep_parts.h"
#include "tileflux/studies/duty.h"

namespace tileflux::studies {

namespace {

std::vector<double> temperatures(const tile::TileSystem& system, const std::vector<double>& x) {
  std::vector<double> all_K;
  for (network::NodeId id = 0; id < system.network().node_count(); ++id)
    all_K.push_back(system.network().temperature_K(id, x));
  return all_K;
}

/// How far a tile that tilts by itself has turned, in a word.
std::string turned_word(const tile::Case& description, double tilt_rad) {
  if (tilt_rad <= description.sun.tilt_rad) return "as stated";
  return tilt_rad >= description.hold->most_tilt_rad ? "as far as it can" : "tilted";
}

void add_tilts(const tile::TileSystem& system, Glance& glance) {
  const std::optional<OperatingPoint>& on = glance.balance.beam_on;
  glance.off_tilt_rad = glance.balance.beam_off.sky.tilt_rad;
  glance.on_tilt_rad = on ? on->sky.tilt_rad : glance.off_tilt_rad;
  if (!system.has_hold()) return;
  const std::string off_word = turned_word(system.description(), glance.off_tilt_rad);
  const std::string on_word = turned_word(system.description(), glance.on_tilt_rad);
  glance.turned = off_word == on_word ? off_word : on_word + " with the beam on, " + off_word + " without";
}

}  // namespace

Glance SweptTile::looked_at(double value) {
  Glance glance;
  ++balances_;
  try {
    tile::TileSystem system(case_at_(value));
    // Sought anew at every value, not from the states of a neighbour: a tile may have several, and an answer must not
    // depend on where the sweep came from.
    glance.balance = balance(system);
    const Balance& found = glance.balance;
    const LimitsOverStates limits = limits_over_states(found.beam_off, found.beam_on);
    glance.binding = limits.binding;
    glance.next = limits.next;
    add_tilts(system, glance);
    const double gives = system.has_lasers() ? found.usable_laser_W : found.usable_drive;
    glance.sustainable = found.beam_on && found.usable_drive > 0.0 && gives > 0.0;
    glance.off_K = temperatures(system, found.beam_off.x);
    glance.heater_off_W = found.beam_off.heater_W;
    if (found.beam_on) {
      glance.on_K = temperatures(system, found.beam_on->x);
      glance.heater_on_W = found.beam_on->heater_W;
    }
  } catch (const Error& error) {
    glance.trouble = reason_of(error);
  }
  return glance;
}

const Glance& SweptTile::at(double value) {
  const auto known = seen_.find(value);
  if (known != seen_.end()) return known->second;
  return seen_.emplace(value, looked_at(value)).first->second;
}

const TiltNeeded& SweptTile::tilt_at(double value) {
  const auto known = tilts_.find(value);
  if (known != tilts_.end()) return known->second;
  return tilts_.emplace(value, tilt_needed(case_at_(value))).first->second;
}

void SweptTile::forget_below(double value) {
  seen_.erase(seen_.begin(), seen_.lower_bound(value));
  tilts_.erase(tilts_.begin(), tilts_.lower_bound(value));
}

double SweepPoint::heaters_W(bool beam) const {
  const std::vector<double>& power_W = beam ? heater_on_W : heater_off_W;
  return std::accumulate(power_W.begin(), power_W.end(), 0.0);
}

SweepPoint::Hottest SweepPoint::hottest() const {
  Hottest hottest;
  for (const bool beam : {false, true}) {
    const std::vector<double>& all_K = beam ? on_K : off_K;
    for (std::size_t i = 0; i < all_K.size(); ++i) {
      if (all_K[i] > hottest.temperature_K) hottest = {i, all_K[i], beam};
    }
  }
  return hottest;
}

std::string_view name_of(Crossing::Kind kind) {
  switch (kind) {
    case Crossing::Kind::answer:
      return "answer";
    case Crossing::Kind::regime:
      return "regime";
    case Crossing::Kind::binding:
      return "binding limit";
    case Crossing::Kind::sustainable:
      return "sustainable beam";
    case Crossing::Kind::margin:
      return "limit";
    case Crossing::Kind::heater:
      return "heater";
    case Crossing::Kind::tilt:
      return "tilt";
  }
  return "";
}

int Sweep::answered() const {
  return static_cast<int>(
      std::count_if(points.begin(), points.end(), [](const SweepPoint& point) { return !point.trouble; }));
}

namespace {

/// What the whole sweep is about, from the first value that has an answer.
void describe_tile(const tile::TileSystem& system, Sweep& sweep) {
  for (network::NodeId id = 0; id < system.network().node_count(); ++id)
    sweep.nodes.push_back(system.network().node(id).name);
  for (const tile::Heater& heater : system.description().heaters) sweep.heaters.push_back(heater.name);
  sweep.has_beam = system.description().beam.has_value();
  sweep.has_lasers = system.has_lasers();
  sweep.holds_tilt = system.has_hold();
}

void add_duty(tile::TileSystem& system, SweepPoint& point) {
  try {
    const SustainableDuty duty = sustainable_duty(system, system.description().beam->pattern->every_s);
    point.duty = SweptDuty{duty.fraction, duty.mean_light_W, duty.binding};
  } catch (const Error& error) {
    point.duty_trouble = reason_of(error);
  }
}

void add_answers(const Glance& glance, SweepPoint& point) {
  const Balance& found = glance.balance;
  point.off_K = glance.off_K;
  point.on_K = glance.on_K;
  point.regime = found.beam_on ? found.beam_on->regime : found.beam_off.regime;
  point.binding = glance.binding;
  point.next = glance.next;
  point.limits_met = found.limits_met;
  point.usable_light_W = found.usable_laser_W;
  point.usable_drive = found.usable_drive;
  point.beam_light_W = found.beam_on ? found.beam_on->chain.light_out : 0.0;
  point.sustainable = glance.sustainable;
  point.off_tilt_rad = glance.off_tilt_rad;
  point.on_tilt_rad = glance.on_tilt_rad;
  point.heater_off_W = glance.heater_off_W;
  point.heater_on_W = glance.heater_on_W;
  point.warnings = found.warnings;
}

SweepPoint point_at(SweptTile& tile, const CaseAt& case_at, double value, const SweepOptions& options, Sweep& sweep) {
  SweepPoint point;
  point.value = value;
  const Glance& glance = tile.at(value);
  point.trouble = glance.trouble;
  if (point.trouble) return point;
  add_answers(glance, point);
  try {
    tile::TileSystem system(case_at(value));
    if (sweep.nodes.empty()) describe_tile(system, sweep);
    const tile::Case& description = system.description();
    if (description.beam) {
      point.rating = glance.balance.rating;
      if (!point.rating) {
        system.set_mode(steady_mode(description, true, true));
        point.rating = continuous_rating(system);
      }
    }
    if (options.tilt && !sweep.holds_tilt) point.tilt = tile.tilt_at(value);
    if (options.duty && description.beam && description.beam->pattern && !description.limits.empty())
      add_duty(system, point);
  } catch (const Error& error) {
    point.trouble = reason_of(error);
  }
  return point;
}

/// Stretches of values with a sustainable beam, from points and the crossings between them.
void find_stretches(Sweep& sweep) {
  std::optional<Stretch> open;
  const auto close = [&](double value, bool inside) {
    if (!open) return;
    open->to = value;
    open->ends_inside = inside;
    sweep.sustained.push_back(*open);
    open.reset();
  };
  auto crossing = sweep.crossings.begin();
  const SweepPoint* last = nullptr;
  for (const SweepPoint& point : sweep.points) {
    std::optional<double> answers_begin;
    for (; crossing != sweep.crossings.end() && crossing->value <= point.value; ++crossing) {
      const bool of_answers = crossing->kind == Crossing::Kind::answer;
      if (crossing->kind != Crossing::Kind::sustainable && !of_answers) continue;
      if (of_answers) answers_begin = crossing->value;
      close(crossing->value, true);
      if (crossing->kind == Crossing::Kind::sustainable && crossing->to == "yes")
        open = Stretch{crossing->value, crossing->value, true, true};
    }
    const bool sustained = !point.trouble && point.sustainable;
    if (!sustained && last != nullptr) close(last->value, false);
    if (sustained && !open)
      open = Stretch{answers_begin.value_or(point.value), point.value, answers_begin.has_value(), false};
    last = &point;
  }
  if (last != nullptr) close(last->value, false);
}

/// The most usable light: at the best point, or between its neighbours.
void find_most_light(SweptTile& tile, Sweep& sweep) {
  const auto light_W = [](const SweepPoint& point) { return point.trouble ? -1.0 : point.usable_light_W; };
  const auto best = std::max_element(sweep.points.begin(), sweep.points.end(),
                                     [&](const auto& a, const auto& b) { return light_W(a) < light_W(b); });
  if (best == sweep.points.end() || light_W(*best) <= 0.0) return;
  sweep.most_light_at = best->value;
  sweep.most_light_W = light_W(*best);
  const double low = best == sweep.points.begin() ? best->value : std::prev(best)->value;
  const double high = std::next(best) == sweep.points.end() ? best->value : std::next(best)->value;
  if (low >= high) return;
  constexpr int bits = 20;  // of the value: a maximum is flat
  std::uintmax_t most_steps = 40;
  const auto negative_W = [&](double value) {
    const Glance& glance = tile.at(value);
    return glance.trouble ? 0.0 : -glance.balance.usable_laser_W;
  };
  const auto [value, negative] = boost::math::tools::brent_find_minima(negative_W, low, high, bits, most_steps);
  if (-negative <= sweep.most_light_W) return;
  sweep.most_light_at = value;
  sweep.most_light_W = -negative;
}

}  // namespace

Sweep sweep(const CaseAt& case_at, std::span<const double> values, const SweepOptions& options) {
  for (std::size_t i = 1; i < values.size(); ++i) {
    if (!(values[i] > values[i - 1])) throw Error(Code::internal, "the values of a sweep must rise");
  }
  Sweep sweep;
  SweptTile tile(case_at);
  for (std::size_t i = 0; i < values.size(); ++i) {
    if (options.progress && !options.progress(static_cast<double>(i) / static_cast<double>(values.size()))) {
      sweep.interrupted = true;
      break;
    }
    sweep.points.push_back(point_at(tile, case_at, values[i], options, sweep));
    if (i == 0) continue;
    if (options.crossings) {
      for (Crossing& crossing : crossings_between(tile, values[i - 1], values[i], sweep, options))
        sweep.crossings.push_back(std::move(crossing));
    }
    tile.forget_below(values[i]);
  }
  find_stretches(sweep);
  if (options.crossings && !sweep.interrupted) find_most_light(tile, sweep);
  sweep.balances = tile.balances();
  return sweep;
}

}  // namespace tileflux::studies
