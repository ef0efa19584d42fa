#include "tileflux/studies/compare.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "studies/compare_path.h"
#include "studies/gains_parts.h"
#include "studies/modes.h"
#include "tileflux/studies/sustainable.h"

namespace tileflux::studies {

using Kind = ComparedOutput::Kind;

std::optional<std::size_t> Comparison::light() const {
  for (std::size_t k = 0; k < outputs.size(); ++k) {
    if (outputs[k].kind == Kind::light) return k;
  }
  return std::nullopt;
}

std::optional<std::size_t> Comparison::margin(const StateMargin& limit) const {
  for (std::size_t k = 0; k < outputs.size(); ++k) {
    const ComparedOutput& one = outputs[k];
    if (one.kind == Kind::margin && one.beam == limit.beam && same_limit(*one.limit, limit.margin)) return k;
  }
  return std::nullopt;
}

std::vector<std::size_t> Comparison::ranked(std::size_t output) const {
  std::vector<std::size_t> order;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    if (parts[i].change[output] != 0.0) order.push_back(i);
  }
  std::stable_sort(order.begin(), order.end(), [&](std::size_t one, std::size_t other) {
    return std::abs(parts[one].change[output]) > std::abs(parts[other].change[output]);
  });
  return order;
}

namespace {

/// Inputs that change at once, one such set after the other.
using Steps = std::vector<std::vector<std::size_t>>;

/// What each set does where all of them are taken one after another, in their order and in reverse.
struct StepChanges {
  std::vector<std::vector<std::vector<double>>> by_order;  ///< of every order, of every set, of every output
};

/// One arrangement of steps and numbers from A to B.
struct Arrangement {
  StepChanges steps;
  PathParts path;
  bool numbers_last = false;
};

ComparedSide side_of(const tile::Case& description, bool with_duty) {
  ComparedSide side;
  tile::TileSystem system(description);
  side.balance = balance(system);
  side.binding = limits_over_states(side.balance.beam_off, side.balance.beam_on).binding;
  if (!description.beam) return side;
  system.set_mode(steady_mode(system.description(), true, true));
  side.rating = side.balance.rating ? *side.balance.rating : continuous_rating(system);
  const bool bounded = !description.limits.empty() || !description.differences.empty();
  if (!with_duty || !description.beam->pattern || !bounded) return side;
  try {
    const SustainableDuty duty = sustainable_duty(system, description.beam->pattern->every_s);
    side.duty = duty.fraction;
    if (system.has_lasers()) side.duty_light_W = duty.mean_light_W;
  } catch (const Error& error) {
    require_users_error(error);
    side.duty_note = error.diagnostics().front().message;
  }
  return side;
}

std::vector<std::string> nodes_of(const tile::Case& description) {
  const tile::TileSystem system(description);
  std::vector<std::string> names;
  for (network::NodeId id = 0; id < system.network().node_count(); ++id)
    names.push_back(system.network().node(id).name);
  return names;
}

bool holds(const std::vector<std::string>& names, const std::string& name) {
  return std::find(names.begin(), names.end(), name) != names.end();
}

/// The whole study.
class Comparer {
 public:
  Comparer(const tile::Case& a, const tile::Case& b, const std::vector<ComparedInput>& inputs,
           const CaseBetween& between, const CompareOptions& options)
      : a_(a), b_(b), inputs_(inputs), between_(between), options_(options) {}

  Comparison go() {
    result_.a = side_of(a_, options_.duty);
    tell(0.2);
    result_.b = side_of(b_, options_.duty);
    tell(0.4);
    list_outputs();
    if (inputs_.empty() || result_.interrupted) return std::move(result_);
    try {
      if (gives_b()) attribute();
    } catch (const Error& error) {
      require_users_error(error);
      result_.why_no_parts =
          result_.interrupted ? "the comparison was interrupted" : error.diagnostics().front().message;
    }
    return std::move(result_);
  }

 private:
  void tell(double share) {
    if (options_.progress && !options_.progress(share)) result_.interrupted = true;
  }

