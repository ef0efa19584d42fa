#pragma once
/// The steps from a document to a case, for those who read one file more than once.

#include <optional>
#include <string_view>
#include <vector>

#include "tileflux/tile/case_reader.h"

namespace tileflux::tile {

/// A document that has been read, with the materials that its case may use.
struct SoundDocument {
  input::Reading reading;
  materials::Library library;
};

/// Reads a document against the definition of cases. Throws Error with all findings if any is an error.
SoundDocument read_soundly(const input::Document& document, std::vector<Diagnostic>& findings,
                           const materials::Library& library);

/// Builds the case, at another age than it says if one is given. Throws Error likewise.
CaseFile built(const input::Document& document, const SoundDocument& sound, std::vector<Diagnostic> findings,
               std::optional<bool> end_of_life = std::nullopt);

/// The cases that `size` looks at. Throws Error as read_size_cases does.
SizeCases sized(const input::Document& document, const SoundDocument& sound, std::vector<Diagnostic> findings);

/// Whether a path lies in a section that says what is asked and how exactly, not what the tile is.
bool is_of_a_study(std::string_view path);

}  // namespace tileflux::tile
