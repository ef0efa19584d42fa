#include "tileflux/studies/margins.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "studies/margins_parts.h"
#include "studies/warning.h"
#include "tileflux/studies/gains.h"

namespace tileflux::studies {

std::string_view name_of(Control control) {
  switch (control) {
    case Control::passive:
      return "passive";
    case Control::heater:
      return "heater";
    case Control::throttle:
      return "throttle";
  }
  return "";
}

std::string_view name_of(Verdict verdict) {
  switch (verdict) {
    case Verdict::kept:
      return "kept";
    case Verdict::too_small:
      return "too small";
    case Verdict::broken:
      return "broken";
  }
  return "";
}

namespace {

/// What the policy and the case say, with what first order found.
struct MarginQuestion {
  const tile::Case& description;
  const MarginsProblem& problem;
  const MarginsOptions& options;
  const Eigen::MatrixXd& slopes;
  std::vector<bool> left_in_place;  ///< inputs that no bounding case moves

  const tile::Limit* limit_of(const std::string& node) const {
    const auto found = std::find_if(description.limits.begin(), description.limits.end(),
                                    [&](const tile::Limit& one) { return one.node == node; });
    return found == description.limits.end() ? nullptr : &*found;
  }

  Control control_of(const Margin& margin, const Bounding& bounding) const {
    if (margin.kind != LimitKind::temperature) return Control::passive;
    if (!margin.upper) {
      const bool heated = std::any_of(description.heaters.begin(), description.heaters.end(), [&](const auto& heater) {
        return !heater.stuck && (heater.node == margin.node || heater.sensor == margin.node);
      });
      return heated ? Control::heater : Control::passive;
    }
    const tile::Limit* limit = limit_of(margin.node);
    const bool throttled =
        limit != nullptr && limit->throttle_from_K && bounding.beam && bounding.value > *limit->throttle_from_K;
    return throttled ? Control::throttle : Control::passive;
  }

