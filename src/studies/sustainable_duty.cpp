/// The largest duty that can be kept up.

#include <algorithm>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>

#include "studies/averaged.h"
#include "studies/modes.h"
#include "tileflux/studies/duty.h"

namespace tileflux::studies {

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
