#include "studies/compare_path.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "studies/gains_parts.h"
#include "studies/modes.h"

namespace tileflux::studies {

namespace {

using Kind = ComparedOutput::Kind;

[[noreturn]] void refuse_missing(const std::string& what) {
  throw Error(Code::name_unknown, "on the way from A to B the tile has no " + what);
}

const Margin& margin_in(const std::vector<Margin>& margins, const Margin& limit) {
  const auto found = std::find_if(margins.begin(), margins.end(), [&](const Margin& one) { return same_limit(one, limit); });
  if (found == margins.end()) refuse_missing("limit on " + limit.where());
  return *found;
}

network::NodeId node_in(const tile::TileSystem& system, const std::string& name) {
  const network::NodeId id = system.network().find(name);
  if (id < 0) refuse_missing("part '" + name + "'");
  return id;
}

std::string limit_words(const std::optional<Margin>& limit) {
  return limit ? limit->where() + (limit->upper ? "" : " (lower limit)") : "";
}

/// Regime and what sets it, for the steady state with the beam on and for the rating.
std::string standing_of(const SteadyStates& states, const std::optional<ContinuousRating>& rating) {
  const auto words = [](const OperatingPoint& point, const std::string& state) {
    std::string text = std::string(name_of(point.regime));
    if (point.regime == Regime::heat_limited || !point.limits_met())
      text += (point.limits_met() ? " by " : ", broken: ") + limit_words(point.binding);
    return text + state;
  };
  std::string text = states.beam_on ? words(*states.beam_on, "") : words(states.beam_off, "");
  if (rating)
    text += rating->limited ? "; rating set by " + limit_words(rating->binding)
                            : "; rating set by " + std::string(name_of(rating->regime));
  return text;
}

/// Where each output stands among the slopes of SteadyAnswers::along.
std::vector<Eigen::Index> places_of(const SteadyAnswers& answers, const std::vector<ComparedOutput>& outputs) {
  std::vector<Eigen::Index> places;
  for (const ComparedOutput& output : outputs) {
    if (output.kind == Kind::temperature) {
      const Eigen::Index nodes = answers.system.network().node_count();
      const auto steady = static_cast<Eigen::Index>(answers.outputs.size());
      places.push_back(steady + (output.beam ? nodes : 0) + node_in(answers.system, output.node));
      continue;
    }
    const auto found = std::find_if(answers.outputs.begin(), answers.outputs.end(), [&](const GainOutput& one) {
      if (output.kind == Kind::light) return one.kind == GainOutput::Kind::light;
      if (output.kind == Kind::rating) return one.kind == GainOutput::Kind::rating;
      return one.kind == GainOutput::Kind::margin && one.beam == output.beam && same_limit(*one.limit, *output.limit);
    });
    if (found == answers.outputs.end()) refuse_missing("such output");
    places.push_back(found - answers.outputs.begin());
  }
  return places;
}

/// A group at a share of the way as one input: about 1, such that its step is a step of the same share of every number
/// in it.
struct GroupInput {
  GainInput input;
  double per_share = 0.0;  ///< of the input
};

GroupInput group_input(const std::vector<ComparedInput>& inputs, const MovedGroup& group,
                       const std::vector<double>& shares, const CaseBetween& between) {
  double relative = 0.0;
  for (const std::size_t i : group.inputs) {
    const double size = std::max(std::abs(inputs[i].a), std::abs(inputs[i].b));
    relative = std::max(relative, std::abs(inputs[i].b - inputs[i].a) / size);
  }
  const auto case_at = [&group, shares, &between, relative](double value) {
    std::vector<double> moved = shares;
    for (const std::size_t i : group.inputs) moved[i] += (value - 1.0) / relative;
    return between(moved);
  };
  return {{inputs[group.inputs.front()].name, "1", 1.0, 0.0, 2.0, case_at}, relative};
}

/// The list or section that a value stands in.
std::string section_of(const std::string& path) {
  const std::size_t list = path.find('[');
  return path.substr(0, list != std::string::npos ? list : path.rfind('.'));
}

/// Gauss-Legendre with three points on [0, 1]: Abramowitz & Stegun 1964, Handbook of Mathematical Functions, table 25.4.
struct GaussPoint {
  double at, weight;
};
const std::array<GaussPoint, 3>& gauss_points() {
  static const double offset = 0.5 * std::sqrt(0.6);
  static const std::array<GaussPoint, 3> points{
      {{0.5 - offset, 5.0 / 18.0}, {0.5, 8.0 / 18.0}, {0.5 + offset, 5.0 / 18.0}}};
  return points;
}

class Path {
 public:
  Path(const std::vector<ComparedInput>& inputs, const std::vector<MovedGroup>& groups,
       const std::vector<double>& shares, const CaseBetween& between, const std::vector<ComparedOutput>& outputs,
       const std::function<bool(double)>& go_on)
      : inputs_(inputs), groups_(groups), shares_(shares), between_(between), outputs_(outputs), go_on_(go_on) {
    parts_.change.assign(groups.size(), std::vector<double>(outputs.size(), 0.0));
    parts_.at_corners.assign(outputs.size(), 0.0);
  }

