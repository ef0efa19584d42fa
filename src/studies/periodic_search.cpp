#include "studies/periodic_search.h"

#include <Eigen/Dense>
#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>
#include <limits>

#include "studies/averaged.h"
#include "studies/charge_step.h"
#include "studies/modes.h"

namespace tileflux::studies {

std::vector<double> first_state(tile::TileSystem& system, const CycleSettings& settings) {
  tile::TileSystem on(system.description()), off(system.description());
  on.set_mode(steady_mode(system.description(), true, settings.throttled));
  off.set_mode(steady_mode(system.description(), false, settings.throttled));
  try {
    const AveragedPoint mean = averaged_point(on, off, std::clamp(settings.on_s / settings.period_s, 0.0, 1.0));
    return settings.on_s > 0.0 ? mean.on_x : mean.off_x;
  } catch (const Error& error) {
    // What trips would prevent has no average; without them there is nothing to be found either.
    if (error.code() != Code::steady_not_found || !settings.trips) throw;
    return system.stated_start();
  }
}

namespace {

class Search {
 public:
  Search(tile::TileSystem& system, const CycleSettings& settings, const SearchOptions& options)
      : system_(system), settings_(settings), options_(options), map_(system, settings) {
    if (map_.has_charge()) {
      const tile::Battery& battery = *system.description().battery;
      const devices::BatteryLaw& law = battery.law;
      // Self-discharge goes on below what may be given.
      const double least = law.self_discharge_per_s > 0.0 ? 0.0 : std::min(law.least_percent, battery.start_percent);
      charge_.emplace(least, std::max(law.full_percent, battery.start_percent));
    }
  }

  SearchResult find(std::vector<double> x) {
    if (system_.description().battery && !map_.has_charge()) x.back() = system_.description().battery->start_percent;
    ControlState controls = map_.no_memory();
    int unlocked = 0;
    while (map_.count() < options_.most_cycles) {
      const double finer = map_.finer();
      cycle_ = map_(x, controls);
      if (cycle_.chatter) return switching_goes_on();
      controls = cycle_.end_controls;
      if (!locked()) {
        if (++unlocked > most_unlocked) return switching_goes_on();
        x = cycle_.end_x;
        best_distance_ = HUGE_VAL;
        continue;
      }
      if (size() > 0) take_step();
      if (distance_ <= close() && finer >= map_.finer()) {
        if (map_.closes(cycle_) || finer >= most_finer) return accepted();
        least_finer_ = std::min(most_finer, 10.0 * finer);
        map_.set_finer(least_finer_);
        continue;
      }
      x = next_state();
    }
    if (cycle_.switchings > 0) return switching_goes_on();
    SearchResult result;
    result.state.error_K = distance_;
    return result;
  }

 private:
  /// Cycles whose controls end in another state than they began with; beyond these none will repeat.
  static constexpr int most_unlocked = 25;
  /// Tolerances beyond this are round-off.
  static constexpr double most_finer = 1e4;

  double close() const { return 10.0 * system_.description().accuracy.absolute_K; }
  Eigen::Index size() const { return static_cast<Eigen::Index>(map_.stored().size()); }
  std::size_t stored(Eigen::Index k) const { return map_.stored()[static_cast<std::size_t>(k)]; }

  /// Whether what controls remember is the same at both ends of the cycle.
  bool locked() const {
    const ControlState &begin = cycle_.begin_controls, &end = cycle_.end_controls;
    if (begin.heater_on != end.heater_on || begin.tripped != end.tripped) return false;
    constexpr double same_share = 1e-6;
    for (std::size_t i = 0; i < begin.tripped.size(); ++i) {
      // A return that lies behind is one that waits for its temperature.
      const double was_s = std::max(0.0, begin.may_return_s[i]), is_s = std::max(0.0, end.may_return_s[i]);
      if (std::abs(was_s - is_s) > same_share * settings_.period_s) return false;
    }
    return true;
  }

  /// The step that the last cycle asks for, and the distance that it amounts to.
  void take_step() {
    change_.resize(size());
    for (Eigen::Index k = 0; k < size(); ++k) change_[k] = cycle_.end_x[stored(k)] - cycle_.begin_x[stored(k)];
    if (linear_.size() == 0 || cycle_.switchings != linear_switchings_) linearise();
    const double before = std::exchange(distance_, 0.0);
    solve_step();
    // Plain cycles need the map for their end alone.
    const bool refresh = options_.preconditioned ? distance_ > 0.1 * before : map_.count() % 10 == 0;
    if (!refresh || distance_ <= close() || linear_at_ == map_.count()) return;
    linearise();
    solve_step();
  }

