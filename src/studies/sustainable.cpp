#include "tileflux/studies/sustainable.h"

#include <algorithm>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>

#include "studies/averaged.h"
#include "studies/modes.h"
#include "tileflux/studies/balance.h"

namespace tileflux::studies {

namespace {

/// Surroundings that repeat more slowly are taken at their mean: within one cycle of the beam they hardly change.
constexpr double slowest_surroundings_s = 10.0 * 86400.0;

/// Margins that stand for "no such state": a share with which the tile runs away meets no limit.
constexpr double hopeless = -1e5;

/// Whether that is what an error means. Books that do not close mean something else.
bool no_such_state(const Error& error) {
  return error.exit_status() == 3 && error.code() != Code::ledger_open && error.code() != Code::law_not_finite;
}

bool feeds_lasers(const tile::Case& description) { return description.battery && description.battery->feeds_lasers; }

/// The energy that the lasers are given against what the drive asks for in one cycle. With something left over, that is
/// what could be had on top: electricity of the cells that nobody drew.
Margin energy_margin(const PeriodicState& state) {
  const double short_J = state.lasers_asked_J - state.lasers_given_J;
  // What the last digits of an event's time are worth.
  constexpr double exact = 1e-7;
  const bool all = short_J <= exact * state.lasers_asked_J;
  const double left_J = std::max(0.0, state.books.available_J - state.books.drawn_J);
  Margin margin;
  margin.kind = LimitKind::energy;
  margin.node = "lasers";
  margin.upper = false;
  margin.limit = state.lasers_asked_J;
  margin.value = all ? state.lasers_asked_J + left_J : state.lasers_given_J;
  margin.margin = margin.value - margin.limit;
  return margin;
}

double least_of(const std::vector<Margin>& margins) {
  const std::optional<Margin> least = binding(margins);
  return least ? least->comparable() : HUGE_VAL;
}

struct Fraction {
  double value = 0.0;
  bool limited = false;
};

/// The largest share in (0, 1] at which `margin` is not negative. It may rise and fall: the search goes down from above
/// in halves until something is feasible, then closes in. A first try that is `near` the answer, such as that of a
/// neighbouring period, is first looked at 15 % above and below.
template <class MarginFunction>
Fraction largest_share(const MarginFunction& margin, double first_try, bool near) {
  double above = 1.0, above_margin = margin(above);
  if (above_margin >= 0.0) return {1.0, false};
  const auto close_in = [&](double share, double share_margin) -> Fraction {
    if (share_margin == 0.0) return {share, true};
    std::uintmax_t most_steps = 60;
    const boost::math::tools::eps_tolerance<double> close(34);
    return {
        boost::math::tools::toms748_solve(margin, share, above, share_margin, above_margin, close, most_steps).first,
        true};
  };
  constexpr double most_share = 0.999, least_share = 1e-7, wider = 1.15;
  double share = first_try > 0.0 ? std::min(first_try, most_share) : 0.5;
  if (near) {
    const double high = std::min(most_share, share * wider), high_margin = margin(high);
    if (high_margin >= 0.0) return close_in(high, high_margin);
    above = high;
    above_margin = high_margin;
    share /= wider;
  }
  double share_margin = margin(share);
  while (share_margin < 0.0) {
    above = share;
    above_margin = share_margin;
    share *= 0.5;
    if (share < least_share) return {0.0, true};
    share_margin = margin(share);
  }
  return close_in(share, share_margin);
}

/// The search for one period.
class DutySearch {
 public:
  DutySearch(tile::TileSystem& system, double period_s) : system_(system) {
    duty_.cycle = fitting_cycle(system, period_s);
    duty_.period_s = duty_.cycle.period_s;
  }

  SustainableDuty go(double first_try) {
    const tile::Mode before = system_.mode();
    bound_short_periods();
    const double guess = first_try > 0.0 ? first_try : duty_.short_period_fraction.value_or(0.5);
    const Fraction found = largest_share([&](double share) { return least_with(share); }, guess, first_try > 0.0);
    duty_.fraction = found.value;
    duty_.limited = found.limited;
    duty_.state = periodic_state(system_, settings(duty_.fraction), guess_);
    duty_.cycles += duty_.state.cycles;
    name_what_binds();
    duty_.mean_light_W = duty_.state.light_J / duty_.cycle.cycle_s;
    note_ratchet();
    system_.set_mode(before);
    return std::move(duty_);
  }

