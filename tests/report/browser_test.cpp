// Pages in a real browser. browser/pages.mjs does the looking; see there for what it holds a page to.
#include <fmt/format.h>
#include <gmock/gmock.h>

#include <filesystem>

#include "support/child_process.h"
#include "support/sample_story.h"
#include "support/slowness.h"
#include "support/temporary_directory.h"
#include "tileflux/report/page.h"

namespace tileflux::report {
namespace browser_test {

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
  std::string page = page_of(test::sample_story());
  const auto replace = [&](const std::string& from, const std::string& to) {
    const std::size_t at = page.find(from);
    ASSERT_NE(at, std::string::npos) << from;
    page.replace(at, from.size(), to);
  };
  replace("default-src 'none'; ", "");
  replace(
      "<main id=\"content\">",
      "<main id=\"content\"><img src=\"missing.png\"><section id=\"wide\"><table><caption>wide</caption><thead><tr><th "
      "scope=\"col\">a</th></tr></thead><tbody><tr><td class=\"n\">" +
          std::string(300, '9') + "</td></tr></tbody></table></section>");
  replace("\"kind\":\"margins\"", "\"kind\":\"nothing\"");
  replace("<td class=\"n\">1224.90</td>", "<td class=\"n\">1224.80</td>");
  // One more digit at the end of the last row of a table.
  for (const char* section : {"day", "sweep", "map", "gains"}) {
    const std::size_t end = page.find("</tbody>", page.find("<section id=\"" + std::string(section)));
    const std::size_t at = page.rfind("</td></tr>", end);
    ASSERT_NE(at, std::string::npos) << section;
    page.insert(at, "7");
  }
  test::write_file(directory / "broken.html", page);
  const test::ProgramResult result = look_at({"--brief", directory / "broken.html"});
  EXPECT_EQ(result.exit_status, 1);
  for (const char* fault : {"asks for file:", "an element that loads", "critical image-alt", "console error: TypeError",
                            "nothing is drawn", "1224.9 is in no table", "the policy lets connect-src through",
                            "day: 'part 8' at ", "sweep: 'hottest part' at 5, not", "map: value",
                            "gains: value -0.06 is in no table", "wider than the window", "table 'wide' is cut"})
    EXPECT_THAT(result.standard_output, HasSubstr(fault));
}

/// What results of the ladder tell. Each is asked quickly: what is told of is the same for longer questions.
std::vector<std::string> pages_of_the_ladder(const test::TemporaryDirectory& directory) {
  std::vector<std::string> pages;
  const std::string richest = "lamplighter_full";
  const std::filesystem::path cases = TILEFLUX_PROJECT_DIR "/cases";
  for (const auto& entry : std::filesystem::directory_iterator(cases)) {
    if (!std::filesystem::exists(entry.path() / "case.yaml")) continue;
    const std::string name = entry.path().filename().string(), results = (directory / name).string();
    for (const std::vector<std::string>& question :
         {std::vector<std::string>{"balance"}, {"run", "--duration", "2h"}}) {
      std::vector<std::string> words{TILEFLUX_COMMAND, question[0], (entry.path() / "case.yaml").string(), "--out",
                                     results};
      words.insert(words.end(), question.begin() + 1, question.end());
      if (name != richest) words.emplace_back("--no-why");  // which takes most of the time
      EXPECT_LE(test::run_program(words).exit_status, 1) << name;
    }
    const test::ProgramResult made = test::run_program({TILEFLUX_COMMAND, "report", results, "-o", results + ".html"});
    EXPECT_EQ(made.exit_status, 0) << name << '\n' << made.standard_error;
    pages.insert(name == richest ? pages.begin() : pages.end(), results + ".html");
  }
  return pages;
}

TEST(Browser, FindsNoFaultInTheReportOfAnyCaseOfTheLadder) {
  const test::TemporaryDirectory directory;
  std::vector<std::string> arguments = pages_of_the_ladder(directory);
  const std::string clean = fmt::format("{} pages, 0 faults", arguments.size());
  arguments.insert(arguments.begin(), "--brief");
  const test::ProgramResult seen = look_at(arguments);
  EXPECT_THAT(seen.standard_output, HasSubstr(clean)) << seen.standard_error;
}

#ifdef TILEFLUX_ALL_TESTS
TEST(Browser, FindsNoFaultInTheReportOfAnyCaseOfTheLadderInWhateverForm) {
  const test::TemporaryDirectory directory;
  const std::vector<std::string> pages = pages_of_the_ladder(directory);
  const test::ProgramResult seen = look_at(pages);
  EXPECT_THAT(seen.standard_output, HasSubstr(fmt::format("{} pages, 0 faults", pages.size()))) << seen.standard_error;
}
#endif

constexpr double most_paint_ms = 1000.0;

TEST(TimingOfPagesInABrowser, SomethingIsPaintedWithinASecond) {
  const test::TemporaryDirectory directory;
  write_page(test::sample_story({.parts = 40, .times = 5000, .events = 3000}), directory / "day.html");
  const test::ProgramResult result =
      look_at({fmt::format("--paint={:.0f}", test::allowed(most_paint_ms)), directory / "day.html"});
  EXPECT_EQ(result.exit_status, 0) << result.standard_output << result.standard_error;
}

TEST(Palette, StaysApartForPeopleWhoSeeFewerColours) {
  const test::ProgramResult result =
      test::run_program({"node", scripts + "palette.mjs", TILEFLUX_PROJECT_DIR "/src/report/page/palette.js"});
  EXPECT_EQ(result.exit_status, 0) << result.standard_output << result.standard_error;
}

}  // namespace browser_test
}  // namespace tileflux::report
