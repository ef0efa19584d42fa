#pragma once
/// Text with a unit to an SI double. The names of units are those of UDUNITS (those of the CF conventions); the grammar
/// is narrowed so that nothing is accepted by accident.

#include <optional>
#include <string>
#include <string_view>

#include "tileflux/base/errors.h"

namespace tileflux::units {

/// Whether a text states a value (25 degC is 298.15 K) or a difference (25 degC is 25 K).
enum class Kind { value, difference };

/// What a field expects: an SI unit such as `W/(m2 K)`, or `1` for a dimensionless number. An angle is `rad`, not `1`.
struct Dimension {
  std::string_view si_unit = "1";
  Kind kind = Kind::value;
};

/// A parsed value in SI units, or the reason why there is none.
struct Parsed {
  std::optional<double> value_si;
  Code code = Code::internal;  ///< meaningful only without a value
  std::string message;         ///< what was found and what was expected
  int offset = 0;              ///< byte in the text at which the trouble begins
};

/// Reads `1.2 kW`, `-0.2 %/K`, `28 degC`, `800 W/(m2 K)`.
/// A bare number is accepted only where the dimension is `1`; there `%` is accepted too, and nothing else. The number
/// is that of std::from_chars (a leading + is allowed); nan, inf and hexadecimal are refused. At most 64 bytes. Units
/// are names with exponents, blanks or points between them, one slash, and parentheses. `W/m K` is refused as
/// ambiguous: write `W/(m K)`. Known beyond UDUNITS' own names: AU, Wh, Ah, deg, and their multiples where usual; the
/// signs of print `°C`, `µm`, `m²`, `W/(m·K)`. Neither `5 Hz` for a time nor `5 rpm` for a frequency is accepted.
/// Thread-safe. Codes: number_malformed, number_not_finite, unit_missing, unit_unknown, unit_malformed, unit_ambiguous,
/// unit_unexpected, dimension_wrong. Throws Error (internal) if the field's own unit is wrong or the unit database of
/// UDUNITS is not installed.
Parsed parse_quantity(std::string_view text, const Dimension& dimension);

/// The factor and offset from a unit to SI: SI value = factor * x + offset. Throws Error on a unit that is not known or
/// not of the dimension of `si_unit` (codes as above).
struct Scale {
  double factor = 1.0;
  double offset = 0.0;
};
Scale scale_to_si(std::string_view unit, std::string_view si_unit);

/// What the trade calls such a quantity, with its article, and a value as one would write it: `a length`, `1 mm`.
struct DimensionName {
  std::string name;
  std::string example;
};
DimensionName name_of(const Dimension& dimension);

}  // namespace tileflux::units