  PathParts go() {
    const ComparedPoint from = point_at(0.0), to = point_at(1.0);
    whole_ = difference(from, to);
    integrate(0.0, from, 1.0, to, 0);
    return std::move(parts_);
  }

 private:
  static std::vector<double> difference(const ComparedPoint& from, const ComparedPoint& to) {
    std::vector<double> change(from.values.size());
    for (std::size_t k = 0; k < change.size(); ++k) change[k] = to.values[k] - from.values[k];
    return change;
  }

  std::vector<double> shares_at(double t) const {
    std::vector<double> shares = shares_;
    for (const MovedGroup& group : groups_) {
      for (const std::size_t i : group.inputs) shares[i] = t;
    }
    return shares;
  }

  ComparedPoint point_at(double t) const { return compared_point(between_(shares_at(t)), outputs_); }

  /// Cuts at changes of the standing; between them the outputs are smooth but for corners of laws.
  void integrate(double t0, const ComparedPoint& from, double t1, const ComparedPoint& to, int depth) {
    constexpr std::size_t most_corners = 20;
    if (from.standing == to.standing || parts_.corners.size() >= most_corners)
      return integrate_smooth(t0, from, t1, to, depth);
    constexpr double close = 1e-7;
    double low = t0, high = t1;
    ComparedPoint below = from, above = to;
    while (high - low > close) {
      const double middle = 0.5 * (low + high);
      ComparedPoint between = point_at(middle);
      const bool same = between.standing == from.standing;
      (same ? low : high) = middle;
      (same ? below : above) = std::move(between);
    }
    parts_.corners.push_back({high, from.standing, above.standing, false});
    leave_over(difference(below, above));
    integrate_smooth(t0, from, low, below, depth);
    integrate(high, above, t1, to, depth);
  }

  void leave_over(const std::vector<double>& rest) {
    for (std::size_t k = 0; k < rest.size(); ++k) parts_.at_corners[k] += rest[k];
  }

  void integrate_smooth(double t0, const ComparedPoint& from, double t1, const ComparedPoint& to, int depth) {
    constexpr double shortest = 1e-6;
    constexpr int deepest = 7;
    std::vector<double> rest = difference(from, to);
    if (t1 - t0 < shortest) return leave_over(rest);
    const std::vector<double> change = rest;
    std::vector<std::vector<double>> panel(groups_.size(), std::vector<double>(outputs_.size(), 0.0));
    for (const GaussPoint& point : gauss_points()) add_slopes(t0 + point.at * (t1 - t0), point.weight * (t1 - t0), panel);
    bool close = true;
    for (std::size_t k = 0; k < rest.size(); ++k) {
      double moved = 0.0;
      for (const auto& group : panel) {
        rest[k] -= group[k];
        moved += std::abs(group[k]);
      }
      // The last digits of a search for the rating; of watts and kelvins.
      const double digits = outputs_[k].kind == Kind::rating ? 1e-8 : 1e-6;
      const double counts = std::max({std::abs(change[k]), moved, (t1 - t0) * std::abs(whole_[k])});
      close = close && std::abs(rest[k]) <= 0.5 * compare_tolerance * counts + digits;
    }
    if (!close && depth < deepest) {
      const double middle = 0.5 * (t0 + t1);
      const ComparedPoint between = point_at(middle);
      integrate(t0, from, middle, between, depth + 1);
      return integrate(middle, between, t1, to, depth + 1);
    }
    leave_over(rest);
    for (std::size_t g = 0; g < groups_.size(); ++g) {
      for (std::size_t k = 0; k < rest.size(); ++k) parts_.change[g][k] += panel[g][k];
    }
    if (go_on_ && !go_on_(t1)) throw Error(Code::interrupted, "stopped");
  }

