/// The state that a duty cycle repeats, and the largest duty that can be kept up.

#include <Eigen/Dense>
#include <Eigen/Eigenvalues>
#include <algorithm>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <unsupported/Eigen/MatrixFunctions>

#include "studies/averaged.h"
#include "studies/extremes.h"
#include "studies/linear.h"
#include "studies/modes.h"
#include "studies/tile_integrands.h"
#include "tileflux/solvers/transient.h"
#include "tileflux/studies/duty.h"

namespace tileflux::studies {

namespace {

/// One cycle from a state at the moment the beam goes on; extremes and light of the cycle are kept.
class CycleMap {
 public:
  CycleMap(tile::TileSystem& system, double period_s, double on_s, bool throttled)
      : system_(system),
        period_s_(period_s),
        on_s_(on_s),
        throttled_(throttled),
        integrands_(system),
        extremes_(system) {
    const auto stores = system.differential();
    for (std::size_t i = 0; i < stores.size(); ++i) {
      if (stores[i]) stored_.push_back(i);
    }
    // The map is differenced against itself, so it is carried ten times finer than a single run.
    constexpr double finer = 10.0;
    options_ = transient_options(system, finer);
  }

  std::vector<double> operator()(const std::vector<double>& begin) {
    solvers::Transient transient(system_, nullptr, &integrands_, options_);
    bool first = true;
    std::vector<double> x = begin;
    const auto segment = [&](bool beam, double from_s, double to_s) {
      if (to_s <= from_s) return;
      system_.set_mode(steady_mode(system_.description(), beam, throttled_));
      transient.start(from_s, x);
      if (first) extremes_.begin(from_s, transient.state());
      extremes_.see(from_s, transient.state());
      first = false;
      transient.advance(to_s, [&](const solvers::Step& step) {
        extremes_.see(step);
        return true;
      });
      x.assign(transient.state().begin(), transient.state().end());
    };
    segment(true, 0.0, on_s_);
    segment(false, on_s_, period_s_);
    light_J_ = transient.integrals()[1];
    const auto ages = transient.integrals().subspan(TileIntegrands::powers);
    age_change_.assign(ages.begin(), ages.end());
    ++cycles_;
    return x;
  }

  /// exp(A t) over both phases, linearised about the given states.
  Eigen::MatrixXd multipliers(const std::vector<double>& on_x, const std::vector<double>& off_x) {
    const auto size = static_cast<Eigen::Index>(stored_.size());
    Eigen::MatrixXd map = Eigen::MatrixXd::Identity(size, size);
    const auto apply = [&](bool beam, const std::vector<double>& x, double length_s) {
      if (length_s <= 0.0) return;
      system_.set_mode(steady_mode(system_.description(), beam, throttled_));
      const Eigen::MatrixXd exponent = reduced_rates(system_, x) * length_s;
      map = exponent.exp() * map;
    };
    apply(true, on_x, on_s_);
    apply(false, off_x, period_s_ - on_s_);
    return map;
  }

  const std::vector<std::size_t>& stored() const { return stored_; }
  const std::vector<TemperatureRange>& ranges() const { return extremes_.ranges(); }
  std::span<const TemperatureRange> lit_ranges() const { return extremes_.lit_ranges(); }
  const std::vector<Peak>& peaks() const { return extremes_.peaks(); }
  double light_J() const { return light_J_; }
  const std::vector<double>& age_change() const { return age_change_; }
  int cycles() const { return cycles_; }

