#include "tileflux/studies/chance.h"

#include <algorithm>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/quadrature/gauss_kronrod.hpp>
#include <boost/math/quadrature/tanh_sinh.hpp>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <numbers>

namespace tileflux::studies {

namespace {

using tile::InputLaw;

const boost::math::normal& standard() {
  static const boost::math::normal law;
  return law;
}

/// The value with a share above it; shares that round to 0 or 1 stand for the last one that does not.
double value_with_above(double share) {
  constexpr double least = 1e-300, most = 1.0 - 0x1p-53;
  return boost::math::quantile(boost::math::complement(standard(), std::clamp(share, least, most)));
}

double normal_above(double x) { return boost::math::cdf(boost::math::complement(standard(), x)); }
double normal_density(double x) { return std::exp(-0.5 * x * x) / std::sqrt(2.0 * std::numbers::pi); }

/// Ends of a bounded law in standard deviations around its middle.
LawEnds standardized(const InputLaw& law) {
  return {(law.from - law.value) / law.standard_deviation, (law.to - law.value) / law.standard_deviation};
}

/// Share of a normal law between two ends, told from the tail in which it has digits.
double share_between(double from, double to) {
  return from > 0.0 ? normal_above(from) - normal_above(to) : normal_below(to) - normal_below(from);
}

}  // namespace

double normal_below(double x) { return boost::math::cdf(standard(), x); }
double normal_quantile(double share) { return boost::math::quantile(standard(), share); }

double quantile(const InputLaw& law, double share) {
  switch (law.kind) {
    case InputLaw::Kind::normal:
      return law.value + law.standard_deviation * normal_quantile(share);
    case InputLaw::Kind::uniform:
      return law.from + share * (law.to - law.from);
    case InputLaw::Kind::bounded:
      break;
  }
  const LawEnds ends = standardized(law);
  const double inside = share_between(ends.from, ends.to);
  double z = 0.0;
  if (ends.from > 0.0)
    z = boost::math::quantile(boost::math::complement(standard(), normal_above(ends.from) - share * inside));
  else
    z = normal_quantile(normal_below(ends.from) + share * inside);
  return std::clamp(law.value + law.standard_deviation * z, law.from, law.to);
}

double mean_of(const InputLaw& law) {
  if (law.kind == InputLaw::Kind::normal) return law.value;
  if (law.kind == InputLaw::Kind::uniform) return 0.5 * (law.from + law.to);
  const LawEnds ends = standardized(law);
  return law.value + law.standard_deviation * (normal_density(ends.from) - normal_density(ends.to)) /
                         share_between(ends.from, ends.to);
}

double standard_deviation_of(const InputLaw& law) {
  if (law.kind == InputLaw::Kind::normal) return law.standard_deviation;
  if (law.kind == InputLaw::Kind::uniform) return (law.to - law.from) / std::sqrt(12.0);
  const LawEnds ends = standardized(law);
  const double inside = share_between(ends.from, ends.to);
  const double first = (normal_density(ends.from) - normal_density(ends.to)) / inside;
  const double second = (ends.from * normal_density(ends.from) - ends.to * normal_density(ends.to)) / inside;
  return law.standard_deviation * std::sqrt(std::max(0.0, 1.0 + second - first * first));
}

LawEnds ends_of(const InputLaw& law, double sigmas) {
  if (law.kind != InputLaw::Kind::normal) return {law.from, law.to};
  return {law.value - sigmas * law.standard_deviation, law.value + sigmas * law.standard_deviation};
}

double largest_of_normals_quantile(double count, double share) {
  // From the upper tail, where a single value of 1e9 has its digits: 1 - share^(1/count).
  return value_with_above(-std::expm1(std::log(share) / count));
}

double largest_of_normals_mean(double count) {
  if (count <= 1.0) return 0.0;
  static boost::math::quadrature::tanh_sinh<double> rule;
  // The mean of the quantile over all shares, from either end so that shares near 1 keep their digits.
  const auto low = [&](double share) { return share > 0.0 ? largest_of_normals_quantile(count, share) : 0.0; };
  const auto high = [&](double left) {
    if (!(left > 0.0)) return 0.0;
    return value_with_above(-std::expm1(std::log1p(-left) / count));
  };
  return rule.integrate(low, 0.0, 0.5) + rule.integrate(high, 0.0, 0.5);
}

namespace {

/// P(common + largest of own parts > x), all with mean zero.
double probability_above(double x, double common, double own, double count) {
  if (common <= 0.0 && own <= 0.0) return x < 0.0 ? 1.0 : 0.0;
  // 1 - P(one <= y)^count with digits where it is small.
  const auto some_above = [&](double y) { return -std::expm1(count * std::log1p(-normal_above(y))); };
  if (own <= 0.0) return normal_above(x / common);
  if (common <= 0.0) return some_above(x / own);
  constexpr double far = 9.0;  // normal densities beyond are below 1e-18
  const auto integrand = [&](double g) { return normal_density(g) * some_above((x - common * g) / own); };
  // The step of some_above lies where one of the own parts is about the largest; pieces meet there.
  const double turn = std::clamp((x - own * largest_of_normals_quantile(count, 0.5)) / common, -far, far);
  using Rule = boost::math::quadrature::gauss_kronrod<double, 31>;
  constexpr unsigned deep = 12;
  constexpr double tolerance = 1e-10;
  double sum = 0.0;
  if (turn > -far) sum += Rule::integrate(integrand, -far, turn, deep, tolerance);
  if (turn < far) sum += Rule::integrate(integrand, turn, far, deep, tolerance);
  return std::min(1.0, sum);
}

}  // namespace

LargestOfMany largest_of_many(double mean, double common_deviation, double own_deviation, double count, double bound) {
  LargestOfMany result;
  const double typical = own_deviation * largest_of_normals_mean(count);
  result.mean = mean + typical;
  result.probability_above = probability_above(bound - mean, common_deviation, own_deviation, count);
  const double spread = common_deviation + own_deviation;
  if (!(spread > 0.0)) {
    result.median = result.high = mean;
    return result;
  }
  const auto at = [&](double share_above) {
    constexpr double far = 9.0;
    std::uintmax_t steps = 100;
    const auto found = boost::math::tools::toms748_solve(
        [&](double x) { return probability_above(x, common_deviation, own_deviation, count) - share_above; },
        -far * spread, typical + far * spread, boost::math::tools::eps_tolerance<double>(40), steps);
    return mean + 0.5 * (found.first + found.second);
  };
  result.median = at(0.5);
  result.high = at(0.05);
  return result;
}

ProbabilityRange probability_of(long hits, long count) {
  ProbabilityRange range;
  if (count <= 0) return range;
  constexpr double z = 1.959963984540054;  // two-sided 95 %
  const double n = static_cast<double>(count), p = static_cast<double>(hits) / n;
  const double middle = (p + z * z / (2.0 * n)) / (1.0 + z * z / n);
  const double half = z / (1.0 + z * z / n) * std::sqrt(p * (1.0 - p) / n + z * z / (4.0 * n * n));
  return {p, hits == 0 ? 0.0 : std::max(0.0, middle - half), hits == count ? 1.0 : std::min(1.0, middle + half)};
}

double sorted_quantile(std::span<const double> sorted, double share) {
  const double place = share * static_cast<double>(sorted.size()) - 0.5;
  if (place <= 0.0) return sorted.front();
  const auto below = static_cast<std::size_t>(place);
  if (below + 1 >= sorted.size()) return sorted.back();
  if (std::isinf(sorted[below])) return sorted[below];
  return std::lerp(sorted[below], sorted[below + 1], place - static_cast<double>(below));
}

}  // namespace tileflux::studies
