#include "tileflux/solvers/transient.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <utility>

#include "solvers/rodas_step.h"
#include "solvers/worst.h"
#include "tileflux/base/errors.h"

namespace tileflux::solvers {

namespace {

/// Nodes inside (0, 1) and weights of Lobatto's rule with four points, exact to the fifth power.
const double lobatto_first = 0.5 - 0.5 / std::sqrt(5.0);
constexpr double lobatto_end = 1.0 / 12.0, lobatto_inside = 5.0 / 12.0;

constexpr double epsilon = std::numeric_limits<double>::epsilon();

std::string reason_of(StepOutcome outcome) {
  switch (outcome) {
    case StepOutcome::too_coarse:
      return "the error stays too large however short the step";
    case StepOutcome::outside:
      return "the state left what the laws can take";
    case StepOutcome::singular:
      return "the linear system is singular";
    case StepOutcome::done:
      break;
  }
  return "the solver gave up";
}

/// The factor on the length of the next step, for an error in units of its tolerance. The estimate is of order 4.
double growth(double error_size) {
  constexpr double safety = 0.9, least = 0.2, most = 6.0;
  return std::clamp(safety * std::pow(std::max(error_size, 1e-10), -0.2), least, most);
}

}  // namespace

struct Transient::Parts {
  const System& system;
  const Watch* watch;
  const Integrands* integrands;
  TransientOptions options;
  TransientCounts counts;
  RodasStep step;
  std::vector<double> state, rate, last_state, last_rate, inside;
  std::vector<double> integrals, flow_begin, flow_end, flow_first, flow_second;
  std::vector<double> watched, watched_low, watched_high;
  std::vector<int> root_signs;
  double time_s = 0.0;
  double next_length_s = 0.0;  ///< 0: to be chosen anew
  bool started = false;
  bool algebraic = false;  ///< some unknown is

  Parts(const System& s, const Watch* w, const Integrands* i, const TransientOptions& o)
      : system(s), watch(w), integrands(i), options(o), step(s, counts) {
    const auto size = static_cast<std::size_t>(system.size());
    for (const std::uint8_t differential : system.differential()) algebraic = algebraic || !differential;
    for (auto* values : {&state, &rate, &last_state, &last_rate, &inside}) values->assign(size, 0.0);
    if (integrands != nullptr) {
      const auto count = static_cast<std::size_t>(integrands->count());
      for (auto* values : {&integrals, &flow_begin, &flow_end, &flow_first, &flow_second}) values->assign(count, 0.0);
    }
    if (watch != nullptr) {
      const auto count = static_cast<std::size_t>(watch->count());
      for (auto* values : {&watched, &watched_low, &watched_high}) values->assign(count, 0.0);
      root_signs.assign(count, 0);
    }
  }

  void evaluate_watch(double at_s, std::span<const double> x, std::vector<double>& values) const {
    watch->evaluate(at_s, x, values);
    // Zero counts as just above: a slow temperature next to its threshold would else be found again and again.
    for (double& value : values) {
      if (std::isnan(value)) refuse_nan("what is watched", at_s);
      if (value == 0.0) value = std::numeric_limits<double>::min();
    }
  }

  /// A length over which the fastest unknown changes by little.
  double first_length_s() const {
    constexpr double little = 0.01;  // of an unknown
    double length_s = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < state.size(); ++i) {
      const double speed = std::abs(step.begin_rate()[i]);
      if (speed > 0.0) length_s = std::min(length_s, (little * std::abs(state[i]) + options.absolute_tolerance) / speed);
    }
    return length_s;
  }

  /// One accepted step towards stop_s. Lengths are divided so that no sliver is left before the stop.
  void take_step(double stop_s) {
    if (!step.open(time_s, state, options)) refuse(reason_of(StepOutcome::outside), 0.0);
    const double left_s = stop_s - time_s;
    if (next_length_s <= 0.0) next_length_s = first_length_s();
    double length_s = next_length_s;
    if (options.longest_step_s > 0.0) length_s = std::min(length_s, options.longest_step_s);
    bool shortened = false;
    for (;;) {
      double tried_s = length_s;
      if (tried_s >= left_s) {
        tried_s = left_s;
      } else if (tried_s > 0.5 * left_s) {
        tried_s = 0.5 * left_s;
      }
      const StepOutcome outcome = step.attempt(tried_s);
      if (outcome == StepOutcome::done) {
        const double factor = growth(step.error_size());
        // A step that was cut short by the stop says nothing against the length that was meant.
        next_length_s = std::max(tried_s * (shortened ? std::min(factor, 1.0) : factor), tried_s < length_s ? length_s : 0.0);
        return;
      }
      if (outcome == StepOutcome::too_coarse) ++counts.error_test_failures;
      // What an algebraic unknown is off its equation at the beginning, as just beyond a corner of a law, no shorter step mends.
      if (outcome == StepOutcome::too_coarse && !shortened && algebraic) {
        make_consistent(system, time_s, state, rate);
        if (!step.open(time_s, state, options)) refuse(reason_of(StepOutcome::outside), 0.0);
      }
      shortened = true;
      length_s = tried_s * (outcome == StepOutcome::too_coarse ? std::min(growth(step.error_size()), 0.9) : 0.25);
      if (length_s < 8.0 * epsilon * std::abs(time_s) || length_s < 1e-14)
        refuse(reason_of(outcome), length_s);
    }
  }

