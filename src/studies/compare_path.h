#pragma once
/// The way from one case to another along numbers: the integral of exact slopes, cut where the tile changes its regime.

#include <functional>
#include <string>
#include <vector>

#include "tileflux/studies/compare.h"

namespace tileflux::studies {

/// What a case says of the outputs that are compared, and where it stands.
struct ComparedPoint {
  std::vector<double> values;
  std::string standing;  ///< regime and what sets it: along one standing the outputs are smooth
};

/// Answers of `outputs`. Throws what steady_states throws; name_unknown where the case lacks one of them.
ComparedPoint compared_point(const tile::Case& description, const std::vector<ComparedOutput>& outputs);

/// Numbers that move together.
struct MovedGroup {
  std::vector<std::size_t> inputs;
  std::string why_together;
};

/// Groups of numbers that can be moved a little half the way, and those that cannot.
struct MovableNumbers {
  std::vector<MovedGroup> groups;
  std::vector<std::size_t> fixed;
};
MovableNumbers movable_numbers(const std::vector<ComparedInput>& inputs, const std::vector<std::size_t>& numbers,
                               std::vector<double> shares, const CaseBetween& between);

struct PathParts {
  std::vector<std::vector<double>> change;  ///< of every group, of every output
  std::vector<double> at_corners;           ///< of every output
  std::vector<ComparedCorner> corners;
  int points = 0;
};

/// Integrates from share 0 to share 1 of all groups; the shares of all other inputs stay as given. `go_on` may stop it:
/// then Error(interrupted).
PathParts path_parts(const std::vector<ComparedInput>& inputs, const std::vector<MovedGroup>& groups,
                     const std::vector<double>& shares, const CaseBetween& between,
                     const std::vector<ComparedOutput>& outputs, const std::function<bool(double)>& go_on);

}  // namespace tileflux::studies
