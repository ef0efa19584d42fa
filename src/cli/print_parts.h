#pragma once
/// Paragraphs that several results share.

#include <string>
#include <vector>

#include "tileflux/studies/limits.h"
#include "tileflux/tile/case_reader.h"

namespace tileflux::cli {

/// Title, file, sunlight used, life.
std::string print_head(const tile::CaseFile& file);
/// `east.junction below 60.00 degC (at 56.88 degC, margin +3.12 K)`, `plate rate below 0.5 K/min (...)`.
std::string describe(const studies::Margin& margin);
/// The limit that comes next, in brief: `next plate - lid, +4.20 K`; empty without one.
std::string next_text(const std::optional<studies::Margin>& next);
/// A value, or with `sign` a margin, in the unit that people use for its kind: `12.30 K`, `0.4210 K/min`, `35.0 %`.
std::string amount_text(studies::LimitKind kind, double amount, bool sign = false);
/// Warnings of the case and of the result, and the defaults that were filled in; empty if there are none.
std::string print_notes(const tile::CaseFile& file, const std::vector<Diagnostic>& warnings);
/// The limit of a node that is nearest to a temperature, as text; empty without one.
std::string limit_text(const tile::TileSystem& system, const std::string& node);

}  // namespace tileflux::cli
