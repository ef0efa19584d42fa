#include "tileflux/studies/wear.h"

#include <algorithm>
#include <cmath>

#include "studies/modes.h"
#include "studies/warning.h"
#include "tileflux/studies/balance.h"
#include "tileflux/studies/duty.h"
#include "tileflux/tile/ageing.h"
#include "tileflux/tile/failure.h"

namespace tileflux::studies {

namespace {

/// What one cycle does to a tile of a given age, per second.
struct Means {
  std::vector<double> rate_per_s;
  double light_W = 0.0;
  std::optional<Margin> binding;
};

/// Whether the surroundings repeat with a cycle; where they do not, their mean counts.
bool repeat_with(const tile::TileSystem& system, double period_s) {
  const std::optional<double> sky_s = system.sky_period_s();
  if (!sky_s || *sky_s <= 0.0) return false;
  constexpr double round_off = 1e-9;
  const double times = period_s / *sky_s;
  return times > 0.5 && std::abs(times - std::round(times)) <= round_off * times;
}

class Cycles {
 public:
  explicit Cycles(const tile::Case& description) : case_(description) {}

  /// Lets what breaks up to a time be broken, and the states of ageing follow.
  void break_until(double time_s, std::vector<double>& age) {
    const tile::Case after = tile::after_failures(case_, time_s);
    tile::take_over(case_, after, age);
    broke_ = after.failures.size() != case_.failures.size();
    case_ = after;
  }

  Means at(const std::vector<double>& age) {
    tile::set_age(case_, age);
    tile::TileSystem system(case_);
    Means means;
    means.rate_per_s.resize(age.size());
    if (case_.beam && case_.beam->pattern) {
      const tile::TimePattern& pattern = *case_.beam->pattern;
      CycleSettings settings;
      settings.period_s = pattern.every_s;
      settings.on_s = std::min(pattern.on_s, pattern.every_s);
      settings.trips = settings.thermostats_switch = settings.loads_follow_patterns = false;
      settings.surroundings_move = repeat_with(system, pattern.every_s);
      const PeriodicState state = periodic_state(system, settings, guess_);
      guess_ = state.x;
      count_ += state.cycles;
      for (std::size_t k = 0; k < age.size(); ++k) means.rate_per_s[k] = state.age_change[k] / pattern.every_s;
      means.light_W = state.light_J / pattern.every_s;
      means.binding = binding(margins_over(system, state.ranges, state.peaks));
      return means;
    }
    system.set_mode(steady_mode(case_, case_.beam.has_value(), true));
    const OperatingPoint point = operating_point(system, guess_);
    guess_ = point.x;
    ++count_;
    tile::age_rates(system, 0.0, point.x, means.rate_per_s);
    means.light_W = point.chain.light_out;
    means.binding = binding(point.margins);
    return means;
  }

  /// Whether something broke in the last `break_until`.
  bool broke() const { return broke_; }
  int count() const { return count_; }

 private:
  tile::Case case_;
  std::vector<double> guess_;
  int count_ = 0;
  bool broke_ = false;
};

}  // namespace

bool WearResult::limits_met() const {
  return std::all_of(rows.begin(), rows.end(),
                     [](const WearRow& row) { return !row.binding || row.binding->margin >= 0.0; });
}

WearResult wear(const tile::Case& description, double duration_s, double step_s,
                const std::function<bool(double share)>& go_on) {
  if (!description.ageing) throw Error(Code::key_missing, "years of wear need `ageing` in the case");
  WearResult result;
  result.names = tile::age_names(description);
  Cycles cycles(description);
  std::vector<double> age = tile::age_of(description);
  cycles.break_until(0.0, age);
  Means now = cycles.at(age);
  result.rows.push_back({0.0, age, now.light_W, 0.0, now.binding});
  const auto steps = static_cast<long>(std::ceil(duration_s / step_s - 1e-9));
  for (long i = 1; i <= steps; ++i) {
    const double begin_s = static_cast<double>(i - 1) * step_s;
    const double end_s = std::min(duration_s, static_cast<double>(i) * step_s);
    const double length_s = end_s - begin_s;
    std::vector<double> first = age;
    for (std::size_t k = 0; k < age.size(); ++k) first[k] += length_s * now.rate_per_s[k];
    const Means then = cycles.at(first);
    for (std::size_t k = 0; k < age.size(); ++k) age[k] += 0.5 * length_s * (now.rate_per_s[k] + then.rate_per_s[k]);
    const Means next = cycles.at(age);
    result.light_J += 0.5 * length_s * (now.light_W + next.light_W);
    result.light_error_J += 0.5 * length_s * std::abs(then.light_W - next.light_W);
    cycles.break_until(end_s, age);
    now = cycles.broke() ? cycles.at(age) : next;
    result.rows.push_back({end_s, age, now.light_W, result.light_J, now.binding});
    if (go_on && !go_on(end_s / duration_s)) {
      result.interrupted = true;
      break;
    }
  }
  result.cycles = cycles.count();
  if (description.battery && !(description.beam && description.beam->pattern)) {
    result.warnings.push_back(warning_of(
        Code::battery_rests,
        "the battery rests in accelerated runs without a pattern of the beam: they hold for sunlight alone"));
  }
  return result;
}

}  // namespace tileflux::studies
