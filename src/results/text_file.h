#pragma once
/// An open text file whose every failure is noticed.

#include <sys/types.h>

#include <filesystem>
#include <string>
#include <string_view>

namespace tileflux::results {

/// Throws Error (output_unwritable): `cannot <action> <path>: <reason>`.
[[noreturn]] void refuse(std::string_view action, const std::filesystem::path& path, std::string_view reason);

/// The same with the operating system's words for an error number.
[[noreturn]] void refuse_errno(std::string_view action, const std::filesystem::path& path, int error_number);

/// Throws Error (result_damaged) about a file of a sweep that cannot be taken up again.
[[noreturn]] void refuse_damaged(const std::filesystem::path& path, std::string_view reason);

/// A file that is created and then only grows. Text is held back until flush() or close().
class TextFile {
 public:
  /// Creates the file; it must not exist, and a symbolic link is not followed.
  explicit TextFile(std::filesystem::path path);
  /// Opens a file that exists, cut to a size, to go on behind it.
  TextFile(std::filesystem::path path, off_t size);
  TextFile(const TextFile&) = delete;
  TextFile& operator=(const TextFile&) = delete;
  ~TextFile();  ///< closes without flushing

  void append(std::string_view text) { held_back_ += text; }
  void flush();          ///< all of what is held back or, on failure, none of it
  void close_durably();  ///< flushes, hands the data to the disk, closes; a second call does nothing
  void close();          ///< flushes and closes; a second call does nothing

  const std::filesystem::path& path() const { return path_; }

 private:
  std::filesystem::path path_;
  std::string held_back_;
  int descriptor_ = -1;
  off_t size_ = 0;  ///< flushed so far
};

}  // namespace tileflux::results
