#pragma once
/// The paragraph that every answer ends with.

#include <optional>
#include <string>

#include "tileflux/studies/why.h"
#include "tileflux/tile/case_template.h"

namespace tileflux::cli {

/// None where the tile has no steady state to tell it of.
std::optional<studies::Why> why_of(const tile::CaseTemplate& cases, const tile::Case& description);
/// A line `Why` and a short paragraph, or nothing.
std::string print_why(const std::optional<studies::Why>& why);
/// A JSON object as text, with `why` as its last key; as it is without one.
std::string with_why(const std::string& json, const std::optional<studies::Why>& why);

}  // namespace tileflux::cli
