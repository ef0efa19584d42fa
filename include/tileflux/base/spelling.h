#pragma once
/// The nearest spelling of a word among known words, for "did you mean".

#include <span>
#include <string>
#include <string_view>

namespace tileflux {

/// Edit distance with neighbouring letters exchanged counted as one (optimal string alignment; Damerau 1964,
/// Communications of the ACM 7, 171). Bytes, not code points. Both words are cut at 64 bytes.
int edit_distance(std::string_view a, std::string_view b);

/// The known word that means the same, as emittance does for emissivity, or else the one nearest to `word`; empty if
/// none is near enough (more than a third of the letters differ).
std::string nearest_spelling(std::string_view word, std::span<const std::string> known);

}  // namespace tileflux
