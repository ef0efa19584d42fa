#include "cli/terminal_text.h"

#include <fmt/format.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <cstdint>
#include <cstdlib>

namespace tileflux::cli {

namespace {

struct CodeRange {
  std::uint32_t from, to;
};

/// Characters that steer a terminal or the direction of writing, or that nobody sees.
constexpr std::array steering{CodeRange{0x00, 0x1f},     CodeRange{0x7f, 0x9f},      CodeRange{0xad, 0xad},
                              CodeRange{0x61c, 0x61c},   CodeRange{0x180e, 0x180e},  CodeRange{0x200b, 0x200f},
                              CodeRange{0x2028, 0x202e}, CodeRange{0x2060, 0x206f},  CodeRange{0xfeff, 0xfeff},
                              CodeRange{0xfff9, 0xfffb}, CodeRange{0xe0000, 0xe007f}};

/// Marks that are put onto the character before them.
constexpr std::array combining{CodeRange{0x300, 0x36f},   CodeRange{0x483, 0x489},   CodeRange{0x591, 0x5bd},
                               CodeRange{0x610, 0x61a},   CodeRange{0x64b, 0x65f},   CodeRange{0x6d6, 0x6dc},
                               CodeRange{0x900, 0x903},   CodeRange{0x93a, 0x93c},   CodeRange{0x941, 0x94d},
                               CodeRange{0x1ab0, 0x1aff}, CodeRange{0x1dc0, 0x1dff}, CodeRange{0x20d0, 0x20ff},
                               CodeRange{0xfe00, 0xfe0f}, CodeRange{0xfe20, 0xfe2f}};

/// Characters of two columns: East Asian ones and most pictures.
constexpr std::array wide{CodeRange{0x1100, 0x115f},   CodeRange{0x2e80, 0xa4cf},   CodeRange{0xac00, 0xd7a3},
                          CodeRange{0xf900, 0xfaff},   CodeRange{0xfe30, 0xfe6f},   CodeRange{0xff00, 0xff60},
                          CodeRange{0xffe0, 0xffe6},   CodeRange{0x1f300, 0x1f64f}, CodeRange{0x1f680, 0x1f6ff},
                          CodeRange{0x1f900, 0x1f9ff}, CodeRange{0x1fa70, 0x1faff}, CodeRange{0x20000, 0x3fffd}};

template <std::size_t count>
bool is_among(const std::array<CodeRange, count>& ranges, std::uint32_t code) {
  return std::any_of(ranges.begin(), ranges.end(),
                     [code](const CodeRange& range) { return code >= range.from && code <= range.to; });
}

struct Letter {
  std::uint32_t code = 0;
  std::size_t bytes = 1;
  bool valid = false;
};

Letter letter_at(std::string_view text, std::size_t at) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const unsigned char first = byte(at);
  if (first < 0x80) return {first, 1, true};
  const std::size_t size = first >= 0xf0 && first < 0xf5 ? 4 : first >= 0xe0 ? 3 : first >= 0xc2 ? 2 : 0;
  if (size == 0 || first >= 0xf5 || at + size > text.size()) return {};
  std::uint32_t code = first & (0xffu >> (size + 1));
  for (std::size_t i = 1; i < size; ++i) {
    if ((byte(at + i) & 0xc0) != 0x80) return {};
    code = code << 6 | (byte(at + i) & 0x3fu);
  }
  const bool too_long = (size == 3 && code < 0x800) || (size == 4 && code < 0x10000);
  const bool half = code >= 0xd800 && code <= 0xdfff;
  if (too_long || half || code > 0x10ffff) return {};
  return {code, size, true};
}

std::size_t columns_of_code(std::uint32_t code) {
  if (code < 0x300) return 1;
  if (is_among(combining, code)) return 0;
  return is_among(wide, code) ? 2 : 1;
}

/// As much of the beginning as fits into so many columns.
std::string_view beginning_of(std::string_view text, std::size_t columns) {
  std::size_t taken = 0;
  for (std::size_t at = 0; at < text.size();) {
    const Letter letter = letter_at(text, at);
    taken += columns_of_code(letter.code);
    if (taken > columns) return text.substr(0, at);
    at += letter.bytes;
  }
  return text;
}

/// The text with something else for what is no UTF-8 and for what steers, but for characters that are let through.
template <class Instead>
std::string without_steering(std::string_view text, std::string_view let_through, const Instead& instead) {
  std::string clean;
  clean.reserve(text.size());
  for (std::size_t at = 0; at < text.size();) {
    const Letter letter = letter_at(text, at);
    const bool steers = is_among(steering, letter.code) && let_through.find(text[at]) == std::string_view::npos;
    if (letter.valid && !steers)
      clean += text.substr(at, letter.bytes);
    else
      clean += instead(letter);
    at += letter.bytes;
  }
  return clean;
}

}  // namespace