  void add_slopes(double t, double weight, std::vector<std::vector<double>>& panel) {
    const std::vector<double> shares = shares_at(t);
    const SteadyAnswers answers(between_(shares), true);
    const std::vector<Eigen::Index> places = places_of(answers, outputs_);
    ++parts_.points;
    for (std::size_t g = 0; g < groups_.size(); ++g) {
      const GroupInput one = group_input(inputs_, groups_[g], shares, between_);
      Moved moved(one.input, answers.system);
      const Eigen::VectorXd slopes = answers.along(moved);
      for (std::size_t k = 0; k < outputs_.size(); ++k) panel[g][k] += weight * one.per_share * slopes[places[k]];
    }
  }

  const std::vector<ComparedInput>& inputs_;
  const std::vector<MovedGroup>& groups_;
  const std::vector<double>& shares_;
  const CaseBetween& between_;
  const std::vector<ComparedOutput>& outputs_;
  const std::function<bool(double)>& go_on_;
  std::vector<double> whole_;
  PathParts parts_;
};

}  // namespace

ComparedPoint compared_point(const tile::Case& description, const std::vector<ComparedOutput>& outputs) {
  tile::TileSystem system(description);
  const SteadyStates states = steady_states(system);
  std::optional<ContinuousRating> rating = states.rating;
  if (!rating && states.beam_on) {
    system.set_mode(steady_mode(system.description(), true, true));
    rating = continuous_rating(system);
  }
  ComparedPoint point;
  for (const ComparedOutput& output : outputs) {
    if (output.beam && !states.beam_on) refuse_missing("beam");
    const OperatingPoint& state = output.beam ? *states.beam_on : states.beam_off;
    switch (output.kind) {
      case Kind::light:
        point.values.push_back(states.usable_laser_W);
        break;
      case Kind::rating:
        point.values.push_back(rating->drive);
        break;
      case Kind::temperature:
        point.values.push_back(system.network().temperature_K(node_in(system, output.node), state.x));
        break;
      case Kind::margin:
        point.values.push_back(margin_in(state.margins, *output.limit).margin);
        break;
    }
  }
  point.standing = standing_of(states, rating);
  return point;
}

MovableNumbers movable_numbers(const std::vector<ComparedInput>& inputs, const std::vector<std::size_t>& numbers,
                               std::vector<double> shares, const CaseBetween& between) {
  MovableNumbers found;
  constexpr double half = 0.5;
  for (const std::size_t i : numbers) shares[i] = half;
  std::optional<tile::TileSystem> base;
  try {
    base.emplace(between(shares));
  } catch (const Error& error) {
    require_users_error(error);
    found.fixed = numbers;
    return found;
  }
  const auto moves = [&](const MovedGroup& group) {
    try {
      Moved moved(group_input(inputs, group, shares, between).input, *base);
      return true;
    } catch (const Error& error) {
      require_users_error(error);
      return false;
    }
  };
  std::vector<MovedGroup> unmoved;
  for (const std::size_t i : numbers) {
    const MovedGroup alone{{i}, ""};
    if (moves(alone)) {
      found.groups.push_back(alone);
      continue;
    }
    const auto same = std::find_if(unmoved.begin(), unmoved.end(), [&](const MovedGroup& one) {
      return section_of(inputs[one.inputs.front()].name) == section_of(inputs[i].name);
    });
    if (same != unmoved.end())
      same->inputs.push_back(i);
    else
      unmoved.push_back({{i}, "none of them alone can be moved"});
  }
  MovedGroup rest;
  for (const MovedGroup& group : unmoved) {
    if (group.inputs.size() > 1 && moves(group)) {
      found.groups.push_back(group);
      continue;
    }
    rest.inputs.insert(rest.inputs.end(), group.inputs.begin(), group.inputs.end());
    rest.why_together = group.why_together;
  }
  if (rest.inputs.size() > 1 && moves(rest))
    found.groups.push_back(rest);
  else
    found.fixed = rest.inputs;
  return found;
}

PathParts path_parts(const std::vector<ComparedInput>& inputs, const std::vector<MovedGroup>& groups,
                     const std::vector<double>& shares, const CaseBetween& between,
                     const std::vector<ComparedOutput>& outputs, const std::function<bool(double)>& go_on) {
  return Path(inputs, groups, shares, between, outputs, go_on).go();
}

}  // namespace tileflux::studies
