// The page as text; what a browser makes of it is in browser_test.cpp.
#include "tileflux/report/page.h"

#include <gmock/gmock.h>

#include <chrono>
#include <cmath>
#include <string>

#include "support/child_process.h"
#include "support/sample_story.h"
#include "support/slowness.h"
#include "support/temporary_directory.h"
#include "tileflux/base/cautions.h"
#include "tileflux/base/errors.h"

namespace tileflux::report {
namespace page_test {

using testing::ContainsRegex;
using testing::HasSubstr;
using testing::Not;

constexpr std::size_t most_bytes = 2'000'000;
constexpr double most_seconds = 0.5;

std::size_t count_of(const std::string& text, const std::string& part) {
  std::size_t count = 0;
  for (std::size_t at = text.find(part); at != std::string::npos; at = text.find(part, at + part.size())) ++count;
  return count;
}

/// What stands before the page's own script: all that comes from a story.
std::string told_part(const std::string& page) { return page.substr(0, page.rfind("<script>")); }

Story story_with(Chart chart) {
  Story story{.title = "t", .question = "q", .answer = "a"};
  story.sections = {{.id = "one", .title = "One", .chart = std::move(chart)}};
  return story;
}

Story story_with(Table table) {
  Story story{.title = "t", .question = "q", .answer = "a"};
  story.sections = {{.id = "one", .title = "One", .tables = {std::move(table)}}};
  return story;
}

TEST(Page, BeginsWithTheQuestionTheAnswerWhatBindsAndWhatToDoNext) {
  const std::string page = page_of(test::sample_story());
  const std::size_t question = page.find("How hot does it run"), answer = page.find("of laser light"),
                    verdict = page.find("a limit is broken"), binds = page.find("west.junction below 52"),
                    next = page.find("Measure the emissivity"), first_section = page.find("<main");
  EXPECT_LT(question, answer);
  EXPECT_LT(answer, verdict);
  EXPECT_LT(verdict, binds);
  EXPECT_LT(binds, next);
  EXPECT_LT(next, first_section);
  EXPECT_THAT(page_of({.answer = "a", .met = true}), HasSubstr("every limit is met"));
}

/// On the page no line ends between a number and its unit.
std::string with_plain_blanks(std::string text) {
  const std::string unbroken = "\xC2\xA0";
  for (std::size_t at = 0; (at = text.find(unbroken, at)) != std::string::npos;) text.replace(at, unbroken.size(), " ");
  return text;
}

TEST(Page, HoldsEveryTextOfTheStory) {
  const Story story = test::sample_story();
  const std::string page = with_plain_blanks(page_of(story));
  for (const Section& section : story.sections) {
    EXPECT_NE(page.find("<section id=\"" + section.id + "\""), std::string::npos) << section.id;
    EXPECT_NE(page.find(section.says), std::string::npos) << section.id;
    for (const Table& table : section.tables) EXPECT_NE(page.find(table.caption), std::string::npos) << section.id;
  }
  for (const std::string& text :
       {story.warnings[0], story.cautions[0], story.cautions[1], story.provenance.inputs[0].sha256,
        story.provenance.sources[0].source, story.provenance.inputs[0].text})
    EXPECT_NE(page.find(text), std::string::npos) << text;
  EXPECT_EQ(count_of(page, "<figure"), story.sections.size());
}

TEST(Page, AllowsItsOwnScriptAndStyleAndNothingElse) {
  const std::string page = page_of(test::sample_story());
  EXPECT_THAT(page, ContainsRegex(
                        "default-src 'none'; script-src 'sha256-[A-Za-z0-9+/]+='; style-src 'sha256-[A-Za-z0-9+/]+='; "
                        "img-src data:; base-uri 'none'; form-action 'none'"));
  EXPECT_THAT(page, Not(HasSubstr("unsafe")));
  EXPECT_EQ(count_of(page, "<script>"), 1u);
  EXPECT_EQ(count_of(page, "<style>"), 1u);
  for (const char* loads : {" src=", "@import", "url(", "<iframe", "<object", "<embed"})
    EXPECT_EQ(count_of(told_part(page), loads), 0u) << loads;
}

TEST(Page, HoldsTheCautionsInFullWhateverTheResultsSay) {
  Story story = test::sample_story();
  story.cautions = {std::string(short_caution())};
  const std::string page = page_of(story);
  for (const std::string_view caution : cautions()) EXPECT_THAT(page, HasSubstr(std::string(caution)));
  EXPECT_EQ(page.find("for cautions."), std::string::npos) << "a page that travels alone points to a command";
}

TEST(Page, LetsNoNameBreakOut) {
  const std::string told = told_part(page_of(test::hostile_story()));
  // Counts of what the page itself writes: names add nothing to them.
  const std::string plain = told_part(page_of(test::sample_story({.parts = 12, .times = 300, .events = 30})));
  for (const char* markup :
       {"<script", "</script", "<img", "<style", "</style", "<!--", "<section", "onmouseover=window", " onerror"}) {
    const std::size_t more = std::string(markup).starts_with(" on") || std::string(markup).starts_with("on")
                                 ? count_of(told, std::string("\"") + markup)
                                 : count_of(told, markup) - count_of(plain, markup);
    EXPECT_EQ(more, 0u) << markup;
  }
  EXPECT_THAT(told, HasSubstr("&lt;script&gt;window.broken=1&lt;/script&gt;"));
  EXPECT_THAT(told, HasSubstr("{{{script}}}"));  // as text, not as what the template puts there
  EXPECT_EQ(count_of(told, "\xFF"), 0u);
  EXPECT_EQ(count_of(told, "\a"), 0u);
}

TEST(Page, IsolatesTheDirectionOfNames) {
  const std::string page = page_of(story_with(
      Table{.caption = "c", .columns = {{.name = "n", .number = false}}, .rows = {{std::string("\u202Eabc")}}}));
  EXPECT_THAT(page, HasSubstr("<bdi>\u202Eabc</bdi>"));
}

TEST(Page, PrintsNumbersAsTheirColumnsAsk) {
  const std::string page = page_of(story_with(Table{.caption = "c",
                                                    .columns = {{.name = "fixed", .unit = "degC", .decimals = 1},
                                                                {.name = "significant", .unit = "m2", .decimals = -3},
                                                                {.name = "word", .number = false}},
                                                    .rows = {{47.6251, 0.00123456, std::string("x")},
                                                             {-0.04, 1234567.0, std::string("y")},
                                                             {1e16, 1e-9, Cell()},
                                                             {NAN, 0.0, Cell()}},
                                                    .left_out = "Some rows were left out."}));
  for (const char* cell :
       {"<td class=\"n\">47.6</td><td class=\"n\">0.00123</td><td class=\"w\"><bdi>x</bdi></td>",
        "<td class=\"n\">0.0</td><td class=\"n\">1234567</td>",
        "<td class=\"n\">1.000000e+16</td><td class=\"n\">1.00e-09</td>",
        "<td class=\"n\">none</td><td class=\"n\">0</td>", "Some rows were left out.", "\u00B0C", "m\u00B2"})
    EXPECT_THAT(page, HasSubstr(cell));
}

TEST(Page, KeepsUnitsBesideTheirNumbersInProse) {
  const std::string page = page_of(Story{.answer = "47.9 degC and 11 % of 3 parts, 5 K.", .sections = {}});
  EXPECT_THAT(page, HasSubstr("47.9\u00A0\u00B0C and 11\u00A0% of 3 parts, 5\u00A0K."));
}

TEST(Page, FoldsLongTablesAndLeavesShortOnesOpen) {
  Table table{
      .caption = "c", .columns = {{.name = "n"}}, .rows = std::vector<std::vector<Cell>>(30, {1.0}), .left_out = {}};
  EXPECT_THAT(page_of(story_with(table)), Not(HasSubstr("<summary>Table:")));
  table.rows.push_back({1.0});
  EXPECT_THAT(page_of(story_with(table)), HasSubstr("31 rows</summary>"));
}

TEST(Page, SaysInWordsWhatAChartShows) {
  const std::string page = with_plain_blanks(page_of(test::sample_story()));
  EXPECT_THAT(page, HasSubstr("0 of them broken, 1 kept by less than is reserved; the least margin is -6.03 K at east.junction"));
  EXPECT_THAT(page, HasSubstr("laser light 149.3 W (11.0 %)"));
  EXPECT_THAT(page, HasSubstr("the hottest is cells at 47.9"));
}

TEST(Page, LeavesOutChartsThatHaveNothingToDraw) {
  for (const Chart& chart : {Chart(FlowChart{}), Chart(MarginChart{}), Chart(LineChart{}), Chart(HeatMap{}),
                             Chart(RankChart{}), Chart(SectionChart{})})
    EXPECT_THAT(page_of(story_with(chart)), Not(HasSubstr("<figure")));
}

TEST(Page, TakesWhateverStandsInAStoryWithoutStopping) {
  LineChart chart{.x_name = "x", .x_unit = "\xFF", .x_logarithmic = true, .x = {0.0, 1.0}};
  chart.lines = {{.name = "no numbers", .group = "", .unit = "W", .values = {NAN, INFINITY}},
                 {.name = "too short", .group = "", .unit = "W", .values = {}}};
  chart.levels = {{"no limit", "W", INFINITY, ""}};
  chart.marks = {{"never", NAN, "kind"}};
  EXPECT_THAT(page_of(story_with(chart)),
              AllOf(HasSubstr("one--data"), HasSubstr("\"x_logarithmic\":false"), HasSubstr("\"levels\":[]")));
  FlowChart flow{
      .stations = {{"a"}, {"b"}}, .links = {{"a", "b", 1.0}, {"a", "nowhere", 1.0}, {"a", "b", NAN}}, .whole_W = 1.0};
  EXPECT_THAT(page_of(story_with(flow)), HasSubstr("\"links\":[[0,1,1.0]]"));
  MarginChart margins{.bars = {{"a", "degC", NAN, 1.0, true, NAN, 0.0}}};
  EXPECT_THAT(page_of(story_with(margins)), Not(HasSubstr("<figure")));
  const std::string strange = page_of(Story{.sections = {{.id = "\"><script>", .title = ""}, {.id = "", .title = ""}}});
  EXPECT_THAT(told_part(strange), Not(HasSubstr("<script>")));
}

TEST(Page, CarriesAYearOfSecondsThinnedAndKeepsItsPeak) {
  LineChart chart{.x_name = "time", .x_unit = "s"};
  constexpr int count = 600'000;
  for (int i = 0; i < count; ++i) chart.x.push_back(i);
  chart.lines = {{.name = "cells", .group = "", .unit = "degC", .values = std::vector<double>(count, 20.0)}};
  chart.lines[0].values[123'457] = 99.0;
  const std::string page = page_of(story_with(chart));
  EXPECT_LT(page.size(), most_bytes);
  EXPECT_THAT(page, HasSubstr("Of 600000 points the lowest and the highest of every 19 are drawn"));
  // The peak is the end of the range in which values are packed.
  const std::size_t at = page.find("\"low\":20.0,\"step\":");
  ASSERT_NE(at, std::string::npos);
  const double step = std::stod(page.substr(page.find("step\":", at) + 6, 30));
  EXPECT_NEAR(20.0 + step * 0xFFFFFE, 99.0, 1e-9);
}

TEST(Page, IsWrittenWholeOrNotAtAll) {
  const test::TemporaryDirectory directory;
  write_page(test::sample_story(), directory / "deep/report.html");
  EXPECT_EQ(test::read_file(directory / "deep/report.html"), page_of(test::sample_story()));
  test::write_file(directory / "file", "");
  try {
    write_page(test::sample_story(), directory / "file/report.html");
    FAIL() << "a page was written below a file";
  } catch (const Error& error) {
    EXPECT_EQ(error.code(), Code::output_unwritable);
  }
}

TEST(Pictures, AreWrittenForEveryChart) {
  const test::TemporaryDirectory directory;
  const Story story = test::sample_story();
  const auto paths = write_pictures(story, directory.path());
  ASSERT_EQ(paths.size(), story.sections.size());
  for (std::size_t i = 0; i < paths.size(); ++i) {
    EXPECT_EQ(paths[i].filename(), story.sections[i].id + ".svg");
    const std::string picture = test::read_file(paths[i]);
    EXPECT_TRUE(picture.starts_with("<svg ")) << paths[i];
    EXPECT_GT(count_of(picture, "<text"), 3u) << paths[i];
    EXPECT_EQ(count_of(picture, "NaN"), 0u) << paths[i];
    EXPECT_EQ(count_of(picture, "<script"), 0u) << paths[i];
  }
}

TEST(Pictures, AreWellFormedWhateverNamesSay) {
  const test::TemporaryDirectory directory;
  std::vector<std::string> check{"/usr/bin/python3", "-c",
                                 "import sys, xml.dom.minidom\nfor path in sys.argv[1:]: xml.dom.minidom.parse(path)"};
  for (const auto& path : write_pictures(test::hostile_story(), directory.path())) check.push_back(path);
  const test::ProgramResult result = test::run_program(check);
  EXPECT_EQ(result.exit_status, 0) << result.standard_error;
}

TEST(Pictures, SayWhatIsMissing) {
  const test::TemporaryDirectory directory;
  const std::string path = std::getenv("PATH");
  ASSERT_EQ(::setenv("PATH", directory.path().c_str(), 1), 0);
  try {
    write_pictures(test::sample_story(), directory.path());
    ADD_FAILURE() << "pictures were drawn without node";
  } catch (const Error& error) {
    EXPECT_EQ(error.code(), Code::report_unavailable);
    EXPECT_THAT(error.what(), HasSubstr("node"));
  }
  ASSERT_EQ(::setenv("PATH", path.c_str(), 1), 0);
}

TEST(TimingOfPages, ADayOfFortyPartsIsSmallAndQuicklyWritten) {
  const test::TemporaryDirectory directory;
  const Story story = test::sample_story({.parts = 40, .times = 5000, .events = 3000});
  double best_s = INFINITY;  // the best of three: what else runs on the machine does not count
  for (int i = 0; i < 3; ++i) {
    const auto begin = std::chrono::steady_clock::now();
    write_page(story, directory / "day.html");
    best_s = std::min(best_s, std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count());
  }
  EXPECT_LT(best_s, test::allowed(most_seconds));
  EXPECT_LT(std::filesystem::file_size(directory / "day.html"), most_bytes);
}

}  // namespace page_test
}  // namespace tileflux::report
