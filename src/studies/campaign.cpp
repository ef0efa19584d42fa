#include "tileflux/studies/campaign.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "studies/campaign_accounts.h"
#include "studies/campaign_cycles.h"
#include "studies/campaign_light.h"
#include "studies/closing.h"
#include "studies/controller.h"
#include "studies/extremes.h"
#include "studies/linear.h"
#include "studies/modes.h"
#include "studies/series_row.h"
#include "tileflux/tile/failure.h"
#include "tileflux/tile/schedule.h"

namespace tileflux::studies {

namespace {

std::size_t most_open(const tile::Timetable& timetable) {
  std::size_t most = 0;
  for (long piece = 0; timetable.end_s(piece) != tile::never_s; ++piece)
    most = std::max(most, timetable.open(piece).size());
  return most;
}

const tile::TileSystem& with_campaign(const tile::TileSystem& system) {
  const tile::Case& description = system.description();
  if (!description.campaign) throw Error(Code::key_missing, "the case has no `campaign`: who asks for light, and when");
  if (!description.beam) throw Error(Code::key_missing, "a campaign needs a beam, which says the most drive");
  if (description.ageing) {
    throw Error(
        Code::key_conflict,
        "`ageing` is not carried by `campaign`, which takes over cycles that repeat: `run` follows the timetable "
        "and wears the tile");
  }
  return system;
}

/// What adds up over time beside the energies of the windows.
struct Tally {
  std::vector<double> integrals;
  double available_s = 0.0, beam_s = 0.0;
  std::map<std::string_view, long> events;
  long trips = 0;

  /// Adds `times` of what has come to it since `before`.
  void grow(const Tally& before, double times) {
    const Tally now = *this;
    for (std::size_t i = 0; i < integrals.size(); ++i) integrals[i] += times * (now.integrals[i] - before.integrals[i]);
    available_s += times * (now.available_s - before.available_s);
    beam_s += times * (now.beam_s - before.beam_s);
    const long whole = std::lround(times);
    for (auto& [what, count] : events) {
      const auto found = before.events.find(what);
      count += whole * (count - (found == before.events.end() ? 0 : found->second));
    }
    trips += whole * (now.trips - before.trips);
  }
};

/// What a window was given in a piece of the timetable.
struct Entry {
  long piece;
  std::size_t slot;
  Served served;
};

class CampaignRunner {
 public:
  CampaignRunner(tile::TileSystem& system, RunSink* sink, const CampaignOptions& options)
      : system_(system),
        sink_(sink),
        options_(options),
        duration_s_(with_campaign(system).description().run.duration_s),
        needed_W_(system.description().campaign->needed_light_W),
        extremes_(system),
        controller_(system),
        timetable_(*controller_.timetable()),
        accounts_(*sound_.campaign, timetable_),
        integrands_(system, most_open(timetable_)),
        transient_(system, &controller_, &integrands_, transient_options(system, finer)) {}

  CampaignResult go() {
    const std::vector<double> begin = starting_state(system_);
    controller_.set_commands(0.0, begin);
    ask(0.0);
    transient_.start(0.0, begin);
    last_integrals_ = tally_.integrals = copy(transient_.integrals());
    const std::vector<double> begin_x = copy(transient_.state());
    extremes_.begin(0.0, begin_x);
    if (system_.description().battery) {
      const double begin_percent = system_.charge_percent(begin_x);
      result_.battery = BatteryUse{begin_percent, begin_percent, begin_percent, begin_percent};
    }
    after_switch();
    while (goes_on()) {
      std::optional<CyclePlan> plan;
      if (!options_.every_cycle) plan = cycle_plan(system_, timetable_, now_s(), duration_s_);
      if (plan) {
        follow(*plan);
      } else {
        advance_to(std::min(duration_s_, timetable_.next_edge_after(now_s())));
      }
    }
    finish(begin_x);
    if (broken_) {
      const tile::Mode mode = system_.mode();
      system_ = tile::TileSystem(sound_);
      system_.set_mode(mode);
    }
    return std::move(result_);
  }

