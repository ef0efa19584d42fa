#pragma once
/// The answers to one question for every row of a design, on many threads, in the order of the rows.
///
/// Rows are solved in segments: up to `longest_segment` rows of a grid that differ in the last input alone, or one row
/// of a sample. A segment is solved by one thread and depends on nothing outside it, so that a result does not depend on
/// threads, machines or on where a sweep was taken up again. Within a segment steady states are sought from those of the
/// row before. A tile may have several: so the first, the middle and the last row of a segment are solved on their own
/// too, and if one of them differs from what the way along the rows led to, or a row found none, or a laser's loop comes
/// near to running away, every row of the segment is solved on its own. So are all rows of a tile with heat pipes, whose
/// states may lie so near each other that three rows do not tell.

#include <functional>
#include <string>
#include <vector>

#include "tileflux/studies/answers.h"
#include "tileflux/studies/design.h"

namespace tileflux::studies {

inline constexpr long long longest_segment = 32;
/// States that lie further apart are two; nearer than this a search ends wherever it came from.
inline constexpr double same_state_within_K = 1e-4;
/// A loop gain from which a state is not sought from its neighbour's.
inline constexpr double most_loop_gain = 0.8;

/// Rows `first` to `last - 1`.
struct RowRange {
  long long first = 0, last = 0;
};

/// The segment that begins at a row, which must be where one begins.
RowRange segment_at(const Design& design, long long first);
/// Where the segment of a row begins.
long long segment_begin(const Design& design, long long row);
/// The number of a row's segment among all.
long long segment_number(const Design& design, long long row);

/// What was found at one row.
struct AnsweredRow {
  long long row = 0;
  std::vector<double> inputs;
  std::vector<double> answers;        ///< NaN in every place if there is a trouble
  std::optional<Diagnostic> trouble;  ///< why there are none
};

/// The case and, for sizing, its cold case at a row's values. One for each thread. May throw Error.
struct RowCase {
  tile::Case description;
  std::optional<tile::Case> cold;
};
using CaseOfRow = std::function<RowCase(std::span<const double> inputs)>;

/// What is asked at every row.
struct RowQuestion {
  const Design* design = nullptr;
  const Answers* answers = nullptr;
  std::function<CaseOfRow()> make_cases;  ///< called once by each thread; may run side by side
};

/// Solves a segment. Throws Error only for a fault of the program.
std::vector<AnsweredRow> solved_segment(const RowQuestion& question, CaseOfRow& case_of, RowRange segment);

struct RowOptions {
  int threads = 1;
  /// Which segments are this process's, by their number among all. Without it all are.
  std::function<bool(long long segment)> mine;
  /// Asked after every delivery; true ends it there.
  std::function<bool()> stop_requested;
};

/// Solves the segments of rows from `first` (where a segment begins) to `last`, and delivers them in order, on the
/// calling thread. Returns the row behind the last one delivered. Throws Error: a fault of the program; what `deliver`
/// throws.
long long solve_rows(const RowQuestion& question, RowRange rows, const RowOptions& options,
                     const std::function<void(std::vector<AnsweredRow>)>& deliver);

}  // namespace tileflux::studies