  /// Whether a watched function changes its sign up to a share of the step, and from there back to the present signs.
  bool crosses(const std::vector<double>& at_end) const {
    for (std::size_t k = 0; k < at_end.size(); ++k) {
      if ((at_end[k] > 0.0) != (watched[k] > 0.0)) return true;
    }
    return false;
  }

  /// The share of the step at which the first watched function has just changed its sign, or nothing.
  std::optional<double> first_crossing() {
    if (root_signs.empty()) return std::nullopt;
    // The middle is looked at too, so that what comes and goes within a step is not missed as easily.
    double low = 0.0;
    watched_low = watched;
    for (const double high : {0.5, 1.0}) {
      step.state_at(high, inside);
      evaluate_watch(time_s + high * step.length_s(), inside, watched_high);
      if (crosses(watched_high)) return refine(low, high);
      low = high;
      watched_low = watched_high;
    }
    return std::nullopt;
  }

  /// The same, with the step begun again so that it ends just beyond: near its end the continuous solution is as good as
  /// the step itself, and events add up nothing. Where the better solution comes to no crossing the shorter step stands.
  std::optional<double> find_crossing() {
    const std::optional<double> crossing = first_crossing();
    constexpr double beyond = 1.01, near_begin = 1e-6, near_end = 0.9;
    if (!crossing || *crossing < near_begin || *crossing > near_end) return crossing;
    // A shorter step has a smaller error; should it not be so, the longer one still stands.
    if (step.attempt(beyond * *crossing * step.length_s()) != StepOutcome::done) return crossing;
    return first_crossing();
  }

  /// Narrows [low, high] down to round-off by secants, with halving where they are slow.
  double refine(double low, double high) {
    std::vector<double> between(watched.size());
    const double fine = 4.0 * epsilon * std::max(1.0, std::abs(time_s) / step.length_s());
    for (int turn = 0; turn < 200 && high - low > fine; ++turn) {
      double share = 0.5 * (low + high);
      if (turn % 3 != 2) {
        double earliest = 1.0;
        for (std::size_t k = 0; k < watched.size(); ++k) {
          if ((watched_high[k] > 0.0) == (watched[k] > 0.0)) continue;
          earliest = std::min(earliest, watched_low[k] / (watched_low[k] - watched_high[k]));
        }
        // A little beyond the secant's zero, so that both ends close in on it.
        const double width = high - low;
        share = std::clamp(low + earliest * width + 0.01 * fine + 1e-3 * earliest * (1.0 - earliest) * width, low + 0.25 * fine, high - 0.25 * fine);
      }
      step.state_at(share, inside);
      evaluate_watch(time_s + share * step.length_s(), inside, between);
      if (crosses(between)) {
        high = share;
        watched_high = between;
      } else {
        low = share;
        watched_low = between;
      }
    }
    return high;
  }

  /// Adds what flowed from the beginning of the step to a share of it.
  void integrate(double share) {
    if (integrals.empty()) return;
    const double length_s = share * step.length_s();
    const auto flow_at = [&](double inner, std::vector<double>& flow) {
      step.state_at(inner * share, inside);
      integrands->evaluate(time_s + inner * length_s, inside, flow);
    };
    flow_at(lobatto_first, flow_first);
    flow_at(1.0 - lobatto_first, flow_second);
    flow_at(1.0, flow_end);
    for (std::size_t k = 0; k < integrals.size(); ++k) {
      integrals[k] += length_s * (lobatto_end * (flow_begin[k] + flow_end[k]) + lobatto_inside * (flow_first[k] + flow_second[k]));
      if (std::isnan(integrals[k])) refuse_nan("a flow that is summed up", time_s);
    }
    std::swap(flow_begin, flow_end);
  }

