#include "results/room.h"

#include <fcntl.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/statvfs.h>
#include <unistd.h>

#include <cerrno>
#include <system_error>

#include "results/text_file.h"

namespace tileflux::results {

namespace {

/// 0, or the error number of the reason why a file of `size` bytes cannot grow.
int growth_error(int descriptor, std::size_t size, std::size_t bytes) {
  rlimit limit{};
  if (::getrlimit(RLIMIT_FSIZE, &limit) == 0 && limit.rlim_cur != RLIM_INFINITY && size + bytes > limit.rlim_cur) {
    return EFBIG;
  }
  if (::fallocate(descriptor, FALLOC_FL_KEEP_SIZE, static_cast<off_t>(size), static_cast<off_t>(bytes)) == 0) return 0;
  if (errno != EOPNOTSUPP && errno != ENOSYS && errno != EINTR) return errno;
  struct statvfs disk {};
  if (::fstatvfs(descriptor, &disk) != 0) return 0;
  return disk.f_bavail * disk.f_frsize < bytes ? ENOSPC : 0;
}

}  // namespace

void secure_room(const std::filesystem::path& path, std::size_t bytes) {
  const int descriptor = ::open(path.c_str(), O_WRONLY | O_NOFOLLOW | O_CLOEXEC);
  if (descriptor < 0) refuse_errno("write", path, errno);
  struct stat status {};
  const int error_number = ::fstat(descriptor, &status) == 0
                               ? growth_error(descriptor, static_cast<std::size_t>(status.st_size), bytes)
                               : errno;
  ::close(descriptor);
  if (error_number != 0) refuse_errno("write", path, error_number);
}

void release_room(const std::filesystem::path& path) noexcept {
  std::error_code ignored;
  const auto size = std::filesystem::file_size(path, ignored);
  if (!ignored) std::filesystem::resize_file(path, size, ignored);
}

}  // namespace tileflux::results
