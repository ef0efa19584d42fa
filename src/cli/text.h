#pragma once
/// Tables and numbers for the terminal.

#include <numbers>
#include <string>
#include <vector>

namespace tileflux::cli {

/// A table whose first column is aligned left and the others right; an empty cell stays empty.
class Table {
 public:
  explicit Table(std::vector<std::string> heads) : rows_{std::move(heads)} {}
  void row(std::vector<std::string> cells) { rows_.push_back(std::move(cells)); }
  /// Two blanks before every line; the last columns named in `left` are aligned left too.
  std::string text(std::vector<std::size_t> left = {0}) const;

 private:
  std::vector<std::vector<std::string>> rows_;
};

/// Width of a UTF-8 text in characters.
std::size_t width_of(const std::string& text);

/// Lines that begin with so many blanks, broken at blanks so that none is longer than a terminal is wide.
std::string wrapped(const std::string& text, std::size_t blanks);

inline constexpr double degrees_per_radian = 180.0 / std::numbers::pi;

std::string celsius(double temperature_K);            ///< `51.23`
std::string kelvin_difference(double difference_K);   ///< `+3.12`
std::string margin_cell(double margin_K);             ///< the same, with a word in front where the limit is broken
std::string watts(double power_W);                    ///< six significant digits at most, two decimals above 1 W
std::string percent(double share, int decimals = 2);  ///< `51.40 %`
std::string tiny(double value);                       ///< `1.2e-12`
std::string duration_text(
    double time_s);  ///< `96.25 s`, `20.9 min`, `2.31 h`, `1.4 d`, always with seconds beyond a minute

}  // namespace tileflux::cli
