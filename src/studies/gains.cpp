#include "tileflux/studies/gains.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "studies/cycle_slopes.h"
#include "studies/gains_parts.h"
#include "studies/modes.h"
#include "studies/run_slopes.h"
#include "studies/steady_slopes.h"
#include "tileflux/studies/sustainable.h"

namespace tileflux::studies {

std::optional<double> InputGains::portion() const {
  constexpr double one_K = 1.0, degree_rad = 3.14159265358979323846 / 180.0, per_cent = 0.01;
  if (unit == "K") return one_K;
  if (unit == "rad") return degree_rad;
  if (value == 0.0) return std::nullopt;
  return per_cent * std::abs(value);
}

std::optional<double> InputGains::bought(std::size_t output) const {
  const std::optional<double> more = portion();
  if (!more || !slopes[output]) return std::nullopt;
  return *more * *slopes[output];
}

std::optional<std::size_t> Gains::output(GainOutput::Kind kind) const {
  for (std::size_t i = 0; i < outputs.size(); ++i) {
    if (outputs[i].kind == kind) return i;
  }
  return std::nullopt;
}

std::optional<std::size_t> Gains::margin(const StateMargin& limit) const {
  for (std::size_t i = 0; i < outputs.size(); ++i) {
    const GainOutput& one = outputs[i];
    if (one.kind == GainOutput::Kind::margin && one.beam == limit.beam && same_limit(*one.limit, limit.margin))
      return i;
  }
  return std::nullopt;
}

std::vector<std::size_t> Gains::ranked(std::size_t output) const {
  std::vector<std::size_t> order;
  for (std::size_t i = 0; i < inputs.size(); ++i) {
    if (inputs[i].bought(output).value_or(0.0) != 0.0) order.push_back(i);
  }
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return std::abs(*inputs[a].bought(output)) > std::abs(*inputs[b].bought(output));
  });
  return order;
}

SteadyAnswers::SteadyAnswers(const tile::Case& description, bool temperatures) : system(description) {
  balance = studies::balance(system);
  const auto mode_of = [](bool beam) { return [beam](const tile::Case& one) { return steady_mode(one, beam, true); }; };
  off_.emplace(system, balance.beam_off.x, mode_of(false), temperatures);
  if (balance.beam_on) on_.emplace(system, balance.beam_on->x, mode_of(true), temperatures);
  if (system.description().beam) find_rating();
  list_outputs();
}

void SteadyAnswers::find_rating() {
  system.set_mode(steady_mode(system.description(), true, true));
  rating = balance.rating ? *balance.rating : continuous_rating(system);
  if (!(rating->drive > 0.0)) return;
  const double drive = rating->drive;
  const auto mode_of = [drive](const tile::Case& one) {
    tile::Mode mode = steady_mode(one, true, false);
    mode.drive = drive;
    return mode;
  };
  system.set_mode(mode_of(system.description()));
  const OperatingPoint point = operating_point(system);
  at_rating_.emplace(system, point.x, mode_of);
  if (!rating->limited) return;
  const std::vector<Margin> margins = margins_at(system, point.x);
  for (std::size_t i = 0; i < margins.size(); ++i) {
    if (same_limit(margins[i], *rating->binding)) rating_margin_ = static_cast<Eigen::Index>(i) + 1;
  }
  over_drive_ = at_rating_->along_drive();
}

void SteadyAnswers::list_outputs() {
  if (balance.beam_on) outputs.push_back({GainOutput::Kind::light, "W", balance.usable_laser_W, true, std::nullopt});
  const auto add = [&](const OperatingPoint& point) {
    for (const Margin& margin : point.margins)
      outputs.push_back(
          {GainOutput::Kind::margin, std::string(unit_of(margin.kind)), margin.margin, point.beam, margin});
  };
  add(balance.beam_off);
  if (balance.beam_on) add(*balance.beam_on);
  if (rating) outputs.push_back({GainOutput::Kind::rating, "1", rating->drive, true, rating->binding});
}

