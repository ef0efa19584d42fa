#include "tileflux/studies/duty.h"

#include <algorithm>
#include <cmath>

#include "studies/modes.h"
#include "studies/tile_integrands.h"
#include "studies/warning.h"
#include "tileflux/solvers/transient.h"
#include "tileflux/studies/run.h"

namespace tileflux::studies {

namespace {

/// Lengths of bursts and recoveries are temperatures over slopes of hundredths of a kelvin per second: carried finer.
constexpr double finer = 10.0;

/// Every bound of the case as a function that is negative while the bound is kept.
class LimitWatch : public solvers::Watch {
 public:
  explicit LimitWatch(const tile::TileSystem& system) : system_(system) {
    for (const tile::BoundLimit& bound : system.limits()) {
      if (bound.limit.below_K) bounds_.push_back({bound.node, *bound.limit.below_K, 1.0});
      if (bound.limit.above_K) bounds_.push_back({bound.node, *bound.limit.above_K, -1.0});
    }
  }
  int count() const override { return static_cast<int>(bounds_.size()); }
  void evaluate(double, std::span<const double> x, std::span<double> values) const override {
    for (std::size_t i = 0; i < bounds_.size(); ++i) {
      values[i] = bounds_[i].sign * (system_.network().temperature_K(bounds_[i].node, x) - bounds_[i].limit_K);
    }
  }

  /// Whether a bound that is met exactly is about to be broken: no zero is to be found after this one.
  bool leaves(std::span<const double> x, std::span<const double> rate) const {
    return std::any_of(bounds_.begin(), bounds_.end(), [&](const Bound& bound) {
      const int place = system_.network().unknown_of(bound.node);
      return place >= 0 && x[static_cast<std::size_t>(place)] == bound.limit_K &&
             bound.sign * rate[static_cast<std::size_t>(place)] > 0.0;
    });
  }

 private:
  struct Bound {
    network::NodeId node;
    double limit_K;
    double sign;
  };
  const tile::TileSystem& system_;
  std::vector<Bound> bounds_;
};

/// The largest excess over the starting temperatures, less what counts as recovered. Of a store its enthalpy counts, in
/// kelvin of the solid: it must have frozen again. A battery's charge is not heat.
class RecoveryWatch : public solvers::Watch {
 public:
  RecoveryWatch(const tile::TileSystem& system, const std::vector<double>& start_x)
      : start_x_(start_x),
        nodes_(static_cast<std::size_t>(system.network().unknown_count())),
        within_K_(system.description().duty.recovered_within_K) {}
  int count() const override { return 1; }
  void evaluate(double, std::span<const double> x, std::span<double> values) const override {
    values[0] = excess_K(x).first;
  }

  /// The excess and the unknown that has it.
  std::pair<double, int> excess_K(std::span<const double> x) const {
    std::pair<double, int> most{-HUGE_VAL, 0};
    for (std::size_t i = 0; i < nodes_; ++i) {
      const double excess = x[i] - start_x_[i] - within_K_;
      if (excess > most.first) most = {excess, static_cast<int>(i)};
    }
    return most;
  }

