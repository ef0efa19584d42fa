#pragma once
/// Library values made larger or smaller as a whole, for studies that ask what a property is worth.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "tileflux/materials/library.h"

namespace tileflux::materials {

/// A property that can be scaled: `surfaces.white_paint.emittance`, `media.wax.solid.conductivity`.
struct PropertyPath {
  std::string kind;      ///< as in a library file: solids, media, surfaces, cells, bodies
  std::string entry;
  std::string property;  ///< `emittance`, or with its phase `solid.conductivity`

  std::string text() const { return kind + '.' + entry + '.' + property; }
};

/// Every property that can be scaled, in the order of the library: all but temperatures, which no factor suits, and
/// those of heat-pipe fluids, which enter relative to themselves. A table is scaled in every row; begin and end of life
/// together.
std::vector<PropertyPath> scalable_properties(const Library& library);

/// Multiplies a property. Throws Error: name_unknown, with the nearest path; value_out_of_range for a factor that is
/// not above zero or makes more than 100 % of what is a share, at the age that is asked for (none: at either).
void scale(Library& library, std::string_view path, double factor, std::optional<bool> end_of_life = std::nullopt);

}  // namespace tileflux::materials