Eigen::VectorXd SteadyAnswers::along(Moved& moved) const {
  const auto nodes = static_cast<Eigen::Index>(off_->temperatures());
  const auto steady = static_cast<Eigen::Index>(outputs.size());
  Eigen::VectorXd all(steady + nodes + (on_ ? nodes : 0));
  Eigen::Index next = 0;
  const Eigen::VectorXd off = off_->along(moved);
  const auto margins = static_cast<Eigen::Index>(off_->margins());
  double of_rating = 0.0, light = 0.0;
  if (at_rating_) {
    const Eigen::VectorXd there = at_rating_->along(moved);
    if (rating->limited) of_rating = -there[rating_margin_] / over_drive_[rating_margin_];
    light = there[0] + (rating->limited ? over_drive_[0] * of_rating : 0.0);
  }
  if (on_) {
    const Eigen::VectorXd on = on_->along(moved);
    all[next++] = balance.beam_on->limits_met() ? on[0] : light;
    all.segment(next, margins) = off.segment(1, margins);
    all.segment(next + margins, margins) = on.segment(1, margins);
    next += 2 * margins;
    all.segment(steady + nodes, nodes) = on.tail(nodes);
  } else {
    all.segment(next, margins) = off.segment(1, margins);
    next += margins;
  }
  all.segment(steady, nodes) = off.tail(nodes);
  if (rating) all[next++] = of_rating;
  return all;
}

SteadyGains steady_gains(const tile::Case& description, const std::vector<GainInput>& inputs) {
  SteadyAnswers answers(description);
  SteadyGains gains{answers.balance, answers.outputs, {}};
  gains.slopes.resize(static_cast<Eigen::Index>(answers.outputs.size()), static_cast<Eigen::Index>(inputs.size()));
  for (std::size_t i = 0; i < inputs.size(); ++i) {
    const auto column = static_cast<Eigen::Index>(i);
    try {
      Moved moved(inputs[i], answers.system);
      gains.slopes.col(column) = answers.along(moved);
    } catch (const Error& error) {
      require_users_error(error);
      gains.slopes.col(column).setConstant(std::numeric_limits<double>::quiet_NaN());
    }
  }
  return gains;
}

namespace {

/// The whole study.
class GainStudy {
 public:
  GainStudy(const tile::Case& description, const std::vector<GainInput>& inputs, const GainOptions& options)
      : description_(description), inputs_(inputs), options_(options), answers_(description) {}

  Gains go() {
    gains_.balance = answers_.balance;
    const LimitsOverStates limits = limits_over_states(answers_.balance.beam_off, answers_.balance.beam_on);
    gains_.binding = limits.binding;
    gains_.next = limits.next;
    gains_.outputs = answers_.outputs;
    choose_radiator();
    find_duty();
    for (std::size_t i = 0; i < inputs_.size() && !gains_.interrupted; ++i) {
      add_input(inputs_[i]);
      tell(0.6 * static_cast<double>(i + 1) / static_cast<double>(inputs_.size()));
    }
    for (StepInput& step : conversion_steps(description_, answers_.balance)) add_step(step);
    if (options_.run && !gains_.interrupted) add_run();
    seek_ends();
    if (!gains_.interrupted) gains_.lasers = laser_choices(description_, gains_, options_);
    return std::move(gains_);
  }

 private:
  void tell(double share) {
    if (options_.progress && !options_.progress(share)) gains_.interrupted = true;
  }

  /// Where the temperature that binds stands among the outputs; none: no temperature binds.
  std::optional<std::size_t> binding_place() const {
    if (!gains_.binding || gains_.binding->margin.kind != LimitKind::temperature) return std::nullopt;
    return gains_.margin(*gains_.binding);
  }

  void choose_radiator() {
    const auto place = binding_place();
    if (!place) return;
    double best = 0.0;
    for (const RadiatorInput& candidate : radiator_inputs(description_)) {
      if (!options_.radiator.empty() && candidate.surface != options_.radiator) continue;
      Moved moved(candidate.input, answers_.system);
      const double slope = answers_.along(moved)[static_cast<Eigen::Index>(*place)];
      // More radiator must move the margin that binds the way that helps.
      const double helps = slope * candidate.input.value;
      if (!(helps > best) && options_.radiator.empty()) continue;
      if (slope == 0.0) continue;
      best = helps;
      area_slope_ = slope;
      gains_.radiator = radiator_of(description_, candidate.surface, options_.areal_mass_kg_per_m2);
    }
    if (gains_.radiator)
      gains_.outputs.push_back(
          {GainOutput::Kind::radiator_area, "m2", gains_.radiator->area_m2, false, gains_.binding->margin});
  }

