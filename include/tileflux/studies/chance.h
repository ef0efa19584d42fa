#pragma once
/// Laws of chance: quantiles of an uncertain input, and the largest of many.

#include <span>

#include "tileflux/tile/uncertainty.h"

namespace tileflux::studies {

/// Distribution function of the standard normal law, and its inverse (0 < share < 1).
double normal_below(double x);
double normal_quantile(double share);

/// The value below which a share 0 < share < 1 of the law lies.
double quantile(const tile::InputLaw& law, double share);
double mean_of(const tile::InputLaw& law);
double standard_deviation_of(const tile::InputLaw& law);

/// What stands for the ends of a law in bounding cases: its own, or so many standard deviations of a normal one.
struct LawEnds {
  double from = 0.0, to = 0.0;
};
LawEnds ends_of(const tile::InputLaw& law, double sigmas);

/// The largest of `count` independent standard normal values: P(largest <= x) = P(one <= x)^count. Exact, for counts up
/// to 1e9 and beyond.
double largest_of_normals_quantile(double count, double share);
double largest_of_normals_mean(double count);

/// common + the largest of `count` own parts, all normal: what an array of tiles has where part of what is unknown is
/// the same in all of them.
struct LargestOfMany {
  double mean = 0.0, median = 0.0, high = 0.0;  ///< `high`: exceeded with 5 % probability
  double probability_above = 0.0;               ///< of the bound that was asked about
};
LargestOfMany largest_of_many(double mean, double common_deviation, double own_deviation, double count, double bound);

/// How well a probability is known from `hits` among `count` independent samples: Wilson's interval at 95 % (E. B.
/// Wilson, J. Am. Stat. Assoc. 22, 209, 1927). Samples of a Latin hypercube are at least as even.
struct ProbabilityRange {
  double estimate = 0.0, from = 0.0, to = 1.0;
};
ProbabilityRange probability_of(long hits, long count);

/// The share-quantile of values sorted upwards, linear between them, the ends at (i - 0.5)/n.
double sorted_quantile(std::span<const double> sorted, double share);

}  // namespace tileflux::studies
