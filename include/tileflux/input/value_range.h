#pragma once
/// Values to go through, as a person writes them: `0.3..5AU`, `0.3 AU..5 AU`, `0.3, 0.5, 1 AU`.

#include <string>
#include <string_view>
#include <vector>

#include "tileflux/input/definition.h"

namespace tileflux::input {

/// `PATH=RANGE` in its two parts, blanks around them left out. Throws Error(option_wrong) without both.
struct Variation {
  std::string path;
  std::string range;
};
Variation read_variation(std::string_view text);

enum class Spacing { automatic, linear, logarithmic };

/// More values than this are a slip, not a wish.
inline constexpr int most_values = 10'000;

/// Beyond this ratio of its ends an automatic range goes in equal ratios, up to it in equal steps.
inline constexpr double most_linear_ratio = 3.0;

struct ValueRange {
  std::vector<double> values_si;         ///< rising
  std::string unit;                      ///< as the text has it, `1` for a plain number
  units::Scale scale;                    ///< from that unit
  Spacing spacing = Spacing::automatic;  ///< the one that was used; `automatic` for a list

  double in_unit(double value_si) const { return (value_si - scale.offset) / scale.factor; }
};

/// Reads a range of `points` values or a list. A number without unit takes the unit of the last one. Throws Error: the
/// codes of units::parse_quantity; option_wrong for a range without two ends, that runs backwards or is empty, a list
/// that does not rise, logarithmic steps from zero or less; value_out_of_range for an end beyond the range of the type;
/// count_out_of_bounds for fewer than 2 or more than `most_values` points.
ValueRange read_value_range(std::string_view text, const QuantityType& type, int points, Spacing spacing);

}  // namespace tileflux::input