  void linearise() {
    linear_ = map_.linearised(cycle_);
    linear_switchings_ = cycle_.switchings;
    linear_at_ = map_.count();
    linear_distance_ = change_.cwiseAbs().maxCoeff();
    round_off_ = map_.linear_round_off();
    const Eigen::EigenSolver<Eigen::MatrixXd> modes(linear_, true);
    magnitudes_ = modes.eigenvalues().cwiseAbs();
    vectors_ = modes.eigenvectors().cwiseAbs();
    // What a cycle is wrong by counts 1 / (1 - multiplier) times.
    double slowest = 0.0;
    for (const double magnitude : magnitudes_) {
      if (1.0 - magnitude > round_off_) slowest = std::max(slowest, magnitude);
    }
    map_.set_finer(std::clamp(1.0 / (1.0 - slowest), least_finer_, most_finer));
  }

  void solve_step() {
    const Eigen::MatrixXd away = Eigen::MatrixXd::Identity(size(), size()) - linear_;
    if (charge_) {
      step_with_charge(away);
    } else {
      step_ = away.partialPivLu().solve(change_);
    }
    if (!step_.allFinite()) step_ = change_;
    distance_ = step_.cwiseAbs().maxCoeff();
  }

  /// The charge is the last unknown. It may have no rate of its own, so its step is found apart, after everything else
  /// has been eliminated from its row; then the rest follows it.
  void step_with_charge(const Eigen::MatrixXd& away) {
    const Eigen::Index rest = size() - 1;
    const auto block = away.topLeftCorner(rest, rest).partialPivLu();
    const Eigen::VectorXd settled = rest > 0 ? Eigen::VectorXd(block.solve(change_.head(rest))) : Eigen::VectorXd();
    const Eigen::VectorXd follow =
        rest > 0 ? Eigen::VectorXd(block.solve(away.topRightCorner(rest, 1))) : Eigen::VectorXd();
    const Eigen::RowVectorXd row = away.row(rest).head(rest);
    const double stiffness = away(rest, rest) - row.dot(follow);
    const double gain = change_[rest] - row.dot(settled);
    const double percent = cycle_.begin_x.back();
    // Of one cycle the charge learns once, also if the map is worked out anew.
    if (step_at_ == map_.count()) {
      *charge_ = charge_before_;
    } else {
      charge_before_ = *charge_;
    }
    step_at_ = map_.count();
    const double next = charge_->next(percent, gain, stiffness, round_off_, 10.0 * map_.options().absolute_tolerance);
    step_.resize(size());
    step_[rest] = next - percent;
    step_.head(rest) = settled - follow * step_[rest];
  }

  /// Where to go from the state of the last cycle, or from the best one so far if that was better.
  std::vector<double> next_state() {
    if (!options_.preconditioned) return cycle_.end_x;
    const bool between_ends = charge_ && charge_->bracketed();
    const bool better = distance_ < best_distance_ || between_ends;
    if (better) {
      best_distance_ = distance_;
      best_x_ = cycle_.begin_x;
      best_end_ = cycle_.end_x;
      best_step_ = step_;
      failures_ = 0;
      return moved(best_x_, best_step_);
    }
    ++failures_;
    if (failures_ == 1) return moved(best_x_, 0.3 * best_step_);
    // Nature goes on from here; a cycle from the best state is never worse than nothing.
    failures_ = 0;
    best_distance_ = HUGE_VAL;
    return best_end_;
  }

  /// The state one step further, shortened so that no part of the tile loses or gains half of its temperature.
  std::vector<double> moved(const std::vector<double>& from, const Eigen::VectorXd& step) const {
    constexpr double most_share = 0.5;
    double share = 1.0;
    for (Eigen::Index k = 0; k < size(); ++k) {
      const int i = static_cast<int>(stored(k));
      if (i >= system_.network().unknown_count()) continue;
      const network::Node& node = system_.network().node(system_.network().node_of_unknown(i));
      const bool melts = node.kind == network::NodeKind::melting;
      if (melts && from[stored(k)] + step[k] > most_share * node.melting.solidus_K()) continue;
      const double most_K = most_share * std::abs(from[stored(k)]);
      if (std::abs(step[k]) > most_K) share = std::min(share, most_K / std::abs(step[k]));
    }
    std::vector<double> to = cycle_.end_x;  // massless nodes: a first guess
    for (Eigen::Index k = 0; k < size(); ++k) to[stored(k)] = from[stored(k)] + share * step[k];
    return to;
  }

  SearchResult switching_goes_on() const {
    SearchResult result;
    result.state.cycles = map_.count();
    result.state.error_K = distance_;
    const bool tripped = cycle_.trips > 0 || cycle_.begin_controls.tripped != cycle_.end_controls.tripped;
    const bool heaters_lock =
        cycle_.switchings <= 2 * cycle_.trips + 2 && cycle_.begin_controls.heater_on == cycle_.end_controls.heater_on;
    const bool by_trips = tripped && (heaters_lock || !settings_.thermostats_switch);
    result.end = by_trips ? SearchEnd::trips_go_on : SearchEnd::heaters_go_on;
    return result;
  }