  void list_outputs() {
    const Balance &a = result_.a.balance, &b = result_.b.balance;
    const bool beams = a.beam_on && b.beam_on;
    auto& outputs = result_.outputs;
    if (beams && !a_.lasers.empty() && !b_.lasers.empty()) outputs.push_back({Kind::light, "", {}, true, "W"});
    if (beams) outputs.push_back({Kind::rating, "", {}, true, "1"});
    const std::vector<std::string> a_nodes = nodes_of(a_), b_nodes = nodes_of(b_);
    for (const bool beam : {false, true}) {
      if (beam && !beams) continue;
      for (const std::string& name : a_nodes) {
        if (holds(b_nodes, name)) outputs.push_back({Kind::temperature, name, {}, beam, "K"});
      }
      const std::vector<Margin>& others = beam ? b.beam_on->margins : b.beam_off.margins;
      for (const Margin& margin : beam ? a.beam_on->margins : a.beam_off.margins) {
        if (std::any_of(others.begin(), others.end(), [&](const Margin& one) { return same_limit(one, margin); }))
          outputs.push_back({Kind::margin, "", margin, beam, std::string(unit_of(margin.kind))});
      }
    }
    for (const std::string& name : a_nodes) {
      if (!holds(b_nodes, name)) result_.only_in_a.push_back(name);
    }
    for (const std::string& name : b_nodes) {
      if (!holds(a_nodes, name)) result_.only_in_b.push_back(name);
    }
    const std::vector<double> at_a = compared_point(a_, outputs).values, at_b = compared_point(b_, outputs).values;
    for (std::size_t k = 0; k < outputs.size(); ++k) {
      outputs[k].a = at_a[k];
      outputs[k].b = at_b[k];
    }
  }

  /// Whether A with all that differs taken over answers as B does.
  bool gives_b() {
    const std::vector<double> values = values_at(std::vector<double>(inputs_.size(), 1.0));
    constexpr double digits = 1e-6;  // of watts and kelvins
    for (std::size_t k = 0; k < values.size(); ++k) {
      if (std::abs(values[k] - result_.outputs[k].b) <= digits) continue;
      result_.why_no_parts =
          "A with all of this taken over from B does not answer as B does: something else differs, such as a table in "
          "a "
          "file beside the cases";
      return false;
    }
    return true;
  }

  const std::vector<double>& values_at(const std::vector<double>& shares) {
    const auto known = values_.find(shares);
    if (known != values_.end()) return known->second;
    return values_[shares] = compared_point(between_(shares), result_.outputs).values;
  }

  std::optional<std::vector<double>> values_if_sound(const std::vector<double>& shares) {
    if (unsound_.contains(shares)) return std::nullopt;
    try {
      return values_at(shares);
    } catch (const Error& error) {
      require_users_error(error);
      why_unsound_ = error.diagnostics().front().message;
      unsound_.insert(shares);
      return std::nullopt;
    }
  }

  std::vector<double> shares_with(double numbers, double steps) const {
    std::vector<double> shares(inputs_.size(), steps);
    for (const std::size_t i : numbers_) shares[i] = numbers;
    return shares;
  }

  void attribute() {
    for (std::size_t i = 0; i < inputs_.size(); ++i) {
      if (inputs_[i].number) numbers_.push_back(i);
    }
    // Whether numbers can be moved one by one is asked where most of the structure is as in A, or else as in B.
    MovableNumbers movable = movable_numbers(inputs_, numbers_, shares_with(0.0, 0.0), between_);
    if (movable.groups.empty()) movable = movable_numbers(inputs_, numbers_, shares_with(0.0, 1.0), between_);
    groups_ = movable.groups;
    Steps steps = steps_at_first(movable.fixed);
    numbers_.clear();
    for (const MovedGroup& group : groups_) numbers_.insert(numbers_.end(), group.inputs.begin(), group.inputs.end());
    std::vector<Arrangement> arrangements = arranged(steps);
    if (arrangements.empty()) {
      result_.why_no_parts = "no order of the changes leads over sound cases: " + why_unsound_;
      return;
    }
    add_parts(steps, arrangements);
  }

