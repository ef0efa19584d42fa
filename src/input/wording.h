#pragma once
/// How values, ranges and types are put into words, in messages and in the reference.

#include <string>
#include <string_view>
#include <vector>

#include "tileflux/input/definition.h"
#include "tileflux/input/document.h"

namespace tileflux::input {

/// A text of the file in quotes, on one line and cut at 60 bytes.
std::string in_quotes(std::string_view text);

/// `'a', 'b' or 'c'`
std::string choice_of(const std::vector<std::string>& words);

/// The shortest digits that give the same double, and the unit unless it is `1`.
std::string number_text(double value_si, std::string_view si_unit);

/// `at least 0 K`, `more than 0 m and at most 1 m`; empty without ends.
std::string range_text(const Range& range, std::string_view si_unit);

/// `2 to 5`, `at most 5`, `3`
std::string count_text(std::size_t least, std::size_t most);

/// `a list`, `a map`, `nothing`, `'text'`
std::string kind_text(const Node& node);

bool is_within(double value, const Range& range);

/// A name: a-z, 0-9 and _, a letter first, at most 64 bytes; if `dotted`, dots between such words, which
/// after a dot may begin with a digit: `sheet.2`.
bool is_name(std::string_view text, const NameType& type);

}  // namespace tileflux::input
