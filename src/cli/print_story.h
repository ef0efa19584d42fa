#pragma once
/// A story as a person reads it on a terminal.

#include <cstddef>
#include <string>

#include "tileflux/report/story.h"

namespace tileflux::cli {

struct StoryStyle {
  std::size_t width = 80;  ///< columns
  bool blocks = false;     ///< bars and sparklines of block characters; false: plain letters
  bool all = false;        ///< every row and column of every table
};

/// Question, answer, what binds and what to do next; then each section with its tables; then where it comes from.
std::string print_story(const report::Story& story, const StoryStyle& style);

}  // namespace tileflux::cli
