#include "tileflux/studies/why.h"

#include <algorithm>
#include <cmath>

namespace tileflux::studies {

namespace {

constexpr std::size_t told = 3;

/// The largest ones, falling.
template <class Entry, class Size>
void keep_largest(std::vector<Entry>& entries, const Size& size) {
  std::stable_sort(entries.begin(), entries.end(),
                   [&](const Entry& a, const Entry& b) { return size(a) > size(b); });
  if (entries.size() > told) entries.resize(told);
}

/// Row of what is to be gained: the light if anything moves it, otherwise the margin that binds.
std::optional<Eigen::Index> goal_of(const SteadyGains& gains, Why& why) {
  std::optional<Eigen::Index> margin;
  for (std::size_t i = 0; i < gains.outputs.size(); ++i) {
    const GainOutput& output = gains.outputs[i];
    const auto row = static_cast<Eigen::Index>(i);
    if (output.kind == GainOutput::Kind::light && (gains.slopes.row(row).array().abs() > 0.0).any()) return row;
    if (output.kind == GainOutput::Kind::margin && why.binding && output.beam == why.binding->beam &&
        same_limit(*output.limit, why.binding->margin))
      margin = row;
  }
  why.of_light = false;
  return margin;
}

}  // namespace

Why why(const tile::Case& description, const std::vector<WeighedInput>& inputs) {
  std::vector<GainInput> moved;
  for (const WeighedInput& input : inputs) moved.push_back(input.gain);
  const SteadyGains gains = steady_gains(description, moved);
  Why why;
  why.regime = (gains.balance.beam_on ? *gains.balance.beam_on : gains.balance.beam_off).regime;
  const LimitsOverStates limits = limits_over_states(gains.balance.beam_off, gains.balance.beam_on);
  why.binding = limits.binding;
  why.next = limits.next;
  const auto goal = goal_of(gains, why);
  if (!goal) return why;
  for (std::size_t i = 0; i < inputs.size(); ++i) {
    const WeighedInput& input = inputs[i];
    const double slope = gains.slopes(*goal, static_cast<Eigen::Index>(i));
    if (!std::isfinite(slope) || slope == 0.0) continue;
    const double size = std::abs(slope * input.gain.value);
    constexpr double per_cent = 0.01, next_to_nothing = 1e-6;
    if (size * per_cent < next_to_nothing) continue;
    // Where no more is possible, as of a share that is all of it, more does not help.
    const bool more = slope > 0.0, possible = !more || input.gain.value < input.gain.most;
    if (input.design && possible) {
      why.per_cent.push_back({input.gain.name, more, per_cent * size});
      if (input.kg_per_unit && *input.kg_per_unit > 0.0 && more)
        why.per_kg.push_back({input.gain.name, true, slope / *input.kg_per_unit});
    }
    if (input.basis.empty()) continue;
    double share = input.uncertainty.value_or(unknown_share);
    if (input.basis == "memory") share = std::max(share, memory_share);
    why.weak.push_back({input.gain.name, input.basis, input.words, share, share != input.uncertainty, share * size});
  }
  keep_largest(why.per_cent, [](const Change& one) { return one.gained; });
  keep_largest(why.per_kg, [](const Change& one) { return one.gained; });
  keep_largest(why.weak, [](const WeakValue& one) { return one.matters; });
  return why;
}

}  // namespace tileflux::studies
