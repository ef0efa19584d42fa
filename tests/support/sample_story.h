#pragma once
/// A story with every kind of chart, made up, for tests of what draws stories.

#include "tileflux/report/story.h"

namespace tileflux::test {

struct StorySize {
  int parts = 12;
  int times = 600;
  int events = 40;
};

/// A day of an invented tile.
report::Story sample_story(const StorySize& size = {});

/// The same with titles, names and units that try to break out: markup, script, very long, right-to-left, emoji,
/// control characters, broken UTF-8.
report::Story hostile_story();

}  // namespace tileflux::test
