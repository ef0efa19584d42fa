#pragma once
/// Text of strangers on a terminal: made harmless, measured in columns, cut and wrapped.

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace tileflux::cli {

/// UTF-8 with a question mark for everything that a terminal would obey instead of show: control characters, line ends
/// and tabs too, marks that change the direction of writing, invisible ones, and bytes that are no UTF-8.
std::string harmless(std::string_view text);

/// The same for a text of lines: line ends and tabs stay.
std::string printable(std::string_view text);
/// JSON with escapes in the place of question marks, so that nothing of it is lost.
std::string printable_json(std::string_view json);

/// Columns that a harmless text takes: none for combining marks, two for wide characters.
std::size_t columns_taken(std::string_view text);

/// The text in pieces of at most so many columns (at least 2), broken behind blanks, points and underscores where there
/// are any. At least one piece; at most 40, the last one ending in `...` if there would be more.
std::vector<std::string> broken_into(std::string_view text, std::size_t columns);

/// Lines of at most `width` columns that begin with so many blanks, broken at blanks, and in the middle of what is
/// longer than a line; the first line begins with `head`, which is as wide as the blanks.
std::string wrapped_to(std::string_view text, std::size_t width, std::size_t blanks, const std::string& head = {});

/// Columns of the terminal on standard output; 80 where there is none and `COLUMNS` says nothing. At least 40.
std::size_t terminal_columns();
/// Whether standard output is a terminal that shows UTF-8.
bool terminal_has_blocks();

}  // namespace tileflux::cli
