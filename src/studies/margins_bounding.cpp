#include <algorithm>
#include <cmath>

#include "studies/margins_parts.h"
#include "studies/modes.h"

namespace tileflux::studies {

namespace {

/// Both steady states of a case.
struct States {
  tile::TileSystem system;
  OperatingPoint off;
  std::optional<OperatingPoint> on;

  explicit States(const tile::Case& description) : system(description) {
    system.set_mode(steady_mode(description, false, true));
    off = operating_point(system);
    if (!description.beam) return;
    system.set_mode(steady_mode(description, true, true));
    on = operating_point(system);
  }
};

void add_state(const States& states, const OperatingPoint& point, const tile::Policy& policy,
               std::vector<Watched>& watched) {
  for (const Margin& margin : point.margins) {
    if (margin.kind != LimitKind::rate) watched.push_back({Watched::Kind::limit, margin, point.beam});
  }
  const std::vector<double>& power_W = point.heater_W;
  for (std::size_t h = 0; h < power_W.size(); ++h) {
    const tile::Heater& heater = states.system.description().heaters[h];
    if (heater.stuck) continue;
    Margin margin{.kind = LimitKind::power, .node = heater.name, .value = power_W[h] / heater.power_W};
    margin.limit = policy.heater_duty ? policy.heater_duty->value : 1.0;
    margin.margin = margin.limit - margin.value;
    watched.push_back({Watched::Kind::heater, margin, point.beam});
  }
}

}  // namespace

std::vector<Watched> watched_of(const tile::Case& description, const tile::Policy& policy) {
  const States states(description);
  std::vector<Watched> watched;
  add_state(states, states.off, policy, watched);
  if (!states.on) return watched;
  add_state(states, *states.on, policy, watched);
  if (!states.system.has_lasers()) return watched;
  const double light_W = states.on->chain.light_out;
  watched.push_back({Watched::Kind::light,
                     {.kind = LimitKind::power, .node = "light", .value = light_W, .upper = false, .margin = light_W},
                     true});
  return watched;
}

std::vector<double> margins_of(const std::vector<Watched>& watched) {
  std::vector<double> margins;
  for (const Watched& one : watched) margins.push_back(one.margin.margin);
  return margins;
}

double BoundingCases::Answer::of(std::size_t watched) const { return margins.empty() ? -HUGE_VAL : margins[watched]; }

BoundingCases::BoundingCases(const MarginsProblem& problem, const tile::Policy& policy, std::vector<bool> moves,
                             bool end_of_life)
    : problem_(problem), policy_(policy), moves_(std::move(moves)), end_of_life_(end_of_life) {
  for (const tile::UncertainInput& input : problem.inputs) values_.push_back(input.law.value);
  stated_ = watched_of(problem.case_at(values_, end_of_life), policy);
  ++balances_;
  for (std::size_t i = 0; i < values_.size(); ++i) {
    for (const int side : {-1, 1}) {
      std::vector<Answer>& answers = side < 0 ? low_ : high_;
      answers.emplace_back();
      if (!moves_[i]) continue;
      std::vector<double> values = values_;
      values[i] = end_of(i, side);
      answers.back() = answer_at(values);
      const std::optional<Diagnostic>& trouble = answers.back().trouble;
      if (!trouble || entry_of(trouble->code).exit_status != 2) continue;
      Diagnostic finding = *trouble;
      finding.message =
          "the law of '" + problem.inputs[i].path + "' reaches where the case is not sound: " + finding.message;
      throw Error(std::move(finding));
    }
  }
}

double BoundingCases::end_of(std::size_t input, int side) const {
  const LawEnds ends = ends_of(problem_.inputs[input].law, policy_.bound_sigmas());
  return side < 0 ? ends.from : ends.to;
}

BoundingCases::Answer BoundingCases::answer_at(const std::vector<double>& values) {
  ++balances_;
  try {
    return {margins_of(watched_of(problem_.case_at(values, end_of_life_), policy_)), std::nullopt};
  } catch (const Error& error) {
    return {{}, error.diagnostics().front()};
  }
}

const BoundingCases::Answer& BoundingCases::corner(const std::vector<int>& moved) {
  const auto known = corners_.find(moved);
  if (known != corners_.end()) return known->second;
  std::vector<double> values = values_;
  for (std::size_t i = 0; i < values.size(); ++i) {
    if (moved[i] != 0) values[i] = end_of(i, moved[i]);
  }
  return corners_.emplace(moved, answer_at(values)).first->second;
}

Bounding BoundingCases::worst_of(std::size_t watched) {
  Bounding result;
  result.end_of_life = end_of_life_;
  result.beam = stated_[watched].beam;
  const double as_stated = stated_[watched].margin.margin;
  // What Newton leaves is no direction.
  const double noise = 1e-7 * (1.0 + std::abs(as_stated));
  double worst_alone = as_stated;
  std::vector<int> alone(values_.size(), 0);
  for (std::size_t i = 0; i < values_.size(); ++i) {
    result.moved.push_back(0);
    if (!moves_[i]) continue;
    const double low = low_[i].of(watched) - as_stated, high = high_[i].of(watched) - as_stated;
    if ((low < -noise && high < -noise) || (low > noise && high > noise)) result.not_monotone.push_back(i);
    if (std::min(low, high) >= -noise) continue;
    result.moved[i] = low < high ? -1 : 1;
    if (std::min(low, high) + as_stated >= worst_alone) continue;
    worst_alone = std::min(low, high) + as_stated;
    alone.assign(values_.size(), 0);
    alone[i] = result.moved[i];
  }
  const Answer* answer = &corner(result.moved);
  if (!answer->trouble && answer->of(watched) > worst_alone + noise) {
    result.alone = true;
    result.moved = alone;
    answer = &corner(alone);
  }
  result.trouble = answer->trouble;
  const Margin& stated = stated_[watched].margin;
  result.margin = answer->of(watched);
  result.value = stated.upper ? stated.limit - result.margin : stated.limit + result.margin;
  return result;
}

std::vector<double> BoundingCases::values_of(const Bounding& bounding) const {
  std::vector<double> values = values_;
  for (std::size_t i = 0; i < values.size(); ++i) {
    if (bounding.moved[i] != 0) values[i] = end_of(i, bounding.moved[i]);
  }
  return values;
}

double BoundingCases::taken_off(std::size_t watched, const Bounding& bounding, const std::vector<bool>& counts) const {
  double sum = 0.0;
  for (std::size_t i = 0; i < values_.size(); ++i) {
    if (!counts[i] || bounding.moved[i] == 0) continue;
    const Answer& answer = bounding.moved[i] < 0 ? low_[i] : high_[i];
    if (!answer.trouble) sum += stated_[watched].margin.margin - answer.of(watched);
  }
  return sum;
}

}  // namespace tileflux::studies