  /// What cannot be taken over alone goes together with what stands in the same section, and else with all such.
  Steps steps_at_first(const std::vector<std::size_t>& fixed) {
    Steps steps, unsound;
    std::vector<std::size_t> all = fixed;
    for (std::size_t i = 0; i < inputs_.size(); ++i) {
      if (!inputs_[i].number) all.push_back(i);
    }
    std::sort(all.begin(), all.end());
    const auto is_sound = [&](const std::vector<std::size_t>& step) {
      std::vector<double> of_a(inputs_.size(), 0.0), of_b(inputs_.size(), 1.0);
      for (const std::size_t i : step) {
        of_a[i] = 1.0;
        of_b[i] = 0.0;
      }
      return values_if_sound(of_a) && values_if_sound(of_b);
    };
    std::map<std::string, std::vector<std::size_t>> by_section;
    for (const std::size_t i : all) {
      if (is_sound({i}))
        steps.push_back({i});
      else
        by_section[inputs_[i].name.substr(0, inputs_[i].name.find_last_of(".["))].push_back(i);
    }
    std::vector<std::size_t> together;
    for (const auto& [section, members] : by_section) {
      if (members.size() > 1 && is_sound(members))
        steps.push_back(members);
      else
        together.insert(together.end(), members.begin(), members.end());
    }
    std::sort(together.begin(), together.end());
    if (!together.empty()) steps.push_back(together);
    return steps;
  }

  /// Steps in their order and in reverse, from A's or B's numbers; sets that only go with their neighbour are joined.
  std::optional<StepChanges> step_changes(Steps& steps, double numbers) {
    for (;;) {
      StepChanges changes;
      std::optional<std::size_t> stuck;
      for (const bool reverse : {false, true}) {
        if (stuck || (reverse && steps.size() < 2)) break;
        std::vector<std::vector<double>> order(steps.size());
        std::vector<double> shares = shares_with(numbers, 0.0);
        auto before = values_if_sound(shares);
        if (!before) return std::nullopt;
        for (std::size_t j = 0; j < steps.size() && !stuck; ++j) {
          const std::size_t s = reverse ? steps.size() - 1 - j : j;
          for (const std::size_t i : steps[s]) shares[i] = 1.0;
          const auto after = values_if_sound(shares);
          if (!after && j + 1 == steps.size()) return std::nullopt;
          if (!after) {
            stuck = reverse ? s - 1 : s;
            break;
          }
          for (std::size_t k = 0; k < after->size(); ++k) order[s].push_back((*after)[k] - (*before)[k]);
          before = after;
        }
        if (!stuck) changes.by_order.push_back(std::move(order));
      }
      if (!stuck) return changes;
      steps[*stuck].insert(steps[*stuck].end(), steps[*stuck + 1].begin(), steps[*stuck + 1].end());
      steps.erase(steps.begin() + static_cast<std::ptrdiff_t>(*stuck) + 1);
      std::sort(steps[*stuck].begin(), steps[*stuck].end());
    }
  }

  std::vector<Arrangement> arranged(Steps& steps) {
    // Joined further for one set of numbers, the steps serve the other too.
    for (const double numbers : {0.0, 1.0}) {
      Steps joined = steps;
      if (!steps.empty() && step_changes(joined, numbers)) steps = joined;
    }
    std::vector<Arrangement> all;
    for (const bool numbers_last : {true, false}) {
      if (!numbers_last && (steps.empty() || groups_.empty())) continue;  // would be the same once more
      Arrangement one{{}, {}, numbers_last};
      if (!steps.empty()) {
        const auto changes = step_changes(steps, numbers_last ? 0.0 : 1.0);
        if (!changes) continue;
        one.steps = *changes;
      }
      try {
        one.path = along(shares_with(0.0, numbers_last ? 1.0 : 0.0), numbers_last);
        all.push_back(std::move(one));
      } catch (const Error& error) {
        require_users_error(error);
        if (error.code() == Code::interrupted) throw;
        why_unsound_ = error.diagnostics().front().message;
      }
    }
    return all;
  }

