#include "studies/extremes.h"

#include <cmath>

namespace tileflux::studies {

namespace {

/// Where in 0..1 the cubic with these end values and scaled end slopes is level, or a negative number.
/// Derivative of the Hermite cubic: 3 a s^2 + 2 b s + c.
double level_point(double begin, double end, double begin_slope, double end_slope) {
  const double a = 2.0 * (begin - end) + begin_slope + end_slope;
  const double b = 3.0 * (end - begin) - 2.0 * begin_slope - end_slope;
  const double c = begin_slope;
  const double root = std::sqrt(std::max(0.0, b * b - 3.0 * a * c));
  // The form that does not cancel; of the two roots the one between the ends is wanted.
  const double q = -(b + std::copysign(root, b));
  const double first = q != 0.0 ? c / q : -1.0;
  if (first > 0.0 && first < 1.0) return first;
  const double second = a != 0.0 ? q / (3.0 * a) : -1.0;
  return second > 0.0 && second < 1.0 ? second : -1.0;
}

}  // namespace

Extremes::Extremes(const tile::TileSystem& system) : system_(system) {
  const std::vector<double> unknown = system.uniform_state(0.0);
  ranges_ = ranges_at(system, unknown);
  peaks_.resize(magnitudes_at(system, unknown).size());
  rates_ = peaks_.size() - system.differences().size();
}

void Extremes::begin(double time_s, std::span<const double> x) {
  ranges_ = ranges_at(system_, x);
  for (TemperatureRange& range : ranges_) range.lowest_at_s = range.highest_at_s = time_s;
  lit_ranges_.clear();
  fastest_K_per_s_.clear();
  peaks_.assign(peaks_.size(), {0.0, time_s});
  note_beam(x);
  note_magnitudes(time_s, x);
}

void Extremes::note_magnitudes(double time_s, std::span<const double> x) {
  if (peaks_.empty()) return;
  const std::vector<double> rate = rates_ > 0 ? rates_at(system_, time_s, x) : std::vector<double>{};
  const std::vector<double> magnitudes = magnitudes_at(system_, x, rate);
  for (std::size_t k = 0; k < peaks_.size(); ++k) {
    if (magnitudes[k] > peaks_[k].most) peaks_[k] = {magnitudes[k], time_s};
  }
}

/// A difference of two cubics is a cubic. That of a melting node turns where its temperature does, taken as straight.
void Extremes::note_turns_of_differences(const solvers::Step& step) {
  const double length_s = step.end_s - step.begin_s;
  for (std::size_t k = 0; k < system_.differences().size(); ++k) {
    const tile::BoundDifference& bound = system_.differences()[k];
    const auto apart_K = [&](std::span<const double> x) {
      return system_.network().temperature_K(bound.a, x) - system_.network().temperature_K(bound.b, x);
    };
    const auto slope_K = [&](std::span<const double> x, std::span<const double> rate) {
      return length_s * (temperature_rate_K_per_s(system_, bound.a, x, rate) -
                         temperature_rate_K_per_s(system_, bound.b, x, rate));
    };
    const double begin_slope = slope_K(step.begin_state, step.begin_rate);
    const double end_slope = slope_K(step.end_state, step.end_rate);
    if (begin_slope * end_slope >= 0.0) continue;
    const double begin_K = apart_K(step.begin_state), end_K = apart_K(step.end_state);
    const double s = level_point(begin_K, end_K, begin_slope, end_slope);
    if (s <= 0.0) continue;
    inside_.resize(step.end_state.size());
    step.at(step.begin_s + s * length_s, inside_);
    const double turn_K = std::abs(apart_K(inside_));
    Peak& peak = peaks_[rates_ + k];
    if (turn_K > peak.most) peak = {turn_K, step.begin_s + s * length_s};
  }
}

/// The first state that is seen with the beam on begins the ranges that count for lasers.
void Extremes::note_beam(std::span<const double> x) {
  if (system_.mode().beam && lit_ranges_.empty()) lit_ranges_ = ranges_at(system_, x);
}

void Extremes::widen(network::NodeId id, double time_s, double temperature_K) {
  const auto widen_one = [&](TemperatureRange& range) {
    if (temperature_K < range.lowest_K) {
      range.lowest_K = temperature_K;
      range.lowest_at_s = time_s;
    }
    if (temperature_K > range.highest_K) {
      range.highest_K = temperature_K;
      range.highest_at_s = time_s;
    }
  };
  widen_one(ranges_[static_cast<std::size_t>(id)]);
  if (system_.mode().beam) widen_one(lit_ranges_[static_cast<std::size_t>(id)]);
}

double Extremes::temperature_K(std::size_t unknown, double value) const {
  const network::Node& node = system_.network().node(system_.network().node_of_unknown(static_cast<int>(unknown)));
  return node.kind == network::NodeKind::melting ? node.melting.temperature_K(value) : value;
}

void Extremes::see(double time_s, std::span<const double> x) {
  note_beam(x);
  for (std::size_t i = 0; i < nodes(); ++i)
    widen(system_.network().node_of_unknown(static_cast<int>(i)), time_s, temperature_K(i, x[i]));
  note_magnitudes(time_s, x);
}

void Extremes::see(const solvers::Step& step) {
  note_beam(step.begin_state);
  note_rates(step);
  note_magnitudes(step.end_s, step.end_state);
  note_turns_of_differences(step);
  const double length_s = step.end_s - step.begin_s;
  for (std::size_t i = 0; i < nodes(); ++i) {
    const network::NodeId id = system_.network().node_of_unknown(static_cast<int>(i));
    widen(id, step.end_s, temperature_K(i, step.end_state[i]));
    if (step.begin_rate[i] * step.end_rate[i] >= 0.0) continue;
    const double begin_slope = step.begin_rate[i] * length_s;
    const double end_slope = step.end_rate[i] * length_s;
    const double s = level_point(step.begin_state[i], step.end_state[i], begin_slope, end_slope);
    if (s <= 0.0) continue;
    // Temperature rises with the unknown, so that its extremes are the unknown's. The cubic says where it turns; near there the
    // temperature hardly changes.
    inside_.resize(step.end_state.size());
    step.at(step.begin_s + s * length_s, inside_);
    widen(id, step.begin_s + s * length_s, temperature_K(i, inside_[i]));
  }
}

void Extremes::note_rates(const solvers::Step& step) {
  if (!system_.mode().beam) return;
  for (const network::NodeId id : system_.emitting_path()) {
    if (system_.network().unknown_of(id) < 0) continue;
    double& most = fastest_K_per_s_[id];
    for (const double rate : {temperature_rate_K_per_s(system_, id, step.begin_state, step.begin_rate),
                              temperature_rate_K_per_s(system_, id, step.end_state, step.end_rate)})
      most = std::max(most, std::abs(rate));
  }
}

}  // namespace tileflux::studies
