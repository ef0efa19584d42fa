#include "tileflux/studies/run.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "studies/controller.h"
#include "studies/extremes.h"
#include "studies/modes.h"
#include "studies/tile_integrands.h"
#include "tileflux/studies/balance.h"
#include "tileflux/tile/schedule.h"

namespace tileflux::studies {

namespace {

constexpr std::array columns{
    SeriesColumn{"beam", "1", "1 while the beam is on"},
    SeriesColumn{"throttle", "1", "factor on the commanded drive by temperature"},
    SeriesColumn{"light_out_W", "W", "laser light that leaves the tile"},
    SeriesColumn{"laser_input_W", "W", "electrical input of all lasers"},
    SeriesColumn{"electricity_available_W", "W", "what the cells could give"},
    SeriesColumn{"electricity_drawn_W", "W", "what is taken from the cells"},
    SeriesColumn{"conditioning_loss_W", "W", "loss of the power conditioning"},
    SeriesColumn{"sunlight_absorbed_W", "W", "sunlight absorbed by the tile"},
    SeriesColumn{"infrared_to_space_W", "W", "heat radiated to space, net"},
};

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
    controller_.set_commands(0.0);
    transient_.start(0.0, begin);
    const std::vector<double> begin_x(transient_.state().begin(), transient_.state().end());
    extremes_.begin(0.0, begin_x);
    after_switch();

    double stop_s = 0.0;
    while (transient_.time_s() < settings.duration_s && result_.outcome == RunOutcome::complete) {
      stop_s = std::min(settings.duration_s, controller_.next_edge_s(transient_.time_s()));
      const double begin_s = transient_.time_s();
      const bool beam = system_.mode().beam;
      const solvers::Arrival arrival = transient_.advance(stop_s, [&](const solvers::Step& step) { return see(step); });
      if (beam) result_.beam_s += transient_.time_s() - begin_s;
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
      if (switched) restart();
      after_switch();
    }
    finish(begin_x);
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

  /// Rows inside a step, its extremes, and the question whether to go on.
  bool see(const solvers::Step& step) {
    extremes_.see(step);
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
    if (controller_.trip_where_broken(time_s, transient_.state())) restart();
    extremes_.see(time_s, transient_.state());
    controller_.update_states(time_s, transient_.state());
    for (RunEvent& event : controller_.take_events()) {
      if (sink_ != nullptr) sink_->event(event);
      ++result_.event_count;
      ++result_.event_counts[event.what];
      if (result_.events.size() < most_kept_events) result_.events.push_back(std::move(event));
    }
    note_light(transient_.state());
    if (next_row_s() <= time_s) emit(next_row_s(), transient_.state());
  }

  double next_row_s() const { return static_cast<double>(rows_) * system_.description().run.output_every_s; }

  void note_light(std::span<const double> x) {
    if (!system_.mode().beam) return;
    const double light_W = system_.chain_flows(x).light_out;
    result_.most_light_W = lit_ ? std::max(result_.most_light_W, light_W) : light_W;
    result_.least_light_W = lit_ ? std::min(result_.least_light_W, light_W) : light_W;
    lit_ = true;
  }

  void emit(double time_s, std::span<const double> x) {
    ++rows_;
    note_light(x);
    if (sink_ == nullptr) return;
    temperatures_.clear();
    for (network::NodeId id = 0; id < system_.network().node_count(); ++id)
      temperatures_.push_back(system_.network().temperature_K(id, x));
    const devices::ChainFlows<double> chain = system_.chain_flows(x);
    const tile::Ledger ledger = system_.ledger(x);
    const std::array<double, columns.size()> scalars{system_.mode().beam ? 1.0 : 0.0,
                                                     chain.throttle,
                                                     chain.light_out,
                                                     chain.laser_input,
                                                     chain.available,
                                                     chain.drawn,
                                                     chain.conditioning_loss,
                                                     ledger.absorbed_W,
                                                     ledger.to_space_W};
    sink_->row({time_s, temperatures_, scalars});
  }

  void finish(const std::vector<double>& begin_x) {
    result_.end_s = transient_.time_s();
    result_.final_x.assign(transient_.state().begin(), transient_.state().end());
    const auto integral = transient_.integrals();
    result_.books = {
        integral[0], integral[1], integral[2], integral[3], system_.network().stored_J(begin_x, result_.final_x),
        integral[4], integral[5]};
    result_.mean_light_W = result_.end_s > 0.0 ? result_.books.light_J / result_.end_s : 0.0;
    result_.ranges = extremes_.ranges();
    result_.margins = margins_over(system_, result_.ranges);
    result_.binding = binding(result_.margins);
    result_.counts = transient_.counts();
    result_.accuracy = system_.description().accuracy;
    const solvers::TransientOptions used = transient_options(system_, finer);
    result_.used_accuracy = {used.relative_tolerance, used.absolute_tolerance};
    result_.trips = controller_.trips();
    result_.warnings = validity_warnings(system_, result_.ranges, extremes_.lit_ranges());
    if (controller_.chatter()) result_.warnings.push_back(*controller_.chatter());
    double capacity_J_per_K = 0.0;
    for (const double c : solvers::rate_coefficients(system_, result_.end_s, result_.final_x)) capacity_J_per_K += c;
    if (capacity_J_per_K > 0.0) result_.error_K = std::abs(result_.books.residual_J()) / capacity_J_per_K;
    // Where nothing passes in or out (an isolated tile), what is left is the last digits of the temperatures.
    double hottest_K = 0.0;
    for (const double temperature_K : result_.final_x) hottest_K = std::max(hottest_K, temperature_K);
    constexpr double round_off = 1e-12;
    const bool beyond_round_off = capacity_J_per_K <= 0.0 || result_.error_K > round_off * hottest_K;
    if (result_.books.relative() > transient_ledger_bound && beyond_round_off) {
      char text[192];
      std::snprintf(
          text, sizeof text,
          "the energy books of the run do not close: %.3g J of %.6g J (%.2g of it), or %.2g K over the whole tile",
          result_.books.residual_J(), result_.books.incoming_J, result_.books.relative(), result_.error_K);
      throw Error(Code::ledger_open, text);
    }
  }

  tile::TileSystem& system_;
  RunSink* sink_;
  const RunOptions& options_;
  Extremes extremes_;
  TileIntegrands integrands_;
  Controller controller_;
  solvers::Transient transient_;
  RunResult result_;
  std::vector<double> inside_, temperatures_;
  long rows_ = 0;
  bool lit_ = false;
};

}  // namespace

std::span<const SeriesColumn> series_columns() { return columns; }

double EnergyBooks::relative() const {
  const double through_J = std::max(
      {std::abs(incoming_J), std::abs(light_J), std::abs(to_space_J), std::abs(to_fixed_J), std::abs(stored_J)});
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
