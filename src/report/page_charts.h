#pragma once
/// Charts as the script of the page takes them, and in words for who cannot see them.

#include <string>

#include "tileflux/report/story.h"

namespace tileflux::report {

/// JSON in ASCII that can stand inside a script element. Not for SectionChart, which is drawn by section_svg.
/// Values over x are packed: codec.js says how.
std::string chart_json(const Chart& chart);

/// What the chart shows, in one or two sentences.
std::string chart_in_words(const Chart& chart);

/// Whether there is anything to draw.
bool has_data(const Chart& chart);

/// The section as SVG. `alone`: with its own colours, as a picture outside the page.
std::string section_svg(const SectionChart& chart, const std::string& label, bool alone);

}  // namespace tileflux::report
