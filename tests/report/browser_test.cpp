// Pages in a real browser. browser/pages.mjs does the looking; see there for what it holds a page to.
#include <gmock/gmock.h>

#include "support/child_process.h"
#include "support/sample_story.h"
#include "support/temporary_directory.h"
#include "tileflux/report/page.h"

namespace tileflux::report {
namespace {

using testing::HasSubstr;

const std::string scripts = TILEFLUX_PROJECT_DIR "/tests/report/browser/";
const std::string packages = TILEFLUX_BUILD_DIR "/browser-packages";

test::ProgramResult look_at(const std::vector<std::string>& pages) {
  std::vector<std::string> arguments{"node", scripts + "pages.mjs", packages};
  arguments.insert(arguments.end(), pages.begin(), pages.end());  // and options among them
  return test::run_program(arguments);
}

TEST(Browser, FindsNoFaultInPagesOfEveryKindOfChart) {
  const test::TemporaryDirectory directory;
  write_page(test::sample_story({.parts = 40, .times = 5000, .events = 3000}), directory / "day.html");
  write_page(test::hostile_story(), directory / "hostile.html");
  const test::ProgramResult result = look_at({directory / "day.html", directory / "hostile.html"});
  EXPECT_EQ(result.exit_status, 0) << result.standard_output << result.standard_error;
  EXPECT_THAT(result.standard_output, HasSubstr("2 pages, 0 faults"));
}

TEST(Browser, FindsFaultsThatWerePutIntoAPage) {
  const test::TemporaryDirectory directory;
  Story story = test::sample_story();
  story.sections.resize(3);
  std::string page = page_of(story);
  const auto replace = [&](const std::string& from, const std::string& to) {
    const std::size_t at = page.find(from);
    ASSERT_NE(at, std::string::npos) << from;
    page.replace(at, from.size(), to);
  };
  replace("default-src 'none'; ", "");
  replace("<main id=\"content\">", "<main id=\"content\"><img src=\"missing.png\">");
  replace("\"kind\":\"margins\"", "\"kind\":\"nothing\"");
  replace("<td class=\"n\">1224.90</td>", "<td class=\"n\">1224.80</td>");
  test::write_file(directory / "broken.html", page);
  const test::ProgramResult result = look_at({"--brief", directory / "broken.html"});
  EXPECT_EQ(result.exit_status, 1);
  for (const char* fault : {"asks for file:", "an element that loads", "critical image-alt", "console error: TypeError",
                            "nothing is drawn", "1224.9 is in no table", "the policy lets connect-src through"})
    EXPECT_THAT(result.standard_output, HasSubstr(fault));
}

TEST(TimingOfPagesInABrowser, SomethingIsPaintedWithinASecond) {
  const test::TemporaryDirectory directory;
  write_page(test::sample_story({.parts = 40, .times = 5000, .events = 3000}), directory / "day.html");
  const test::ProgramResult result = look_at({"--paint", directory / "day.html"});
  EXPECT_EQ(result.exit_status, 0) << result.standard_output << result.standard_error;
}

TEST(Palette, StaysApartForPeopleWhoSeeFewerColours) {
  const test::ProgramResult result =
      test::run_program({"node", scripts + "palette.mjs", TILEFLUX_PROJECT_DIR "/src/report/page/palette.js"});
  EXPECT_EQ(result.exit_status, 0) << result.standard_output << result.standard_error;
}

}  // namespace
}  // namespace tileflux::report
