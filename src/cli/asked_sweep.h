#pragma once
/// A sweep of answers by name over a design, as a person asked for it.

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

std::string print_rows(const tile::CaseFile& file, const AskedSweep& asked, const SweptRows& swept);
/// Without `values` the rows are left out: where files hold them.
std::string json_rows(const tile::CaseFile& file, const AskedSweep& asked, const SweptRows& swept, bool values);

/// More rows than this are in files only.
inline constexpr long long most_json_rows = 10'000;

/// Reads, solves on all cores and machines, writes, prints. Returns the exit status.
int sweep_rows(const Invocation& wanted, const materials::Library& library,
               const std::function<bool()>& stop_requested);

}  // namespace tileflux::cli