  /// Acceptance and qualification come on top of what is predicted.
  double step_K(const Margin& margin) const {
    const tile::Limit* limit = limit_of(margin.node);
    if (margin.kind != LimitKind::temperature || limit == nullptr) return 0.0;
    const auto value = [](const std::optional<tile::PolicyNumber>& one) { return one ? one->value : 0.0; };
    double step_K = 0.0;
    if (limit->level != tile::LimitLevel::design) step_K += value(options.policy.acceptance);
    if (limit->level == tile::LimitLevel::qualification) step_K += value(options.policy.qualification);
    return step_K;
  }
};

MarginRow row_of(const MarginQuestion& asked, const Watched& stated, std::size_t watched, Bounding bounding) {
  MarginRow row;
  row.stated = stated;
  row.watched = watched;
  row.control = asked.control_of(stated.margin, bounding);
  row.step_K = asked.step_K(stated.margin);
  const tile::Policy& policy = asked.options.policy;
  if (stated.kind == Watched::Kind::heater) {
    row.asked = policy.heater_duty.has_value();
  } else if (policy.sigmas) {
    row.from_deviations = true;
    row.uncertainty = policy.sigmas->value * linear_deviation(asked.problem.inputs, asked.slopes,
                                                              static_cast<Eigen::Index>(watched), asked.left_in_place);
  } else if (stated.margin.kind != LimitKind::temperature) {
    row.asked = false;
  } else if (row.control == Control::passive) {
    row.uncertainty = policy.uncertainty_K(asked.options.tested, bounding.value);
  } else if (policy.active) {
    row.uncertainty = policy.active->value;
  }
  const double off = row.uncertainty + row.step_K;
  row.left = bounding.margin - off;
  row.predicted = bounding.value + (stated.margin.upper ? off : -off);
  const bool beyond = stated.kind == Watched::Kind::limit && bounding.margin < 0.0;
  row.verdict = beyond || bounding.trouble ? Verdict::broken : row.left < 0.0 ? Verdict::too_small : Verdict::kept;
  row.bounding = std::move(bounding);
  return row;
}

/// By this rows of all kinds are ordered: shares of a heater count in percent.
double comparable(const MarginRow& row) {
  if (row.stated.kind == Watched::Kind::heater) return 100.0 * row.left;
  Margin margin = row.stated.margin;
  margin.margin = row.left;
  return margin.comparable();
}

bool same_row(const Watched& a, const Watched& b) { return a.kind == b.kind && same_limit(a.margin, b.margin); }

/// Slopes of everything watched over one input, by a central difference small beside what is known of the input.
Eigen::VectorXd quotient(const MarginsProblem& problem, const tile::Policy& policy, const std::vector<double>& values,
                         std::size_t input, std::size_t outputs) {
  constexpr double small = 0.02;  // error: its square, times what the slope changes over a standard deviation
  const double step = small * standard_deviation_of(problem.inputs[input].law);
  const auto at = [&](double value) -> std::optional<std::vector<double>> {
    std::vector<double> moved = values;
    moved[input] = value;
    try {
      return margins_of(watched_of(problem.case_at(moved, problem.end_of_life), policy));
    } catch (const Error&) {
      return std::nullopt;  // beyond what the input may be: one side is left
    }
  };
  auto high = at(values[input] + step), low = at(values[input] - step);
  double width = 2.0 * step;
  if (!high || !low) {
    width = step;
    (high ? low : high) = at(values[input]);
  }
  Eigen::VectorXd slopes = Eigen::VectorXd::Zero(static_cast<Eigen::Index>(outputs));
  for (std::size_t k = 0; k < outputs && high && low; ++k)
    slopes[static_cast<Eigen::Index>(k)] = ((*high)[k] - (*low)[k]) / width;
  return slopes;
}

/// Row of what is watched among the outputs of exact slopes, or none: heaters, and a light that is not the usable one.
std::optional<Eigen::Index> exact_row(const SteadyGains& exact, const Watched& watched) {
  for (std::size_t row = 0; row < exact.outputs.size(); ++row) {
    const GainOutput& output = exact.outputs[row];
    const auto place = static_cast<Eigen::Index>(row);
    if (watched.kind == Watched::Kind::light && output.kind == GainOutput::Kind::light &&
        exact.balance.beam_on->limits_met())
      return place;
    if (watched.kind == Watched::Kind::limit && output.kind == GainOutput::Kind::margin && output.limit &&
        output.beam == watched.beam && same_limit(*output.limit, watched.margin))
      return place;
  }
  return std::nullopt;
}

/// Slopes of everything watched over the inputs: exact where there are exact ones, otherwise quotients.
Eigen::MatrixXd slopes_of(const MarginsProblem& problem, const tile::Policy& policy, const tile::Case& description,
                          const std::vector<Watched>& watched) {
  std::vector<double> values;
  for (const tile::UncertainInput& input : problem.inputs) values.push_back(input.law.value);
  std::vector<GainInput> inputs;
  for (std::size_t i = 0; i < values.size(); ++i) {
    const LawEnds ends = ends_of(problem.inputs[i].law, 1.0);
    inputs.push_back({problem.inputs[i].path, problem.inputs[i].unit, values[i], ends.from, ends.to,
                      [&problem, values, i](double value) {
                        std::vector<double> moved = values;
                        moved[i] = value;
                        return problem.case_at(moved, problem.end_of_life);
                      }});
  }
  const SteadyGains exact = steady_gains(description, inputs);
  Eigen::MatrixXd slopes(static_cast<Eigen::Index>(watched.size()), static_cast<Eigen::Index>(values.size()));
  std::vector<std::optional<Eigen::Index>> rows;
  for (const Watched& one : watched) rows.push_back(exact_row(exact, one));
  const bool all = std::all_of(rows.begin(), rows.end(), [](const auto& row) { return row.has_value(); });
  for (std::size_t i = 0; i < values.size(); ++i) {
    const auto column = static_cast<Eigen::Index>(i);
    const bool moves = exact.slopes.rows() == 0 || std::isfinite(exact.slopes(0, column));
    Eigen::VectorXd others;
    if (!all || !moves) others = quotient(problem, policy, values, i, watched.size());
    for (std::size_t k = 0; k < watched.size(); ++k) {
      const auto row = static_cast<Eigen::Index>(k);
      slopes(row, column) = rows[k] && moves ? exact.slopes(*rows[k], column) : others[row];
    }
  }
  return slopes;
}

/// Which inputs the bounding cases move: as stated; otherwise all where the policy's number is of the model as a whole,
/// and what surrounds the tile where it is made of what is known of the inputs.
std::vector<bool> moved_inputs(const MarginsProblem& problem, const tile::Policy& policy) {
  std::vector<bool> moves;
  for (const tile::UncertainInput& input : problem.inputs)
    moves.push_back(input.bounding.value_or(!policy.sigmas || tile::is_surrounding(input.path)));
  return moves;
}

/// The rows, each in the state and age in which the least is left.
std::vector<MarginRow> rows_of(const MarginQuestion& asked, const std::vector<Watched>& watched,
                               const std::vector<Spread>& linear, std::vector<BoundingCases>& ages) {
  std::vector<MarginRow> rows;
  std::vector<bool> done(watched.size(), false);
  for (std::size_t first = 0; first < watched.size(); ++first) {
    if (done[first] || watched[first].kind == Watched::Kind::light) continue;
    std::vector<std::size_t> states;
    for (std::size_t k = first; k < watched.size(); ++k) {
      if (!same_row(watched[first], watched[k])) continue;
      done[k] = true;
      states.push_back(k);
    }
    std::optional<MarginRow> worst;
    std::vector<std::optional<MarginRow>> by_age(ages.size());
    for (std::size_t age = 0; age < ages.size(); ++age) {
      for (const std::size_t k : states) {
        MarginRow row = row_of(asked, watched[k], k, ages[age].worst_of(k));
        if (!by_age[age] || row.left < by_age[age]->left) by_age[age] = std::move(row);
      }
      if (!worst || by_age[age]->left < worst->left) worst = by_age[age];
    }
    for (std::size_t age = 0; age < ages.size(); ++age) {
      if (ages[age].end_of_life() != worst->bounding.end_of_life) worst->other_age = by_age[age]->bounding;
    }
    // As stated in its worse state, which may be another; so for the spread.
    for (const std::size_t k : states) {
      if (watched[k].margin.margin < worst->stated.margin.margin) worst->stated = watched[k];
      if (linear[k].low < linear[worst->watched].low) worst->watched = k;
    }
    rows.push_back(std::move(*worst));
  }
  std::stable_sort(rows.begin(), rows.end(),
                   [](const MarginRow& a, const MarginRow& b) { return comparable(a) < comparable(b); });
  return rows;
}

/// The upper limits in their bounding cases with a smaller radiator.
std::optional<AreaCheck> area_check(const tile::Case& description, const MarginsProblem& problem,
                                    const MarginsOptions& options, const std::vector<MarginRow>& rows,
                                    const std::vector<BoundingCases>& ages) {
  if (!description.size || !options.policy.radiator_area || options.tested) return std::nullopt;
  AreaCheck check{description.size->surface, options.policy.radiator_area->value, std::nullopt};
  for (const MarginRow& row : rows) {
    const Margin& margin = row.stated.margin;
    if (row.stated.kind != Watched::Kind::limit || margin.kind != LimitKind::temperature || !margin.upper) continue;
    if (row.bounding.trouble) continue;
    const auto age = std::find_if(ages.begin(), ages.end(), [&](const BoundingCases& one) {
      return one.end_of_life() == row.bounding.end_of_life;
    });
    tile::Case smaller = problem.case_at(age->values_of(row.bounding), row.bounding.end_of_life);
    for (tile::Surface& surface : smaller.surfaces) {
      if (surface.name == check.surface) surface.area_m2 /= 1.0 + check.share;
    }
    for (const Watched& one : watched_of(smaller, options.policy)) {
      if (one.kind != row.stated.kind || one.beam != row.bounding.beam || !same_limit(one.margin, margin)) continue;
      if (!check.worst || one.margin.margin < check.worst->margin) check.worst = one.margin;
    }
  }
  return check;
}

/// Tells what end-of-life values are not there.
void warn_of_ages(const MarginsProblem& problem, std::vector<Diagnostic>& warnings) {
  for (const Diagnostic& missing : problem.no_end_of_life) {
    Diagnostic warning = missing;
    warning.severity = Severity::warning;
    warnings.push_back(std::move(warning));
  }
}

/// A mean is no extreme.
void warn_of_moving_sky(const tile::Case& description, std::vector<Diagnostic>& warnings) {
  const bool moves = description.orbit || description.sun_ellipse || description.course || !description.stow.empty();
  if (!moves || description.steady_at_s) return;
  warnings.push_back(warning_of(Code::mean_surroundings,
                                "the surroundings change with time, and every case here takes their mean: look for the "
                                "extremes with `run`, or put them into the distance and tilt of a case without them"));
}

/// What the policy puts on top of inputs that a bounding case has moved already, for the row where that is most.
void warn_of_stacking(const MarginsProblem& problem, const std::vector<bool>& moves, const std::vector<MarginRow>& rows,
                      const std::vector<Watched>& watched, const std::vector<BoundingCases>& ages,
                      std::vector<Diagnostic>& warnings) {
  std::vector<bool> of_the_tile;
  for (std::size_t i = 0; i < moves.size(); ++i)
    of_the_tile.push_back(moves[i] && !tile::is_surrounding(problem.inputs[i].path));
  const MarginRow* most = nullptr;
  double most_K = 0.0;
  for (const MarginRow& row : rows) {
    if (row.from_deviations || !(row.uncertainty > 0.0) || row.bounding.trouble) continue;
    for (const BoundingCases& age : ages) {
      if (age.end_of_life() != row.bounding.end_of_life) continue;
      for (std::size_t k = 0; k < watched.size(); ++k) {
        if (!same_row(watched[k], row.stated) || watched[k].beam != row.bounding.beam) continue;
        const double off_K = std::min(age.taken_off(k, row.bounding, of_the_tile), row.uncertainty);
        if (off_K > most_K) {
          most_K = off_K;
          most = &row;
        }
      }
    }
  }
  constexpr double worth_telling_K = 0.1;
  if (most == nullptr || most_K < worth_telling_K) return;
  std::string names;
  std::size_t count = 0;
  for (std::size_t i = 0; i < moves.size(); ++i) {
    if (!of_the_tile[i] || most->bounding.moved[i] == 0) continue;
    if (++count <= 3) names += (names.empty() ? "'" : ", '") + problem.inputs[i].path + "'";
  }
  if (count > 3) names += " and " + std::to_string(count - 3) + " more";
  char text[200];
  std::snprintf(text, sizeof text,
                "the policy's %.4g K stand for what is not known of the tile, and the bounding case of %s",
                most->uncertainty, most->stated.margin.where().c_str());
  char amount[100];
  std::snprintf(amount, sizeof amount, " that too, up to %.3g K of it twice; ", most_K);
  Diagnostic warning = warning_of(Code::margin_twice, std::string(text) + " moves " + names + " for" + amount +
                                                          "`bounding: no` on these counts it once");
  warnings.push_back(std::move(warning));
}

}  // namespace

Verdict Margins::verdict() const {
  Verdict worst = Verdict::kept;
  for (const MarginRow& row : rows) worst = std::max(worst, row.verdict);
  if (area && area->worst && area->worst->margin < 0.0) worst = std::max(worst, Verdict::too_small);
  return worst;
}

Margins margins(const MarginsProblem& problem, const MarginsOptions& options) {
  Margins result;
  std::vector<double> values;
  for (const tile::UncertainInput& input : problem.inputs) values.push_back(input.law.value);
  const tile::Case description = problem.case_at(values, problem.end_of_life);
  const std::vector<bool> moves = moved_inputs(problem, options.policy);
  std::vector<BoundingCases> ages;
  ages.emplace_back(problem, options.policy, moves, problem.end_of_life);
  if (!problem.end_of_life ? problem.no_end_of_life.empty() : true)
    ages.emplace_back(problem, options.policy, moves, !problem.end_of_life);
  result.watched = ages.front().stated();
  const Eigen::MatrixXd slopes = slopes_of(problem, options.policy, description, result.watched);
  result.linear = linear_spread(problem.inputs, margins_of(result.watched), slopes, options.sampling.tiles);

  std::vector<bool> left_in_place;
  for (const bool move : moves) left_in_place.push_back(!move);
  const MarginQuestion asked{description, problem, options, slopes, left_in_place};
  result.rows = rows_of(asked, result.watched, result.linear, ages);
  if (!result.watched.empty() && result.watched.back().kind == Watched::Kind::light) {
    for (BoundingCases& age : ages) {
      Bounding light = age.worst_of(result.watched.size() - 1);
      if (!result.least_light || light.margin < result.least_light->margin) result.least_light = std::move(light);
    }
  }
  result.area = area_check(description, problem, options, result.rows, ages);
  result.warnings = margins_applied_twice(description, options, result.rows);
  warn_of_stacking(problem, moves, result.rows, result.watched, ages, result.warnings);
  warn_of_ages(problem, result.warnings);
  warn_of_moving_sky(description, result.warnings);
  for (const BoundingCases& age : ages) result.balances += age.balances();

  result.disagreements.resize(result.watched.size());
  if (options.sampling.samples <= 0 || problem.inputs.empty()) return result;
  const auto outputs_at = [&](std::span<const double> at) {
    return margins_of(watched_of(problem.case_at(at, problem.end_of_life), options.policy));
  };
  result.sampled = sampled_spread(problem.inputs, outputs_at, result.watched.size(), options.sampling);
  if (result.sampled->interrupted && result.sampled->outputs.empty()) return result;
  for (std::size_t k = 0; k < result.watched.size(); ++k)
    result.disagreements[k] = disagreement(result.linear[k], *result.sampled, k);
  return result;
}

}  // namespace tileflux::studies
