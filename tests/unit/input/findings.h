#pragma once
/// Findings as short text, for exact checks of code and place.

#include <string>
#include <vector>

#include "tileflux/base/errors.h"

namespace tileflux::input::samples {

/// `key-unknown 3:5`, one line for each finding.
inline std::string places_of(const std::vector<Diagnostic>& findings) {
  std::string text;
  for (const Diagnostic& finding : findings) {
    if (!text.empty()) text += '\n';
    text += std::string(entry_of(finding.code).slug) + ' ' + std::to_string(finding.place.line) + ':' +
            std::to_string(finding.place.column);
  }
  return text;
}

}  // namespace tileflux::input::samples
