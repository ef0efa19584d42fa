#include "input/wording.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

namespace tileflux::input {

namespace {

constexpr std::size_t longest_quote_bytes = 60;
constexpr std::size_t longest_name_bytes = 64;

}  // namespace

std::string in_quotes(std::string_view text) {
  std::string result = "'";
  std::size_t end = std::min(text.size(), longest_quote_bytes);
  while (end < text.size() && end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0u) == 0x80u) --end;
  for (const char c : text.substr(0, end)) result += c == '\n' || c == '\t' ? ' ' : c;
  if (end < text.size()) result += "...";
  return result + '\'';
}

std::string choice_of(const std::vector<std::string>& words) {
  std::string text;
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (i > 0) text += i + 1 == words.size() ? " or " : ", ";
    text += '\'' + words[i] + '\'';
  }
  return text;
}

std::string number_text(double value_si, std::string_view si_unit) {
  std::array<char, 32> buffer{};
  const auto end = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value_si).ptr;
  std::string text(buffer.data(), end);
  if (si_unit != "1") text += ' ' + std::string(si_unit);
  return text;
}

std::string range_text(const Range& range, std::string_view si_unit) {
  std::string text;
  if (std::isfinite(range.least))
    text = (range.least_excluded ? "more than " : "at least ") + number_text(range.least, si_unit);
  if (!std::isfinite(range.most)) return text;
  if (!text.empty()) text += " and ";
  return text + (range.most_excluded ? "less than " : "at most ") + number_text(range.most, si_unit);
}

std::string count_text(std::size_t least, std::size_t most) {
  if (least == most) return std::to_string(least);
  if (least == 0) return "at most " + std::to_string(most);
  return std::to_string(least) + " to " + std::to_string(most);
}

std::string kind_text(const Node& node) {
  switch (node.kind) {
    case Node::Kind::null:
      return "nothing";
    case Node::Kind::scalar:
      return in_quotes(node.text);
    case Node::Kind::sequence:
      return "a list";
    case Node::Kind::map:
      return "a map";
  }
  return "nothing";
}

bool is_within(double value, const Range& range) {
  const bool above = range.least_excluded ? value > range.least : value >= range.least;
  const bool below = range.most_excluded ? value < range.most : value <= range.most;
  return above && below;
}

bool is_name(std::string_view text, const NameType& type) {
  if (text.empty() || text.size() > longest_name_bytes) return false;
  char before = '\0';
  for (const char c : text) {
    const bool letter = c >= 'a' && c <= 'z';
    const bool digit = c >= '0' && c <= '9';
    const bool dot = type.dotted && c == '.';
    const bool begins = before == '\0' || before == '.';
    const bool may_begin = letter || (digit && before == '.');
    if (begins ? !may_begin : !letter && !digit && c != '_' && !dot) return false;
    before = c;
  }
  return before != '.';
}

}  // namespace tileflux::input