  void find_duty() {
    const bool has_period = description_.beam && description_.beam->pattern;
    if (!options_.duty || !has_period || (description_.limits.empty() && description_.differences.empty())) return;
    try {
      duty_ = sustainable_duty(answers_.system, description_.beam->pattern->every_s);
      cycle_.emplace(answers_.system, *duty_);
      gains_.duty_note = cycle_->why_not();
    } catch (const Error& error) {
      require_users_error(error);
      gains_.duty_note = error.diagnostics().front().message;
    }
    if (!gains_.duty_note.empty()) cycle_.reset();
    if (!duty_) return;
    gains_.outputs.push_back({GainOutput::Kind::duty, "1", duty_->fraction, true, duty_->binding});
    if (answers_.system.has_lasers())
      gains_.outputs.push_back({GainOutput::Kind::duty_light, "W", duty_->mean_light_W, true, duty_->binding});
  }

  /// Slopes of every output.
  std::vector<std::optional<double>> slopes_along(Moved& moved) {
    const Eigen::VectorXd steady = answers_.along(moved);
    std::vector<std::optional<double>> slopes(steady.data(), steady.data() + steady.size());
    if (gains_.radiator) slopes.emplace_back(-steady[static_cast<Eigen::Index>(*binding_place())] / area_slope_);
    if (!duty_) return slopes;
    CycleSlopes::Slopes duty;
    if (cycle_) duty = cycle_->along(moved);
    slopes.push_back(cycle_ ? std::optional(duty.duty) : std::nullopt);
    if (answers_.system.has_lasers()) slopes.push_back(cycle_ ? std::optional(duty.light_W) : std::nullopt);
    return slopes;
  }

  void add_input(const GainInput& input) {
    InputGains one{input.name, input.unit, input.value, {}, {}, {}, {}, false};
    try {
      Moved moved(input, answers_.system);
      one.slopes = slopes_along(moved);
    } catch (const Error& error) {
      require_users_error(error);
      one.slopes.resize(gains_.outputs.size());
      one.why_none = error.diagnostics().front().message;
    }
    clean(one);
    const bool any = !one.why_none.empty() || std::any_of(one.slopes.begin(), one.slopes.end(),
                                                          [](const auto& slope) { return slope && *slope != 0.0; });
    if (any)
      gains_.inputs.push_back(std::move(one));
    else
      gains_.without_effect.push_back(input.name);
  }

  /// Margins and light over the run, of all inputs at once.
  void add_run() {
    RunSlopes run(description_);
    gains_.run_note = run.why_not();
    if (!gains_.run_note.empty()) return;
    std::vector<Moved> moved;
    std::vector<InputGains*> of;
    // Some inputs, such as heat capacities, matter in a run alone.
    for (const std::string& name : std::exchange(gains_.without_effect, {})) {
      const auto given =
          std::find_if(inputs_.begin(), inputs_.end(), [&](const auto& one) { return one.name == name; });
      gains_.inputs.push_back({name, given->unit, given->value, {}, {}, {}, {}, false});
      gains_.inputs.back().slopes.assign(gains_.outputs.size(), 0.0);
    }
    for (InputGains& input : gains_.inputs) {
      if (!input.why_none.empty()) continue;
      const auto given =
          std::find_if(inputs_.begin(), inputs_.end(), [&](const auto& one) { return one.name == input.name; });
      moved.emplace_back(*given, answers_.system);
      of.push_back(&input);
    }
    const Eigen::MatrixXd slopes = run.along(moved, [&](double share) {
      tell(0.6 * share);
      return !gains_.interrupted;
    });
    if (answers_.system.has_lasers())
      gains_.outputs.push_back({GainOutput::Kind::run_light, "W", run.mean_light_W(), true, std::nullopt});
    for (const Margin& margin : run.margins())
      gains_.outputs.push_back(
          {GainOutput::Kind::run_margin, std::string(unit_of(margin.kind)), margin.margin, true, margin});
    for (InputGains& input : gains_.inputs) input.slopes.resize(gains_.outputs.size());
    const auto first = gains_.outputs.size() - run.margins().size() - (answers_.system.has_lasers() ? 1 : 0);
    for (std::size_t m = 0; m < of.size(); ++m) {
      for (std::size_t i = first; i < gains_.outputs.size(); ++i) {
        const auto row = static_cast<Eigen::Index>(i - first) + (answers_.system.has_lasers() ? 0 : 1);
        const double slope = slopes(row, static_cast<Eigen::Index>(m));
        if (std::isfinite(slope)) of[m]->slopes[i] = slope;
      }
      clean(*of[m]);
    }
    std::erase_if(gains_.inputs, [&](const InputGains& input) {
      const bool none = input.why_none.empty() && std::all_of(input.slopes.begin(), input.slopes.end(),
                                                              [](const auto& s) { return s && *s == 0.0; });
      if (none) gains_.without_effect.push_back(input.name);
      return none;
    });
  }

