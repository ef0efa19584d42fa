#include "report/page_text.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdint>

namespace tileflux::report {

namespace {

constexpr std::string_view replacement = "\xEF\xBF\xBD";
constexpr std::string_view units_in_prose[] = {"%",  "W", "kW",  "K", "degC", "deg", "AU",  "kg",   "m2", "mm", "J",
                                               "kJ", "h", "min", "s", "V",    "A",   "W/K", "W/m2", "MJ", "d"};

/// Bytes of the character that begins at `text[at]`, 0 if it is not well-formed UTF-8 (RFC 3629).
std::size_t character_bytes(std::string_view text, std::size_t at) {
  const auto byte = [&](std::size_t i) { return static_cast<std::uint32_t>(static_cast<unsigned char>(text[i])); };
  const std::uint32_t first = byte(at);
  if (first < 0x80) return 1;
  const std::size_t bytes = first >= 0xF0 && first <= 0xF4 ? 4 : first >= 0xE0 ? 3 : first >= 0xC2 ? 2 : 0;
  if (bytes == 0 || first > 0xF4 || at + bytes > text.size()) return 0;
  std::uint32_t code = first & (0xFFu >> (bytes + 1));
  for (std::size_t i = 1; i < bytes; ++i) {
    if ((byte(at + i) & 0xC0u) != 0x80u) return 0;
    code = (code << 6) | (byte(at + i) & 0x3Fu);
  }
  constexpr std::uint32_t least[] = {0, 0, 0x80, 0x800, 0x10000};
  const bool surrogate = code >= 0xD800 && code <= 0xDFFF;
  const bool no_character = code == 0xFFFE || code == 0xFFFF;  // not allowed in XML, hence in SVG
  return code < least[bytes] || code > 0x10FFFF || surrogate || no_character ? 0 : bytes;
}

bool is_control(char letter) {
  const auto code = static_cast<unsigned char>(letter);
  return (code < 0x20 && letter != '\n' && letter != '\t') || code == 0x7F;
}

std::string cell_html(const Cell& cell, const Column& column, bool heads_row) {
  if (const auto* number = std::get_if<double>(&cell))
    return "<td class=\"n\">" + number_text(*number, column.decimals) + "</td>";
  const auto* text = std::get_if<std::string>(&cell);
  std::string shown;
  if (text && column.name == "unit") {  // alone, or with a remark behind a comma
    const std::size_t comma = std::min(text->find(','), text->size());
    shown = unit_for_people(text->substr(0, comma)) + text->substr(comma);
  } else if (text) {
    shown = prose(*text);
  }
  const std::string inside = text ? isolated(shown) : std::string();
  if (heads_row && text) return "<th scope=\"row\">" + inside + "</th>";
  constexpr std::size_t one_word = 16;  // short enough to stay on one line
  return (column.number                      ? "<td class=\"n\">"
          : text && shown.size() <= one_word ? "<td class=\"w\">"
                                             : "<td>") +
         inside + "</td>";
}

std::string rows_html(const Table& table) {
  std::string html = "<thead><tr>";
  for (const Column& column : table.columns) {
    html += column.number ? "<th scope=\"col\" class=\"n\">" : "<th scope=\"col\">";
    html += isolated(column.name);
    if (!column.unit.empty()) html += " <span class=\"u\">" + escaped(unit_for_people(column.unit)) + "</span>";
    html += "</th>";
  }
  html += "</tr></thead>\n<tbody>\n";
  for (const auto& row : table.rows) {
    html += "<tr>";
    for (std::size_t i = 0; i < row.size() && i < table.columns.size(); ++i)
      html += cell_html(row[i], table.columns[i], i == 0 && !table.columns[i].number);
    html += "</tr>\n";
  }
  return html + "</tbody>";
}

}  // namespace

std::string clean_text(std::string_view text) {
  std::string cleaned;
  cleaned.reserve(text.size());
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t bytes = character_bytes(text, at);
    if (bytes == 0 || is_control(text[at])) {
      cleaned += replacement;
      ++at;
    } else {
      cleaned += text.substr(at, bytes);
      at += bytes;
    }
  }
  return cleaned;
}

