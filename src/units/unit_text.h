#pragma once
/// The grammar of units: which factors a text names, before anybody knows what the names mean.
///
///     unit    = [ "1" "/" ] product
///     product = factor { separator factor } [ "/" factor ]      separator: blank, "." or "*"
///     factor  = ( name | "(" product ")" ) [ exponent ]         exponent: [ "^" | "**" ] [ "-" ] digit 1 to 9

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "tileflux/base/errors.h"

namespace tileflux::units {

inline constexpr std::size_t longest_text_bytes = 64;

/// A name with the power it has after parentheses and the slash are resolved.
struct UnitFactor {
  std::string name;
  int power = 1;
  int offset = 0;  ///< byte in the unit text
};

struct UnitFault {
  Code code = Code::unit_malformed;
  std::string message;
  int offset = 0;
};

struct UnitText {
  std::vector<UnitFactor> factors;
  std::optional<UnitFault> fault;
};

/// Reads a unit text. Codes: unit_malformed, unit_ambiguous (`W/m K`, `W/m2/K`).
UnitText read_unit_text(std::string_view text);

/// A text with the signs of print replaced by those of a keyboard: `µ` by u, `°` by deg, `·` by a point, `²` by ^2, `Ω`
/// by ohm, the true minus by -, no-break blanks by blanks. `offsets[i]` is the byte of the original from which byte i
/// comes; one more entry than bytes.
struct KeyboardText {
  std::string text;
  std::vector<int> offsets;
};
KeyboardText to_keyboard(std::string_view text);

}  // namespace tileflux::units
