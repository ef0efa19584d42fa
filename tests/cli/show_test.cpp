/// `show` as a person meets it: results of every verb told in eighty columns, whatever their names hold.

#include <gmock/gmock.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <sstream>

#include "support/child_process.h"
#include "support/temporary_directory.h"
#include "tileflux/results/digest.h"

namespace tileflux {
namespace show_test {

using test::ProgramResult;
using test::read_file;
using test::run_program;
using test::TemporaryDirectory;
using test::write_file;
using ::testing::HasSubstr;

/// Columns of a text in which every character takes one.
std::size_t letters_of(const std::string& line) {
  return static_cast<std::size_t>(
      std::count_if(line.begin(), line.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0u) != 0x80u; }));
}

void expect_plain(const std::string& text, std::size_t width) {
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line);) EXPECT_LE(letters_of(line), width) << line;
  const auto is_plain = [](char c) { return c == '\n' || (c >= ' ' && c <= '~'); };
  EXPECT_TRUE(std::all_of(text.begin(), text.end(), is_plain)) << "names are plain here, so all is";
}

struct Told {
  const char* verb;
  const char* folder;
  std::vector<std::string> options;
  std::vector<const char*> says;
};

/// Otherwise a test is named after bytes, pointers among them.
void PrintTo(const Told& told, std::ostream* stream) { *stream << told.verb << " of " << told.folder; }

class ShowVerb : public ::testing::TestWithParam<Told> {};

TEST_P(ShowVerb, TellsAResultInEightyColumnsOfPlainText) {
  const Told& told = GetParam();
  const TemporaryDirectory directory;
  std::vector<std::string> words{TILEFLUX_COMMAND, told.verb,
                                 std::string(TILEFLUX_PROJECT_DIR "/cases/") + told.folder + "/case.yaml", "--out",
                                 directory.path().string()};
  words.insert(words.end(), told.options.begin(), told.options.end());
  ASSERT_LE(run_program(words).exit_status, 1);
  const ProgramResult shown = run_program({TILEFLUX_COMMAND, "show", directory.path().string()});
  ASSERT_EQ(shown.exit_status, 0) << shown.standard_error;
  expect_plain(shown.standard_output, 80);
  for (const char* head :
       {"Question  ", "Answer    ", "Next      ", "Where it comes from", "SHA-256", "Planning aid only"})
    EXPECT_THAT(shown.standard_output, HasSubstr(head));
  for (const char* words_told : told.says) EXPECT_THAT(shown.standard_output, HasSubstr(words_told));
}

INSTANTIATE_TEST_SUITE_P(
    Ladder, ShowVerb,
    ::testing::Values(Told{"balance", "plate", {}, {"How hot does it run", "sunlight met"}},
                      Told{"balance", "tile_steady", {}, {"light out", "|####", "Newton steps"}},
                      Told{"run", "burst_and_recovery", {"--duration", "1h"}, {"Extremes and when", "slab below"}},
                      Told{"run", "low_orbit", {"--duration", "100min", "--no-why"}, {"eclipse"}},
                      Told{"duty",
                           "burst_and_recovery",
                           {"--curve", "--points", "3", "--map"},
                           {"A burst can last", "What binds is slab below 39.85 degC, 0.00 K left", "Over all periods slab binds",
                            "drives downwards, periods across"}},
                      Told{"run", "year_of_wear", {"--accelerated"}, {"its mean falls from 32 W", "time from 0 to 365 d"}},
                      Told{"size", "sized_radiator", {}, {"needs 0.997 m2", "Within 1 % of the least", "All 4 limits are met. The heater keeps"}},
                      Told{"sweep", "tile_steady", {"--vary", "sun.distance=0.8,1,1.3 AU", "--no-duty"}, {"Bands:"}},
                      Told{"sweep",
                           "tile_steady",
                           {"--vary", "sun.distance=0.9,1,1.2 AU", "--vary", "conditioning.standby=2,4 W"},
                           {"usable_laser_power", "Of 6 rows"}},
                      Told{"gains",
                           "tile_steady",
                           {"--no-duty", "--laser", "40 %, 60 %"},
                           {"One per cent more of", "one per cent buys", "Lasers side by side"}},
                      Told{"margins", "lamplighter", {"--samples", "0"}, {"How much light there is"}},
                      Told{"margins", "known_margins", {"--samples", "0"}, {"The verdict is", "The policy", "every limit is kept, but not with its margin"}}));

