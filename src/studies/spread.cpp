#include "tileflux/studies/spread.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <limits>
#include <map>
#include <string>

#include "studies/sampling.h"

namespace tileflux::studies {

namespace {

using tile::UncertainInput;

constexpr double low_share = 0.05, high_share = 0.95;
constexpr double nothing = std::numeric_limits<double>::quiet_NaN();

/// Where the common part of an input is drawn, and its own.
struct Draws {
  std::vector<int> common, own;  ///< per input, -1: none
  int commons = 0, owns = 0;

  explicit Draws(std::span<const UncertainInput> inputs) {
    std::map<std::string, int> batches;
    for (const UncertainInput& input : inputs) {
      const bool shares = !input.batch.empty() && input.correlation > 0.0;
      common.push_back(shares ? batches.try_emplace(input.batch, static_cast<int>(batches.size())).first->second : -1);
      own.push_back(shares && input.correlation >= 1.0 ? -1 : owns++);
    }
    commons = static_cast<int>(batches.size());
  }

  /// The values of one tile from numbers in (0, 1).
  std::vector<double> values(std::span<const UncertainInput> inputs, std::span<const double> of_common,
                             std::span<const double> of_own) const {
    std::vector<double> result(inputs.size());
    for (std::size_t i = 0; i < inputs.size(); ++i) {
      double share = 0.0;
      if (common[i] < 0) {
        share = of_own[static_cast<std::size_t>(own[i])];
      } else if (own[i] < 0) {
        share = of_common[static_cast<std::size_t>(common[i])];
      } else {
        const double c = inputs[i].correlation;
        share = normal_below(std::sqrt(c) * normal_quantile(of_common[static_cast<std::size_t>(common[i])]) +
                             std::sqrt(1.0 - c) * normal_quantile(of_own[static_cast<std::size_t>(own[i])]));
      }
      constexpr double least = 1e-300, most = 1.0 - 0x1p-53;  // a law has no value at 0 and 1
      result[i] = quantile(inputs[i].law, std::clamp(share, least, most));
    }
    return result;
  }
};

/// Variance that is common to all tiles, and that of one tile alone.
struct Variances {
  double common = 0.0, own = 0.0;
};

Variances variances(std::span<const UncertainInput> inputs, const Eigen::MatrixXd& slopes, Eigen::Index row,
                    const std::vector<bool>& counts) {
  std::map<std::string, double> batches;
  Variances sum;
  for (std::size_t i = 0; i < inputs.size(); ++i) {
    if (!counts[i]) continue;
    const double effect = slopes(row, static_cast<Eigen::Index>(i)) * standard_deviation_of(inputs[i].law);
    const double c = inputs[i].batch.empty() ? 0.0 : inputs[i].correlation;
    if (c > 0.0) batches[inputs[i].batch] += std::sqrt(c) * effect;
    sum.own += (1.0 - c) * effect * effect;
  }
  for (const auto& [name, effect] : batches) sum.common += effect * effect;
  return sum;
}

}  // namespace

double linear_deviation(std::span<const UncertainInput> inputs, const Eigen::MatrixXd& slopes, Eigen::Index row,
                        const std::vector<bool>& counts) {
  const Variances sum = variances(inputs, slopes, row, counts);
  return std::sqrt(sum.common + sum.own);
}

std::vector<Spread> linear_spread(std::span<const UncertainInput> inputs, std::span<const double> stated,
                                  const Eigen::MatrixXd& slopes, long tiles) {
  std::vector<Spread> spreads;
  const std::vector<bool> all(inputs.size(), true);
  for (std::size_t k = 0; k < stated.size(); ++k) {
    const auto row = static_cast<Eigen::Index>(k);
    Spread spread;
    spread.mean = stated[k];
    for (std::size_t i = 0; i < inputs.size(); ++i)
      spread.mean += slopes(row, static_cast<Eigen::Index>(i)) * (mean_of(inputs[i].law) - inputs[i].law.value);
    const Variances sum = variances(inputs, slopes, row, all);
    spread.standard_deviation = std::sqrt(sum.common + sum.own);
    spread.common_deviation = std::sqrt(sum.common);
    spread.low = spread.mean + spread.standard_deviation * normal_quantile(low_share);
    spread.high = spread.mean + spread.standard_deviation * normal_quantile(high_share);
    const auto worst_of = [&](long count) {
      // The smallest is the largest with its sign turned.
      return largest_of_many(-spread.mean, spread.common_deviation, std::sqrt(sum.own), static_cast<double>(count),
                             0.0);
    };
    const double one = worst_of(1).probability_above;
    spread.below_zero = {one, one, one};
    if (tiles > 1) {
      const LargestOfMany worst = worst_of(tiles);
      const double any = worst.probability_above;
      spread.worst = WorstTile{-worst.mean, -worst.median, -worst.high, {any, any, any}};
    }
    spreads.push_back(spread);
  }
  return spreads;
}

std::vector<std::vector<double>> sample_inputs(std::span<const UncertainInput> inputs, const SampleOptions& options) {
  const Draws draws(inputs);
  const auto commons = static_cast<std::size_t>(draws.commons), owns = static_cast<std::size_t>(draws.owns);
  const auto points = unit_points(static_cast<std::size_t>(options.samples), commons + owns, options.seed,
                                  options.design == SampleOptions::Design::latin);
  std::vector<std::vector<double>> samples;
  samples.reserve(points.size());
  for (const std::vector<double>& point : points) {
    const std::span<const double> all(point);
    samples.push_back(draws.values(inputs, all.first(commons), all.subspan(commons)));
  }
  return samples;
}

namespace {

/// Whole arrays: tiles of one array share their common parts.
std::vector<std::vector<double>> array_inputs(std::span<const UncertainInput> inputs, const SampleOptions& options,
                                              long arrays) {
  const Draws draws(inputs);
  const bool latin = options.design == SampleOptions::Design::latin;
  // Another sequence than that of the single tiles.
  constexpr std::uint64_t apart = 0x9e3779b97f4a7c15u;
  const auto common = unit_points(static_cast<std::size_t>(arrays), static_cast<std::size_t>(draws.commons),
                                  options.seed + apart, latin);
  const auto own = unit_points(static_cast<std::size_t>(arrays * options.tiles), static_cast<std::size_t>(draws.owns),
                               options.seed + 2 * apart, latin);
  std::vector<std::vector<double>> samples;
  samples.reserve(own.size());
  for (std::size_t k = 0; k < own.size(); ++k)
    samples.push_back(draws.values(inputs, common[k / static_cast<std::size_t>(options.tiles)], own[k]));
  return samples;
}

/// Answers by sample; an empty one has none.
struct Answered {
  std::vector<std::vector<double>> rows;
  std::vector<std::optional<Diagnostic>> why;
  bool complete = true;
};

Answered answered(const std::vector<std::vector<double>>& samples, const OutputsAt& outputs_at,
                  const SampleOptions& options, double from, double to) {
  Answered all{std::vector<std::vector<double>>(samples.size()), std::vector<std::optional<Diagnostic>>(samples.size()),
               true};
  const auto go_on = [&](double share) { return !options.progress || options.progress(from + share * (to - from)); };
  all.complete = in_parallel(
      samples.size(), std::max(1u, options.threads),
      [&](std::size_t i) {
        try {
          all.rows[i] = outputs_at(samples[i]);
        } catch (const Error& error) {
          all.why[i] = error.diagnostics().front();
        } catch (const std::exception& error) {
          Diagnostic trouble;
          trouble.message = error.what();
          all.why[i] = std::move(trouble);
        }
      },
      go_on);
  return all;
}

/// The answers of one output that count, sorted; a failed sample is below everything.
std::vector<double> column(const Answered& all, std::size_t output) {
  std::vector<double> values;
  values.reserve(all.rows.size());
  for (const std::vector<double>& row : all.rows)
    values.push_back(row.empty() || std::isnan(row[output]) ? -HUGE_VAL : row[output]);
  return values;
}

void add_moments(std::vector<double> sorted, int failed, Spread& spread, double& mean_error, double& deviation_error) {
  const std::span<const double> answered = std::span<const double>(sorted).subspan(static_cast<std::size_t>(failed));
  const auto n = static_cast<double>(answered.size());
  if (answered.size() < 2) {
    spread.mean = spread.standard_deviation = spread.low = spread.high = mean_error = deviation_error = nothing;
    return;
  }
  double sum = 0.0, squares = 0.0, fourths = 0.0;
  for (const double value : answered) sum += value;
  spread.mean = sum / n;
  for (const double value : answered) {
    const double square = (value - spread.mean) * (value - spread.mean);
    squares += square;
    fourths += square * square;
  }
  const double variance = squares / (n - 1.0);
  spread.standard_deviation = std::sqrt(variance);
  spread.low = sorted_quantile(answered, low_share);
  spread.high = sorted_quantile(answered, high_share);
  mean_error = spread.standard_deviation / std::sqrt(n);
  // Var(s^2) = (m4 - m2^2) / n, and s follows by its slope.
  const double of_variance = std::max(0.0, fourths / n - (squares / n) * (squares / n)) / n;
  deviation_error = variance > 0.0 ? 0.5 * std::sqrt(of_variance) / spread.standard_deviation : 0.0;
}

long count_below_zero(std::span<const double> values) {
  return std::count_if(values.begin(), values.end(), [](double value) { return value < 0.0; });
}

/// The worst of many independent tiles from single ones: P(all above x) = P(one above x)^N.
WorstTile worst_of_independent(std::span<const double> sorted, long tiles, const ProbabilityRange& below_zero) {
  const auto at = [&](double share_above) {
    return sorted_quantile(sorted, -std::expm1(std::log(share_above) / static_cast<double>(tiles)));
  };
  const auto any = [&](double one) {
    return -std::expm1(static_cast<double>(tiles) * std::log1p(-std::min(one, 1.0)));
  };
  WorstTile worst;
  worst.median = at(0.5);
  worst.low = at(1.0 - low_share);
  // Mean of the smallest: each sorted value weighs the chance that it is the one.
  const auto n = static_cast<double>(sorted.size());
  for (std::size_t i = 0; i < sorted.size(); ++i) {
    const auto above = [&](double share) { return std::pow(1.0 - share, static_cast<double>(tiles)); };
    worst.mean += sorted[i] * (above(static_cast<double>(i) / n) - above(static_cast<double>(i + 1) / n));
  }
  worst.any_below_zero = {any(below_zero.estimate), any(below_zero.from), any(below_zero.to)};
  return worst;
}

WorstTile worst_of_arrays(const std::vector<double>& values, long tiles) {
  std::vector<double> worst;
  for (std::size_t begin = 0; begin + static_cast<std::size_t>(tiles) <= values.size();
       begin += static_cast<std::size_t>(tiles)) {
    const auto first = values.begin() + static_cast<std::ptrdiff_t>(begin);
    worst.push_back(*std::min_element(first, first + tiles));
  }
  std::sort(worst.begin(), worst.end());
  WorstTile result;
  for (const double value : worst) result.mean += value / static_cast<double>(worst.size());
  result.median = sorted_quantile(worst, 0.5);
  result.low = sorted_quantile(worst, low_share);
  result.any_below_zero = probability_of(count_below_zero(worst), static_cast<long>(worst.size()));
  return result;
}

constexpr long least_beyond = 10, least_arrays = 50;

void add_worst(std::span<const UncertainInput> inputs, const OutputsAt& outputs_at, const Answered& single,
               const SampleOptions& options, Sampled& result) {
  const auto n = static_cast<double>(single.rows.size()), tiles = static_cast<double>(options.tiles);
  const bool common = Draws(inputs).commons > 0;
  char why[200];
  if (!common) {
    const double beyond = -n * std::expm1(-std::log(2.0) / tiles);
    if (beyond < static_cast<double>(least_beyond)) {
      std::snprintf(why, sizeof why, "the samples do not reach so far: %.3g of them would be needed",
                    std::ceil(static_cast<double>(least_beyond) / -std::expm1(-std::log(2.0) / tiles)));
      result.no_worst = why;
      return;
    }
    for (std::size_t k = 0; k < result.outputs.size(); ++k) {
      std::vector<double> sorted = column(single, k);
      std::sort(sorted.begin(), sorted.end());
      result.outputs[k].worst = worst_of_independent(sorted, options.tiles, result.outputs[k].below_zero);
    }
    return;
  }
  const long arrays = options.samples / options.tiles;
  if (arrays < least_arrays) {
    std::snprintf(
        why, sizeof why,
        "the samples make too few arrays: %.3g of them would be needed for %ld arrays with their common parts",
        tiles * static_cast<double>(least_arrays), least_arrays);
    result.no_worst = why;
    return;
  }
  const Answered all = answered(array_inputs(inputs, options, arrays), outputs_at, options, 0.5, 1.0);
  if (!all.complete) {
    result.interrupted = true;
    result.no_worst = "interrupted";
    return;
  }
  result.arrays = arrays;
  for (std::size_t k = 0; k < result.outputs.size(); ++k)
    result.outputs[k].worst = worst_of_arrays(column(all, k), options.tiles);
}

}  // namespace

Sampled sampled_spread(std::span<const UncertainInput> inputs, const OutputsAt& outputs_at, std::size_t outputs,
                       const SampleOptions& options) {
  Sampled result;
  const bool twice = options.tiles > 1 && Draws(inputs).commons > 0 && options.samples / options.tiles >= least_arrays;
  const Answered all = answered(sample_inputs(inputs, options), outputs_at, options, 0.0, twice ? 0.5 : 1.0);
  result.samples = static_cast<int>(all.rows.size());
  if (!all.complete) {
    result.interrupted = true;
    return result;
  }
  for (const auto& why : all.why) {
    if (!why) continue;
    ++result.failed;
    if (!result.first_failure) result.first_failure = why;
  }
  for (std::size_t k = 0; k < outputs; ++k) {
    std::vector<double> sorted = column(all, k);
    std::sort(sorted.begin(), sorted.end());
    Spread spread;
    double mean_error = 0.0, deviation_error = 0.0;
    const auto silent = std::count(sorted.begin(), sorted.end(), -HUGE_VAL);
    add_moments(sorted, static_cast<int>(silent), spread, mean_error, deviation_error);
    spread.below_zero = probability_of(count_below_zero(sorted), result.samples);
    result.outputs.push_back(spread);
    result.mean_error.push_back(mean_error);
    result.deviation_error.push_back(deviation_error);
  }
  if (options.tiles > 1) add_worst(inputs, outputs_at, all, options, result);
  return result;
}

std::string disagreement(const Spread& linear, const Sampled& sampled, std::size_t output) {
  const Spread& drawn = sampled.outputs[output];
  if (!(linear.standard_deviation > 0.0) && !(drawn.standard_deviation > 0.0) && sampled.failed == 0) return {};
  constexpr double errors = 3.0, part_of_deviation = 0.1;
  std::string text;
  char piece[200];
  const auto add = [&] { text += (text.empty() ? "" : "; ") + std::string(piece); };
  const double scale = std::max(linear.standard_deviation, drawn.standard_deviation);
  if (std::abs(linear.mean - drawn.mean) > errors * sampled.mean_error[output] + part_of_deviation * scale) {
    std::snprintf(piece, sizeof piece, "means %.4g and %.4g", linear.mean, drawn.mean);
    add();
  }
  if (std::abs(linear.standard_deviation - drawn.standard_deviation) >
      errors * sampled.deviation_error[output] + part_of_deviation * scale) {
    std::snprintf(piece, sizeof piece, "standard deviations %.3g and %.3g", linear.standard_deviation,
                  drawn.standard_deviation);
    add();
  }
  // In samples: those that first order expects, give or take, and those that were found.
  const ProbabilityRange& range = drawn.below_zero;
  const double one = linear.below_zero.estimate, count = sampled.samples;
  if (std::abs(range.estimate - one) * count > errors * (std::sqrt(count * one * (1.0 - one)) + 1.0)) {
    std::snprintf(piece, sizeof piece, "probabilities %.2g %% and %.2g %% (%.2g to %.2g %%)", 100.0 * one,
                  100.0 * range.estimate, 100.0 * range.from, 100.0 * range.to);
    add();
  }
  if (sampled.failed > 0 && text.empty()) {
    std::snprintf(piece, sizeof piece, "%d samples have no steady state, of which first order knows nothing",
                  sampled.failed);
    add();
  }
  return text;
}

}  // namespace tileflux::studies
