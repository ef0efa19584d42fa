#include "results/text_file.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include <cerrno>
#include <system_error>
#include <utility>

#include "tileflux/base/errors.h"

namespace tileflux::results {

void refuse(std::string_view action, const std::filesystem::path& path, std::string_view reason) {
  throw Error(Code::output_unwritable, fmt::format("cannot {} {}: {}", action, path.string(), reason));
}

void refuse_errno(std::string_view action, const std::filesystem::path& path, int error_number) {
  refuse(action, path, std::generic_category().message(error_number));
}

void refuse_damaged(const std::filesystem::path& path, std::string_view reason) {
  throw Error(Code::result_damaged,
              fmt::format("{} is damaged ({}), so that the sweep cannot go on: give another directory, or remove it to "
                          "solve every row anew",
                          path.string(), reason));
}

TextFile::TextFile(std::filesystem::path path) : path_(std::move(path)) {
  constexpr mode_t readable_by_all = 0666;  // less what the umask takes away
  descriptor_ = ::open(path_.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, readable_by_all);
  if (descriptor_ < 0) refuse_errno("create", path_, errno);
}

TextFile::TextFile(std::filesystem::path path, off_t size) : path_(std::move(path)), size_(size) {
  descriptor_ = ::open(path_.c_str(), O_WRONLY | O_APPEND | O_NOFOLLOW | O_CLOEXEC);
  if (descriptor_ < 0) refuse_errno("open", path_, errno);
  if (::ftruncate(descriptor_, size) == 0) return;
  const int error_number = errno;
  ::close(descriptor_);
  refuse_errno("write", path_, error_number);
}

TextFile::~TextFile() {
  if (descriptor_ >= 0) ::close(descriptor_);
}

void TextFile::flush() {
  std::string_view rest = held_back_;
  while (!rest.empty()) {
    const ssize_t written = ::write(descriptor_, rest.data(), rest.size());
    if (written < 0 && errno == EINTR) continue;
    if (written <= 0) {
      const int error_number = written < 0 ? errno : EIO;
      // Take back the part that did go in, so that the file does not end in half a line. If that fails too, so be it.
      if (::ftruncate(descriptor_, size_) != 0) rest = {};
      refuse_errno("write", path_, error_number);
    }
    rest.remove_prefix(static_cast<std::size_t>(written));
  }
  size_ += static_cast<off_t>(held_back_.size());
  held_back_.clear();
}

void TextFile::close_durably() {
  if (descriptor_ < 0) return;
  flush();
  // Some file systems find out only here that there is no room. EINVAL: what lies there cannot be synchronised.
  if (::fsync(descriptor_) != 0 && errno != EINVAL) refuse_errno("write", path_, errno);
  close();
}

void TextFile::close() {
  if (descriptor_ < 0) return;
  flush();
  const int result = ::close(std::exchange(descriptor_, -1));
  if (result != 0 && errno != EINTR) refuse_errno("close", path_, errno);
}

}  // namespace tileflux::results
