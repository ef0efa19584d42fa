#pragma once
/// A Story as one self-contained HTML page, and its charts as pictures for documents.
///
/// The page loads nothing, sends nothing and forbids both by its content-security-policy. Texts, tables and the drawn
/// section are there without script; charts are drawn by the script that is embedded in it. Names are data: they are
/// escaped and isolated in direction wherever they stand.

#include <filesystem>
#include <string>
#include <vector>

#include "tileflux/report/story.h"

namespace tileflux::report {

/// Whether this build can make pages and pictures (TILEFLUX_REPORT). The others throw Error with
/// Code::report_unavailable if not.
bool page_available();

/// The page. Sections come in the order of the story; numbers are printed as their columns ask.
std::string page_of(const Story& story);

/// Writes the page as a whole: readers see the old file or the new one. Throws as results::OutputDirectory does.
void write_page(const Story& story, const std::filesystem::path& path);

/// Writes an SVG picture of each chart of the story into the directory, `<section id>.svg`, and gives the paths in
/// order. Sections (SectionChart) are drawn here; all others by the page's own code through the program `node`: throws
/// Error with Code::report_unavailable if there is none or it fails.
std::vector<std::filesystem::path> write_pictures(const Story& story, const std::filesystem::path& directory);

}  // namespace tileflux::report
