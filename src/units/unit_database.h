#pragma once
/// What the names of units mean. The only place that knows UDUNITS.

#include <array>
#include <string_view>
#include <vector>

#include "units/unit_text.h"

namespace tileflux::units {

/// Powers of the base units m, kg, s, A, K, mol, cd, and rad: an angle is not a plain number here.
using Powers = std::array<int, 8>;
inline constexpr std::array<std::string_view, 8> base_symbols{"m", "kg", "s", "A", "K", "mol", "cd", "rad"};

/// SI value = factor * x + offset, in the coherent SI unit with these powers.
struct Meaning {
  double factor = 1.0;
  double offset = 0.0;
  Powers powers{};
};

/// The meaning of a unit text, or the fault of its text or of a name in it. An offset (degC) holds only for a unit that
/// stands alone; in `%/degC` the degree is a difference. Prefixes are those of the SI, one at most, and none on units
/// that have an offset or on multiples of the second. Results are remembered. Thread-safe. Throws Error (internal) if
/// the database of UDUNITS cannot be loaded, which happens at the first call.
struct Resolved {
  Meaning meaning;
  std::optional<UnitFault> fault;
};
Resolved resolve_unit(std::string_view unit);

}  // namespace tileflux::units
