#pragma once
/// Cells of CSV files (RFC 4180), the same in every file that is written.

#include <string>
#include <string_view>

namespace tileflux::results {

/// The fewest digits that give back the same double; empty for not-a-number.
std::string csv_number(double value);

/// A text as a cell: in quotation marks where it must be.
std::string csv_text(std::string_view text);

}  // namespace tileflux::results
