#pragma once
/// Texts, numbers and tables as HTML.

#include <string>
#include <string_view>

#include "tileflux/report/story.h"

namespace tileflux::report {

/// UTF-8 without control characters but newline and tab; what is not UTF-8 becomes U+FFFD.
std::string clean_text(std::string_view text);

/// Clean, with the five characters of markup escaped: fit for content and for quoted attributes.
std::string escaped(std::string_view text);

/// Escaped, and isolated in direction from what stands around it.
std::string isolated(std::string_view text);

/// Prose, clean: units as people write them, and not parted from their numbers at the end of a line.
std::string prose(std::string_view text);

/// A unit as people write it: degC becomes a degree sign and C.
std::string unit_for_people(std::string_view unit);

/// A number with `decimals` digits after the point, or with -decimals significant digits; no minus sign before a zero.
std::string number_text(double value, int decimals);

/// A table in a box of its own that scrolls; long ones are folded.
std::string table_html(const Table& table, std::size_t open_rows);
/// What of a section stands open.
inline constexpr std::size_t most_open_rows = 30;

}  // namespace tileflux::report