  SearchResult accepted() {
    map_.require_closed(cycle_);
    // The map of a cycle far from the answer says little about it.
    constexpr double near = 0.1;
    if (size() > 0 && linear_at_ < map_.count() && linear_distance_ > near) linearise();
    SearchResult result;
    result.end = SearchEnd::found;
    PeriodicState& state = result.state;
    state.x = cycle_.begin_x;
    state.ranges = cycle_.ranges;
    state.lit_ranges = cycle_.lit_ranges;
    state.peaks = cycle_.peaks;
    state.light_J = cycle_.books.light_J;
    state.age_change = cycle_.age_change;
    state.cycles = map_.count();
    state.error_K = distance_;
    state.books = cycle_.books;
    state.battery = cycle_.battery;
    state.heaters_J = cycle_.heaters_J;
    state.lasers_asked_J = cycle_.lasers_asked_J;
    state.lasers_given_J = cycle_.lasers_given_J;
    state.switchings = cycle_.switchings;
    state.trips = cycle_.trips;
    state.charge_end = charge_end();
    for (const std::size_t i : map_.stored()) state.map_unknowns.push_back(static_cast<int>(i));
    state.map = linear_;
    note_multipliers(state);
    return result;
  }

  ChargeEnd charge_end() const {
    if (!charge_) return ChargeEnd::no_battery;
    const devices::BatteryLaw& law = system_.description().battery->law;
    const double percent = cycle_.begin_x.back();
    if (charge_->neutral() && percent > law.least_percent && percent < law.full_percent) return ChargeEnd::anywhere;
    if (cycle_.battery->most_percent > law.full_percent - law.taper_percent) return ChargeEnd::near_full;
    if (cycle_.battery->least_percent < law.least_percent + law.derating_percent) return ChargeEnd::near_least;
    return ChargeEnd::between;
  }

  /// The largest multipliers, each with the unknown that holds most of its mode: the modes of a network are at right
  /// angles in its temperatures times the roots of its capacities.
  void note_multipliers(PeriodicState& state) const {
    if (size() == 0) return;
    const std::vector<double> capacity = solvers::rate_coefficients(system_, settings_.first_s, cycle_.begin_x);
    std::vector<Eigen::Index> order;
    for (Eigen::Index m = 0; m < size(); ++m) order.push_back(m);
    std::sort(order.begin(), order.end(), [&](auto a, auto b) { return magnitudes_[a] > magnitudes_[b]; });
    for (const Eigen::Index m : order) {
      Eigen::Index most = 0;
      double most_share = -1.0;
      for (Eigen::Index k = 0; k < size(); ++k) {
        const double share = std::sqrt(capacity[stored(k)]) * vectors_(k, m);
        if (share > most_share) most = k;
        most_share = std::max(most_share, share);
      }
      Multiplier multiplier{magnitudes_[m], system_.unknown_name(static_cast<int>(stored(most)))};
      const bool free_charge = state.charge_end == ChargeEnd::anywhere && most == size() - 1 &&
                               std::abs(1.0 - multiplier.magnitude) <= round_off_;
      if (state.slowest_unknown.empty() && !free_charge) {
        state.slowest_multiplier = multiplier.magnitude;
        state.slowest_unknown = multiplier.unknown;
      }
      if (state.multipliers.size() < most_multipliers) state.multipliers.push_back(std::move(multiplier));
    }
    const double slowest = state.slowest_multiplier;
    const double per_cycle = slowest > 0.0 ? -std::log(slowest) : HUGE_VAL;
    state.slowest_s = per_cycle > 0.0 ? settings_.period_s / per_cycle : HUGE_VAL;
    state.cycles_to_95_percent = per_cycle > 0.0 ? -std::log(0.05) / per_cycle : HUGE_VAL;
  }

  tile::TileSystem& system_;
  CycleSettings settings_;
  SearchOptions options_;
  CycleMap map_;
  Cycle cycle_;
  std::optional<ChargeStep> charge_;
  ChargeStep charge_before_{0.0, 0.0};
  int step_at_ = 0;  ///< number of the cycle that the last step was worked out from
  Eigen::VectorXd change_, step_;
  double distance_ = 0.0;
  Eigen::MatrixXd linear_, vectors_;
  Eigen::VectorXd magnitudes_;
  long linear_switchings_ = 0;
  int linear_at_ = 0;  ///< number of the cycle that the map belongs to
  double linear_distance_ = 0.0;
  double round_off_ = 0.0;
  double least_finer_ = 10.0;
  std::vector<double> best_x_, best_end_;
  Eigen::VectorXd best_step_;
  double best_distance_ = HUGE_VAL;
  int failures_ = 0;
};

}  // namespace

SearchResult search_periodic(tile::TileSystem& system, const CycleSettings& settings, std::vector<double> guess,
                             const SearchOptions& options) {
  if (guess.empty()) guess = first_state(system, settings);
  return Search(system, settings, options).find(std::move(guess));
}

}  // namespace tileflux::studies
