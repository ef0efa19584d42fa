#pragma once
/// Steps that a template of cases and a series of them share.

#include <string>
#include <string_view>
#include <vector>

#include "tileflux/input/document.h"
#include "tileflux/tile/case_template.h"

namespace tileflux::tile {

/// Whether a path is that of a factor on a property of the library, of which property, and the path for a property.
bool is_factor(std::string_view path);
std::string_view property_of(std::string_view path);
std::string factor_path(std::string_view property);

/// The document with values in place of its own; factors are left over, by their properties.
input::Document with_values(input::Document document, const std::vector<Override>& values,
                            std::vector<Override>& factors);

}  // namespace tileflux::tile
