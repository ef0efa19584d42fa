// The page as text: what a browser does with it is for browser_test.cpp.
#include "tileflux/report/page.h"

#include <gmock/gmock.h>

#include <chrono>

#include "support/sample_story.h"
#include "support/temporary_directory.h"

namespace tileflux::report {
namespace {

TEST(PagesForTheBrowser, AreWritten) {
  const std::filesystem::path folder = TILEFLUX_BUILD_DIR "/tests/report-pages";
  write_page(test::sample_story(), folder / "sample.html");
  write_page(test::sample_story({.parts = 40, .times = 5000, .events = 3000}), folder / "day.html");
  write_page(test::hostile_story(), folder / "hostile.html");
}

}  // namespace
}  // namespace tileflux::report