 private:
  /// As in a run: start-up after a switch errs to one side, and the books add that up.
  static constexpr double finer = 10.0;

  static std::vector<double> copy(std::span<const double> values) { return {values.begin(), values.end()}; }
  double now_s() const { return transient_.time_s(); }
  bool goes_on() const { return now_s() < duration_s_ && result_.outcome == RunOutcome::complete; }

  // Forward in time

  void advance_to(double stop_s) {
    while (now_s() < stop_s && result_.outcome == RunOutcome::complete) {
      const double target_s = std::min({stop_s, controller_.next_edge_s(now_s()), next_failure_s()});
      const double begin_s = now_s();
      const bool beam = system_.mode().beam;
      std::fill(met_s_.begin(), met_s_.end(), 0.0);
      const solvers::Arrival arrival =
          transient_.advance(target_s, [&](const solvers::Step& step) { return see(step); });
      if (beam) tally_.beam_s += now_s() - begin_s;
      account(now_s() - begin_s);
      if (arrival == solvers::Arrival::observer) {
        result_.outcome = RunOutcome::interrupted;
        return;
      }
      // At the very end nothing is switched: the state would have to be made consistent with what comes after.
      const bool ended = now_s() >= duration_s_;
      bool switched = false;
      if (arrival == solvers::Arrival::root) {
        switched = controller_.take_roots(now_s(), transient_.state(), transient_.roots());
      } else if (!ended) {
        switched = controller_.take_edge(now_s(), transient_.state());
      }
      if (!ended && next_failure_s() <= now_s()) switched = break_what_is_due() || switched;
      // Also without a switch other requests may be open from here on.
      if (!ended) ask(now_s());
      if (switched) restart();
      after_switch();
    }
  }

  void restart() { transient_.start(now_s(), copy(transient_.state())); }

  /// What belongs to the instant after a switch or root.
  void after_switch() {
    extremes_.see(now_s(), transient_.state());
    if (controller_.switch_where_due(now_s(), transient_.state())) {
      ask(now_s());
      restart();
    }
    extremes_.see(now_s(), transient_.state());
    controller_.update_states(now_s(), transient_.state());
    for (const RunEvent& event : controller_.take_events()) tell(event);
    tally_.trips = trips_taken_over_ + controller_.trips();
    if (sink_ != nullptr && next_row_s() <= now_s()) emit(now_s(), transient_.state());
    surplus_ = surplus_at(now_s(), transient_.state());
  }

  void tell(const RunEvent& event) {
    if (sink_ != nullptr) sink_->event(event);
    ++tally_.events[event.what];
  }

  double next_failure_s() const {
    double next_s = tile::never_s;
    for (const tile::Failure& failure : system_.description().failures) next_s = std::min(next_s, failure.at_s);
    return next_s;
  }

  bool break_what_is_due() {
    for (const tile::Failure& failure : system_.description().failures) {
      if (failure.at_s > now_s()) continue;
      std::string what(tile::name_of(failure.what));
      if (!failure.where.empty()) what += ' ' + failure.where;
      tell({now_s(), "failure", what, 0.0});
    }
    const tile::Mode mode = system_.mode();
    system_ = tile::TileSystem(tile::after_failures(system_.description(), now_s()));
    system_.set_mode(mode);
    broken_ = true;
    return true;
  }

  // What is asked for and what is given

  void ask(double time_s) {
    piece_ = timetable_.piece_at(time_s);
    Asked asked;
    asked.most = system_.description().beam->drive;
    asked.trip_left = controller_.trip_left();
    asked.kept_out = timetable_.kept_out(piece_);
    for (const std::size_t i : timetable_.open(piece_)) {
      const tile::Request& request = sound_.campaign->requests[timetable_.occurrences()[i].request];
      asked.light = request.light_W.has_value();
      asked.amount.push_back(asked.light ? *request.light_W : *request.drive);
    }
    integrands_.set_asked(std::move(asked));
    met_s_.assign(timetable_.open(piece_).size(), 0.0);
  }