std::string harmless(std::string_view text) {
  return without_steering(text, "", [](const Letter&) { return "?"; });
}

std::string printable(std::string_view text) {
  return without_steering(text, "\n\t", [](const Letter&) { return "?"; });
}

std::string printable_json(std::string_view json) {
  return without_steering(json, "\n\t", [](const Letter& letter) {
    if (!letter.valid) return std::string("?");
    const std::uint32_t code = letter.code;
    if (code < 0x10000) return fmt::format("\\u{:04x}", code);
    return fmt::format("\\u{:04x}\\u{:04x}", 0xd800 + ((code - 0x10000) >> 10), 0xdc00 + ((code - 0x10000) & 0x3ff));
  });
}

std::size_t columns_taken(std::string_view text) {
  std::size_t columns = 0;
  for (std::size_t at = 0; at < text.size();) {
    const Letter letter = letter_at(text, at);
    columns += columns_of_code(letter.code);
    at += letter.bytes;
  }
  return columns;
}

std::vector<std::string> broken_into(std::string_view text, std::size_t columns) {
  constexpr std::size_t most_pieces = 40;
  columns = std::max<std::size_t>(2, columns);
  std::vector<std::string> pieces;
  while (columns_taken(text) > columns) {
    if (pieces.size() == most_pieces) return pieces.back() = "...", pieces;
    std::string_view piece = beginning_of(text, columns);
    std::size_t at =
        piece.size() < text.size() && text[piece.size()] == ' ' ? std::string_view::npos : piece.find_last_of(" ._");
    // A number stays whole.
    if (at != std::string_view::npos && piece[at] == '.' && at > 0 && std::isdigit(static_cast<unsigned char>(piece[at - 1])) != 0)
      at = piece.find_last_of(" _", at);
    if (at != std::string_view::npos && columns_taken(piece.substr(0, at + 1)) > columns / 3)
      piece = piece.substr(0, at + 1);
    text.remove_prefix(piece.size());
    while (piece.ends_with(' ')) piece.remove_suffix(1);
    while (text.starts_with(' ')) text.remove_prefix(1);
    pieces.emplace_back(piece);
  }
  if (!text.empty() || pieces.empty()) pieces.emplace_back(text);
  return pieces;
}

std::string wrapped_to(std::string_view text, std::size_t width, std::size_t blanks, const std::string& head) {
  const std::size_t room = width > blanks + 8 ? width - blanks : 8;
  const std::string margin(blanks, ' ');
  std::string lines, line;
  std::size_t line_columns = 0;
  const auto end_line = [&] {
    lines += (lines.empty() && !head.empty() ? head : margin) + line + '\n';
    line.clear();
    line_columns = 0;
  };
  for (std::size_t begin = 0; begin <= text.size();) {
    const std::size_t end = std::min(text.find(' ', begin), text.size());
    std::string_view word = text.substr(begin, end - begin);
    begin = end + 1;
    while (!word.empty()) {
      std::size_t columns = columns_taken(word);
      if (line_columns > 0 && line_columns + 1 + columns > room) end_line();
      const std::string_view piece = columns > room ? beginning_of(word, room) : word;
      if (piece.empty()) break;
      line += (line_columns > 0 ? " " : "") + std::string(piece);
      line_columns += columns_taken(piece) + (line_columns > 0 ? 1 : 0);
      word.remove_prefix(piece.size());
      if (!word.empty()) end_line();
    }
  }
  if (!line.empty() || lines.empty()) end_line();
  return lines;
}

std::size_t terminal_columns() {
  constexpr std::size_t usual = 80, least = 40, most = 400;
  winsize size{};
  std::size_t columns = usual;
  const char* stated = std::getenv("COLUMNS");
  if (isatty(STDOUT_FILENO) == 0) return usual;
  if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0)
    columns = size.ws_col;
  else if (stated != nullptr && std::atoi(stated) > 0)
    columns = static_cast<std::size_t>(std::atoi(stated));
  return std::clamp(columns, least, most);
}

bool terminal_has_blocks() {
  if (isatty(STDOUT_FILENO) == 0) return false;
  for (const char* name : {"LC_ALL", "LC_CTYPE", "LANG"}) {
    const char* value = std::getenv(name);
    if (value == nullptr || *value == '\0') continue;
    const std::string_view locale = value;
    return locale.find("UTF-8") != std::string_view::npos || locale.find("utf8") != std::string_view::npos;
  }
  return false;
}

}  // namespace tileflux::cli
