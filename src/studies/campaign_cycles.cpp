#include "studies/campaign_cycles.h"

#include <Eigen/Dense>
#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>
#include <utility>

#include "studies/linear.h"
#include "tileflux/tile/schedule.h"

namespace tileflux::studies {

namespace {

/// Cycles that it takes to see a change and how it shrinks; with no more than these nothing is gained.
constexpr long cycles_to_see = 3;
constexpr long least_cycles = cycles_to_see + 1;

bool is_multiple(double period_s, double of_s) {
  constexpr double round_off = 1e-9;
  const double times = period_s / of_s;
  return times > 0.5 && std::abs(times - std::round(times)) <= round_off * std::max(1.0, times);
}

/// The periods of what is switched beside the timetable; none if something does not repeat.
std::optional<std::vector<double>> other_periods(const tile::TileSystem& system, double time_s) {
  std::vector<double> periods;
  if (system.sky_moves()) {
    if (!system.sky_period_s()) return std::nullopt;
    periods.push_back(*system.sky_period_s());
  }
  for (const tile::Load& load : system.description().loads) {
    if (load.when != tile::Load::When::pattern) continue;
    if (time_s < load.pattern.first_s) return std::nullopt;
    if (load.pattern.on_s < load.pattern.every_s) periods.push_back(load.pattern.every_s);
  }
  return periods;
}

/// Times after which the timetable may begin anew: when what opens now opens again.
std::vector<double> candidates(const tile::Campaign& campaign, const tile::Timetable& timetable, double time_s) {
  constexpr std::size_t most = 50;
  std::vector<double> periods;
  const auto open = timetable.open(timetable.piece_at(time_s));
  const auto& windows = timetable.occurrences();
  const double instant_s = 1e-9 * std::max(1.0, time_s);
  const auto opens_now = std::find_if(
      open.begin(), open.end(), [&](std::size_t i) { return std::abs(windows[i].begin_s - time_s) <= instant_s; });
  if (opens_now == open.end()) return periods;
  const tile::Request& request = campaign.requests[windows[*opens_now].request];
  for (std::size_t i = *opens_now + 1; i < windows.size() && periods.size() < most; ++i) {
    const tile::Request& other = campaign.requests[windows[i].request];
    const bool same = other.name == request.name && other.light_W == request.light_W && other.drive == request.drive;
    if (same && windows[i].begin_s > time_s + instant_s) periods.push_back(windows[i].begin_s - time_s);
  }
  return periods;
}

}  // namespace

std::optional<CyclePlan> cycle_plan(const tile::TileSystem& system, const tile::Timetable& timetable, double time_s,
                                    double end_s) {
  const std::optional<std::vector<double>> others = other_periods(system, time_s);
  if (!others) return std::nullopt;
  double last_s = end_s;
  for (const tile::Failure& failure : system.description().failures) last_s = std::min(last_s, failure.at_s);
  std::vector<double> periods = candidates(*system.description().campaign, timetable, time_s);
  // Without windows that come again the cycle is that of the loads.
  if (!others->empty()) {
    constexpr int most = 50;
    const double longest_s = *std::max_element(others->begin(), others->end());
    for (int k = 1; k <= most; ++k) periods.push_back(k * longest_s);
    std::stable_sort(periods.begin(), periods.end());
  }
  std::optional<CyclePlan> best;
  double most_gained_s = 0.0;
  for (const double period_s : periods) {
    if (time_s + static_cast<double>(least_cycles) * period_s > last_s * (1.0 + 1e-12)) continue;
    const bool fits =
        std::all_of(others->begin(), others->end(), [&](double other_s) { return is_multiple(period_s, other_s); });
    if (!fits) continue;
    const double until_s = std::min(timetable.repeats_until(time_s, period_s) + period_s, last_s);
    constexpr double round_off = 1e-9;
    long cycles = static_cast<long>(std::floor((until_s - time_s) / period_s + round_off));
    // At the very end nothing is switched any more: the last cycle is not like the others.
    if (time_s + static_cast<double>(cycles) * period_s >= end_s * (1.0 - round_off)) --cycles;
    const double gained_s = static_cast<double>(cycles - cycles_to_see) * period_s;
    if (cycles < least_cycles || gained_s <= most_gained_s) continue;
    most_gained_s = gained_s;
    best = CyclePlan{time_s, period_s, cycles};
  }
  return best;
}

double slowest_thermal_s(const tile::TileSystem& system, std::span<const double> x) {
  Eigen::MatrixXd rates = reduced_rates(system, x);
  // The battery's charge is the last unknown, and one that is stored.
  if (system.description().battery) rates = rates.topLeftCorner(rates.rows() - 1, rates.cols() - 1).eval();
  if (rates.size() == 0) return 0.0;
  const double slowest_rate = Eigen::EigenSolver<Eigen::MatrixXd>(rates, false).eigenvalues().real().maxCoeff();
  return slowest_rate < 0.0 ? -1.0 / slowest_rate : tile::never_s;
}

bool RepeatJudge::take(double change_K, long left) {
  const double before_K = std::exchange(before_K_, change_K);
  if (before_K < 0.0) return false;
  const double last_ratio = ratio_;
  ratio_ = before_K > 0.0 ? change_K / before_K : 0.0;
  double multiplier = slowest_;
  if (change_K > noise_K_) multiplier = std::max({multiplier, ratio_, last_ratio});
  const double cycles = static_cast<double>(left);
  error_K_ = change_K * (multiplier < 1.0 ? std::min(cycles, 1.0 / (1.0 - multiplier)) : cycles);
  return error_K_ <= close_K_;
}

}  // namespace tileflux::studies
