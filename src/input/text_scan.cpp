#include "input/text_scan.h"

#include <array>
#include <cstdint>
#include <cstdio>

namespace tileflux::input {

namespace {

struct Character {
  std::uint32_t code_point = 0;
  std::size_t bytes = 0;  ///< 0: not UTF-8
};

/// The character at the beginning of the text, shortest forms only, no surrogates.
Character character_at(std::string_view text) {
  const auto byte = [&](std::size_t i) { return static_cast<std::uint32_t>(static_cast<unsigned char>(text[i])); };
  const std::uint32_t first = byte(0);
  if (first < 0x80u) return {first, 1};
  const std::size_t length = first >= 0xF0u ? 4 : first >= 0xE0u ? 3 : 2;
  if (first < 0xC2u || first > 0xF4u || text.size() < length) return {};
  std::uint32_t code_point = first & (0x7Fu >> length);
  for (std::size_t i = 1; i < length; ++i) {
    if ((byte(i) & 0xC0u) != 0x80u) return {};
    code_point = (code_point << 6u) | (byte(i) & 0x3Fu);
  }
  constexpr std::array<std::uint32_t, 5> least{0, 0, 0x80u, 0x800u, 0x10000u};
  const bool surrogate = code_point >= 0xD800u && code_point <= 0xDFFFu;
  if (code_point < least[length] || code_point > 0x10FFFFu || surrogate) return {};
  return {code_point, length};
}

bool is_forbidden(std::uint32_t c) {
  const bool control = (c < 0x20u && c != '\t' && c != '\n') || (c >= 0x7Fu && c <= 0x9Fu);
  const bool separator = c == 0x2028u || c == 0x2029u || c == 0xFEFFu;
  const bool direction =
      (c >= 0x202Au && c <= 0x202Eu) || (c >= 0x2066u && c <= 0x2069u) || c == 0x200Eu || c == 0x200Fu;
  return control || separator || direction;
}

std::string hexadecimal(std::uint32_t value, const char* format) {
  std::array<char, 16> buffer{};
  std::snprintf(buffer.data(), buffer.size(), format, value);
  return buffer.data();
}

std::string describe_forbidden(std::uint32_t c) {
  return "the control character " + hexadecimal(c, "U+%04X") + " may not stand here";
}

/// The number of bytes up to the fault in one line, and what the fault is; an empty message if there is none.
struct LineFault {
  std::size_t at = 0;
  std::string message;
};

LineFault fault_in_line(std::string_view line) {
  bool indenting = true;
  for (std::size_t i = 0; i < line.size();) {
    const Character character = character_at(line.substr(i));
    if (character.bytes == 0) {
      const auto byte = static_cast<unsigned char>(line[i]);
      return {i, "the byte " + hexadecimal(byte, "0x%02X") + " is not UTF-8 text"};
    }
    if (is_forbidden(character.code_point)) return {i, describe_forbidden(character.code_point)};
    if (character.code_point == '\t' && indenting) return {i, "a tab stands in the indentation: indent with spaces"};
    if (character.code_point != ' ' && character.code_point != '\t') indenting = false;
    i += character.bytes;
  }
  return {};
}

template <class Visit>
void for_each_line(std::string_view text, Visit visit) {
  while (!text.empty()) {
    const std::size_t end = text.find('\n');
    std::string_view line = text.substr(0, end);
    if (end != std::string_view::npos && line.ends_with('\r')) line.remove_suffix(1);
    visit(line);
    if (end == std::string_view::npos) return;
    text.remove_prefix(end + 1);
  }
}

}  // namespace

std::vector<TextFault> scan_text(std::string_view text, std::size_t most) {
  std::vector<TextFault> faults;
  int number = 0;
  for_each_line(text, [&](std::string_view line) {
    ++number;
    if (faults.size() >= most) return;
    LineFault fault = fault_in_line(line);
    if (!fault.message.empty()) faults.push_back({number, static_cast<int>(fault.at) + 1, std::move(fault.message)});
  });
  return faults;
}

std::string forbidden_character(std::string_view text) {
  for (std::size_t i = 0; i < text.size();) {
    const Character character = character_at(text.substr(i));
    if (character.bytes == 0) return "an escape makes a byte that is not UTF-8 text";
    if (is_forbidden(character.code_point)) return describe_forbidden(character.code_point);
    i += character.bytes;
  }
  return {};
}

std::vector<std::string> split_lines(std::string_view text) {
  std::vector<std::string> lines;
  for_each_line(text, [&](std::string_view line) { lines.emplace_back(line); });
  return lines;
}

}  // namespace tileflux::input
