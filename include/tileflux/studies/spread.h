#pragma once
/// What uncertain inputs do to outputs that must stay above zero (margins): to first order, and sampled.
///
/// An input is quantile(Phi(z)) of its law with z = sqrt(c) g + sqrt(1 - c) e: g is common to its batch and to all
/// tiles of an array, e is the input's own and differs from tile to tile; c is the input's correlation. So two inputs
/// of a batch correlate with sqrt(c1 c2), and the worst of many tiles is sought over e alone, g being the same in all.

#include <Eigen/Core>
#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <vector>

#include "tileflux/base/errors.h"
#include "tileflux/studies/chance.h"
#include "tileflux/tile/uncertainty.h"

namespace tileflux::studies {

/// The worst of an array: the smallest output over its tiles.
struct WorstTile {
  double mean = 0.0, median = 0.0;
  double low = 0.0;                 ///< undershot with 5 % probability
  ProbabilityRange any_below_zero;  ///< that at least one tile of the array is below zero
};

/// How one output is spread.
struct Spread {
  double mean = 0.0, standard_deviation = 0.0;
  double common_deviation = 0.0;  ///< of the part that is the same in all tiles; sampled: not told apart, 0
  double low = 0.0, high = 0.0;   ///< 5 % and 95 % quantiles
  ProbabilityRange below_zero;    ///< linear: `from` and `to` are the estimate
  std::optional<WorstTile> worst;
};

/// First order: outputs are `stated` plus `slopes` (outputs x inputs, in SI) times what the inputs differ by from their
/// stated values; sums are taken as normal. Correlations count as those of z, which they are for normal laws.
std::vector<Spread> linear_spread(std::span<const tile::UncertainInput> inputs, std::span<const double> stated,
                                  const Eigen::MatrixXd& slopes, long tiles);

/// Standard deviation of output `row` from some of the inputs alone.
double linear_deviation(std::span<const tile::UncertainInput> inputs, const Eigen::MatrixXd& slopes, Eigen::Index row,
                        const std::vector<bool>& counts);

/// Outputs at values of all inputs. Calls may run side by side. May throw Error: then the sample has no answer.
using OutputsAt = std::function<std::vector<double>(std::span<const double> values)>;

struct SampleOptions {
  enum class Design { latin, random };
  int samples = 1000;
  std::uint64_t seed = 1;
  Design design = Design::latin;
  unsigned threads = 1;
  long tiles = 1;                                ///< of the array whose worst is wanted
  std::function<bool(double share)> progress{};  ///< told the share done; false ends the sampling
};

/// Samples of inputs, one row each; the same for the same options on every machine and for every number of threads.
std::vector<std::vector<double>> sample_inputs(std::span<const tile::UncertainInput> inputs,
                                               const SampleOptions& options);

struct Sampled {
  std::vector<Spread> outputs;                      ///< of the samples that have answers
  std::vector<double> mean_error, deviation_error;  ///< standard errors as if samples were independent
  int samples = 0, failed = 0;                      ///< a failed sample counts as below zero in every output
  std::optional<Diagnostic> first_failure;
  long arrays = 0;       ///< sampled with common parts, or 0: the worst tile is a quantile of the samples, or not told
  std::string no_worst;  ///< why the worst of the array is not told, if it is not
  bool interrupted = false;
};

/// Where no input has a common part the worst of N tiles is the quantile 1 - (1/2)^(1/N) of the samples, told where at
/// least ten samples lie beyond it. Otherwise whole arrays are sampled, as many as the samples make, told from fifty
/// on.
Sampled sampled_spread(std::span<const tile::UncertainInput> inputs, const OutputsAt& outputs_at, std::size_t outputs,
                       const SampleOptions& options);

/// Whether first order and samples say the same, and if not why in words: empty where they agree.
std::string disagreement(const Spread& linear, const Sampled& sampled, std::size_t output);

}  // namespace tileflux::studies