  /// Adds what has been given since the last arrival to the windows that were open.
  void account(double length_s) {
    const std::vector<double> integrals = copy(transient_.integrals());
    for (std::size_t i = 0; i < integrals.size(); ++i) tally_.integrals[i] += integrals[i] - last_integrals_[i];
    const std::span<const std::size_t> open = timetable_.open(piece_);
    for (std::size_t slot = 0; slot < open.size(); ++slot) {
      const std::size_t first = integrands_.first_of(slot);
      const auto since = [&](std::size_t i) { return integrals[i] - last_integrals_[i]; };
      Served served;
      served.delivered_J = served.asked_J = since(first);
      for (std::size_t why = 0; why < refusals; ++why) {
        served.refused_J[why] = since(first + 1 + why);
        served.asked_J += served.refused_J[why];
      }
      served.asked_s = length_s;
      served.met_s = met_s_[slot];
      accounts_.add(open[slot], served);
      if (recording_) entries_.push_back({piece_, slot, served});
    }
    last_integrals_ = integrals;
  }

  /// By how much the light is more than what counts as given, per window that is open and for the needed light.
  std::vector<double> surplus_at(double time_s, std::span<const double> x) const {
    std::vector<double> surplus;
    for (const Served& served : served_at(system_, integrands_.asked(), time_s, x))
      surplus.push_back(served.delivered_J - (1.0 - light_tolerance) * served.asked_J);
    if (needed_W_) surplus.push_back(system_.chain_flows(time_s, x).light_out - (1.0 - light_tolerance) * *needed_W_);
    return surplus;
  }

  bool see(const solvers::Step& step) {
    extremes_.see(step);
    if (result_.battery) {
      const double charge_percent = system_.charge_percent(step.end_state);
      result_.battery->least_percent = std::min(result_.battery->least_percent, charge_percent);
      result_.battery->most_percent = std::max(result_.battery->most_percent, charge_percent);
    }
    inside_.resize(step.end_state.size());
    while (sink_ != nullptr && next_row_s() < step.end_s) {
      step.at(next_row_s(), inside_);
      emit(next_row_s(), inside_);
    }
    if (!timetable_.open(piece_).empty() || needed_W_) note_light(step);
    if (options_.run.progress) options_.run.progress(step.end_s / duration_s_);
    return !(options_.run.stop_requested && options_.run.stop_requested());
  }

  void note_light(const solvers::Step& step) {
    const std::vector<double> surplus = surplus_at(step.end_s, step.end_state);
    for (std::size_t i = 0; i < surplus.size(); ++i) {
      const double enough_s = time_with_enough(step, i, surplus_[i], surplus[i]);
      (i < met_s_.size() ? met_s_[i] : tally_.available_s) += enough_s;
    }
    surplus_ = surplus;
    const std::span<const std::size_t> open = timetable_.open(piece_);
    const double length_s = step.end_s - step.begin_s;
    const std::vector<Served> served = served_at(system_, integrands_.asked(), step.end_s, step.end_state);
    for (std::size_t i = 0; i < open.size(); ++i) {
      const auto lost = [&](Refusal why) { return served[i].refused_J[static_cast<std::size_t>(why)] * length_s; };
      if (lost(Refusal::heat) > 0.0)
        accounts_.blame(open[i], Refusal::heat, hardest_throttle(step.end_state), lost(Refusal::heat));
      if (lost(Refusal::trip) > 0.0 && controller_.hardest_trip())
        accounts_.blame(open[i], Refusal::trip, system_.limits()[*controller_.hardest_trip()].limit.node,
                        lost(Refusal::trip));
    }
  }