  /// The least margin of the periodic state with that share, comparable; negative: something is broken.
  double least_with(double share) {
    std::vector<Margin> margins = margins_with(share);
    const bool limited = !system_.limits().empty() || !system_.differences().empty();
    const bool none = margins.empty() && limited;
    const double least = none ? hopeless : least_of(margins);
    if (least < 0.0) broken_ = binding(margins);
    return least;
  }

  int cycles() const { return duty_.cycles; }

 private:
  CycleSettings settings(double share) const { return duty_settings(system_, duty_.cycle, share); }

  /// Every margin of the periodic state with that share; empty: there is no such state.
  std::vector<Margin> margins_with(double share) {
    try {
      const PeriodicState state = periodic_state(system_, settings(share), guess_);
      duty_.cycles += state.cycles;
      guess_ = state.x;
      return margins_of(state);
    } catch (const Error& error) {
      if (!no_such_state(error)) throw;
      guess_.clear();
      return {};
    }
  }

  std::vector<Margin> margins_of(const PeriodicState& state) const {
    std::vector<Margin> margins = margins_over(system_, state.ranges, state.peaks);
    if (feeds_lasers(system_.description()) && state.lasers_asked_J > 0.0) margins.push_back(energy_margin(state));
    return margins;
  }

  /// What breaks just above the fraction, as it stands at it.
  void name_what_binds() {
    const std::vector<Margin> margins = margins_of(duty_.state);
    duty_.binding = binding(margins);
    if (broken_ && duty_.limited) {
      const auto same = std::find_if(margins.begin(), margins.end(),
                                     [&](const Margin& margin) { return same_limit(margin, *broken_); });
      if (same != margins.end()) duty_.binding = *same;
      // With energy to spare over the cycle and a charge that comes down to its least, the battery is too small to carry the
      // energy to where it is asked for.
      constexpr double to_spare = 1.0;
      const auto& battery = system_.description().battery;
      const double least_percent = duty_.state.battery ? duty_.state.battery->least_percent : 100.0;
      const bool low = battery && least_percent <= battery->law.least_percent + battery->law.derating_percent;
      if (broken_->kind == LimitKind::energy && duty_.binding->comparable() > to_spare && low) {
        duty_.binding = Margin{.kind = LimitKind::charge,
                               .node = "battery",
                               .value = least_percent,
                               .limit = least_percent,
                               .upper = false};
      }
    }
    duty_.next = next_after(margins, duty_.binding);
  }

  void bound_short_periods() {
    if (duty_.cycle.moving) return;
    tile::TileSystem on(system_.description(), system_), off(system_.description(), system_);
    on.set_mode(steady_mode(system_.description(), true, false));
    off.set_mode(steady_mode(system_.description(), false, false));
    const auto point_at = [&](double share) -> std::optional<AveragedPoint> {
      try {
        return averaged_point(on, off, share);
      } catch (const Error& error) {
        if (!no_such_state(error)) throw;
        return std::nullopt;
      }
    };
    const auto averaged = [&](double share) {
      const std::optional<AveragedPoint> point = point_at(share);
      return point ? least_of(point->margins) : hopeless;
    };
    duty_.short_period_fraction = largest_share(averaged, 0.5, false).value;
    if (const auto point = point_at(*duty_.short_period_fraction)) duty_.short_period_binding = binding(point->margins);
    if (!feeds_lasers(system_.description())) return;
    const auto gained = [&](double share) {
      const std::optional<AveragedPoint> point = point_at(share);
      return point ? charge_gained_W(on, off, *point, share) : hopeless;
    };
    duty_.short_period_energy_fraction = largest_share(gained, 0.5, false).value;
  }

