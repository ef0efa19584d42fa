#include "tileflux/studies/design.h"

#include <algorithm>
#include <boost/random/sobol.hpp>
#include <cmath>
#include <random>
#include <string>
#include <utility>

#include "studies/sampling.h"
#include "tileflux/base/errors.h"

namespace tileflux::studies {

namespace {

void check_counts(std::size_t inputs, long long rows) {
  if (inputs == 0 || inputs > most_varied)
    throw Error(Code::count_out_of_bounds,
                "expected 1 to " + std::to_string(most_varied) + " varied inputs, found " + std::to_string(inputs));
  if (rows < 1 || rows > most_rows)
    throw Error(Code::count_out_of_bounds,
                "expected 1 to " + std::to_string(most_rows) + " rows, found " +
                    (rows > most_rows ? "more" : std::to_string(rows)));
}

/// The upper 53 bits as a share: the same on every machine, which the distributions of the library are not.
double share_of(std::uint64_t bits) { return static_cast<double>(bits >> 11) * 0x1p-53; }

}  // namespace

double SampledRange::at(double share) const {
  const double value = logarithmic ? from * std::exp(share * std::log(to / from)) : from + share * (to - from);
  return std::clamp(value, from, to);
}

Design Design::grid(std::vector<std::vector<double>> values) {
  Design design;
  long long rows = 1;
  for (const std::vector<double>& one : values) {
    rows = std::min(rows * static_cast<long long>(one.size()), most_rows + 1);
    if (one.empty()) rows = 0;
  }
  check_counts(values.size(), rows);
  design.rows_ = rows;
  design.inputs_ = values.size();
  design.values_ = std::move(values);
  return design;
}

Design Design::latin(std::vector<SampledRange> ranges, long long rows, std::uint64_t seed) {
  check_counts(ranges.size(), rows);
  Design design;
  design.kind_ = Kind::latin;
  design.rows_ = rows;
  design.inputs_ = ranges.size();
  const std::vector<std::vector<double>> points = unit_points(static_cast<std::size_t>(rows), ranges.size(), seed, true);
  design.samples_.reserve(static_cast<std::size_t>(rows) * ranges.size());
  for (const std::vector<double>& point : points) {
    for (std::size_t input = 0; input < ranges.size(); ++input) design.samples_.push_back(ranges[input].at(point[input]));
  }
  return design;
}

Design Design::sobol(std::vector<SampledRange> ranges, long long rows) {
  check_counts(ranges.size(), rows);
  Design design;
  design.kind_ = Kind::sobol;
  design.rows_ = rows;
  design.inputs_ = ranges.size();
  design.samples_.reserve(static_cast<std::size_t>(rows) * ranges.size());
  for (const SampledRange& range : ranges) design.samples_.push_back(range.at(0.0));
  boost::random::sobol sequence(ranges.size());  // begins behind the zero
  for (long long i = 1; i < rows; ++i) {
    for (const SampledRange& range : ranges) design.samples_.push_back(range.at(share_of(sequence())));
  }
  return design;
}

std::vector<std::size_t> Design::shape() const {
  std::vector<std::size_t> shape;
  for (const std::vector<double>& one : values_) shape.push_back(one.size());
  return shape;
}

std::vector<double> Design::row(long long index) const {
  std::vector<double> values(inputs_);
  auto rest = static_cast<std::size_t>(index);
  if (kind_ != Kind::grid) {
    const auto first = samples_.begin() + static_cast<std::ptrdiff_t>(rest * inputs_);
    std::copy(first, first + static_cast<std::ptrdiff_t>(inputs_), values.begin());
    return values;
  }
  for (std::size_t input = inputs_; input-- > 0;) {
    values[input] = values_[input][rest % values_[input].size()];
    rest /= values_[input].size();
  }
  return values;
}

std::string_view name_of(Design::Kind kind) {
  switch (kind) {
    case Design::Kind::grid:
      return "grid";
    case Design::Kind::latin:
      return "latin";
    case Design::Kind::sobol:
      return "sobol";
  }
  return "";
}

std::vector<double> even_shares(std::size_t count, std::uint64_t seed) {
  std::mt19937_64 engine(seed);
  std::vector<double> shares(count);
  std::generate(shares.begin(), shares.end(), [&] { return share_of(engine()); });
  return shares;
}

}  // namespace tileflux::studies