  /// The part of a step in which the light is enough. Crossings are located; two of them within a step are not seen.
  double time_with_enough(const solvers::Step& step, std::size_t i, double begin, double end) {
    const double length_s = step.end_s - step.begin_s;
    if ((begin >= 0.0) == (end >= 0.0)) return begin >= 0.0 ? length_s : 0.0;
    double low_s = step.begin_s, high_s = step.end_s;
    constexpr int halvings = 40;
    for (int k = 0; k < halvings; ++k) {
      const double middle_s = 0.5 * (low_s + high_s);
      step.at(middle_s, inside_);
      const bool enough = surplus_at(middle_s, inside_)[i] >= 0.0;
      (enough == (begin >= 0.0) ? low_s : high_s) = middle_s;
    }
    return begin >= 0.0 ? low_s - step.begin_s : step.end_s - low_s;
  }

  std::string hardest_throttle(std::span<const double> x) const {
    std::string hardest;
    double left = 1.0;
    for (const tile::BoundLimit& bound : system_.limits()) {
      const tile::Limit& limit = bound.limit;
      if (!limit.throttle_from_K || !limit.below_K) continue;
      const double temperature_K = system_.network().temperature_K(bound.node, x);
      const double factor = devices::ThrottleLaw{*limit.throttle_from_K, *limit.below_K}.factor(temperature_K);
      if (factor < left) hardest = limit.node;
      left = std::min(left, factor);
    }
    return hardest;
  }

  // Cycles that repeat

  /// Edges that are sums of doubles lie beside the boundaries of cycles by round-off: the edges count.
  double boundary_s(const CyclePlan& plan, long cycle) const {
    const double time_s = plan.begin_s + static_cast<double>(cycle) * plan.period_s;
    constexpr double round_off = 1e-11;
    const double near_s = round_off * std::max(1.0, time_s);
    const double edge_s = timetable_.begin_s(timetable_.piece_at(time_s + near_s));
    return std::min(std::abs(edge_s - time_s) <= near_s ? edge_s : time_s, duration_s_);
  }

  void follow(const CyclePlan& plan) {
    const tile::Accuracy& accuracy = system_.description().accuracy;
    constexpr double usual_K = 300.0;  // of the solver's relative tolerance
    const double noise_K = 3.0 * (accuracy.relative * usual_K + accuracy.absolute_K) / finer;
    RepeatJudge judge(accuracy.absolute_K, noise_K, slowest_multiplier(plan.period_s));
    for (long k = 0; k < plan.cycles; ++k) {
      const Tally before = tally_;
      const std::vector<double> x = copy(transient_.state());
      const tile::Mode mode = system_.mode();
      entries_.clear();
      recording_ = true;
      advance_to(boundary_s(plan, k + 1));
      recording_ = false;
      if (result_.outcome != RunOutcome::complete) return;
      ++result_.cycles.evaluated;
      const long left = plan.cycles - (k + 1);
      if (left == 0) return;
      const bool same_mode = mode.beam == system_.mode().beam && mode.drive == system_.mode().drive &&
                             mode.heater_on == system_.mode().heater_on && !controller_.hardest_trip();
      if (!same_mode) {
        judge.forget();
      } else if (judge.take(largest_change(x), left)) {
        result_.cycles.error_K = std::max(result_.cycles.error_K, judge.error_K());
        take_over(plan, k, left, before);
        return;
      }
    }
  }

  double largest_change(const std::vector<double>& x) const {
    double largest = 0.0;
    const auto differential = system_.differential();
    for (std::size_t i = 0; i < x.size(); ++i) {
      if (differential[i]) largest = std::max(largest, std::abs(transient_.state()[i] - x[i]));
    }
    return largest;
  }

  /// Of the temperatures; a battery's charge has no pace of its own and shows in the changes alone.
  double slowest_multiplier(double period_s) const {
    const double slowest_s = slowest_thermal_s(system_, transient_.state());
    return slowest_s > 0.0 ? std::exp(-period_s / slowest_s) : 0.0;
  }

