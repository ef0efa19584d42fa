#include "tileflux/studies/run.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "studies/closing.h"
#include "studies/controller.h"
#include "studies/extremes.h"
#include "studies/modes.h"
#include "studies/series_row.h"
#include "studies/tile_integrands.h"
#include "studies/warning.h"
#include "tileflux/studies/balance.h"
#include "tileflux/tile/failure.h"
#include "tileflux/tile/schedule.h"

namespace tileflux::studies {

namespace {

/// One run from start to end.
class Runner {
 public:
  Runner(tile::TileSystem& system, RunSink* sink, const RunOptions& options)
      : system_(system),
        sink_(sink),
        options_(options),
        extremes_(system),
        integrands_(system),
        controller_(system),
        transient_(system, &controller_, &integrands_, transient_options(system, finer)) {}

  RunResult go() {
    const tile::RunSettings& settings = system_.description().run;
    refuse_endless_switching();
    const std::vector<double> begin = starting_state(system_);
    controller_.set_commands(0.0, begin);
    transient_.start(0.0, begin);
    const std::vector<double> begin_x(transient_.state().begin(), transient_.state().end());
    extremes_.begin(0.0, begin_x);
    if (system_.description().battery) {
      const double begin_percent = system_.charge_percent(begin_x);
      result_.battery = BatteryUse{begin_percent, begin_percent, begin_percent, begin_percent};
    }
    after_switch();

    double stop_s = 0.0;
    while (transient_.time_s() < settings.duration_s && result_.outcome == RunOutcome::complete) {
      stop_s = std::min(
          {settings.duration_s, controller_.next_edge_s(transient_.time_s()), next_failure_s(), next_ageing_s()});
      const double begin_s = transient_.time_s();
      const bool beam = system_.mode().beam;
      const solvers::Arrival arrival = transient_.advance(stop_s, [&](const solvers::Step& step) { return see(step); });
      if (beam) result_.beam_s += transient_.time_s() - begin_s;
      note_heaters(transient_.time_s() - begin_s);
      if (arrival == solvers::Arrival::observer) {
        result_.outcome = RunOutcome::interrupted;
        break;
      }
      // At the very end nothing is switched: the state would have to be made consistent with what comes after the run.
      const bool ended = transient_.time_s() >= settings.duration_s;
      bool switched = false;
      if (arrival == solvers::Arrival::root) {
        switched = controller_.take_roots(transient_.time_s(), transient_.state(), transient_.roots());
      } else if (!ended) {
        switched = controller_.take_edge(transient_.time_s(), transient_.state());
      }
      if (!ended && next_failure_s() <= transient_.time_s()) switched = break_what_is_due() || switched;
      if (!ended && next_ageing_s() <= transient_.time_s()) switched = age() || switched;
      if (switched) restart();
      after_switch();
    }
    finish(begin_x);
    if (changed_) {
      const tile::Mode mode = system_.mode();
      system_ = tile::TileSystem(sound_, system_);
      system_.set_mode(mode);
    }
    return std::move(result_);
  }

 private:
  /// Start-up after a switch errs to one side, and the energy books add that up over all switches: a run is carried ten
  /// times finer than its temperatures are promised.
  static constexpr double finer = 10.0;

  /// Each switch is a restart of the solver: millions of them are a slip of the pen, and would go on for hours.
  void refuse_endless_switching() const {
    constexpr double most_switches = 1e6;
    const tile::Case& description = system_.description();
    double switches = 0.0;
    if (description.campaign)
      switches += 2.0 * static_cast<double>(
                            tile::Timetable(*description.campaign, description.run.duration_s).occurrences().size());
    const auto count = [&](const tile::TimePattern& pattern) {
      if (pattern.on_s < pattern.every_s) switches += 2.0 * description.run.duration_s / pattern.every_s;
    };
    if (description.beam && description.beam->pattern) count(*description.beam->pattern);
    for (const tile::Load& load : description.loads) {
      if (load.when == tile::Load::When::pattern) count(load.pattern);
    }
    if (switches <= most_switches) return;
    char text[128];
    std::snprintf(text, sizeof text,
                  "the run would switch %.3g times, more than %.0e: shorten `run.duration` or lengthen the period",
                  switches, most_switches);
    throw Error(Code::value_out_of_range, text);
  }

  double next_failure_s() const {
    const std::vector<tile::Failure>& failures = system_.description().failures;
    double next_s = tile::never_s;
    for (const tile::Failure& failure : failures) next_s = std::min(next_s, failure.at_s);
    return next_s;
  }

  /// Goes on with the tile as it is after the failures that are due. Nodes and their order stay, and so does the state.
  bool break_what_is_due() {
    const double time_s = transient_.time_s();
    for (const tile::Failure& failure : system_.description().failures) {
      if (failure.at_s > time_s) continue;
      std::string what(tile::name_of(failure.what));
      if (!failure.where.empty()) what += ' ' + failure.where;
      tell({time_s, "failure", what, 0.0});
    }
    const tile::Case after = tile::after_failures(system_.description(), time_s);
    const std::vector<bool> changed = tile::take_over(system_.description(), after, age_);
    for (std::size_t k = 0; k < changed.size(); ++k) {
      if (changed[k]) age_integrals_[k] = transient_.integrals()[TileIntegrands::powers + k];
    }
    rebuild(after);
    return true;
  }