TEST(Show, TellsSeveralResultsInOneStoryAndFitsItsWidth) {
  const TemporaryDirectory directory;
  const std::string tile = TILEFLUX_PROJECT_DIR "/cases/tile_steady/case.yaml";
  for (const char* verb : {"balance", "gains"})
    ASSERT_LE(run_program({TILEFLUX_COMMAND, verb, tile, "--out", directory.path().string(), "--no-why"}).exit_status,
              1);
  for (const std::size_t width : {40u, 60u, 132u}) {
    const ProgramResult shown =
        run_program({TILEFLUX_COMMAND, "show", directory.path().string(), "--width", std::to_string(width), "--all"});
    ASSERT_EQ(shown.exit_status, 0) << shown.standard_error;
    EXPECT_THAT(shown.standard_output, HasSubstr("gains: What moves the usable laser power"));
    if (width >= 60) expect_plain(shown.standard_output, width);
  }
}

TEST(Show, TellsOfASweepThatNeverCameToItsEnd) {
  const TemporaryDirectory directory;
  const std::string tile = TILEFLUX_PROJECT_DIR "/cases/tile_steady/case.yaml";
  ASSERT_EQ(run_program({TILEFLUX_COMMAND, "sweep", tile, "--vary", "sun.distance=0.9,1,1.2 AU", "--output",
                         "usable_laser_power", "--out", directory.path().string()})
                .exit_status,
            0);
  std::filesystem::remove(directory / "sweep.json");
  const ProgramResult shown = run_program({TILEFLUX_COMMAND, "show", directory.path().string()});
  ASSERT_EQ(shown.exit_status, 0) << shown.standard_error;
  EXPECT_THAT(shown.standard_output, HasSubstr("Answers over sun.distance"));
}

TEST(Show, MakesHostileNamesHarmless) {
  const TemporaryDirectory directory;
  const std::string tile = TILEFLUX_PROJECT_DIR "/cases/tile_steady/case.yaml";
  const ProgramResult result = run_program({TILEFLUX_COMMAND, "balance", tile, "--json"});
  nlohmann::ordered_json json = nlohmann::ordered_json::parse(result.standard_output);
  json["title"] =
      "\x1b[31mred\x1b[0m \xE2\x80\xAE"
      "desrever\xE2\x80\xAC \xC2\x9b"
      "31m\n<script>\xF0\x9F\x94\xA5" +
      std::string(500, 'w');
  write_file(directory / "balance.json", results::sealed(json.dump()));
  const ProgramResult shown = run_program({TILEFLUX_COMMAND, "show", (directory / "balance.json").string()});
  ASSERT_EQ(shown.exit_status, 0) << shown.standard_error;
  for (const char* bad : {"\x1b", "\xE2\x80\xAE", "\xC2\x9b"})
    EXPECT_EQ(shown.standard_output.find(bad), std::string::npos);
  std::istringstream lines(shown.standard_output);
  for (std::string line; std::getline(lines, line);) EXPECT_LE(letters_of(line), 80u) << line;
}

TEST(Show, RefusesWhatIsNoResultWithItsCode) {
  const TemporaryDirectory directory;
  write_file(directory / "cut.json", "{\"verb\": \"bal");
  const ProgramResult cut = run_program({TILEFLUX_COMMAND, "show", (directory / "cut.json").string()});
  EXPECT_EQ(cut.exit_status, 2);
  EXPECT_THAT(cut.standard_error, HasSubstr("error result-damaged"));
  const ProgramResult none = run_program({TILEFLUX_COMMAND, "show"});
  EXPECT_EQ(none.exit_status, 2);
  EXPECT_THAT(none.standard_error, HasSubstr("needs a result"));
  EXPECT_EQ(run_program({TILEFLUX_COMMAND, "show", "x", "--width", "7"}).exit_status, 2);
}

}  // namespace show_test
}  // namespace tileflux
