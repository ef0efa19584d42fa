#pragma once
/// What fuzz targets of files share: a folder in memory, and an input that holds several files.

#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <string_view>
#include <vector>

namespace tileflux::fuzz {

/// A folder of this process alone, in memory where the system has such a place. It stays behind if the process is ended.
inline std::filesystem::path folder(const char* name) {
  const std::filesystem::path memory = "/dev/shm";
  std::error_code trouble;
  const std::filesystem::path above =
      std::filesystem::is_directory(memory, trouble) ? memory : std::filesystem::temp_directory_path();
  std::filesystem::path path = above / (std::string("tileflux-") + name + '-' + std::to_string(::getpid()));
  std::filesystem::create_directories(path);
  return path;
}

inline void write(const std::filesystem::path& path, std::string_view bytes) {
  std::ofstream file(path, std::ios::binary | std::ios::trunc);
  file.write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
}

inline std::string content(const std::filesystem::path& path) {
  std::ostringstream bytes;
  bytes << std::ifstream(path, std::ios::binary).rdbuf();
  return bytes.str();
}

/// The files of an input, parted by lines `====`; what is missing is empty.
inline std::vector<std::string_view> parts(std::string_view input, std::size_t count) {
  constexpr std::string_view border = "====\n";
  std::vector<std::string_view> files;
  while (files.size() + 1 < count) {
    const std::size_t end = input.find(border);
    files.push_back(input.substr(0, end));
    input = end == std::string_view::npos ? std::string_view() : input.substr(end + border.size());
  }
  files.push_back(input);
  return files;
}

}  // namespace tileflux::fuzz
