#pragma once
/// What the sections of the benchmark share.

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "tileflux/tile/case.h"

namespace tileflux::bench {

inline double median(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  return values[values.size() / 2];
}

/// Largest difference of two equally long rows of temperatures.
double largest_difference(const std::vector<double>& a, const std::vector<double>& b);

/// The slope of log(y) over log(x), by least squares.
double exponent(const std::vector<double>& x, const std::vector<double>& y);

/// The reference tile as the library reads it, unchanged or with another trip: never (R0) or that chatters (Rc).
tile::Case reference_case();

std::string project_file(const std::string& name);

/// Runs a program and waits. Returns seconds by the clock and the most memory it held, in MB. Throws if it ends badly.
struct ChildUse {
  double seconds = 0.0, peak_MB = 0.0, processor_s = 0.0;
};
ChildUse run_child(const std::vector<std::string>& words);

}  // namespace tileflux::bench