  void rebuild(const tile::Case& description) {
    const tile::Mode mode = system_.mode();
    system_ = tile::TileSystem(description, system_);
    system_.set_mode(mode);
    changed_ = true;
  }

  double next_ageing_s() const { return age_.empty() ? tile::never_s : aged_s_ + sound_.ageing->update_s; }

  /// The states of ageing now: those at the last update and what their rates have added up to since.
  std::vector<double> present_age() const {
    std::vector<double> age = age_;
    for (std::size_t k = 0; k < age.size(); ++k)
      age[k] += transient_.integrals()[TileIntegrands::powers + k] - age_integrals_[k];
    return age;
  }

  /// Lets the wear so far take effect, and half of what the coming interval is likely to add: constant over it, this is
  /// right to the second order in its length.
  bool age() {
    std::vector<double> effective = present_age();
    const std::vector<double> before = std::exchange(age_, effective);
    for (std::size_t k = 0; k < age_.size(); ++k) effective[k] += 0.5 * (age_[k] - before[k]);
    aged_s_ = transient_.time_s();
    const auto integrals = transient_.integrals().subspan(TileIntegrands::powers);
    age_integrals_.assign(integrals.begin(), integrals.end());
    tile::Case description = system_.description();
    tile::set_age(description, effective);
    rebuild(description);
    return true;
  }

  void note_heaters(double length_s) {
    if (heater_on_s_.empty()) return;
    const tile::Case& description = system_.description();
    for (std::size_t h = 0; h < heater_on_s_.size(); ++h) {
      const std::optional<bool>& stuck = description.heaters[h].stuck;
      if (stuck ? *stuck : system_.mode().heater_on[h] > 0.0) heater_on_s_[h] += length_s;
    }
  }

  void tell(RunEvent event) {
    if (sink_ != nullptr) sink_->event(event);
    ++result_.event_count;
    ++result_.event_counts[event.what];
    if (event.what == "heater_on") ++heater_switches_[event.where];
    if (result_.events.size() < most_kept_events) result_.events.push_back(std::move(event));
  }

  void note_battery(std::span<const double> x) {
    if (!result_.battery) return;
    const double charge_percent = system_.charge_percent(x);
    result_.battery->least_percent = std::min(result_.battery->least_percent, charge_percent);
    result_.battery->most_percent = std::max(result_.battery->most_percent, charge_percent);
  }

  /// Rows inside a step, its extremes, and the question whether to go on.
  bool see(const solvers::Step& step) {
    extremes_.see(step);
    note_battery(step.end_state);
    if (options_.observer) options_.observer(step);
    while (next_row_s() < step.end_s) {
      inside_.resize(step.end_state.size());
      step.at(next_row_s(), inside_);
      emit(next_row_s(), inside_);
    }
    if (options_.progress) options_.progress(step.end_s / system_.description().run.duration_s);
    return !(options_.stop_requested && options_.stop_requested());
  }

  void restart() {
    transient_.start(transient_.time_s(), std::vector<double>(transient_.state().begin(), transient_.state().end()));
  }

  /// What belongs to the instant after a switch or root: events, extremes, light and a row that is due.
  void after_switch() {
    const double time_s = transient_.time_s();
    extremes_.see(time_s, transient_.state());
    if (controller_.switch_where_due(time_s, transient_.state())) restart();
    extremes_.see(time_s, transient_.state());
    controller_.update_states(time_s, transient_.state());
    for (RunEvent& event : controller_.take_events()) tell(std::move(event));
    note_light(time_s, transient_.state());
    if (next_row_s() <= time_s) emit(next_row_s(), transient_.state());
  }

  double next_row_s() const { return static_cast<double>(rows_) * system_.description().run.output_every_s; }

  void note_light(double time_s, std::span<const double> x) {
    if (!system_.mode().beam) return;
    const double light_W = system_.chain_flows(time_s, x).light_out;
    result_.most_light_W = lit_ ? std::max(result_.most_light_W, light_W) : light_W;
    result_.least_light_W = lit_ ? std::min(result_.least_light_W, light_W) : light_W;
    lit_ = true;
  }

  void emit(double time_s, std::span<const double> x) {
    ++rows_;
    note_light(time_s, x);
    if (sink_ == nullptr) return;
    row_.emit(*sink_, system_, time_s, x);
  }

