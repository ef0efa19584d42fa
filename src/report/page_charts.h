#pragma once
/// Charts as the script of the page takes them, and in words for who cannot see them.

#include <optional>
#include <string>

#include "tileflux/report/story.h"

namespace tileflux::report {

/// The chart without what cannot be drawn: values that are no numbers, links that lead nowhere, a logarithmic axis
/// through zero. Long series are thinned to what a page can carry: of every few points the lowest and the highest of
/// each line. Nothing if nothing is left.
std::optional<Chart> drawable(const Chart& chart);

/// What `drawable` did to the points of a series, in a sentence; empty: nothing.
std::string thinning_in_words(const Chart& chart);

/// JSON of a drawable chart, in ASCII that can stand inside a script element. Not for SectionChart, which is drawn by
/// section_svg. Values over x are packed: codec.js says how.
std::string chart_json(const Chart& chart);

/// What a drawable chart shows, in one or two sentences.
std::string chart_in_words(const Chart& chart);

/// The section as SVG. `alone`: with its own colours, as a picture outside the page.
std::string section_svg(const SectionChart& chart, const std::string& label, bool alone);

}  // namespace tileflux::report
