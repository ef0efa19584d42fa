#pragma once
/// The netCDF half of a series. The only place that knows the netCDF library.

#include <cstddef>
#include <filesystem>
#include <span>
#include <vector>

#include "tileflux/results/series.h"

namespace tileflux::results {

/// Creates and fills one netCDF file of the form described in series.h. The library below is not thread-safe: calls of
/// all writers of a process are taken one after the other.
class NetcdfSeries {
 public:
  NetcdfSeries(std::filesystem::path path, const SeriesLayout& layout, std::size_t rows_per_chunk);
  NetcdfSeries(const NetcdfSeries&) = delete;
  NetcdfSeries& operator=(const NetcdfSeries&) = delete;
  ~NetcdfSeries();

  /// Writes rows behind those already there and makes them readable. `temperatures_K` row by row; `scalars[i]` are the
  /// values of scalar i, one for each row.
  void write_block(std::span<const double> times_s, std::span<const double> temperatures_K,
                   std::span<const std::vector<double>> scalars);
  void close();  ///< a second call does nothing

 private:
  void define(const SeriesLayout& layout, std::size_t rows_per_chunk);
  int define_scalar(const ScalarVariable& scalar, int time_dimension, std::size_t rows_per_chunk);
  void write_names(int variable, std::span<const std::string> names, std::size_t longest);
  void text_attribute(int variable, const char* name, std::string_view text);
  /// A file whose head does not fit onto the disk cannot be closed by the library, which then ends the process: so room
  /// is asked for before the file is made.
  void make_sure_of_room(std::size_t scalars) const;
  std::size_t growth_of(std::size_t rows, std::size_t scalars) const;
  void require(int status, std::string_view action);
  void abandon() noexcept;

  std::filesystem::path path_;
  std::size_t parts_ = 0;
  std::size_t rows_per_chunk_ = 1;
  std::size_t rows_ = 0;
  int file_ = -1;
  int time_variable_ = -1;
  int temperature_variable_ = -1;
  std::vector<int> scalar_variables_;
};

}  // namespace tileflux::results
