#include "tileflux/results/files.h"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <string>
#include <system_error>

#include "results/text_file.h"

namespace tileflux::results {

namespace {

namespace fs = std::filesystem;

bool is_plain_name(std::string_view name) {
  constexpr std::size_t longest = 200;
  if (name.empty() || name.size() > longest || name.front() == '.' || name.front() == '-') return false;
  return std::all_of(name.begin(), name.end(), [](char letter) {
    return (letter >= 'a' && letter <= 'z') || (letter >= 'A' && letter <= 'Z') || (letter >= '0' && letter <= '9') ||
           letter == '.' || letter == '_' || letter == '-';
  });
}

std::string printable(std::string_view name) {
  std::string text(name.substr(0, 80));
  std::replace_if(
      text.begin(), text.end(), [](char letter) { return letter < ' ' || letter > '~'; }, '?');
  return text;
}

/// A hidden name beside `name` that no other process uses.
fs::path temporary_beside(const fs::path& directory, std::string_view name) {
  return directory / fmt::format(".{}.{}.part", name, ::getpid());
}

void remove_quietly(const fs::path& path) {
  std::error_code ignored;
  fs::remove(path, ignored);
}

/// A file that can be created and filled here shows a missing permission or a full disk before hours of computation.
void try_to_write(const fs::path& directory) {
  const fs::path trial = temporary_beside(directory, "trial");
  remove_quietly(trial);
  try {
    TextFile file(trial);
    file.append("trial\n");
    file.close();
  } catch (...) {
    remove_quietly(trial);
    throw;
  }
  remove_quietly(trial);
}

}  // namespace

OutputDirectory::OutputDirectory(const fs::path& path) {
  if (path.empty()) refuse("create directory", "''", "the path is empty");
  std::error_code failure;
  fs::create_directories(path, failure);
  if (failure) refuse("create directory", path, failure.message());
  path_ = fs::canonical(path, failure);
  if (failure) refuse("open directory", path, failure.message());
  if (!fs::is_directory(path_, failure)) refuse_errno("open directory", path, ENOTDIR);
  try_to_write(path_);
}

fs::path OutputDirectory::file(std::string_view name) const {
  if (!is_plain_name(name)) {
    refuse("write", path_ / printable(name), "the name must be a plain file name of letters, digits, '.', '_', '-'");
  }
  fs::path target = path_ / name;

  std::error_code failure;
  const fs::file_status status = fs::symlink_status(target, failure);
  if (status.type() == fs::file_type::not_found) return target;
  if (failure) refuse("write", target, failure.message());
  if (status.type() == fs::file_type::symlink) {
    const fs::path end = fs::canonical(target, failure);
    if (failure) refuse("write", target, "it is a symbolic link that leads nowhere");
    if (end.parent_path() != path_) refuse("write", target, "it is a symbolic link that leads out of the directory");
  }
  if (!fs::is_regular_file(target, failure)) refuse("write", target, "what stands there is not a regular file");
  return target;
}

fs::path OutputDirectory::fresh_file(std::string_view name) const {
  fs::path target = file(name);
  std::error_code failure;
  fs::remove(target, failure);
  if (failure) refuse("replace", target, failure.message());
  return target;
}

void OutputDirectory::write_text(std::string_view name, std::string_view text) const {
  const fs::path target = file(name);
  const fs::path temporary = temporary_beside(path_, name);
  remove_quietly(temporary);
  try {
    TextFile output(temporary);
    output.append(text);
    output.close_durably();
    std::error_code failure;
    fs::rename(temporary, target, failure);
    if (failure) refuse("write", target, failure.message());
  } catch (...) {
    remove_quietly(temporary);
    throw;
  }
}

}  // namespace tileflux::results
