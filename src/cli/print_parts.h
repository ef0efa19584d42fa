#pragma once
/// Paragraphs that several results share.

#include <string>
#include <vector>

#include "tileflux/studies/limits.h"
#include "tileflux/tile/case_reader.h"

namespace tileflux::cli {

/// Title, file, sunlight used, life.
std::string print_head(const tile::CaseFile& file);
/// `east.junction below 60.00 degC (margin +3.12 K)`.
std::string describe(const studies::Margin& margin);
/// Warnings of the case and of the result, and the defaults that were filled in; empty if there are none.
std::string print_notes(const tile::CaseFile& file, const std::vector<Diagnostic>& warnings);
/// The limit of a node that is nearest to a temperature, as text; empty without one.
std::string limit_text(const tile::TileSystem& system, const std::string& node);

}  // namespace tileflux::cli
