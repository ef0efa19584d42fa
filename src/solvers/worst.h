#pragma once
/// Naming the unknowns that matter most where something went wrong.

#include <span>
#include <string>
#include <vector>

#include "tileflux/solvers/system.h"

namespace tileflux::solvers {

/// Indices of the largest entries of |values|, at most three, largest first.
std::vector<int> largest_three(std::span<const double> values);

/// `cells (12.5 W), plate (0.1 W), ...`
std::string name_worst(const System& system, const std::vector<int>& worst, std::span<const double> values,
                       const char* unit);

}  // namespace tileflux::solvers
