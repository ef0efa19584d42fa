#pragma once
/// A sweep of answers by name over a design, as a person asked for it.

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "cli/invocation.h"
#include "tileflux/input/override.h"
#include "tileflux/input/value_range.h"
#include "tileflux/studies/rows.h"
#include "tileflux/tile/case_template.h"

namespace tileflux::cli {

/// One varied input.
struct AskedInput {
  input::QuantityAt varied;
  input::ValueRange range;
};

/// What is asked, checked in every part before anything runs.
struct AskedSweep {
  std::vector<AskedInput> inputs;
  studies::Design design;
  std::optional<studies::Answers> answers;
  std::uint64_t seed = 0;  ///< of a Latin hypercube
};

/// Throws Error: as CaseTemplate::value_at and input::read_value_range do, for each input; option_wrong for an input
/// that is varied twice, and for a list where samples are drawn; what Design and Answers throw.
AskedSweep asked_sweep(const Invocation& wanted, const tile::CaseTemplate& cases);

/// What came of it.
struct SweptRows {
  long long rows = 0;    ///< answered, of all
  long long solved = 0;  ///< by this process and its helpers; the others were there
  long long failed = 0;
  std::vector<std::string> troubles;  ///< of the first rows that failed; those that were there before have their code
  bool interrupted = false;
  /// An answer at every row, by its place; NaN where there is none.
  std::function<std::vector<double>(std::size_t)> answer;
};

/// Least, mean and most of an answer, and the rows of both ends; none without any value.
struct AnswerSpread {
  double least = 0.0, mean = 0.0, most = 0.0;
  long long least_row = 0, most_row = 0, values = 0;
};
AnswerSpread answer_spread(const std::vector<double>& values);

/// More rows than this are in files only.
inline constexpr long long most_json_rows = 10'000;

}  // namespace tileflux::cli
