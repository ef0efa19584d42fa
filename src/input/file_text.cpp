#include "input/file_text.h"

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <system_error>
#include <utility>

namespace tileflux::input {

std::string too_large_text(std::size_t bytes, std::size_t most_bytes) {
  return "the file has " + std::to_string(bytes) + " bytes; at most " + std::to_string(most_bytes) + " are read";
}

FileText read_file_text(const std::string& file, std::size_t most_bytes) {
  const auto refuse = [](Code code, std::string message) { return FileText{std::nullopt, code, std::move(message)}; };
  std::error_code error;
  const std::filesystem::file_status status = std::filesystem::status(file, error);
  if (!std::filesystem::exists(status)) return refuse(Code::file_unreadable, "the file does not exist");
  if (std::filesystem::is_directory(status)) return refuse(Code::file_unreadable, "this is a directory, not a file");
  std::ifstream stream(file, std::ios::binary);
  if (!stream) return refuse(Code::file_unreadable, "the file cannot be opened");
  // A device or a pipe may have no end: one byte beyond the bound is enough to know. Room grows with what is there.
  constexpr std::size_t first_bytes = 64 * 1024;
  std::string text;
  while (stream && text.size() <= most_bytes) {
    const std::size_t there = text.size();
    text.resize(there + std::min(std::max(there, first_bytes), most_bytes + 1 - there));
    stream.read(text.data() + there, static_cast<std::streamsize>(text.size() - there));
    text.resize(there + static_cast<std::size_t>(stream.gcount()));
  }
  if (stream.bad()) return refuse(Code::file_unreadable, "the file cannot be read");
  if (text.size() > most_bytes) {
    const std::uintmax_t bytes = std::filesystem::file_size(file, error);
    const std::size_t told = error ? text.size() : static_cast<std::size_t>(bytes);
    return refuse(Code::text_too_large, too_large_text(told, most_bytes));
  }
  return {std::move(text), Code::internal, {}};
}

}  // namespace tileflux::input
