#pragma once
/// Answers over a design on disk, row by row as they come, twice: netCDF for programs and CSV for people; and what was
/// asked, so that a sweep that was killed is taken up where it was.
///
/// `design.json` is the identity: the text that the caller gives.
/// `answers.nc` is netCDF classic with 64-bit offsets, by the CF conventions 1.8. Of a grid each varied input is a
/// dimension with its coordinate variable; of a sample the one dimension is `sample`, and inputs are variables over it.
///   double <answer>(dimensions)   NaN where there is none; codes carry flag_values and flag_meanings
///   int    trouble(dimensions)    0: an answer; else flag_meanings tells the code of what went wrong; -1: not yet solved
/// `answers.csv` holds the same: names, units, then one line for each row, with `trouble` as text at its end.
/// Rows reach the netCDF file first. So a line of the CSV file that ends says that its row is in both, and whatever else
/// a killed process left is written again. Rows are taken up as far as both files tell them alike: what was damaged since
/// is solved again. Both files end with the same bytes however often that happens.

#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "tileflux/results/files.h"

namespace tileflux::results {

struct VariedVariable {
  std::string name, unit, long_name;
  std::vector<double> values;  ///< of a grid; empty for samples
};

struct AnswerVariable {
  std::string name, unit, long_name;
  std::vector<std::string> flags;  ///< what 0, 1, 2 ... stand for; empty: no code
};

struct AnswersLayout {
  std::string title;
  bool grid = true;
  long long rows = 0;
  std::vector<VariedVariable> varied;
  std::vector<AnswerVariable> answers;
  std::vector<std::string> troubles;  ///< slugs: code i + 1 of `trouble`
};

/// One row to be written.
struct AnswersRow {
  std::span<const double> inputs, answers;
  int trouble = 0;                ///< 0, or 1 + the place in AnswersLayout::troubles
  std::string_view trouble_text;  ///< beside it in the CSV file
};

/// Not copyable. One process at a time may write into a directory.
class AnswersWriter {
 public:
  /// Begins in a directory without `design.json`, or takes up where one of the same identity ends. `identity` is a JSON
  /// object in text. Throws Error: option_wrong where the directory holds another sweep or another process writes
  /// there; result_damaged where a file lacks its head, so that its rows cannot be told; output_unwritable.
  AnswersWriter(const OutputDirectory& directory, AnswersLayout layout, std::string_view identity);
  AnswersWriter(AnswersWriter&&) noexcept;
  AnswersWriter& operator=(AnswersWriter&&) noexcept;
  ~AnswersWriter();

  /// Rows that are there.
  long long rows() const;
  /// Drops those from `rows` on, right after opening.
  void keep(long long rows);
  /// The next row. It may be held back until flush().
  void append(const AnswersRow& row);
  /// Puts what is held back onto the disk.
  void flush();
  void close();

  /// An answer at every row, by its place in the layout, and the trouble codes; after flush().
  std::vector<double> read(std::size_t answer) const;
  std::vector<int> read_troubles() const;

 private:
  class Files;
  std::unique_ptr<Files> files_;
};

}  // namespace tileflux::results