  /// What a portion buys less of than the last digits of an answer is nothing.
  void clean(InputGains& input) const {
    constexpr double digits = 1e-9;
    const double portion = input.portion().value_or(1.0);
    for (std::size_t i = 0; i < input.slopes.size(); ++i) {
      const GainOutput& output = gains_.outputs[i];
      const double size =
          output.limit && (output.kind == GainOutput::Kind::margin || output.kind == GainOutput::Kind::run_margin)
              ? std::max(std::abs(output.limit->value), std::abs(output.limit->limit))
              : std::abs(output.value);
      if (input.slopes[i] && std::abs(*input.slopes[i]) * portion <= digits * size) input.slopes[i] = 0.0;
    }
  }

  void add_step(StepInput& input) {
    Moved moved(input.input, answers_.system);
    InputGains gained{input.input.name, input.input.unit, input.input.value, slopes_along(moved), {}, {}, {}, false};
    clean(gained);
    const std::vector<std::optional<double>>& slopes = gained.slopes;
    ConversionStep step{input.input.name, input.efficiency, 0.0, {}, {}, {}, {}, {}};
    const auto bought = [&](std::optional<std::size_t> place) -> std::optional<double> {
      if (!place || !slopes[*place]) return std::nullopt;
      return input.per_point * *slopes[*place];
    };
    step.light_W = bought(gains_.output(GainOutput::Kind::light)).value_or(0.0);
    if (const auto margin = bought(binding_place()))
      step.temperature_K = gains_.binding->margin.upper ? -*margin : *margin;
    step.area_m2 = bought(gains_.output(GainOutput::Kind::radiator_area));
    if (step.area_m2 && gains_.radiator->areal_mass_kg_per_m2)
      step.mass_kg = *step.area_m2 * *gains_.radiator->areal_mass_kg_per_m2;
    step.rating = bought(gains_.output(GainOutput::Kind::rating));
    step.duty = bought(gains_.output(GainOutput::Kind::duty));
    gains_.steps.push_back(std::move(step));
  }

  void seek_ends() {
    const auto first = gains_.output(GainOutput::Kind::light);
    std::vector<std::size_t> order = first ? gains_.ranked(*first) : std::vector<std::size_t>{};
    if (const auto place = binding_place(); place && order.empty()) order = gains_.ranked(*place);
    const auto count = std::min(order.size(), static_cast<std::size_t>(std::max(options_.regime_ends, 0)));
    for (std::size_t k = 0; k < count && !gains_.interrupted; ++k) {
      InputGains& input = gains_.inputs[order[k]];
      const auto given =
          std::find_if(inputs_.begin(), inputs_.end(), [&](const GainInput& one) { return one.name == input.name; });
      find_regime_ends(*given, input);
      tell(0.6 + 0.4 * static_cast<double>(k + 1) / static_cast<double>(count));
    }
  }

  const tile::Case& description_;
  const std::vector<GainInput>& inputs_;
  const GainOptions& options_;
  SteadyAnswers answers_;
  Gains gains_;
  double area_slope_ = 0.0;  ///< of the binding margin over the radiator's area
  std::optional<SustainableDuty> duty_;
  std::optional<CycleSlopes> cycle_;
};

}  // namespace

Gains gains(const tile::Case& description, const std::vector<GainInput>& inputs, const GainOptions& options) {
  return GainStudy(description, inputs, options).go();
}

}  // namespace tileflux::studies
