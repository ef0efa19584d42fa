#pragma once
/// The netCDF half of answers over a design.

#include <cstddef>
#include <filesystem>
#include <span>
#include <string_view>
#include <vector>

#include "tileflux/results/answers_file.h"

namespace tileflux::results {

/// A file of the form described in answers_file.h: its size is fixed from the beginning, and rows are put into it.
class NetcdfAnswers {
 public:
  /// Creates the whole file, without any row; readers see all of it or none.
  static void create(const std::filesystem::path& path, const std::filesystem::path& temporary,
                     const AnswersLayout& layout);
  /// Opens one of this layout. Throws Error: output_unwritable; result_damaged for one of another layout.
  NetcdfAnswers(std::filesystem::path path, const AnswersLayout& layout);
  NetcdfAnswers(const NetcdfAnswers&) = delete;
  NetcdfAnswers& operator=(const NetcdfAnswers&) = delete;
  ~NetcdfAnswers();

  /// Puts rows from `first` on: `inputs` (samples only) and `answers` variable by variable, each `troubles.size()`
  /// long.
  void put(long long first, const std::vector<std::vector<double>>& inputs,
           const std::vector<std::vector<double>>& answers, std::span<const int> troubles);
  /// Rows as they were put; the inputs of samples only.
  struct Rows {
    std::vector<std::vector<double>> inputs, answers;
    std::vector<int> troubles;
  };
  Rows get(long long first, std::size_t rows) const;
  void close();
  std::vector<double> read(std::size_t answer) const;
  std::vector<int> read_troubles() const;

 private:
  /// A block of rows that is one box in the file.
  struct Slab {
    std::vector<std::size_t> start, count;
    std::size_t begin = 0, rows = 0;
  };
  std::vector<Slab> slabs(std::size_t first, std::size_t rows) const;
  void require(int status, std::string_view action) const;

  std::filesystem::path path_;
  std::vector<std::size_t> shape_;
  std::vector<int> inputs_, answers_;
  int troubles_ = -1;
  int file_ = -1;
};

}  // namespace tileflux::results
