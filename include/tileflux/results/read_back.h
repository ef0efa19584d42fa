#pragma once
/// Reads what a verb wrote: the series of a run, the answers over a design. Files come from anywhere: sizes are checked
/// before anything is allocated, and what does not fit is refused.

#include <filesystem>
#include <string>
#include <vector>

namespace tileflux::results {

/// A series as `series.h` describes it.
struct SeriesTable {
  struct Scalar {
    std::string name, unit, long_name;
    std::vector<double> values;  ///< one for each time; NaN where there is none
  };
  std::string title;
  std::vector<std::string> parts;
  std::vector<double> times_s;         ///< strictly rising
  std::vector<double> temperatures_K;  ///< temperatures_K[row * parts.size() + part]
  std::vector<Scalar> scalars;
  long long rows_in_file = 0;  ///< more than times_s where rows were left out
};

/// Reads `series.nc`. Of more than `most_rows` rows every so-manieth is kept, and those in which a part is coldest or
/// warmest or a scalar least or most; the first and the last row always. Throws Error: file_unreadable; result_damaged
/// for what is no series; text_too_large for more than 100 000 parts and scalars or names longer than 64 KiB.
SeriesTable read_series(const std::filesystem::path& file, long long most_rows = 20'000);

/// Answers over a design as `answers_file.h` describes them.
struct AnswersTable {
  struct Varied {
    std::string name, unit;
    std::vector<double> values;
  };
  struct Answer {
    std::string name, unit, long_name;
    std::vector<std::string> flags;  ///< what 0, 1, 2 ... stand for; empty: no code
    std::vector<double> values;      ///< one for each row; NaN: no answer
  };
  std::string title;
  bool grid = true;
  std::vector<Varied> varied;  ///< of a grid, the last varies fastest; inputs of a sample are among the answers
  std::vector<Answer> answers;
  long long rows = 0;
  long long without_answer = 0;  ///< rows that were solved in vain
  long long not_solved = 0;      ///< rows that a sweep that was stopped never came to
};

/// Reads `answers.nc`. Throws Error: file_unreadable; result_damaged for what holds no answers; text_too_large for more
/// than `most_values` numbers.
AnswersTable read_answers(const std::filesystem::path& file, long long most_values = 40'000'000);

}  // namespace tileflux::results
