#include "tileflux/studies/tilt.h"

#include <algorithm>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <functional>
#include <map>

#include "studies/modes.h"
#include "tileflux/solvers/steady.h"
#include "tileflux/studies/balance.h"

namespace tileflux::studies {

namespace {

constexpr double edge_on_rad = 1.57079632679489662;
/// Margins, as they are compared, of a tilt at which the tile runs away: far too hot.
constexpr double hopeless_K = -1e3;

std::optional<Margin> least(const std::vector<Margin>& margins, bool upper) {
  std::optional<Margin> found;
  for (const Margin& margin : margins) {
    if (margin.upper == upper && (!found || margin.comparable() < found->comparable())) found = margin;
  }
  return found;
}

/// The least margins of one state.
struct StateMargins {
  std::optional<Margin> upper, lower;
  bool found = true;

  double upper_margin() const {
    if (!found) return hopeless_K;
    return upper ? upper->comparable() : HUGE_VAL;
  }
};

struct Tilted {
  StateMargins off, on;
  double upper_margin() const { return std::min(off.upper_margin(), on.upper_margin()); }
};

/// Steady states of a tile over tilt, each as `balance` would find it.
class TiltedTile {
 public:
  explicit TiltedTile(const tile::Case& description) : case_(description) {
    case_.tilt_law = tile::TiltLaw::fixed;
    case_.hold.reset();
  }

  const Tilted& at(double tilt_rad) {
    const auto known = seen_.find(tilt_rad);
    if (known != seen_.end()) return known->second;
    case_.sun.tilt_rad = tilt_rad;
    tile::TileSystem system(case_);
    facing_W_ = std::max(facing_W_, system.power_scale_W());
    Tilted tilted;
    tilted.off = margins(system, false);
    if (case_.beam) tilted.on = margins(system, true);
    return seen_.emplace(tilt_rad, std::move(tilted)).first->second;
  }

  bool has_beam() const { return case_.beam.has_value(); }

 private:
  StateMargins margins(tile::TileSystem& system, bool beam) const {
    system.set_mode(steady_mode(case_, beam, false));
    solvers::SteadyOptions options;
    options.residual_scale_W = facing_W_;
    const solvers::SteadySolution solution =
        solvers::find_steady(system, system.uniform_state(system.uniform_guess_K()), options);
    if (!solution.found()) return {{}, {}, false};
    const std::vector<Margin> all = margins_at(system, solution.x);
    return {least(all, true), least(all, false), true};
  }

  tile::Case case_;
  /// What flows through the tile when it faces the Sun, with which searches begin: edge-on next to nothing flows, and
  /// states need not be found to a share of that.
  double facing_W_ = 0.0;
  std::map<double, Tilted> seen_;
};

/// The smallest tilt at which a margin is not negative: the first of a row of tilts, then closed in on.
std::optional<double> first_tilt(const std::function<double(double)>& margin) {
  constexpr int rows = 18;  // 5 deg: margins rise with the tilt but for what cells lose at grazing light
  if (margin(0.0) >= 0.0) return 0.0;
  double below_rad = 0.0;
  for (int i = 1; i <= rows; ++i) {
    const double tilt_rad = i == rows ? edge_on_rad : edge_on_rad * i / rows;
    if (margin(tilt_rad) >= 0.0) {
      std::uintmax_t most_steps = 100;
      const boost::math::tools::eps_tolerance<double> close(44);
      // The end that keeps the limits.
      return boost::math::tools::toms748_solve(margin, below_rad, tilt_rad, margin(below_rad), margin(tilt_rad), close,
                                               most_steps)
          .second;
    }
    below_rad = tilt_rad;
  }
  return std::nullopt;
}

}  // namespace

TiltNeeded tilt_needed(const tile::Case& description) {
  TiltNeeded needed;
  const bool by_course = description.course && !description.course->tilt_rad.empty();
  const bool by_orbit = description.orbit && description.orbit->attitude != tile::Orbit::Attitude::sun;
  needed.need = TiltNeeded::Need::not_free;
  if (by_course || by_orbit || !description.stow.empty()) return needed;
  needed.need = TiltNeeded::Need::no_limit;
  const bool upper = !description.differences.empty() ||
                     std::any_of(description.limits.begin(), description.limits.end(),
                                 [](const tile::Limit& limit) { return limit.below_K.has_value(); });
  if (!upper) return needed;
  TiltedTile tile(description);
  needed.off_rad = first_tilt([&](double tilt_rad) { return tile.at(tilt_rad).off.upper_margin(); });
  if (tile.has_beam()) needed.on_rad = first_tilt([&](double tilt_rad) { return tile.at(tilt_rad).on.upper_margin(); });
  const auto both = first_tilt([&](double tilt_rad) { return tile.at(tilt_rad).upper_margin(); });
  needed.tilt_rad = both.value_or(edge_on_rad);
  const Tilted& there = tile.at(needed.tilt_rad);
  needed.beam = there.on.upper_margin() < there.off.upper_margin();
  const StateMargins& asking = needed.beam ? there.on : there.off;
  needed.limit = asking.upper;
  needed.need = !both ? TiltNeeded::Need::in_vain : *both > 0.0 ? TiltNeeded::Need::tilted : TiltNeeded::Need::none;
  if (needed.need != TiltNeeded::Need::tilted) return needed;
  for (const StateMargins* state : {&there.off, &there.on}) {
    if (!state->lower || state->lower->margin >= 0.0) continue;
    needed.need = TiltNeeded::Need::too_cold;
    needed.limit = state->lower;
    needed.beam = state == &there.on;
  }
  return needed;
}

}  // namespace tileflux::studies