 private:
  const std::vector<double>& start_x_;
  std::size_t nodes_;
  double within_K_;
};

std::optional<double> adiabatic_time_s(const tile::TileSystem& system, std::span<const double> x,
                                       const std::optional<Margin>& limit) {
  if (!limit || !limit->upper) return std::nullopt;
  const std::vector<double> capacity = solvers::rate_coefficients(system, 0.0, x);
  double room_J = 0.0;
  for (int i = 0; i < system.network().unknown_count(); ++i) {
    const auto k = static_cast<std::size_t>(i);
    room_J += capacity[k] * (system.network().unknown_at(system.network().node_of_unknown(i), limit->limit_K) - x[k]);
  }
  const tile::Ledger ledger = system.ledger(x);
  const double heat_W = ledger.incoming_W() - ledger.light_out_W;
  if (heat_W <= 0.0 || room_J <= 0.0) return std::nullopt;
  return room_J / heat_W;
}

}  // namespace

Burst burst(tile::TileSystem& system, const std::vector<double>& start_x) {
  system.set_mode(steady_mode(system.description(), true, false));
  const LimitWatch watch(system);
  const TileIntegrands integrands(system);
  solvers::Transient transient(system, &watch, &integrands, transient_options(system, finer));
  transient.start(0.0, start_x);
  const std::vector<double> begin_x(transient.state().begin(), transient.state().end());
  Burst result;
  result.binding = binding(margins_at(system, begin_x));
  if (result.binding && (result.binding->margin_K < 0.0 ||
                         (result.binding->margin_K == 0.0 && watch.leaves(begin_x, transient.rate())))) {
    result.length_s = 0.0;
    result.end_x = begin_x;
    return result;
  }
  const solvers::Arrival arrival = transient.advance(system.description().duty.longest_wait_s);
  result.end_x.assign(transient.state().begin(), transient.state().end());
  result.binding = binding(margins_at(system, result.end_x));
  result.light_J = transient.integrals()[1];
  result.adiabatic_s = adiabatic_time_s(system, begin_x, result.binding);
  if (arrival == solvers::Arrival::root) result.length_s = transient.time_s();
  return result;
}

Recovery recovery(tile::TileSystem& system, const std::vector<double>& start_x,
                  const std::vector<double>& burst_end_x) {
  system.set_mode(steady_mode(system.description(), false, false));
  const RecoveryWatch watch(system, start_x);
  Recovery result;
  // Where the background alone holds a node above its start, waiting is in vain. A tile without a steady state is
  // integrated.
  try {
    const OperatingPoint idle = operating_point(system, start_x);
    const auto [excess_K, unknown] = watch.excess_K(idle.x);
    if (excess_K >= 0.0) {
      result.never = true;
      result.node = system.unknown_name(unknown);
      result.held_K = system.network().temperature_K(system.network().node_of_unknown(unknown), idle.x);
      return result;
    }
  } catch (const Error& error) {
    if (error.code() != Code::node_isolated && error.exit_status() != 3) throw;
  }
  solvers::Transient transient(system, &watch, nullptr, transient_options(system, finer));
  transient.start(0.0, burst_end_x);
  if (watch.excess_K(transient.state()).first <= 0.0) {
    result.time_s = 0.0;
    return result;
  }
  const solvers::Arrival arrival = transient.advance(system.description().duty.longest_wait_s);
  result.node = system.unknown_name(watch.excess_K(transient.state()).second);
  if (arrival == solvers::Arrival::root) result.time_s = transient.time_s();
  return result;
}

Duty duty(tile::TileSystem& system, const std::function<void(double)>& progress) {
  const tile::Case& description = system.description();
  if (!description.beam) throw Error(Code::key_missing, "`duty` needs `beam` in the case");
  if (description.limits.empty())
    throw Error(Code::key_missing, "`duty` needs `limits` in the case: without them every duty is allowed");
  const auto tell = [&](double share) {
    if (progress) progress(share);
  };
  Duty result;
  const std::vector<double> stated = starting_state(system);
  system.set_mode(steady_mode(system.description(), false, false));
  result.start_x = stated;
  std::vector<double> rate(stated.size());
  solvers::make_consistent(system, 0.0, result.start_x, rate);
  result.burst = burst(system, stated);
  tell(0.2);
  result.recovery = recovery(system, result.start_x, result.burst.end_x);
  tell(0.3);
  result.rating = continuous_rating(system);
  tell(0.4);
  if (description.beam->pattern) {
    result.sustainable = sustainable_duty(system, description.beam->pattern->every_s);
    result.warnings = validity_warnings(system, result.sustainable->state.ranges, result.sustainable->state.lit_ranges);
  }
  tell(1.0);
  if (description.battery) {
    result.warnings.push_back(
        warning_of(Code::battery_rests, "the battery rests in duty limits: they hold for sunlight alone"));
  }
  const bool patterned = std::any_of(description.loads.begin(), description.loads.end(),
                                     [](const tile::Load& l) { return l.when == tile::Load::When::pattern; });
  if (patterned) {
    result.warnings.push_back(warning_of(
        Code::pattern_contradicts, "loads with a pattern of their own are taken at their mean power in duty limits"));
  }
  return result;
}

}  // namespace tileflux::studies
