#pragma once
/// From the events of the YAML parser to a tree of nodes, under bounds. The only place that knows yaml-cpp.

#include <string_view>
#include <vector>

#include "tileflux/input/document.h"

namespace tileflux::input {

inline constexpr std::size_t most_findings = 100;

/// Parses the text, which is clean (text_scan.h), into `document.root` and sets `document.complete`.
void build_tree(std::string_view text, Document& document, std::vector<Diagnostic>& findings, const Bounds& bounds);

}  // namespace tileflux::input