  /// Goes on to the end of the plan with what the cycle that ends now has given, `left` times.
  void take_over(const CyclePlan& plan, long cycle, long left, const Tally& before) {
    tally_.grow(before, static_cast<double>(left));
    trips_taken_over_ = tally_.trips - controller_.trips();
    const long shift = timetable_.piece_at(now_s()) - timetable_.piece_at(boundary_s(plan, cycle));
    for (const Entry& entry : entries_) {
      for (long n = 1; n <= left; ++n)
        accounts_.add(timetable_.open(entry.piece + n * shift)[entry.slot], entry.served);
    }
    const double from_s = now_s(), to_s = boundary_s(plan, plan.cycles);
    result_.cycles.taken_over += left;
    result_.cycles.taken_over_s += to_s - from_s;
    result_.cycles.period_s = std::max(result_.cycles.period_s, plan.period_s);
    const std::vector<double> x = copy(transient_.state());
    if (to_s < duration_s_) controller_.take_edge(to_s, x);
    ask(to_s);
    transient_.start(to_s, x);
    last_integrals_ = copy(transient_.integrals());
    rows_ = std::max(rows_, static_cast<long>(std::ceil(to_s / system_.description().run.output_every_s)));
    after_switch();
  }

  // Rows and the end

  double next_row_s() const { return static_cast<double>(rows_) * system_.description().run.output_every_s; }

  void emit(double time_s, std::span<const double> x) {
    ++rows_;
    row_.emit(*sink_, system_, time_s, x);
  }

  void finish(const std::vector<double>& begin_x) {
    result_.end_s = now_s();
    result_.final_x = copy(transient_.state());
    const std::vector<double>& integral = tally_.integrals;
    EnergyBooks& books = result_.books;
    books.incoming_J = integral[0];
    books.light_J = integral[1];
    books.to_space_J = integral[2];
    books.to_fixed_J = integral[3];
    books.drawn_J = integral[4];
    books.available_J = integral[5];
    result_.heaters_J = integral[6];
    books.stored_J = system_.network().stored_J(begin_x, result_.final_x);
    books.to_battery_J = system_.battery_energy_J(result_.final_x) - system_.battery_energy_J(begin_x);
    if (result_.battery) result_.battery->end_percent = system_.charge_percent(result_.final_x);
    result_.error_K = close_books(system_, books, result_.end_s, result_.final_x, "campaign");
    result_.requests = accounts_.requests();
    result_.names = CampaignAccounts::by_name(result_.requests);
    for (const RequestAnswer& name : result_.names) result_.all.add(name.served);
    result_.needed_light_W = needed_W_;
    result_.available_s = tally_.available_s;
    result_.beam_s = tally_.beam_s;
    result_.ranges = extremes_.ranges();
    result_.margins = extremes_.margins();
    if (result_.battery) result_.margins.push_back(charge_margin(system_, result_.battery->least_percent));
    result_.binding = binding(result_.margins);
    result_.next = next_after(result_.margins, result_.binding);
    result_.event_counts = tally_.events;
    result_.trips = tally_.trips;
    result_.counts = transient_.counts();
    result_.warnings = validity_warnings(system_, Uses::transient, result_.ranges, extremes_.lit_ranges());
    if (controller_.chatter()) result_.warnings.push_back(*controller_.chatter());
  }

  tile::TileSystem& system_;
  const tile::Case sound_ = system_.description();  ///< before anything broke
  bool broken_ = false;
  RunSink* sink_;
  const CampaignOptions& options_;
  double duration_s_;
  std::optional<double> needed_W_;
  Extremes extremes_;
  Controller controller_;
  const tile::Timetable& timetable_;
  CampaignAccounts accounts_;
  CampaignIntegrands integrands_;
  solvers::Transient transient_;
  CampaignResult result_;
  long piece_ = -1;
  std::vector<double> met_s_;  ///< per open window, since the last arrival
  std::vector<double> surplus_, last_integrals_, inside_;
  Tally tally_;
  long trips_taken_over_ = 0;
  bool recording_ = false;
  std::vector<Entry> entries_;
  SeriesRow row_;
  long rows_ = 0;
};

}  // namespace

CampaignResult campaign(tile::TileSystem& system, RunSink* sink, const CampaignOptions& options) {
  return CampaignRunner(system, sink, options).go();
}

}  // namespace tileflux::studies
