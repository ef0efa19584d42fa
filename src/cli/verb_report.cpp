/// `report`: the story of results as a page for the browser, and its charts as pictures.

#include <fmt/format.h>

#include "cli/verbs.h"
#include "tileflux/report/page.h"
#include "tileflux/report/result_files.h"

namespace tileflux::cli {

int report_verb(const Invocation& wanted) {
  const report::Story story = report::story_of(report::read_results(wanted.results));
  report::write_page(story, wanted.report_file);
  std::string told = fmt::format("Report in {}\n", wanted.report_file);
  if (!wanted.pictures_directory.empty()) {
    const auto pictures = report::write_pictures(story, wanted.pictures_directory);
    told += fmt::format("{} pictures in {}\n", pictures.size(), wanted.pictures_directory);
  }
  say(told);
  return 0;
}

}  // namespace tileflux::cli
