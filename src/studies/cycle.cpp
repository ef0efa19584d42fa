#include "studies/cycle.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "studies/modes.h"
#include "tileflux/tile/schedule.h"

namespace tileflux::studies {

CycleMap::CycleMap(tile::TileSystem& system, const CycleSettings& settings)
    : system_(system), settings_(settings), integrands_(system) {
  const tile::Mode before = system.mode();
  for (const bool beam : {true, false}) {
    system.set_mode(steady_mode(system.description(), beam, settings.throttled));
    power_scale_W_ = std::max(power_scale_W_, system.power_scale_W());
  }
  system.set_mode(before);
  const auto stores = system.differential();
  for (std::size_t i = 0; i < stores.size(); ++i) {
    const bool charge = static_cast<int>(i) >= system.network().unknown_count();
    if (stores[i] && (!charge || settings.battery_acts)) stored_.push_back(i);
  }
}

solvers::TransientOptions CycleMap::options() const {
  const tile::Accuracy& accuracy = system_.description().accuracy;
  solvers::TransientOptions options;
  options.relative_tolerance = accuracy.relative / finer_;
  options.absolute_tolerance = accuracy.absolute_K / finer_;
  return options;
}

ControlState CycleMap::no_memory() const {
  const std::size_t limits = system_.limits().size();
  return {std::vector<double>(system_.description().heaters.size(), 0.0), std::vector<char>(limits, 0),
          std::vector<double>(limits, 0.0)};
}

ControlSettings CycleMap::control_settings() const {
  ControlSettings controls;
  controls.beam = tile::TimePattern{settings_.on_s, settings_.period_s / settings_.pulses, settings_.first_s};
  controls.throttled = settings_.throttled;
  controls.trips = settings_.trips;
  controls.thermostats = settings_.thermostats_switch;
  controls.battery = settings_.battery_acts;
  controls.reports = false;
  if (!settings_.surroundings_move) {
    const tile::Mode steady = steady_mode(system_.description(), false, false);
    controls.surroundings = steady.surroundings;
    controls.instant_s = steady.instant_s;
  }
  controls.mean_load_share = mean_pattern_shares(system_.description());
  constexpr double round_off = 1e-9;
  for (std::size_t i = 0; i < controls.mean_load_share.size(); ++i) {
    const tile::Load& load = system_.description().loads[i];
    if (load.when != tile::Load::When::pattern || !settings_.loads_follow_patterns) continue;
    const double times = settings_.period_s / load.pattern.every_s;
    if (times > 0.5 && std::abs(times - std::round(times)) <= round_off * times) controls.mean_load_share[i] = -1.0;
  }
  return controls;
}

/// One cycle on its way.
class CycleMap::Runner {
 public:
  Runner(CycleMap& map, const ControlState& controls)
      : map_(map),
        system_(map.system_),
        begin_s_(map.settings_.first_s),
        end_s_(map.settings_.first_s + map.settings_.period_s),
        controller_(system_, map.control_settings()),
        extremes_(system_),
        transient_(system_, controller_.count() > 0 ? &controller_ : nullptr, &map.integrands_, map.options()) {
    cycle_.begin_controls = controls;
  }

  Cycle go(const std::vector<double>& begin_x) {
    begin(begin_x);
    while (transient_.time_s() < end_s_ && !cycle_.chatter) advance();
    cycle_.end_x = state();
    cycle_.end_controls = shifted(controller_.state(), -end_s_);
    cycle_.trips = controller_.trips();
    finish();
    return std::move(cycle_);
  }

 private:
  std::vector<double> state() const { return {transient_.state().begin(), transient_.state().end()}; }
  std::vector<double> rate() const { return {transient_.rate().begin(), transient_.rate().end()}; }

  static ControlState shifted(ControlState controls, double by_s) {
    for (std::size_t i = 0; i < controls.tripped.size(); ++i)
      controls.may_return_s[i] = controls.tripped[i] ? controls.may_return_s[i] + by_s : 0.0;
    return controls;
  }

  void begin(const std::vector<double>& begin_x) {
    controller_.remember(shifted(cycle_.begin_controls, begin_s_));
    controller_.take_edge(begin_s_, begin_x);
    controller_.set_commands(begin_s_, begin_x);
    transient_.start(begin_s_, begin_x);
    extremes_.begin(begin_s_, transient_.state());
    settle();
    cycle_.begin_x = state();
    if (system_.description().battery) {
      const double percent = system_.charge_percent(cycle_.begin_x);
      cycle_.battery = BatteryUse{percent, percent, percent, percent};
    }
  }

  /// What is due at once after a switch: thresholds that lie behind already.
  void settle() {
    extremes_.see(transient_.time_s(), transient_.state());
    if (controller_.switch_where_due(transient_.time_s(), transient_.state())) {
      restart();
      extremes_.see(transient_.time_s(), transient_.state());
    }
    cycle_.trace.modes.push_back(system_.mode());
    fresh_ = true;
  }

  void restart() { transient_.start(transient_.time_s(), state()); }

