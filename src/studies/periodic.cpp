#include "tileflux/studies/periodic.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "studies/periodic_search.h"
#include "studies/warning.h"

namespace tileflux::studies {

namespace {

/// The case with a throttle over the hysteresis in the place of every trip: what the trip comes to on average, as the
/// mean share of a thermostat does over its dead band.
tile::Case with_averaged_trips(tile::Case description) {
  for (tile::Limit& limit : description.limits) {
    if (!limit.trip_reset_K || !limit.below_K) continue;
    limit.throttle_from_K = std::min(*limit.trip_reset_K, limit.throttle_from_K.value_or(*limit.trip_reset_K));
    limit.trip_reset_K.reset();
  }
  return description;
}

/// Whether loads that go with the beam give heat: a throttle does not reach them, only a trip does.
bool beam_loads_heat(const tile::Case& description) {
  return std::any_of(description.loads.begin(), description.loads.end(), [](const tile::Load& load) {
    return load.when == tile::Load::When::beam_on && load.power_W != 0.0;
  });
}

std::string duration_text(double time_s) {
  char text[48];
  constexpr double hour_s = 3600.0, day_s = 86400.0;
  if (time_s >= day_s) {
    std::snprintf(text, sizeof text, "%.2g days", time_s / day_s);
  } else if (time_s >= hour_s) {
    std::snprintf(text, sizeof text, "%.2g h", time_s / hour_s);
  } else {
    std::snprintf(text, sizeof text, "%.2g s", time_s);
  }
  return text;
}

void warn_of_slow_mode(PeriodicState& state, double period_s) {
  constexpr double day_s = 86400.0;
  if (state.slowest_s < day_s || state.slowest_s < period_s) return;
  char text[224];
  if (std::isinf(state.slowest_s)) {
    std::snprintf(text, sizeof text, "the slowest mode (%s) does not settle by itself", state.slowest_unknown.c_str());
  } else {
    std::snprintf(text, sizeof text, "the slowest mode (%s) takes %s: %.3g cycles until 95 %% of the way is gone",
                  state.slowest_unknown.c_str(), duration_text(state.slowest_s).c_str(), state.cycles_to_95_percent);
  }
  state.warnings.push_back(warning_of(Code::slow_mode, text));
}

void warn_of_averages(PeriodicState& state, bool beam_loads) {
  if (state.averaged_thermostats)
    state.warnings.push_back(
        warning_of(Code::control_chatter,
                   "thermostats switch in no pattern that repeats with the cycle, or more than 200 "
                   "times in it: each heater counts with its mean share of the time"));
  if (state.averaged_trips)
    state.warnings.push_back(
        warning_of(Code::control_chatter,
                   "trips switch in no pattern that repeats with the cycle, or more than 200 times "
                   "in it: the lasers count with their mean share of the drive" +
                       std::string(beam_loads ? ", loads that go with the beam in full" : "")));
  if (state.charge_end == ChargeEnd::anywhere)
    state.warnings.push_back(
        warning_of(Code::slow_mode,
                   "the battery keeps any charge from cycle to cycle: the answer holds for the one "
                   "that it began with"));
}

[[noreturn]] void refuse(const CycleSettings& settings, int cycles, double left_K) {
  char text[128];
  std::snprintf(text, sizeof text, "no periodic state within %d cycles of %.6g s; still %.2g K away", cycles,
                settings.period_s, left_K);
  throw Error(Code::periodic_not_found, text);
}

/// Searches, with averages in the place of what does not repeat.
PeriodicState searched(tile::TileSystem& system, CycleSettings settings, const std::vector<double>& guess, int before) {
  const SearchOptions options;
  SearchResult result = search_periodic(system, settings, guess, options);
  const int cycles = before + result.state.cycles;
  if (result.end == SearchEnd::not_found) refuse(settings, options.most_cycles, result.state.error_K);
  if (result.end == SearchEnd::heaters_go_on) {
    settings.thermostats_switch = false;
    PeriodicState state = searched(system, settings, guess, cycles);
    state.averaged_thermostats = true;
    return state;
  }
  if (result.end == SearchEnd::trips_go_on) {
    if (!system.has_lasers() && beam_loads_heat(system.description()))
      throw Error(Code::periodic_not_found,
                  "trips switch in no pattern that repeats with the cycle, or more than 200 times in it, and without "
                  "lasers there is no drive whose mean share could stand for them");
    settings.trips = false;
    settings.throttled = true;
    tile::TileSystem averaged(with_averaged_trips(system.description()));
    PeriodicState state = searched(averaged, settings, guess, cycles);
    state.averaged_trips = true;
    return state;
  }
  result.state.cycles = cycles;
  return std::move(result.state);
}

}  // namespace

PeriodicState periodic_state(tile::TileSystem& system, const CycleSettings& settings, std::vector<double> guess) {
  const tile::Mode before = system.mode();
  PeriodicState state = searched(system, settings, guess, 0);
  system.set_mode(before);
  warn_of_averages(state, beam_loads_heat(system.description()));
  warn_of_slow_mode(state, settings.period_s);
  return state;
}

PeriodicState periodic_state(tile::TileSystem& system, double period_s, double on_s, std::vector<double> guess,
                             bool throttled) {
  CycleSettings settings;
  settings.period_s = period_s;
  settings.on_s = on_s;
  settings.throttled = throttled;
  settings.trips = settings.thermostats_switch = settings.battery_acts = false;
  settings.loads_follow_patterns = settings.surroundings_move = false;
  return periodic_state(system, settings, std::move(guess));
}

std::optional<double> cycles_to_95_percent(const PeriodicState& state, std::span<const double> start_x) {
  constexpr double left = 0.05;
  Eigen::VectorXd distance(state.map.rows());
  for (Eigen::Index k = 0; k < distance.size(); ++k) {
    const auto i = static_cast<std::size_t>(state.map_unknowns[static_cast<std::size_t>(k)]);
    distance[k] = start_x[i] - state.x[i];
  }
  if (distance.size() == 0 || distance.isZero()) return 0.0;
  const double wanted = left * distance.cwiseAbs().maxCoeff();
  const auto arrived = [&](const Eigen::VectorXd& d) { return d.cwiseAbs().maxCoeff() <= wanted; };
  // Powers of two of the map until one arrives; then back down, keeping those that do not.
  constexpr std::size_t most_powers = 40;
  std::vector<Eigen::MatrixXd> power{state.map};
  while (!arrived(power.back() * distance)) {
    if (power.size() > most_powers) return std::nullopt;
    power.push_back(power.back() * power.back());
  }
  double cycles = 0.0;
  for (std::size_t p = power.size(); p-- > 0;) {
    const Eigen::VectorXd later = power[p] * distance;
    if (arrived(later)) continue;
    distance = later;
    cycles += std::ldexp(1.0, static_cast<int>(p));
  }
  return cycles + 1.0;
}

}  // namespace tileflux::studies