  /// What the battery gains on average, at a charge at which it neither tapers nor derates.
  double charge_gained_W(tile::TileSystem& on, tile::TileSystem& off, const AveragedPoint& point, double share) const {
    const devices::BatteryLaw& law = system_.description().battery->law;
    const double middle_percent =
        0.5 * (law.full_percent - law.taper_percent + law.least_percent + law.derating_percent);
    const auto stored_W = [&](tile::TileSystem& system, std::vector<double> x, bool beam) {
      tile::Mode mode = steady_mode(system.description(), beam, false);
      mode.battery = true;
      system.set_mode(mode);
      x.back() = middle_percent;
      const double power_W = system.chain_flows(x).stored();
      system.set_mode(steady_mode(system.description(), beam, false));
      return power_W;
    };
    return share * stored_W(on, point.on_x, true) + (1.0 - share) * stored_W(off, point.off_x, false);
  }

  void note_ratchet() {
    if (!(duty_.fraction > 0.0)) return;
    try {
      system_.set_mode(steady_mode(system_.description(), false, false));
      duty_.ratchet = cycles_to_95_percent(duty_.state, operating_point(system_).x);
    } catch (const Error& error) {
      if (error.code() != Code::node_isolated && error.exit_status() != 3) throw;
    }
  }

  tile::TileSystem& system_;
  SustainableDuty duty_;
  std::vector<double> guess_;
  std::optional<Margin> broken_;
};

}  // namespace

CycleSettings duty_settings(const tile::TileSystem& system, const FittingCycle& cycle, double share) {
  CycleSettings settings;
  settings.period_s = cycle.cycle_s;
  settings.pulses = cycle.pulses;
  settings.on_s = share * cycle.period_s;
  settings.throttled = false;
  settings.trips = false;
  settings.thermostats_switch = false;
  settings.battery_acts = feeds_lasers(system.description());
  settings.loads_follow_patterns = false;
  settings.surroundings_move = cycle.moving;
  const std::optional<tile::TimePattern> pattern =
      system.description().beam ? system.description().beam->pattern : std::nullopt;
  settings.first_s = pattern ? pattern->first_s : 0.0;
  return settings;
}

FittingCycle fitting_cycle(const tile::TileSystem& system, double period_s) {
  const std::optional<double> repeat_s = system.sky_period_s();
  if (!repeat_s || *repeat_s > slowest_surroundings_s) return {period_s, period_s, 1, false};
  if (period_s >= *repeat_s) {
    const double turns = std::round(period_s / *repeat_s);
    return {turns * *repeat_s, turns * *repeat_s, 1, true};
  }
  // More pulses than this in a revolution differ from their average by nothing that matters.
  constexpr double most_pulses = 200.0;
  const double pulses = std::min(most_pulses, std::round(*repeat_s / period_s));
  return {*repeat_s / pulses, *repeat_s, static_cast<int>(pulses), true};
}

SustainableDuty sustainable_duty(tile::TileSystem& system, double period_s, double first_try) {
  return DutySearch(system, period_s).go(first_try);
}

std::vector<double> spaced_periods(double shortest_s, double longest_s, int count) {
  std::vector<double> periods;
  for (int i = 0; i < count; ++i) {
    const double share = count > 1 ? static_cast<double>(i) / (count - 1) : 0.0;
    periods.push_back(shortest_s * std::pow(longest_s / shortest_s, share));
  }
  return periods;
}

DutyCurve duty_curve(tile::TileSystem& system, std::span<const double> periods_s,
                     const std::function<bool(double)>& go_on) {
  DutyCurve curve;
  for (std::size_t i = 0; i < periods_s.size(); ++i) {
    const bool known = !curve.points.empty() &&
                       fitting_cycle(system, periods_s[i]).period_s <= curve.points.back().period_s * (1.0 + 1e-9);
    if (!known) {
      const double before = curve.points.empty() ? 0.0 : curve.points.back().fraction;
      curve.points.push_back(sustainable_duty(system, periods_s[i], before));
      curve.cycles += curve.points.back().cycles;
    }
    if (go_on && !go_on(static_cast<double>(i + 1) / static_cast<double>(periods_s.size()))) break;
  }
  return curve;
}

namespace {

/// The largest drive between two that allows a share of the time or more: for where the duty falls off a cliff, as from
/// always on to next to nothing just above the continuous rating.
double drive_of_cliff(const tile::Case& description, double period_s, double fraction, double low, double high,
                      int& cycles) {
  constexpr double close = 1e-4;
  double share = 0.0;
  while (high - low > close) {
    tile::Case driven = description;
    driven.beam->drive = 0.5 * (low + high);
    tile::TileSystem system(driven);
    const SustainableDuty duty = sustainable_duty(system, period_s, share);
    cycles += duty.cycles;
    share = duty.fraction;
    (share >= fraction ? low : high) = driven.beam->drive;
  }
  return low;
}

/// The drive at which a share of the time is just what can be kept up, between two of which the first allows more of it
/// and the second less.
double drive_of_line(const tile::Case& description, double period_s, double fraction, double low, double high,
                     int& cycles) {
  const auto least = [&](double drive) {
    tile::Case driven = description;
    driven.beam->drive = drive;
    tile::TileSystem system(driven);
    DutySearch search(system, period_s);
    const double margin = search.least_with(fraction);
    cycles += search.cycles();
    return margin;
  };
  const double at_low = least(low), at_high = least(high);
  // The low drive allows more: a state that breaks a limit with this share alone is one that a longer pulse avoids.
  if (at_low <= 0.0) return drive_of_cliff(description, period_s, fraction, low, high, cycles);
  // The duties beside it were found to a billionth: on a line that passes through a drive of the map signs may agree.
  if (at_high >= 0.0) return high;
  std::uintmax_t most_steps = 30;
  constexpr int bits = 14;  // 6e-5 of the drive: more than anybody sets
  const boost::math::tools::eps_tolerance<double> close(bits);
  return boost::math::tools::toms748_solve(least, low, high, at_low, at_high, close, most_steps).first;
}

/// Where the duty falls to a level as the drive rises.
void add_line(DutyMap& map, const tile::Case& description, double fraction) {
  DutyMap::Line line{fraction, {}, {}};
  for (std::size_t p = 0; p < map.periods_s.size(); ++p) {
    for (std::size_t d = map.drives.size() - 1; d > 0; --d) {
      if (!(map.fraction[d - 1][p] >= fraction && map.fraction[d][p] < fraction)) continue;
      line.periods_s.push_back(map.periods_s[p]);
      line.drives.push_back(
          drive_of_line(description, map.periods_s[p], fraction, map.drives[d - 1], map.drives[d], map.cycles));
      break;
    }
  }
  map.lines.push_back(std::move(line));
}

}  // namespace

DutyMap duty_map(const tile::Case& description, std::span<const double> drives, std::span<const double> periods_s,
                 std::span<const double> fractions, const std::function<bool(double)>& go_on) {
  if (!description.beam) throw Error(Code::key_missing, "a map of duties needs `beam` in the case");
  DutyMap map;
  for (std::size_t d = 0; d < drives.size(); ++d) {
    tile::Case driven = description;
    driven.beam->drive = drives[d];
    tile::TileSystem system(driven);
    bool wanted = true;
    const DutyCurve curve = duty_curve(system, periods_s, [&](double share) {
      if (go_on) wanted = go_on((static_cast<double>(d) + share) / static_cast<double>(drives.size()));
      return wanted;
    });
    map.cycles += curve.cycles;
    if (!wanted) break;
    map.drives.push_back(drives[d]);
    map.periods_s.clear();
    map.fraction.emplace_back();
    map.mean_light_W.emplace_back();
    map.binding.emplace_back();
    for (const SustainableDuty& point : curve.points) {
      map.periods_s.push_back(point.period_s);
      map.fraction.back().push_back(point.fraction);
      map.mean_light_W.back().push_back(point.mean_light_W);
      map.binding.back().push_back(point.limited && point.binding ? point.binding->where() : std::string());
    }
  }
  if (map.drives.size() < 2) return map;
  for (const double fraction : fractions) add_line(map, description, fraction);
  return map;
}

}  // namespace tileflux::studies
