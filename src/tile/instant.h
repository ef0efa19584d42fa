#pragma once
/// When two times of a schedule are one.

#include <algorithm>
#include <cmath>

namespace tileflux::tile {

/// Times closer than this are one instant: edges are sums and products of a few doubles.
inline double instant_s(double time_s) { return 1e-12 * std::max(1.0, std::abs(time_s)); }

}  // namespace tileflux::tile
