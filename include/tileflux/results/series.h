#pragma once
/// A time series on disk, twice: netCDF for programs and CSV for people.
///
/// `<stem>.nc` is netCDF-4 restricted to the classic model, by the CF conventions 1.8 (Eaton et al., NetCDF Climate and
/// Forecast Metadata Conventions, 2020):
///   dimensions  time (unlimited), part, part_name_length
///   double time(time)               s, strictly rising
///   double temperature(time, part)  K
///   char   part_name(part, part_name_length)   UTF-8
///   double <scalar>(time)           one for each scalar variable, in its own unit
/// `<stem>.csv` holds the same numbers: first row names, second row units, then one row for each time, in the fewest
/// digits that give back the same double; a value that is not a number is an empty cell.

#include <memory>
#include <span>
#include <string>
#include <vector>

#include "tileflux/results/files.h"

namespace tileflux::results {

/// A quantity with one value at each time.
struct ScalarVariable {
  std::string name;       ///< letters, digits and `_`, a letter first; unlike any other name of the file
  std::string unit;       ///< in the grammar of UDUNITS: `W`, `1`, `J`
  std::string long_name;  ///< a few words for the axis of a chart
};

/// What a series consists of.
struct SeriesLayout {
  std::string title;                    ///< of the case
  std::vector<std::string> parts;       ///< at least one, UTF-8; each a column of `temperature`
  std::vector<ScalarVariable> scalars;  ///< may be empty
  std::string stem = "series";          ///< file name without its ending
};

struct SeriesOptions {
  /// Rows held back before they are written and made readable, and the length of a chunk in the file [1, 65536].
  /// A killed run loses at most this many rows. Small values cost time: every block is one round to the disk.
  int rows_per_block = 256;
};

/// Writes one series. Not copyable; rows are lost only if neither close() nor the destructor runs.
class SeriesWriter {
 public:
  /// Creates both files, replacing older ones. Throws Error: output_unwritable for the files; internal for a layout
  /// against the rules above.
  SeriesWriter(const OutputDirectory& directory, SeriesLayout layout, SeriesOptions options = {});
  SeriesWriter(SeriesWriter&&) noexcept;
  SeriesWriter& operator=(SeriesWriter&&) noexcept;
  ~SeriesWriter();  ///< closes; errors at this point are lost, so call close()

  /// One row: time in s, the temperature of each part in K, the value of each scalar in its unit, in layout order.
  /// A second row at the same time (the state just behind a switch) is stored one representable number later, since a
  /// time axis must rise strictly. Throws Error: internal if sizes do not fit or time runs backwards or is not finite;
  /// output_unwritable.
  void append(double time_s, std::span<const double> temperatures_K, std::span<const double> scalars);

  /// Makes every row so far readable on disk.
  void sync();

  /// Writes the rest and closes. A second call does nothing.
  void close();

  long long rows() const;  ///< appended so far

 private:
  class Files;
  std::unique_ptr<Files> files_;
};

}  // namespace tileflux::results
