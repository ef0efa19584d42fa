#pragma once
/// The one door through which results reach the disk: a directory, and plain files in it.
///
/// Nothing is ever written outside the directory. Every failure, also one that shows only when a file is closed, is
/// Error with Code::output_unwritable and a message that names the path and the operating system's reason.
/// A process that meets a file size limit must ignore SIGXFSZ, otherwise the system ends it before it can say so.

#include <filesystem>
#include <string_view>

namespace tileflux::results {

/// A directory that exists and can be written to.
class OutputDirectory {
 public:
  /// Creates the directory and those above it as needed, and tries that a file can be created in it.
  /// The directory itself may be reached through a symbolic link; what is written into it may not lead out of it.
  explicit OutputDirectory(const std::filesystem::path& path);

  /// The directory: absolute, free of symbolic links. A later change of the working directory does not matter.
  const std::filesystem::path& path() const { return path_; }

  /// The path of a file to be written here. `name` is a plain file name: letters, digits, `.`, `_` and `-`, not
  /// beginning with `.` or `-`, at most 200 bytes. Refused where something stands that is not a regular file, or a
  /// symbolic link that leads out of the directory or nowhere.
  std::filesystem::path file(std::string_view name) const;

  /// Like file(), and removes an older file of that name, so that what is written next cannot reach any other name that
  /// the older file may have.
  std::filesystem::path fresh_file(std::string_view name) const;

  /// Writes a whole file: readers see the old content or the new one, never a part. On failure the old content stays.
  void write_text(std::string_view name, std::string_view text) const;

 private:
  std::filesystem::path path_;
};

}  // namespace tileflux::results
