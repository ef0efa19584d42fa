#include "tileflux/input/document.h"

#include <filesystem>
#include <fstream>
#include <system_error>
#include <utility>

#include "text_scan.h"
#include "tree_builder.h"

namespace tileflux::input {

namespace {

constexpr std::size_t longest_excerpt_bytes = 200;  // a file of one line must not be repeated with every finding
constexpr std::string_view byte_order_mark = "\xEF\xBB\xBF";

std::string too_large(std::size_t bytes, const Bounds& bounds) {
  return "the file has " + std::to_string(bytes) + " bytes; at most " + std::to_string(bounds.bytes) + " are read";
}

}  // namespace

Diagnostic Document::finding(Code code, int line, int column, std::string path, std::string message) const {
  Diagnostic diagnostic;
  diagnostic.code = code;
  diagnostic.place = {file, line, column, std::move(path)};
  diagnostic.message = std::move(message);
  const auto index = static_cast<std::size_t>(line) - 1;
  if (line > 0 && index < lines.size() && lines[index].size() <= longest_excerpt_bytes)
    diagnostic.excerpt = lines[index];
  return diagnostic;
}

Document parse_document(std::string_view text, std::string file, std::vector<Diagnostic>& findings,
                        const Bounds& bounds) {
  Document document;
  document.file = std::move(file);
  if (text.size() > bounds.bytes) {
    findings.push_back(document.finding(Code::text_too_large, 0, 0, {}, too_large(text.size(), bounds)));
    return document;
  }
  if (text.starts_with(byte_order_mark)) text.remove_prefix(byte_order_mark.size());
  const std::vector<TextFault> faults = scan_text(text, most_findings);
  if (faults.empty()) document.lines = split_lines(text);
  for (const TextFault& fault : faults) {
    // No excerpt: a line that is not clean does not belong on a terminal.
    findings.push_back(document.finding(Code::text_encoding, fault.line, fault.column, {}, fault.message));
  }
  if (faults.empty()) build_tree(text, document, findings, bounds);
  return document;
}

Document read_document(const std::string& file, std::vector<Diagnostic>& findings, const Bounds& bounds) {
  Document document;
  document.file = file;
  const auto refuse = [&](Code code, const std::string& message) {
    findings.push_back(document.finding(code, 0, 0, {}, message));
    return document;
  };
  std::error_code error;
  const std::filesystem::file_status status = std::filesystem::status(file, error);
  if (!std::filesystem::exists(status)) return refuse(Code::file_unreadable, "the file does not exist");
  if (std::filesystem::is_directory(status)) return refuse(Code::file_unreadable, "this is a directory, not a file");
  std::ifstream stream(file, std::ios::binary);
  if (!stream) return refuse(Code::file_unreadable, "the file cannot be opened");
  // One byte beyond the bound is enough to know: a device or a pipe may have no end.
  std::string text(bounds.bytes + 1, '\0');
  stream.read(text.data(), static_cast<std::streamsize>(text.size()));
  if (stream.bad()) return refuse(Code::file_unreadable, "the file cannot be read");
  text.resize(static_cast<std::size_t>(stream.gcount()));
  if (text.size() > bounds.bytes) {
    const std::uintmax_t bytes = std::filesystem::file_size(file, error);
    return refuse(Code::text_too_large, too_large(error ? text.size() : static_cast<std::size_t>(bytes), bounds));
  }
  return parse_document(text, file, findings, bounds);
}

}  // namespace tileflux::input
