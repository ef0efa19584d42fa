#pragma once
/// The steps of `margins`.

#include <map>
#include <utility>
#include <vector>

#include "tileflux/studies/margins.h"

namespace tileflux::studies {

/// What both steady states of a case come to: limits and heaters beam off, then on, then the light. Throws what
/// operating_point throws.
std::vector<Watched> watched_of(const tile::Case& description, const tile::Policy& policy);
std::vector<double> margins_of(const std::vector<Watched>& watched);

/// The bounding cases of everything that is watched, at one age. Each input is moved alone to either end first; that
/// tells the direction for every limit, and whether there is one.
class BoundingCases {
 public:
  /// `moves`: which inputs may move. Throws Error where an end of an input is no sound case.
  BoundingCases(const MarginsProblem& problem, const tile::Policy& policy, std::vector<bool> moves,
                bool end_of_life);

  bool end_of_life() const { return end_of_life_; }
  const std::vector<Watched>& stated() const { return stated_; }
  Bounding worst_of(std::size_t watched);
  /// The values of the inputs in a bounding case.
  std::vector<double> values_of(const Bounding& bounding) const;
  /// What the inputs that `counts` holds take off a margin, moved alone as in a bounding case; the sum.
  double taken_off(std::size_t watched, const Bounding& bounding, const std::vector<bool>& counts) const;
  int balances() const { return balances_; }

 private:
  /// Margins with values; empty where there is no steady state, and why.
  struct Answer {
    std::vector<double> margins;
    std::optional<Diagnostic> trouble;

    double of(std::size_t watched) const;
  };
  Answer answer_at(const std::vector<double>& values);
  const Answer& corner(const std::vector<int>& moved);
  double end_of(std::size_t input, int side) const;

  const MarginsProblem& problem_;
  const tile::Policy& policy_;
  std::vector<bool> moves_;
  bool end_of_life_;
  std::vector<double> values_;  ///< as stated
  std::vector<Watched> stated_;
  std::vector<Answer> low_, high_;  ///< per input
  std::map<std::vector<int>, Answer> corners_;
  int balances_ = 0;
};

/// Margins that are counted twice, and settings of the case that differ from the policy.
std::vector<Diagnostic> margins_applied_twice(const tile::Case& description, const MarginsOptions& options,
                                              const std::vector<MarginRow>& rows);

}  // namespace tileflux::studies