 private:
  tile::TileSystem& system_;
  double period_s_, on_s_;
  bool throttled_;
  std::vector<double> age_change_;
  TileIntegrands integrands_;
  Extremes extremes_;
  solvers::TransientOptions options_;
  std::vector<std::size_t> stored_;
  double light_J_ = 0.0;
  int cycles_ = 0;
};

}  // namespace

PeriodicState periodic_state(tile::TileSystem& system, double period_s, double on_s, std::vector<double> guess,
                             bool throttled) {
  tile::TileSystem on(system.description()), off(system.description());
  on.set_mode(steady_mode(system.description(), true, throttled));
  off.set_mode(steady_mode(system.description(), false, throttled));
  const AveragedPoint mean = averaged_point(on, off, std::clamp(on_s / period_s, 0.0, 1.0));
  std::vector<double> x = guess.empty() ? (on_s > 0.0 ? mean.on_x : mean.off_x) : std::move(guess);

  CycleMap cycle(system, period_s, on_s, throttled);
  const Eigen::MatrixXd map = cycle.multipliers(mean.on_x, mean.off_x);
  const auto size = static_cast<Eigen::Index>(cycle.stored().size());
  const Eigen::PartialPivLU<Eigen::MatrixXd> preconditioner(
      Eigen::MatrixXd(Eigen::MatrixXd::Identity(size, size) - map));
  PeriodicState state;
  state.slowest_multiplier =
      size > 0 ? Eigen::EigenSolver<Eigen::MatrixXd>(map, false).eigenvalues().cwiseAbs().maxCoeff() : 0.0;

  constexpr int most_cycles = 60;
  // The step is the change divided by (1 - multiplier): an estimate of the distance to the true state, not of one
  // cycle.
  const double close_K = 10.0 * system.description().accuracy.absolute_K;
  while (state.cycles < most_cycles) {
    const std::vector<double> next = cycle(x);
    state.cycles = cycle.cycles();
    Eigen::VectorXd change(size);
    for (Eigen::Index k = 0; k < size; ++k)
      change[k] = next[cycle.stored()[static_cast<std::size_t>(k)]] - x[cycle.stored()[static_cast<std::size_t>(k)]];
    const Eigen::VectorXd step = size > 0 ? Eigen::VectorXd(preconditioner.solve(change)) : change;
    state.error_K = size > 0 ? step.cwiseAbs().maxCoeff() : 0.0;
    if (state.error_K <= close_K) {
      state.x = x;
      state.ranges = cycle.ranges();
      state.lit_ranges.assign(cycle.lit_ranges().begin(), cycle.lit_ranges().end());
      state.peaks = cycle.peaks();
      state.light_J = cycle.light_J();
      state.age_change = cycle.age_change();
      return state;
    }
    std::vector<double> corrected = next;
    bool positive = true;
    for (Eigen::Index k = 0; k < size; ++k) {
      const std::size_t i = cycle.stored()[static_cast<std::size_t>(k)];
      corrected[i] = x[i] + step[k];
      const bool node = static_cast<int>(i) < system.network().unknown_count();
      positive = positive && (!node || corrected[i] > 1.0);
    }
    x = positive ? corrected : next;
  }
  char text[128];
  std::snprintf(text, sizeof text, "no periodic state within %d cycles of %.6g s; still %.2g K away", most_cycles,
                period_s, state.error_K);
  throw Error(Code::periodic_not_found, text);
}

namespace {

struct Fraction {
  double value = 0.0;
  bool limited = false;
};

/// The largest share in (0, 1] at which `margin_K` is not negative. `margin_K` may rise and fall: the search goes down
/// from above in halves until something is feasible, then closes in.
template <class MarginFunction>
Fraction largest_share(MarginFunction&& margin_K, double first_try) {
  double above = 1.0;
  if (margin_K(above) >= 0.0) return {1.0, false};
  double share = std::min(first_try, 0.999);
  constexpr double least_share = 1e-7;
  double low_K = margin_K(share);
  while (low_K < 0.0) {
    above = share;
    share *= 0.5;
    if (share < least_share) return {0.0, true};
    low_K = margin_K(share);
  }
  if (low_K == 0.0) return {share, true};
  std::uintmax_t most_steps = 60;
  const boost::math::tools::eps_tolerance<double> close(34);
  return {boost::math::tools::toms748_solve(margin_K, share, above, low_K, margin_K(above), close, most_steps).first,
          true};
}

/// Margins that stand for "no such state": a share with which the tile runs away meets no limit.
constexpr double hopeless_K = -1e3;

/// Whether that is what an error means. Books that do not close mean something else.
bool no_such_state(const Error& error) {
  return error.exit_status() == 3 && error.code() != Code::ledger_open && error.code() != Code::law_not_finite;
}

}  // namespace

SustainableDuty sustainable_duty(tile::TileSystem& system, double period_s) {
  const tile::Mode before = system.mode();
  tile::TileSystem on(system.description()), off(system.description());
  on.set_mode(steady_mode(system.description(), true, false));
  off.set_mode(steady_mode(system.description(), false, false));
  SustainableDuty duty;
  duty.period_s = period_s;

  const auto averaged_margin = [&](double share) {
    try {
      const std::optional<Margin> least = binding(averaged_point(on, off, share).margins);
      return least ? least->comparable() : HUGE_VAL;
    } catch (const Error& error) {
      if (!no_such_state(error)) throw;
      return hopeless_K;
    }
  };
  duty.short_period_fraction = largest_share(averaged_margin, 0.5).value;
  duty.short_period_binding = binding(averaged_point(on, off, duty.short_period_fraction).margins);

  std::vector<double> guess;
  const auto margin_K = [&](double share) {
    try {
      const PeriodicState state = periodic_state(system, period_s, share * period_s, guess);
      duty.cycles += state.cycles;
      guess = state.x;
      const std::optional<Margin> least = binding(margins_over(system, state.ranges, state.peaks));
      return least ? least->comparable() : HUGE_VAL;
    } catch (const Error& error) {
      if (!no_such_state(error)) throw;
      guess.clear();
      return hopeless_K;
    }
  };
  const Fraction found = largest_share(margin_K, duty.short_period_fraction > 0.0 ? duty.short_period_fraction : 0.5);
  duty.fraction = found.value;
  duty.limited = found.limited;
  duty.state = periodic_state(system, period_s, duty.fraction * period_s);
  const std::vector<Margin> margins = margins_over(system, duty.state.ranges, duty.state.peaks);
  duty.binding = binding(margins);
  duty.next = next_after(margins, duty.binding);
  duty.mean_light_W = duty.state.light_J / period_s;
  system.set_mode(before);
  return duty;
}

}  // namespace tileflux::studies
