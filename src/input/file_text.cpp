#include "input/file_text.h"

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
  // One byte beyond the bound is enough to know: a device or a pipe may have no end.
  std::string text(most_bytes + 1, '\0');
  stream.read(text.data(), static_cast<std::streamsize>(text.size()));
  if (stream.bad()) return refuse(Code::file_unreadable, "the file cannot be read");
  text.resize(static_cast<std::size_t>(stream.gcount()));
  if (text.size() > most_bytes) {
    const std::uintmax_t bytes = std::filesystem::file_size(file, error);
    const std::size_t told = error ? text.size() : static_cast<std::size_t>(bytes);
    return refuse(Code::text_too_large, too_large_text(told, most_bytes));
  }
  return {std::move(text), Code::internal, {}};
}

}  // namespace tileflux::input
