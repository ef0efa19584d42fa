#pragma once
/// References to names, checked in the text of a case that the definition already refuses, so that they are told
/// together with what is wrong there. A case that the definition accepts is checked by CaseBuilder instead.

#include <vector>

#include "tileflux/input/document.h"
#include "tileflux/materials/library.h"

namespace tileflux::tile {

/// Appends a finding (name_unknown) for every reference to a part, layer, junction, surface or material that stands
/// nowhere in the document or the library. Places that already have a finding are left alone.
void check_names(const input::Document& document, const materials::Library& library, std::vector<Diagnostic>& findings);

}  // namespace tileflux::tile
