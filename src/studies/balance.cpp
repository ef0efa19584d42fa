#include "tileflux/studies/balance.h"

#include <Eigen/Eigenvalues>
#include <Eigen/Sparse>
#include <Eigen/SparseLU>
#include <algorithm>
#include <boost/math/tools/minima.hpp>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <numeric>

#include "studies/linear.h"
#include "studies/modes.h"
#include "studies/warning.h"
#include "tileflux/solvers/steady.h"
#include "tileflux/solvers/transient.h"

namespace tileflux::studies {

namespace {

void refuse_isolated(const tile::TileSystem& system) {
  const std::vector<network::NodeId> isolated = system.network().isolated();
  if (isolated.empty()) return;
  throw Error(Code::node_isolated,
              "'" + system.network().node(isolated.front()).name +
                  "' has no path to space or to a part at fixed temperature: there is no steady state");
}

/// The state with every junction as warm as its mount: there a loop gain of one or more leaves no cool steady state.
std::vector<double> with_junctions_at_mounts(const tile::TileSystem& system, std::vector<double> x) {
  const std::vector<double> found = x;
  for (std::size_t b = 0; b < system.description().lasers.size(); ++b) {
    const network::NodeId mount = system.network().find(system.description().lasers[b].mount);
    const auto junction = static_cast<std::size_t>(system.network().unknown_of(system.junction_of(b)));
    x[junction] = system.network().temperature_K(mount, found);
  }
  return x;
}

[[noreturn]] void refuse_runaway(const tile::TileSystem& system, std::size_t bank, double gain, double junction_K,
                                 const std::string& why) {
  char text[96];
  std::snprintf(text, sizeof text, " (loop gain %.3g, junction at %.4g K): ", gain, junction_K);
  throw Error(Code::thermal_runaway, "laser " + system.description().lasers[bank].name + " runs away" + text + why);
}

/// A search that finds nothing may end on either side of a runaway, even in the cold: what counts is the loop gain
/// where it ended or, if that tells nothing, with every junction as warm as its mount.
[[noreturn]] void refuse(const tile::TileSystem& system, const solvers::SteadySolution& solution) {
  for (const std::vector<double>& x : {solution.x, with_junctions_at_mounts(system, solution.x)}) {
    const std::vector<double> gains = system.loop_gains(x);
    for (std::size_t b = 0; b < gains.size(); ++b) {
      const double junction_K = system.network().temperature_K(system.junction_of(b), x);
      if (gains[b] >= 1.0 || junction_K >= solvers::SteadyOptions{}.ceiling_K)
        refuse_runaway(system, b, gains[b], junction_K, solution.trouble);
    }
  }
  throw Error(Code::steady_not_found, solution.trouble);
}

/// A state in which a laser has burnt up its light is no answer where there is none with light that it could stay in.
void refuse_dark_states(const tile::TileSystem& system, const std::vector<double>& x) {
  if (!system.has_lasers() || !system.mode().beam) return;
  const devices::ChainFlows<double> flows = system.chain_flows(x);
  const std::vector<double> at_mounts = with_junctions_at_mounts(system, x);
  const std::vector<double> gains = system.loop_gains(at_mounts);
  for (std::size_t b = 0; b < gains.size(); ++b) {
    const double mount_K = system.network().temperature_K(system.junction_of(b), at_mounts);
    const bool dark = flows.bank[b].input > 0.0 && flows.bank[b].diode_light <= 0.0;
    if (!dark || gains[b] < 1.0 || system.description().lasers[b].devices.light_W(flows.bank[b].input, mount_K) <= 0.0)
      continue;
    const double junction_K = system.network().temperature_K(system.junction_of(b), x);
    refuse_runaway(system, b, gains[b], mount_K,
                   "it would end without light at " + std::to_string(std::lround(junction_K)) + " K");
  }
}

double largest_size(const std::vector<double>& values) {
  double most = 0.0;
  for (const double value : values) most = std::max(most, std::abs(value));
  return most;
}

Regime regime_of(const tile::TileSystem& system, const OperatingPoint& point) {
  if (!point.beam) return Regime::beam_off;
  if (point.chain.sun_limited && system.has_lasers()) return Regime::sun_limited;
  if (point.throttling || !point.limits_met()) return Regime::heat_limited;
  return Regime::drive_limited;
}

/// The limit that throttles hardest, if one does.
std::optional<Margin> throttling_limit(const tile::TileSystem& system, const OperatingPoint& point) {
  std::optional<Margin> hardest;
  double least_factor = 1.0;
  for (const tile::BoundLimit& bound : system.limits()) {
    if (!bound.limit.throttle_from_K || !bound.limit.below_K) continue;
    const double temperature_K = system.network().temperature_K(bound.node, point.x);
    const double factor =
        devices::ThrottleLaw{*bound.limit.throttle_from_K, *bound.limit.below_K}.factor(temperature_K);
    if (factor >= least_factor) continue;
    least_factor = factor;
    hardest = Margin{.node = bound.limit.node,
                     .value = temperature_K,
                     .limit = *bound.limit.below_K,
                     .margin = *bound.limit.below_K - temperature_K};
  }
  return hardest;
}

}  // namespace

std::string_view name_of(Regime regime) {
  switch (regime) {
    case Regime::beam_off:
      return "beam off";
    case Regime::sun_limited:
      return "sun-limited";
    case Regime::heat_limited:
      return "heat-limited";
    case Regime::drive_limited:
      return "drive-limited";
  }
  return "";
}

OperatingPoint operating_point(const tile::TileSystem& system, std::vector<double> guess) {
  OperatingPoint point = operating_state(system, std::move(guess));
  point.slowest_s = slowest_time_constant_s(system, point.x);
  return point;
}

OperatingPoint operating_state(const tile::TileSystem& system, std::vector<double> guess) {
  refuse_isolated(system);
  if (guess.empty()) guess = system.uniform_state(system.uniform_guess_K());
  solvers::SteadyOptions options;
  options.residual_scale_W = system.power_scale_W();
  const solvers::SteadySolution solution = solvers::find_steady(system, std::move(guess), options);
  if (!solution.found()) refuse(system, solution);
  refuse_dark_states(system, solution.x);

  OperatingPoint point;
  point.beam = system.mode().beam;
  point.drive = system.mode().drive;
  point.x = solution.x;
  point.chain = system.chain_flows(point.x);
  point.sky = system.sky(point.x);
  point.ledger = system.ledger(point.x);
  point.infrared_W = system.infrared_by_surface_W(point.x);
  point.heater_W = system.heater_powers_W(point.x);
  point.margins = margins_at(system, point.x);
  point.loop_gains = system.loop_gains(point.x);
  point.newton_steps = solution.newton_steps;
  point.continuation_steps = solution.continuation_steps;
  point.throttling = point.beam && point.chain.throttle < 1.0;
  point.binding = binding(point.margins);
  // A limit that is broken beside the throttle's own is not to be hidden by it.
  if (point.throttling && !point.chain.sun_limited && point.limits_met())
    point.binding = throttling_limit(system, point);
  point.next = next_after(point.margins, point.binding);
  point.regime = regime_of(system, point);

  const std::vector<double> left_W = system.node_balance(point.x);
  point.worst_node_W = largest_size(left_W);
  point.ledger_relative = std::abs(point.ledger.residual_W()) / options.residual_scale_W;
  point.error_K = temperature_error_K(system, point.x, left_W, point.ledger.residual_W());
  const double bound_W = steady_ledger_bound * options.residual_scale_W;
  const std::vector<double> floor_W = solvers::round_off_W(system, 0.0, point.x);
  bool closes = std::abs(point.ledger.residual_W()) <= bound_W + std::accumulate(floor_W.begin(), floor_W.end(), 0.0);
  for (std::size_t i = 0; i < left_W.size(); ++i) closes = closes && std::abs(left_W[i]) <= bound_W + floor_W[i];
  if (!closes) {
    char text[160];
    std::snprintf(text, sizeof text,
                  "the steady state does not close: %.3g W over the tile, %.3g W at the worst node, of %.6g W; this "
                  "amounts to %.2g K",
                  point.ledger.residual_W(), point.worst_node_W, options.residual_scale_W, point.error_K);
    throw Error(Code::ledger_open, text);
  }
  return point;
}

namespace {

/// A second steady state on a hotter branch, or junctions at runaway, are told, not hidden.
void warn_of_branches(const tile::TileSystem& system, const OperatingPoint& point, std::vector<Diagnostic>& warnings) {
  const auto warn = [&](const std::string& message) { warnings.push_back(warning_of(Code::thermal_runaway, message)); };
  for (std::size_t b = 0; b < point.loop_gains.size(); ++b) {
    const tile::Bank& bank = system.description().lasers[b];
    const double mount_K = system.network().temperature_K(system.network().find(bank.mount), point.x);
    const devices::BankFlows<double>& flows = point.chain.bank[b];
    if (flows.diode_light <= 0.0 && bank.devices.light_W(flows.input, mount_K) > 0.0) {
      warn("laser " + bank.name +
           " has run away: it takes power and gives no light, but would at the temperature of its mount");
    }
    if (point.loop_gains[b] >= 1.0)
      warn("laser " + system.description().lasers[b].name +
           " has a loop gain of one or more: this state is not stable");
  }
  if (!system.has_lasers() || !point.beam) return;
  std::vector<double> hot = point.x;
  constexpr double hotter_K = 80.0;
  for (int i = 0; i < system.network().unknown_count(); ++i) {
    const network::NodeId id = system.network().node_of_unknown(i);
    hot[static_cast<std::size_t>(i)] =
        system.network().unknown_at(id, system.network().temperature_K(id, point.x) + hotter_K);
  }
  solvers::SteadyOptions options;
  options.residual_scale_W = system.power_scale_W();
  const solvers::SteadySolution other = solvers::find_steady(system, hot, options);
  if (!other.found()) return;
  double apart_K = 0.0;
  for (network::NodeId id = 0; id < system.network().node_count(); ++id) {
    apart_K = std::max(
        apart_K, std::abs(system.network().temperature_K(id, other.x) - system.network().temperature_K(id, point.x)));
  }
  constexpr double same_state_K = 1e-3;
  if (apart_K > same_state_K) {
    char text[128];
    std::snprintf(text, sizeof text,
                  "there is a second steady state up to %.1f K away: where the tile ends depends on where it starts",
                  apart_K);
    warn(text);
  }
}

}  // namespace

namespace {

std::vector<std::optional<RollOver>> roll_over_of(const tile::TileSystem& system, const OperatingPoint& point,
                                                  std::vector<Diagnostic>& warnings) {
  std::vector<std::optional<RollOver>> found;
  for (std::size_t b = 0; b < system.description().lasers.size(); ++b) {
    const tile::Bank& bank = system.description().lasers[b];
    found.emplace_back();
    const auto most = system.roll_over(b, point.x);
    if (!most) continue;
    const auto& law = std::get<devices::DiodeLaw>(bank.devices.law);
    found.back() = RollOver{most->current_A / law.rated_current_A, most->light_W * bank.devices.modules};
    const double current_A = law.current_A(point.chain.bank[b].input / bank.devices.modules);
    if (current_A <= most->current_A) continue;
    char text[160];
    std::snprintf(text, sizeof text,
                  "laser %s runs at %.4g A, beyond its roll-over at %.4g A: less would give more light",
                  bank.name.c_str(), current_A, most->current_A);
    warnings.push_back(warning_of(Code::roll_over_passed, text));
  }
  return found;
}

}  // namespace

namespace {

/// A drive that meets every limit, and one above it that does not (the same at full drive).
struct AllowedDrive {
  double drive = 1.0, above = 1.0;
};

/// The largest of a grid of drives; where none of them does, the best one between two of them.
template <class MarginFunction>
std::optional<AllowedDrive> allowed_drive(const MarginFunction& margin) {
  constexpr int grid = 20;
  int best = grid;
  double best_margin = -HUGE_VAL;
  for (int i = grid; i >= 0; --i) {
    const double here = margin(static_cast<double>(i) / grid);
    if (here >= 0.0) return AllowedDrive{static_cast<double>(i) / grid, std::min(i + 1.0, 1.0 * grid) / grid};
    if (here > best_margin) best = i;
    best_margin = std::max(best_margin, here);
  }
  // Little drive may leave one part too warm and much drive another: what is allowed can lie within the grid.
  const double below = std::max(best - 1.0, 0.0) / grid, above = std::min(best + 1.0, 1.0 * grid) / grid;
  constexpr int bits = 30;
  std::uintmax_t most_steps = 50;
  const auto [drive, negative] = boost::math::tools::brent_find_minima([&](double share) { return -margin(share); },
                                                                       below, above, bits, most_steps);
  if (negative > 0.0) return std::nullopt;
  return AllowedDrive{drive, above};
}

}  // namespace

ContinuousRating continuous_rating(tile::TileSystem& system) {
  const tile::Mode before = system.mode();
  const auto point_at = [&](double drive) {
    tile::Mode mode = steady_mode(system.description(), true, false);
    mode.drive = drive;
    system.set_mode(mode);
    return operating_state(system);
  };
  /// A drive at which the tile has no steady state meets no limit.
  const auto margin = [&](double drive) {
    try {
      const OperatingPoint point = point_at(drive);
      return point.binding ? point.binding->comparable() : HUGE_VAL;
    } catch (const Error& error) {
      if (error.code() != Code::steady_not_found && error.code() != Code::thermal_runaway) throw;
      return -1e3;
    }
  };
  ContinuousRating rating;
  const std::optional<AllowedDrive> allowed = allowed_drive(margin);
  if (!allowed) {
    rating.limited = true;
    const OperatingPoint point = point_at(0.0);
    rating.binding = point.binding;
    rating.next = point.next;
    system.set_mode(before);
    return rating;
  }
  rating.drive = allowed->drive;
  rating.limited = allowed->drive < 1.0;
  if (rating.limited) {
    std::uintmax_t most_steps = 60;
    const boost::math::tools::eps_tolerance<double> close(44);
    const double low = margin(rating.drive);
    if (low > 0.0)
      rating.drive = boost::math::tools::toms748_solve(margin, rating.drive, allowed->above, low,
                                                       margin(allowed->above), close, most_steps)
                         .first;
  }
  const OperatingPoint point = point_at(rating.drive);
  rating.light_W = point.chain.light_out;
  rating.binding = point.binding;
  rating.next = point.next;
  rating.regime = rating.limited ? Regime::heat_limited : point.regime;
  system.set_mode(before);
  return rating;
}

namespace {

void warn_of_heaters(const tile::TileSystem& system, const OperatingPoint& point, std::vector<Diagnostic>& warnings) {
  const std::vector<double>& power_W = point.heater_W;
  for (std::size_t h = 0; h < power_W.size(); ++h) {
    const tile::Heater& heater = system.description().heaters[h];
    const double duty = power_W[h] / heater.power_W;
    if (heater.stuck || duty <= most_heater_duty) continue;
    char text[160];
    std::snprintf(text, sizeof text,
                  "heater '%s' must be on for %.3g %% of the time with the beam %s: above 80 %% it has "
                  "less than 25 %% in hand",
                  heater.name.c_str(), 100.0 * duty, point.beam ? "on" : "off");
    warnings.push_back(warning_of(Code::heater_authority, text));
  }
}

}  // namespace

SteadyStates steady_states(tile::TileSystem& system, SteadyGuess guess) {
  SteadyStates result;
  system.set_mode(steady_mode(system.description(), false, true));
  result.beam_off = operating_state(system, std::move(guess.off_x));
  result.limits_met = result.beam_off.limits_met();
  if (!system.description().beam) return result;

  system.set_mode(steady_mode(system.description(), true, true));
  result.beam_on = operating_state(system, std::move(guess.on_x));
  const bool kept = result.beam_on->limits_met();
  result.limits_met = result.limits_met && kept;
  if (!kept) result.rating = continuous_rating(system);
  result.usable_laser_W = kept ? result.beam_on->chain.light_out : result.rating->light_W;
  result.usable_drive = kept ? result.beam_on->drive : result.rating->drive;
  return result;
}

namespace {

/// What each bank is given, as a share of its rated input, which is the drive that an efficiency table knows.
std::vector<double> drives_at(const tile::TileSystem& system, const OperatingPoint& point) {
  std::vector<double> drives;
  for (std::size_t b = 0; b < system.description().lasers.size(); ++b) {
    const double rated_W = system.description().lasers[b].devices.demand_W(1.0);
    drives.push_back(rated_W > 0.0 ? point.chain.bank[b].input / rated_W : 0.0);
  }
  return drives;
}

}  // namespace

Balance balance(tile::TileSystem& system) {
  Balance result;
  system.set_mode(steady_mode(system.description(), false, true));
  result.beam_off = operating_point(system);
  result.limits_met = result.beam_off.limits_met();
  warn_of_heaters(system, result.beam_off, result.warnings);
  const std::vector<TemperatureRange> off_ranges = ranges_at(system, result.beam_off.x);
  if (!system.description().beam) {
    for (Diagnostic& warning : validity_warnings(system, Uses::steady, off_ranges, {}))
      result.warnings.push_back(std::move(warning));
    return result;
  }

  system.set_mode(steady_mode(system.description(), true, true));
  result.beam_on = operating_point(system);
  result.limits_met = result.limits_met && result.beam_on->limits_met();
  warn_of_heaters(system, *result.beam_on, result.warnings);
  warn_of_branches(system, *result.beam_on, result.warnings);
  result.roll_over = roll_over_of(system, *result.beam_on, result.warnings);
  const std::vector<TemperatureRange> on_ranges = ranges_at(system, result.beam_on->x);
  for (Diagnostic& warning : validity_warnings(system, Uses::steady, joined(off_ranges, on_ranges), on_ranges))
    result.warnings.push_back(std::move(warning));
  for (Diagnostic& warning : drive_warnings(system, drives_at(system, *result.beam_on)))
    result.warnings.push_back(std::move(warning));
  if (system.description().battery && system.has_lasers())
    result.warnings.push_back(warning_of(
        Code::battery_rests, system.description().orbit && !system.description().steady_at_s
                                 ? "the battery rests in steady states: the light is that of the mean sunlight of a "
                                   "revolution, and in the shadow there is none of it without a battery"
                                 : "the battery rests in steady states: the light is that of sunlight alone"));
  if (result.beam_on->throttling || !result.beam_on->limits_met()) result.rating = continuous_rating(system);
  if (result.beam_on->limits_met()) {
    result.usable_laser_W = result.beam_on->chain.light_out;
    result.usable_drive = result.beam_on->drive;
  } else {
    result.usable_laser_W = result.rating->light_W;
    result.usable_drive = result.rating->drive;
  }
  return result;
}

LimitsOverStates limits_over_states(const OperatingPoint& beam_off, const std::optional<OperatingPoint>& beam_on) {
  std::vector<StateMargin> least;
  for (const Margin& margin : beam_off.margins) least.push_back({margin, false});
  if (beam_on) {
    const std::vector<Margin>& on = beam_on->margins;
    for (std::size_t i = 0; i < on.size(); ++i) {
      if (on[i].comparable() < least[i].margin.comparable()) least[i] = {on[i], true};
    }
  }
  std::stable_sort(least.begin(), least.end(), [](const StateMargin& a, const StateMargin& b) {
    return a.margin.comparable() < b.margin.comparable();
  });
  LimitsOverStates limits;
  if (least.empty()) return limits;
  // Where all limits are kept because one throttles, that one binds.
  const bool kept = least.front().margin.margin >= 0.0;
  limits.binding = least.front();
  if (kept && beam_on && beam_on->regime == Regime::heat_limited && beam_on->binding)
    limits.binding = StateMargin{*beam_on->binding, true};
  const auto other = std::find_if(least.begin(), least.end(), [&](const StateMargin& one) {
    return !same_limit(one.margin, limits.binding->margin);
  });
  if (other != least.end()) limits.next = *other;
  return limits;
}

Balance balance(const tile::Case& description) {
  tile::TileSystem system(description);
  return balance(system);
}

}  // namespace tileflux::studies