  [[noreturn]] static void refuse_nan(const char* what, double at_s) {
    char text[96];
    std::snprintf(text, sizeof text, "%s is not a number at %.6g s", what, at_s);
    throw Error(Code::law_not_finite, text);
  }

  [[noreturn]] void refuse(const std::string& reason, double length_s) const {
    const std::vector<double> errors(step.weighted_errors().begin(), step.weighted_errors().end());
    throw Error(Code::transient_failed, reason + position_text(length_s) + "; largest weighted errors: " +
                                            name_worst(system, largest_three(errors), errors, ""));
  }

  std::string position_text(double length_s) const {
    char text[96];
    std::snprintf(text, sizeof text, " at %.6g s with a step of %.3g s", time_s, length_s);
    return text;
  }
};

Transient::Transient(const System& system, const Watch* watch, const Integrands* integrands,
                     const TransientOptions& options)
    : parts_(std::make_unique<Parts>(system, watch, integrands, options)) {}

Transient::~Transient() = default;

void Transient::start(double time_s, std::span<const double> state) {
  Parts& p = *parts_;
  p.time_s = time_s;
  if (state.data() != p.state.data()) std::copy(state.begin(), state.end(), p.state.begin());
  make_consistent(p.system, time_s, p.state, p.rate);
  if (std::exchange(p.started, true)) ++p.counts.restarts;
  p.next_length_s = 0.0;
  if (!p.integrals.empty()) p.integrands->evaluate(time_s, p.state, p.flow_begin);
  if (!p.root_signs.empty()) p.evaluate_watch(time_s, p.state, p.watched);
}

Arrival Transient::advance(double stop_s, const Observer& observer) {
  Parts& p = *parts_;
  // Two edges that are computed differently may be one instant.
  const double round_off_s = 4.0 * epsilon * (std::abs(p.time_s) + std::abs(stop_s));
  if (stop_s - p.time_s <= round_off_s) {
    p.time_s = stop_s;
    return Arrival::stop_time;
  }
  for (long count = 0;; ++count) {
    if (count >= p.options.most_steps_per_segment) p.refuse("too many steps", p.next_length_s);
    try {
      p.take_step(stop_s);
    } catch (const Error& error) {
      if (error.code() == Code::transient_failed) throw;
      std::vector<Diagnostic> diagnostics = error.diagnostics();
      diagnostics.front().message += p.position_text(p.next_length_s);
      throw Error(std::move(diagnostics));
    }
    ++p.counts.steps;
    const std::optional<double> crossing = p.find_crossing();
    const double begin_s = p.time_s, length_s = p.step.length_s();
    const double share = crossing.value_or(1.0);
    p.integrate(share);
    std::swap(p.last_state, p.state);
    std::swap(p.last_rate, p.rate);
    p.step.state_at(share, p.state);
    p.step.rate_at(share, p.rate);
    const bool stopped = !crossing && stop_s - (begin_s + length_s) <= round_off_s;
    p.time_s = stopped ? stop_s : begin_s + share * length_s;
    if (crossing) {
      for (std::size_t k = 0; k < p.root_signs.size(); ++k) {
        const bool above = p.watched_high[k] > 0.0;
        p.root_signs[k] = above == (p.watched[k] > 0.0) ? 0 : above ? 1 : -1;
      }
    }
    std::swap(p.watched, p.watched_high);
    bool go_on = true;
    if (observer && p.time_s > begin_s) {
      const auto at = [&](double time_s, std::span<double> out) {
        const double inner = (time_s - begin_s) / length_s;
        if (inner < -1e-9 || inner > share + 1e-9) throw Error(Code::internal, "a time outside the last step was asked for");
        p.step.state_at(inner, out);
      };
      go_on = observer(Step{begin_s, p.time_s, p.last_state, p.state, p.last_rate, p.rate, at});
    }
    if (crossing) return Arrival::root;
    if (stopped) return Arrival::stop_time;
    if (!go_on) return Arrival::observer;
  }
}

double Transient::time_s() const { return parts_->time_s; }
std::span<const double> Transient::state() const { return parts_->state; }
std::span<const double> Transient::rate() const { return parts_->rate; }
std::span<const double> Transient::integrals() const { return parts_->integrals; }
std::span<const int> Transient::roots() const { return parts_->root_signs; }
TransientCounts Transient::counts() const { return parts_->counts; }

}  // namespace tileflux::solvers
