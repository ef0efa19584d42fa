#pragma once
/// A netCDF file that is read only, with every size checked against a bound.

#include <cstddef>
#include <filesystem>
#include <mutex>
#include <string>
#include <vector>

namespace tileflux::results {

/// Holds the lock of the library as long as it lives. Throws Error: file_unreadable, result_damaged, text_too_large.
class NetcdfReader {
 public:
  explicit NetcdfReader(const std::filesystem::path& path);
  NetcdfReader(const NetcdfReader&) = delete;
  NetcdfReader& operator=(const NetcdfReader&) = delete;
  ~NetcdfReader();

  /// Sizes of the dimensions of a variable, outermost first.
  std::vector<std::size_t> shape(int variable) const;
  std::vector<std::string> dimension_names(int variable) const;
  int variables() const { return variables_; }
  std::string name(int variable) const;
  int variable(const std::string& name) const;  ///< there must be one
  bool has(const std::string& name) const;
  bool is_number(int variable) const;

  std::string text(int variable, const char* attribute) const;  ///< empty if there is none
  std::string title() const;

  /// Rows [first, first + count) along the outermost dimension, all of the others.
  std::vector<double> numbers(int variable, std::size_t first, std::size_t count) const;
  std::vector<double> all_numbers(int variable) const;
  std::string all_letters(int variable) const;

  [[noreturn]] void damaged(const std::string& what) const;

 private:
  void require(int status, const std::string& what) const;

  std::unique_lock<std::mutex> lock_;
  std::filesystem::path path_;
  int file_ = -1;
  int variables_ = 0;
};

}  // namespace tileflux::results
