/// `show`: the story of results on the terminal.

#include "cli/print_story.h"
#include "cli/terminal_text.h"
#include "cli/verbs.h"
#include "tileflux/report/result_files.h"

namespace tileflux::cli {

int show_verb(const Invocation& wanted) {
  const report::Story story = report::story_of(report::read_results(wanted.results));
  StoryStyle style;
  style.width = wanted.width > 0 ? static_cast<std::size_t>(wanted.width) : terminal_columns();
  style.blocks = terminal_has_blocks();
  style.all = wanted.all;
  say(print_story(story, style));
  return 0;
}

}  // namespace tileflux::cli