  PathParts along(const std::vector<double>& shares, bool numbers_last) {
    if (groups_.empty()) return {{}, std::vector<double>(result_.outputs.size(), 0.0), {}, 0};
    const double done = numbers_last ? 0.4 : 0.7;
    const auto go_on = [&](double share) {
      tell(done + 0.3 * share);
      return !result_.interrupted;
    };
    return path_parts(inputs_, groups_, shares, between_, result_.outputs, go_on);
  }

  void add_parts(const Steps& steps, const std::vector<Arrangement>& arrangements) {
    const std::size_t outputs = result_.outputs.size();
    const auto part_of = [&](const std::vector<std::size_t>& inputs, bool step, const std::string& why) {
      return ComparedPart{inputs,
                          step,
                          why,
                          std::vector<double>(outputs, 0.0),
                          std::vector<double>(outputs, HUGE_VAL),
                          std::vector<double>(outputs, -HUGE_VAL)};
    };
    const auto add = [&](ComparedPart& part, const std::vector<double>& change, double weight) {
      for (std::size_t k = 0; k < outputs; ++k) {
        part.change[k] += weight * change[k];
        part.least[k] = std::min(part.least[k], change[k]);
        part.most[k] = std::max(part.most[k], change[k]);
      }
    };
    const double weight = 1.0 / static_cast<double>(arrangements.size());
    for (std::size_t g = 0; g < groups_.size(); ++g) {
      result_.parts.push_back(part_of(groups_[g].inputs, false, groups_[g].why_together));
      for (const Arrangement& one : arrangements) add(result_.parts.back(), one.path.change[g], weight);
    }
    for (std::size_t s = 0; s < steps.size(); ++s) {
      result_.parts.push_back(
          part_of(steps[s], true, steps[s].size() > 1 ? "only together they make a sound case" : ""));
      for (const Arrangement& one : arrangements) {
        const double share = weight / static_cast<double>(one.steps.by_order.size());
        for (const auto& order : one.steps.by_order) add(result_.parts.back(), order[s], share);
      }
    }
    result_.at_corners.assign(outputs, 0.0);
    for (const Arrangement& one : arrangements) {
      for (std::size_t k = 0; k < outputs; ++k) result_.at_corners[k] += weight * one.path.at_corners[k];
      for (ComparedCorner corner : one.path.corners) {
        corner.with_steps = one.numbers_last && !steps.empty();
        result_.corners.push_back(std::move(corner));
      }
      result_.points += one.path.points;
    }
    clean();
  }

  /// What lies below the last digits of an answer is nothing.
  void clean() {
    constexpr double digits = 1e-9;
    for (ComparedPart& part : result_.parts) {
      for (std::size_t k = 0; k < part.change.size(); ++k) {
        const ComparedOutput& output = result_.outputs[k];
        const double size = std::max({std::abs(output.a), std::abs(output.b), output.kind == Kind::margin ? 1.0 : 0.0});
        for (double* value : {&part.change[k], &part.least[k], &part.most[k]}) {
          if (std::abs(*value) <= digits * size) *value = 0.0;
        }
      }
    }
  }

  const tile::Case &a_, &b_;
  const std::vector<ComparedInput>& inputs_;
  const CaseBetween& between_;
  const CompareOptions& options_;
  Comparison result_;
  std::vector<std::size_t> numbers_;
  std::vector<MovedGroup> groups_;
  std::map<std::vector<double>, std::vector<double>> values_;
  std::set<std::vector<double>> unsound_;
  std::string why_unsound_;
};

}  // namespace

Comparison compare(const tile::Case& a, const tile::Case& b, const std::vector<ComparedInput>& inputs,
                   const CaseBetween& between, const CompareOptions& options) {
  return Comparer(a, b, inputs, between, options).go();
}

}  // namespace tileflux::studies
