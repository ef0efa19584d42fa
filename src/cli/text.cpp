#include "cli/text.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "tileflux/base/constants.h"

namespace tileflux::cli {

std::size_t width_of(const std::string& text) {
  return static_cast<std::size_t>(
      std::count_if(text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0u) != 0x80u; }));
}

std::string Table::text(std::vector<std::size_t> left) const {
  std::vector<std::size_t> widths;
  for (const auto& row : rows_) {
    widths.resize(std::max(widths.size(), row.size()), 0);
    for (std::size_t i = 0; i < row.size(); ++i) widths[i] = std::max(widths[i], width_of(row[i]));
  }
  std::string text;
  for (const auto& row : rows_) {
    std::string line = "  ";
    for (std::size_t i = 0; i < row.size(); ++i) {
      const std::string blanks(widths[i] - width_of(row[i]), ' ');
      const bool is_left = std::find(left.begin(), left.end(), i) != left.end();
      line += is_left ? row[i] + blanks : blanks + row[i];
      line += "   ";
    }
    line.erase(line.find_last_not_of(' ') + 1);
    text += line + '\n';
  }
  return text;
}

namespace {

/// No minus sign before a printed zero.
double without_signed_zero(double value) { return std::abs(value) < 0.005 ? 0.0 : value; }

}  // namespace

std::string wrapped(const std::string& text, std::size_t blanks) {
  constexpr std::size_t columns = 100;
  const std::string margin(blanks, ' ');
  std::string lines, line;
  for (std::size_t begin = 0; begin < text.size();) {
    const std::size_t end = std::min(text.find(' ', begin), text.size());
    const std::string word = text.substr(begin, end - begin);
    if (!line.empty() && blanks + width_of(line) + 1 + width_of(word) > columns) {
      lines += margin + line + '\n';
      line.clear();
    }
    line += (line.empty() ? "" : " ") + word;
    begin = end + 1;
  }
  return lines + margin + line + '\n';
}

std::string celsius(double temperature_K) { return fmt::format("{:.2f}", without_signed_zero(temperature_K - zero_celsius_K)); }
std::string kelvin_difference(double difference_K) { return fmt::format("{:+.2f}", without_signed_zero(difference_K)); }
std::string margin_cell(double margin_K) {
  return margin_K < 0.0 ? fmt::format("BROKEN {:+.2f}", margin_K) : kelvin_difference(margin_K);
}
std::string watts(double power_W) { return fmt::format("{:.2f}", without_signed_zero(power_W)); }
std::string percent(double share, int decimals) { return fmt::format("{:.{}f} %", 100.0 * share, decimals); }
std::string tiny(double value) { return value == 0.0 ? "0" : fmt::format("{:.1e}", value); }

std::string duration_text(double time_s) {
  if (time_s < 60.0) return fmt::format("{:.4g} s", time_s);
  if (time_s < 3600.0) return fmt::format("{:.2f} min ({:.2f} s)", time_s / 60.0, time_s);
  if (time_s < 2.0 * 86400.0) return fmt::format("{:.2f} h ({:.1f} s)", time_s / 3600.0, time_s);
  return fmt::format("{:.2f} d ({:.0f} s)", time_s / 86400.0, time_s);
}

}  // namespace tileflux::cli