  void advance() {
    const double stop_s = std::min(end_s_, controller_.next_edge_s(transient_.time_s()));
    const solvers::Arrival arrival = transient_.advance(stop_s, [&](const solvers::Step& step) {
      see(step);
      return true;
    });
    const double time_s = transient_.time_s();
    // At the very end nothing is switched: that belongs to the next cycle.
    if (time_s >= end_s_) return;
    const ControlState before = controller_.state();
    CycleTrace::Switch made;
    bool switched = true;
    if (arrival == solvers::Arrival::root) {
      made.node = controller_.switching_node(transient_.roots());
      switched = controller_.take_roots(time_s, transient_.state(), transient_.roots());
    } else {
      controller_.take_edge(time_s, transient_.state());
    }
    if (!switched) return;
    made.after = cycle_.trace.stretches.size();
    made.x = state();
    made.rate_before = rate();
    made.mode = cycle_.trace.modes.size() - 1;
    made.time_s = time_s;
    restart();
    settle();
    made.rate_after = rate();
    note_controls(before, made);
    cycle_.trace.switches.push_back(std::move(made));
    cycle_.chatter = cycle_.switchings > most_switchings;
  }

  void note_controls(const ControlState& before, CycleTrace::Switch& made) {
    const ControlState after = controller_.state();
    for (std::size_t h = 0; h < after.heater_on.size(); ++h)
      cycle_.switchings += after.heater_on[h] != before.heater_on[h] ? 1 : 0;
    for (std::size_t i = 0; i < after.tripped.size(); ++i) {
      if (after.tripped[i] == before.tripped[i]) continue;
      ++cycle_.switchings;
      (after.tripped[i] ? made.tripped : made.returned).push_back(i);
    }
  }

  void see(const solvers::Step& step) {
    extremes_.see(step);
    if (map_.observer_) map_.observer_(step);
    if (cycle_.battery) {
      const double percent = system_.charge_percent(step.end_state);
      cycle_.battery->least_percent = std::min(cycle_.battery->least_percent, percent);
      cycle_.battery->most_percent = std::max(cycle_.battery->most_percent, percent);
    }
    // Start-up after a switch takes many steps of next to no length: they are put together.
    constexpr double shortest_share = 1.0 / 500.0;
    std::vector<CycleTrace::Stretch>& stretches = cycle_.trace.stretches;
    if (fresh_ || stretches.back().length_s >= shortest_share * map_.settings_.period_s) {
      stretches.push_back({step.begin_s, 0.0, {}, cycle_.trace.modes.size() - 1});
      stretch_begin_.assign(step.begin_state.begin(), step.begin_state.end());
      fresh_ = false;
    }
    CycleTrace::Stretch& stretch = stretches.back();
    stretch.length_s = step.end_s - stretch.begin_s;
    stretch.x.resize(stretch_begin_.size());
    for (std::size_t i = 0; i < stretch.x.size(); ++i) stretch.x[i] = 0.5 * (stretch_begin_[i] + step.end_state[i]);
  }

  void finish() {
    cycle_.ranges = extremes_.ranges();
    cycle_.peaks = extremes_.peaks();
    cycle_.lit_ranges.assign(extremes_.lit_ranges().begin(), extremes_.lit_ranges().end());
    const auto integral = transient_.integrals();
    EnergyBooks& books = cycle_.books;
    books.incoming_J = integral[0];
    books.light_J = integral[1];
    books.to_space_J = integral[2];
    books.to_fixed_J = integral[3];
    books.stored_J = system_.network().stored_J(cycle_.begin_x, cycle_.end_x);
    // A battery at rest is held at its charge from outside, and no book counts that.
    if (map_.has_charge())
      books.to_battery_J = system_.battery_energy_J(cycle_.end_x) - system_.battery_energy_J(cycle_.begin_x);
    books.drawn_J = integral[4];
    books.available_J = integral[5];
    cycle_.heaters_J = integral[6];
    cycle_.lasers_asked_J = integral[7];
    cycle_.lasers_given_J = integral[8];
    const auto ages = integral.subspan(TileIntegrands::powers);
    cycle_.age_change.assign(ages.begin(), ages.end());
    if (cycle_.battery) cycle_.battery->end_percent = system_.charge_percent(cycle_.end_x);
  }

  CycleMap& map_;
  tile::TileSystem& system_;
  double begin_s_, end_s_;
  Controller controller_;
  Extremes extremes_;
  solvers::Transient transient_;
  Cycle cycle_;
  std::vector<double> stretch_begin_;
  bool fresh_ = true;  ///< whether the next step begins a stretch
};

Cycle CycleMap::operator()(const std::vector<double>& begin_x, const ControlState& controls) {
  ++count_;
  return Runner(*this, controls).go(begin_x);
}

bool CycleMap::closes(const Cycle& cycle) const {
  if (cycle.books.relative() <= transient_ledger_bound) return true;
  // Where next to nothing passes, what is left is the last digits of the temperatures.
  constexpr double round_off = 1e-12;
  const std::vector<double> capacity =
      solvers::rate_coefficients(system_, settings_.first_s + settings_.period_s, cycle.end_x);
  double digits_J = 0.0;
  for (int i = 0; i < system_.network().unknown_count(); ++i)
    digits_J += round_off * capacity[static_cast<std::size_t>(i)] * std::abs(cycle.end_x[static_cast<std::size_t>(i)]);
  return std::abs(cycle.books.residual_J()) <= digits_J;
}

void CycleMap::require_closed(const Cycle& cycle) const {
  if (closes(cycle)) return;
  char text[192];
  std::snprintf(text, sizeof text,
                "the energy books of the cycle of %.6g s do not close: %.3g J of %.6g J (%.2g of it)",
                settings_.period_s, cycle.books.residual_J(), cycle.books.incoming_J, cycle.books.relative());
  throw Error(Code::ledger_open, text);
}

}  // namespace tileflux::studies
