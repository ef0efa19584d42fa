#include "tileflux/input/document.h"

#include <utility>

#include "input/file_text.h"
#include "input/text_scan.h"
#include "input/tree_builder.h"

namespace tileflux::input {

namespace {

constexpr std::size_t longest_excerpt_bytes = 200;  // a file of one line must not be repeated with every finding

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
    findings.push_back(document.finding(Code::text_too_large, 0, 0, {}, too_large_text(text.size(), bounds.bytes)));
    return document;
  }
  document.text = std::make_shared<const std::string>(text);
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
  const FileText read = read_file_text(file, bounds.bytes);
  if (read.text) return parse_document(*read.text, file, findings, bounds);
  Document document;
  document.file = file;
  findings.push_back(document.finding(read.code, 0, 0, {}, read.message));
  return document;
}

}  // namespace tileflux::input
