/// Laws of chance and what uncertain inputs do to outputs, against closed forms.

#include "tileflux/studies/spread.h"

#include <gtest/gtest.h>

#include <cmath>

#include "studies/sampling.h"

namespace tileflux::studies::spread_test {

using tile::InputLaw;
using tile::UncertainInput;

/// What is left of quadratures and root-finding here.
constexpr double found = 1e-8;

UncertainInput normal_input(double value, double deviation, const std::string& batch = "", double correlation = 1.0) {
  UncertainInput input;
  input.path = "p" + batch + std::to_string(value);
  input.law = {InputLaw::Kind::normal, value, deviation, 0.0, 0.0};
  input.batch = batch;
  input.correlation = batch.empty() ? 0.0 : correlation;
  return input;
}

TEST(InputLaw, HasTheMomentsAndQuantilesOfItsKind) {
  const InputLaw uniform{InputLaw::Kind::uniform, 2.0, 0.0, 1.0, 5.0};
  EXPECT_DOUBLE_EQ(mean_of(uniform), 3.0);
  EXPECT_DOUBLE_EQ(standard_deviation_of(uniform), 4.0 / std::sqrt(12.0));
  EXPECT_DOUBLE_EQ(quantile(uniform, 0.25), 2.0);
  // Cut off at one standard deviation on either side: sqrt(1 - 2 phi(1)/(2 Phi(1) - 1)) = 0.53956 of it.
  const InputLaw bounded{InputLaw::Kind::bounded, 10.0, 2.0, 8.0, 12.0};
  EXPECT_NEAR(standard_deviation_of(bounded), 2.0 * 0.5395600937, 1e-9);
  EXPECT_NEAR(mean_of(bounded), 10.0, 1e-12);
  EXPECT_NEAR(quantile(bounded, 0.5), 10.0, 1e-12);
  EXPECT_GE(quantile(bounded, 1e-12), 8.0);
  EXPECT_LE(quantile(bounded, 1.0 - 1e-12), 12.0);
  // Far in one tail: nearly exponential, and within its ends.
  const InputLaw tail{InputLaw::Kind::bounded, 0.0, 1.0, 8.0, 9.0};
  EXPECT_GT(quantile(tail, 0.5), 8.0);
  EXPECT_LT(quantile(tail, 0.5), 8.2);
  EXPECT_DOUBLE_EQ(ends_of({InputLaw::Kind::normal, 1.0, 0.1, 0.0, 0.0}, 3.0).to, 1.3);
}

TEST(LargestOfMany, IsTheExactOrderStatistic) {
  // Means of the largest of 2, 3 and 100 standard normals: 1/sqrt(pi), 3/(2 sqrt(pi)), and by quadrature 2.50759.
  EXPECT_NEAR(largest_of_normals_mean(2), 1.0 / std::sqrt(M_PI), found);
  EXPECT_NEAR(largest_of_normals_mean(3), 1.5 / std::sqrt(M_PI), found);
  EXPECT_NEAR(largest_of_normals_mean(100), 2.5075936, 1e-6);
  EXPECT_EQ(largest_of_normals_mean(1), 0.0);
  for (const double count : {1.0, 7.0, 1e4, 1e8}) {
    const double x = largest_of_normals_quantile(count, 0.5);
    EXPECT_NEAR(std::pow(normal_below(x), count), 0.5, count * 1e-15 + found) << count;
  }
  // sqrt(2 ln N) bounds the mean from above and comes near it slowly.
  for (const double count : {1e2, 1e4, 1e8}) {
    EXPECT_LT(largest_of_normals_mean(count), std::sqrt(2.0 * std::log(count)));
    EXPECT_GT(largest_of_normals_mean(count), 0.8 * std::sqrt(2.0 * std::log(count)));
  }
}

TEST(LargestOfMany, DoesNotAverageTheCommonPartAway) {
  const double tiles = 100.0;
  const LargestOfMany own = largest_of_many(10.0, 0.0, 2.0, tiles, 16.0);
  EXPECT_NEAR(own.median, 10.0 + 2.0 * largest_of_normals_quantile(tiles, 0.5), found);
  EXPECT_NEAR(own.probability_above, 1.0 - std::pow(normal_below(3.0), tiles), found);
  const LargestOfMany common = largest_of_many(10.0, 2.0, 0.0, tiles, 16.0);
  EXPECT_NEAR(common.median, 10.0, 1e-6);
  EXPECT_NEAR(common.probability_above, 1.0 - normal_below(3.0), found);
  const LargestOfMany both = largest_of_many(10.0, 2.0, 2.0, tiles, 16.0);
  EXPECT_NEAR(both.mean, own.mean, found);
  EXPECT_GT(both.high, own.high);
  // Two tiles whose parts correlate by one half: P(any above 0) = 1 - 1/3 (P(both below) = 1/4 + asin(1/2)/(2 pi)).
  EXPECT_NEAR(largest_of_many(0.0, 1.0, 1.0, 2.0, 0.0).probability_above, 2.0 / 3.0, found);
  EXPECT_EQ(largest_of_many(1.0, 0.0, 0.0, tiles, 2.0).probability_above, 0.0);
}

TEST(Probability, CarriesWilsonsInterval) {
  // By hand for 5 of 100: middle 0.066656, half 0.045030.
  const ProbabilityRange range = probability_of(5, 100);
  EXPECT_DOUBLE_EQ(range.estimate, 0.05);
  EXPECT_NEAR(range.from, 0.0215436, 1e-6);
  EXPECT_NEAR(range.to, 0.1117505, 1e-6);
  EXPECT_EQ(probability_of(0, 100).from, 0.0);
  EXPECT_GT(probability_of(0, 100).to, 0.03);
}

TEST(LinearSpread, AddsIndependentEffectsInSquares) {
  const std::vector<UncertainInput> inputs{normal_input(1, 3), normal_input(2, 2), normal_input(3, 4)};
  const std::vector<double> stated{10.0};
  const Spread spread = linear_spread(inputs, stated, Eigen::MatrixXd::Ones(1, 3), 1).front();
  EXPECT_NEAR(spread.standard_deviation, std::sqrt(29.0), 1e-12);
  EXPECT_NEAR(spread.below_zero.estimate, normal_below(-10.0 / std::sqrt(29.0)), found);
  EXPECT_FALSE(spread.worst);
  EXPECT_NEAR(linear_deviation(inputs, Eigen::MatrixXd::Ones(1, 3), 0, {true, true, false}), std::sqrt(13.0), 1e-12);
}

TEST(LinearSpread, AddsWhatMovesTogetherAsItIs) {
  const std::vector<UncertainInput> inputs{normal_input(1, 3, "b"), normal_input(2, 4, "b")};
  const std::vector<double> stated{10.0};
  EXPECT_NEAR(linear_spread(inputs, stated, Eigen::MatrixXd::Ones(1, 2), 1).front().standard_deviation, 7.0, 1e-12);
  Eigen::MatrixXd against(1, 2);
  against << 1.0, -1.0;
  EXPECT_NEAR(linear_spread(inputs, stated, against, 1).front().standard_deviation, 1.0, 1e-12);
  const std::vector<UncertainInput> half{normal_input(1, 3, "b", 0.5), normal_input(2, 4, "b", 0.5)};
  const Spread spread = linear_spread(half, stated, Eigen::MatrixXd::Ones(1, 2), 100).front();
  EXPECT_NEAR(spread.standard_deviation, std::sqrt(25.0 + 2 * 0.5 * 12.0), 1e-12);
  EXPECT_NEAR(spread.common_deviation, std::sqrt(0.5) * 7.0, 1e-12);
  EXPECT_NEAR(spread.worst->mean, 10.0 - std::sqrt(0.5 * 25.0) * largest_of_normals_mean(100), found);
}

TEST(UnitPoints, FillEveryStratumOnce) {
  constexpr std::size_t count = 50;
  const auto points = unit_points(count, 3, 7, true);
  for (std::size_t d = 0; d < 3; ++d) {
    std::vector<int> hits(count, 0);
    for (const auto& point : points) ++hits[static_cast<std::size_t>(point[d] * count)];
    EXPECT_EQ(std::count(hits.begin(), hits.end(), 1), static_cast<long>(count)) << d;
  }
  EXPECT_EQ(points, unit_points(count, 3, 7, true));
  EXPECT_NE(points, unit_points(count, 3, 8, true));
}

/// The plate of the theory: T = (q/(e sigma))^(1/4), as a margin to 1.05 of its temperature.
std::vector<double> plate_margin(std::span<const double> q) { return {1.05 - std::pow(q[0], 0.25)}; }

TEST(SampledSpread, IsTheSameForEveryNumberOfThreads) {
  const std::vector<UncertainInput> inputs{normal_input(1.0, 0.05)};
  SampleOptions options{.samples = 200, .seed = 3, .tiles = 4};
  const Sampled one = sampled_spread(inputs, plate_margin, 1, options);
  options.threads = 3;
  const Sampled three = sampled_spread(inputs, plate_margin, 1, options);
  EXPECT_EQ(one.outputs[0].mean, three.outputs[0].mean);
  EXPECT_EQ(one.outputs[0].worst->median, three.outputs[0].worst->median);
  options.seed = 4;
  EXPECT_NE(one.outputs[0].mean, sampled_spread(inputs, plate_margin, 1, options).outputs[0].mean);
}

TEST(SampledSpread, AgreesWithFirstOrderOnAPlateAndSaysWhereNot) {
  const std::vector<UncertainInput> inputs{normal_input(1.0, 0.05)};
  const std::vector<double> stated{0.05};
  const Eigen::MatrixXd slope = Eigen::MatrixXd::Constant(1, 1, -0.25);
  const Spread linear = linear_spread(inputs, stated, slope, 1).front();
  EXPECT_DOUBLE_EQ(linear.standard_deviation, 0.05 / 4);
  const Sampled sampled = sampled_spread(inputs, plate_margin, 1, {.samples = 2000});
  EXPECT_EQ(disagreement(linear, sampled, 0), "");
  // Second order: T is a quarter of 5 % spread, with a mean lower by 3/32 of its square.
  EXPECT_NEAR(sampled.outputs[0].mean, 0.05 + 3.0 / 32.0 * 0.0025, 1e-5);
  const Spread wrong = linear_spread(inputs, stated, 2.0 * slope, 1).front();
  EXPECT_NE(disagreement(wrong, sampled, 0), "");
}

TEST(SampledSpread, CountsSamplesWithoutAnAnswerAsBroken) {
  const std::vector<UncertainInput> inputs{normal_input(0.0, 1.0)};
  const auto fails_above_one = [](std::span<const double> x) -> std::vector<double> {
    if (x[0] > 1.0) throw Error(Code::steady_not_found, "none");
    return {1.0};
  };
  const Sampled sampled = sampled_spread(inputs, fails_above_one, 1, {.samples = 1000});
  // A Latin hypercube puts a share of 1 - Phi(1) = 15.9 % there, to one sample.
  EXPECT_NEAR(sampled.failed, 158.7, 1.0);
  EXPECT_DOUBLE_EQ(sampled.outputs[0].below_zero.estimate, sampled.failed / 1000.0);
  EXPECT_EQ(sampled.first_failure->code, Code::steady_not_found);
  EXPECT_NE(disagreement(linear_spread(inputs, std::vector<double>{1.0}, Eigen::MatrixXd::Zero(1, 1), 1).front(), sampled, 0), "");
}

TEST(SampledSpread, TellsTheWorstTileWhereSamplesReach) {
  const auto itself = [](std::span<const double> x) -> std::vector<double> { return {10.0 - x[0] - x[1]}; };
  std::vector<UncertainInput> own{normal_input(0.0, 1.0), normal_input(0.0, 1.0)};
  const SampleOptions options{.samples = 20000, .tiles = 20};
  const Sampled alone = sampled_spread(own, itself, 1, options);
  const Spread linear = linear_spread(own, std::vector<double>{10.0}, -Eigen::MatrixXd::Ones(1, 2), 20).front();
  // The density of the sum at its 3.4 % quantile is 0.054: 20 000 samples tell it to 0.024 (one error), half the band here.
  constexpr double band = 0.05;
  EXPECT_NEAR(alone.outputs[0].worst->median, linear.worst->median, band);
  EXPECT_NEAR(alone.outputs[0].worst->mean, linear.worst->mean, band);
  EXPECT_EQ(alone.arrays, 0);
  // One of the two the same in all tiles: 1000 arrays, whose worst spreads by 1.13.
  own[0].batch = "sun";
  own[0].correlation = 1.0;
  const Sampled common = sampled_spread(own, itself, 1, options);
  const Spread shared = linear_spread(own, std::vector<double>{10.0}, -Eigen::MatrixXd::Ones(1, 2), 20).front();
  EXPECT_EQ(common.arrays, 1000);
  constexpr double four_errors = 4.0 * 1.25 * 1.13 / 31.6;
  EXPECT_NEAR(common.outputs[0].worst->median, shared.worst->median, four_errors);
  EXPECT_LT(linear.worst->median, shared.worst->median - four_errors);
  // Too few samples are said to be too few.
  EXPECT_NE(sampled_spread(own, itself, 1, {.samples = 100, .tiles = 20}).no_worst, "");
  own[0].batch.clear();
  EXPECT_NE(sampled_spread(own, itself, 1, {.samples = 100, .tiles = 20}).no_worst, "");
}

TEST(SampledSpread, StopsWhenAskedTo) {
  const std::vector<UncertainInput> inputs{normal_input(1.0, 0.05)};
  SampleOptions options{.samples = 200};
  options.progress = [](double) { return false; };
  EXPECT_TRUE(sampled_spread(inputs, plate_margin, 1, options).interrupted);
}

}  // namespace tileflux::studies::spread_test