  void finish(const std::vector<double>& begin_x) {
    result_.end_s = transient_.time_s();
    result_.final_x.assign(transient_.state().begin(), transient_.state().end());
    const auto integral = transient_.integrals();
    result_.books.incoming_J = integral[0];
    result_.books.light_J = integral[1];
    result_.books.to_space_J = integral[2];
    result_.books.to_fixed_J = integral[3];
    result_.books.stored_J = system_.network().stored_J(begin_x, result_.final_x);
    result_.books.to_battery_J = system_.battery_energy_J(result_.final_x) - system_.battery_energy_J(begin_x);
    result_.books.drawn_J = integral[4];
    result_.books.available_J = integral[5];
    result_.heaters_J = integral[6];
    note_devices();
    result_.mean_light_W = result_.end_s > 0.0 ? result_.books.light_J / result_.end_s : 0.0;
    result_.ranges = extremes_.ranges();
    result_.margins = extremes_.margins();
    if (result_.battery) result_.margins.push_back(charge_margin(system_, result_.battery->least_percent));
    result_.binding = binding(result_.margins);
    result_.next = next_after(result_.margins, result_.binding);
    result_.counts = transient_.counts();
    result_.accuracy = system_.description().accuracy;
    const solvers::TransientOptions used = transient_options(system_, finer);
    result_.used_accuracy = {used.relative_tolerance, used.absolute_tolerance};
    result_.trips = controller_.trips();
    for (Diagnostic& warning : validity_warnings(system_, Uses::transient, result_.ranges, extremes_.lit_ranges()))
      result_.warnings.push_back(std::move(warning));
    if (const auto& beam = system_.description().beam) {
      const std::vector<double> drives(system_.description().lasers.size(), beam->drive);
      for (Diagnostic& warning : drive_warnings(system_, drives)) result_.warnings.push_back(std::move(warning));
    }
    if (controller_.chatter()) result_.warnings.push_back(*controller_.chatter());
    result_.error_K = close_books(system_, result_.books, result_.end_s, result_.final_x, "run");
  }

  /// What heaters, battery and the emitting path did.
  void note_devices() {
    const tile::Case& description = system_.description();
    for (std::size_t h = 0; h < heater_on_s_.size(); ++h) {
      const tile::Heater& heater = description.heaters[h];
      const double duty = result_.end_s > 0.0 ? heater_on_s_[h] / result_.end_s : 0.0;
      result_.heaters.push_back({heater.name, duty, heater_switches_[heater.name], heater.power_W});
      if (duty > most_heater_duty) warn_of_heater(heater, duty);
    }
    const std::vector<std::string> ages = tile::age_names(sound_);
    const std::vector<double> begin_age = tile::age_of(sound_), end_age = present_age();
    for (std::size_t k = 0; k < ages.size(); ++k) result_.ageing.push_back({ages[k], begin_age[k], end_age[k]});
    if (result_.battery) result_.battery->end_percent = system_.charge_percent(result_.final_x);
    if (extremes_.lit_ranges().empty()) return;
    for (const network::NodeId id : system_.emitting_path()) {
      const TemperatureRange& range = extremes_.lit_ranges()[static_cast<std::size_t>(id)];
      result_.emitting_path.push_back({range.node, range.lowest_K, range.highest_K, extremes_.fastest_K_per_s(id)});
    }
  }

  void warn_of_heater(const tile::Heater& heater, double duty) {
    char text[192];
    std::snprintf(text, sizeof text,
                  "heater '%s' was on for %.3g %% of the time: above 80 %% it has less than 25 %% in hand",
                  heater.name.c_str(), 100.0 * duty);
    result_.warnings.push_back(warning_of(Code::heater_authority, text));
  }

  tile::TileSystem& system_;
  const tile::Case sound_ = system_.description();  ///< before anything broke during the run
  bool changed_ = false;
  std::vector<double> age_ = tile::age_of(system_.description());
  std::vector<double> age_integrals_ = std::vector<double>(age_.size(), 0.0);
  double aged_s_ = 0.0;
  RunSink* sink_;
  const RunOptions& options_;
  Extremes extremes_;
  TileIntegrands integrands_;
  Controller controller_;
  solvers::Transient transient_;
  RunResult result_;
  std::vector<double> inside_;
  SeriesRow row_;
  std::vector<double> heater_on_s_ = std::vector<double>(system_.description().heaters.size(), 0.0);
  std::map<std::string, long> heater_switches_;
  long rows_ = 0;
  bool lit_ = false;
};

}  // namespace

double EnergyBooks::relative() const {
  const double through_J = std::max({std::abs(incoming_J), std::abs(light_J), std::abs(to_space_J),
                                     std::abs(to_fixed_J), std::abs(stored_J), std::abs(to_battery_J)});
  return through_J > 0.0 ? std::abs(residual_J()) / through_J : 0.0;
}

std::vector<double> starting_state(tile::TileSystem& system) {
  const tile::Case& description = system.description();
  system.set_mode(steady_mode(description, description.start.from == tile::Start::From::beam_on_balance, true));
  std::vector<double> x = system.stated_start();
  if (description.start.from != tile::Start::From::temperature) x = operating_point(system).x;
  return x;
}

RunResult run(tile::TileSystem& system, RunSink* sink, const RunOptions& options) {
  return Runner(system, sink, options).go();
}

}  // namespace tileflux::studies