std::string escaped(std::string_view text) {
  std::string html;
  html.reserve(text.size() + 16);
  for (const char letter : clean_text(text)) {
    switch (letter) {
      case '&':
        html += "&amp;";
        break;
      case '<':
        html += "&lt;";
        break;
      case '>':
        html += "&gt;";
        break;
      case '"':
        html += "&quot;";
        break;
      case '\'':
        html += "&#39;";
        break;
      default:
        html += letter;
    }
  }
  return html;
}

std::string prose(std::string_view text) {
  const auto is_digit = [](char letter) { return letter >= '0' && letter <= '9'; };
  const std::string whole = clean_text(text);
  std::string told;
  for (std::size_t at = 0; at < whole.size(); ++at) {
    if (whole[at] != ' ' || at == 0 || !is_digit(whole[at - 1])) {
      told += whole[at];
      continue;
    }
    const std::size_t end = std::min(whole.find_first_of(" ,;:.)", at + 1), whole.size());
    const std::string word = whole.substr(at + 1, end - at - 1);
    const bool unit = std::find(std::begin(units_in_prose), std::end(units_in_prose), word) != std::end(units_in_prose);
    told += unit ? "\u00A0" + unit_for_people(word) : " " + word;
    at = end - 1;
  }
  return told;
}

std::string isolated(std::string_view text) { return "<bdi>" + escaped(text) + "</bdi>"; }

std::string unit_for_people(std::string_view unit) {
  if (unit == "degC") return "\u00B0C";
  if (unit == "deg") return "\u00B0";
  if (unit == "1") return {};
  // Powers of metres and kelvins behind a letter: `m2`, `W/m2`, `kg/m3`, `W/K4`.
  std::string text;
  for (std::size_t i = 0; i < unit.size(); ++i) {
    const bool ends = i + 1 == unit.size() || unit[i + 1] == ' ' || unit[i + 1] == '/' || unit[i + 1] == ')';
    const bool power = i > 0 && (unit[i - 1] == 'm' || unit[i - 1] == 'K') && ends;
    text += power && unit[i] == '2'   ? "\u00B2"
            : power && unit[i] == '3' ? "\u00B3"
            : power && unit[i] == '4' ? "\u2074"
                                      : std::string(1, unit[i]);
  }
  return text;
}

std::string number_text(double value, int decimals) {
  if (!std::isfinite(value)) return std::isnan(value) ? "none" : value > 0.0 ? "infinite" : "-infinite";
  std::string text;
  if (decimals >= 0) {
    text = std::abs(value) < 1e15 ? fmt::format("{:.{}f}", value, decimals) : fmt::format("{:.6e}", value);
  } else if (value == 0.0) {
    text = "0";
  } else {
    const int digits = -decimals;
    text = fmt::format("{:.{}e}", value, digits - 1);
    const int exponent = std::stoi(text.substr(text.find('e') + 1));
    if (exponent >= -4 && exponent < 7) {
      text = fmt::format("{:.{}f}", value, std::max(0, digits - 1 - exponent));
      // Zeros at the end say nothing where each row has digits of its own.
      if (text.find('.') != std::string::npos) text.resize(text.find_last_not_of('0') + 1);
      if (text.back() == '.') text.pop_back();
    }
  }
  const bool zero = text.find_first_not_of("-0.") == std::string::npos;
  return zero && text.front() == '-' ? text.substr(1) : text;
}

std::string table_html(const Table& table, std::size_t open_rows) {
  const std::string caption = escaped(table.caption);
  std::string html = "<div class=\"table\" tabindex=\"0\" role=\"group\" aria-label=\"Table: " + caption +
                     "\">\n<table><caption>" + isolated(table.caption) + "</caption>\n" + rows_html(table) + "</table>";
  if (!table.left_out.empty()) html += "<p class=\"left-out\">" + escaped(table.left_out) + "</p>";
  html += "</div>\n";
  if (table.rows.size() <= open_rows) return html;
  return fmt::format("<details class=\"long\"><summary>Table: {}, {} rows</summary>\n", isolated(table.caption),
                     table.rows.size()) +
         html + "</details>\n";
}

}  // namespace tileflux::report
