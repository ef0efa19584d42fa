#pragma once
/// What a text must be before the YAML parser sees it.

#include <string>
#include <string_view>
#include <vector>

namespace tileflux::input {

/// A byte that keeps the text from being clean: not UTF-8, a control character, a tab in the indentation.
struct TextFault {
  int line = 0;    ///< 1-based
  int column = 0;  ///< 1-based, in bytes
  std::string message;
};

/// The faults of a text, in order, at most `most`. Line ends are LF or CR LF. Besides the control characters proper,
/// the line and paragraph separators and the marks that turn the direction of writing are refused: what a person sees
/// is what is read.
std::vector<TextFault> scan_text(std::string_view text, std::size_t most);

/// The same test for the text of a value, where escapes of the file are resolved: the first character that may not
/// stand in it, described, or empty. Tabs and line feeds may stand.
std::string forbidden_character(std::string_view text);

/// The lines of a text without their ends.
std::vector<std::string> split_lines(std::string_view text);

}  // namespace tileflux::input
