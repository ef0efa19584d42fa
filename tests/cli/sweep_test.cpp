/// `sweep` as a person meets it: table, crossings, verdict, files, and what it refuses before anything runs.

#include <gmock/gmock.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>
#include <vector>

#include "support/child_process.h"
#include "support/temporary_directory.h"

namespace tileflux::sweep_test {

using test::ProgramResult;
using test::read_file;
using test::run_program;
using test::TemporaryDirectory;
using test::write_file;
using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

const std::string cases = TILEFLUX_PROJECT_DIR "/cases/";
const std::string lamplighter = cases + "lamplighter/case.yaml";
const std::string plate = cases + "plate/case.yaml";

ProgramResult sweep(const std::string& file, const std::string& vary, std::vector<std::string> more = {}) {
  std::vector<std::string> words{TILEFLUX_COMMAND, "sweep", file, "--vary", vary};
  words.insert(words.end(), more.begin(), more.end());
  return run_program(words);
}

nlohmann::json json_of(const std::string& file, const std::string& vary, std::vector<std::string> more = {}) {
  more.push_back("--json");
  const ProgramResult result = sweep(file, vary, more);
  EXPECT_EQ(result.exit_status, 0) << result.standard_error;
  return nlohmann::json::parse(result.standard_output);
}

std::vector<std::string> lines_of(const std::string& text) {
  std::istringstream input(text);
  std::vector<std::string> lines;
  for (std::string line; std::getline(input, line);) lines.push_back(line);
  return lines;
}

TEST(SweepVerb, SaysWhatChangesOverTheDistanceAndWhere) {
  const ProgramResult result = sweep(lamplighter, "sun.distance=0.3..5AU", {"--no-duty", "--points", "9"});
  ASSERT_EQ(result.exit_status, 0) << result.standard_error;
  EXPECT_THAT(result.standard_output, HasSubstr("Sweep of sun.distance from 0.3 AU to 5 AU: 9 values in equal ratios; the case has 1 AU\n"));
  EXPECT_THAT(result.standard_output, HasSubstr("Crossings\n"));
  EXPECT_THAT(result.standard_output, HasSubstr("heat-limited -> sun-limited"));
  EXPECT_THAT(result.standard_output, HasSubstr("computer above -20.00 degC (beam on): kept -> broken"));
  EXPECT_THAT(result.standard_output, HasSubstr("The beam can be sustained from 0.94269 AU to 1.692 AU; most light is 201.8"));
  EXPECT_THAT(result.standard_output, HasSubstr("no beam"));
  EXPECT_THAT(result.standard_output, HasSubstr("Planning aid only"));
  EXPECT_THAT(result.standard_error, IsEmpty());
}

TEST(SweepVerb, FitsATerminal) {
  const ProgramResult result = sweep(lamplighter, "sun.distance=0.3..5AU", {"--points", "4"});
  constexpr std::size_t columns = 115;
  bool inside = false;
  for (const std::string& line : lines_of(result.standard_output)) {
    if (line.find("hottest") != std::string::npos) inside = true;
    if (line.empty()) inside = false;
    if (!inside) continue;
    EXPECT_LE(line.size(), columns) << line;
  }
}

TEST(SweepVerb, SaysThatThereIsNoSustainableBeam) {
  const ProgramResult result = sweep(lamplighter, "sun.distance=2..5AU", {"--no-duty", "--points", "3"});
  EXPECT_EQ(result.exit_status, 0);
  EXPECT_THAT(result.standard_output, HasSubstr("No sustainable beam anywhere from 2 AU to 5 AU.\n"));
}

/// A full tile has several steady states at most of these values: where the sweep comes from must not matter.
TEST(SweepVerb, GivesTheNumbersOfBalanceAtEachValue) {
  for (const char* name : {"lamplighter", "lamplighter_full"}) {
    const std::string file = cases + name + std::string("/case.yaml");
    const nlohmann::json swept = json_of(file, "sun.distance=0.6,0.97,1.09 AU", {"--no-duty"});
    ASSERT_EQ(swept["points"].size(), 3u);
    for (const nlohmann::json& point : swept["points"]) {
      std::string text = read_file(file);
      const std::string stated = "distance: 1 AU";
      text.replace(text.find(stated), stated.size(), "distance: " + point["value"].dump() + " AU");
      const TemporaryDirectory directory;
      write_file(directory / "case.yaml", text);
      const nlohmann::json alone = nlohmann::json::parse(
          run_program({TILEFLUX_COMMAND, "balance", (directory / "case.yaml").string(), "--json"}).standard_output);
      constexpr double of_two_searches = 1e-6;
      EXPECT_NEAR(point["usable_laser_power_W"].get<double>(), alone["usable_laser_power_W"].get<double>(), of_two_searches);
      for (const char* beam : {"beam_on", "beam_off"}) {
        for (const auto& [node, temperature_K] : alone[beam]["temperature_K"].items())
          EXPECT_NEAR(point["temperature_K"][beam][node].get<double>(), temperature_K.get<double>(), of_two_searches) << name << node;
      }
      EXPECT_EQ(point["regime"], alone["beam_on"]["regime"]);
    }
  }
}

TEST(SweepVerb, GivesTheDutyOfTheVerbDuty) {
  const std::string burst = cases + "burst_and_recovery/case.yaml";
  const nlohmann::json alone =
      nlohmann::json::parse(run_program({TILEFLUX_COMMAND, "duty", burst, "--json"}).standard_output);
  const nlohmann::json swept = json_of(burst, "limits.slab.below=313 K");
  constexpr double of_two_searches = 1e-8;
  EXPECT_NEAR(swept["points"][0]["sustainable_duty"]["fraction"].get<double>(), alone["sustainable_duty"]["fraction"].get<double>(), of_two_searches);
}

TEST(SweepVerb, VariesAnyQuantity) {
  const nlohmann::json by_area = json_of(plate, "surfaces.back.area=0.5..2 m2", {"--points", "4"});
  EXPECT_EQ(by_area["varied"]["spacing"], "log");
  EXPECT_EQ(by_area["varied"]["in_the_case"], "1 m2");
  double last_K = 1e9;
  for (const nlohmann::json& point : by_area["points"]) {
    EXPECT_LT(point["hottest"]["temperature_K"].get<double>(), last_K);
    last_K = point["hottest"]["temperature_K"];
  }
  const nlohmann::json by_join = json_of(lamplighter, "joins[1].conductance=2..8 W/K", {"--no-duty", "--points", "2", "--spacing", "linear"});
  EXPECT_EQ(by_join["varied"]["spacing"], "linear");
  EXPECT_EQ(by_join["points"][1]["value_si"], 8.0);
  // Along the tilt itself none is needed or not.
  const nlohmann::json by_tilt = json_of(plate, "sun.tilt=0..60deg", {"--points", "3"});
  EXPECT_TRUE(by_tilt["points"][0]["tilt_needed"].is_null());
  EXPECT_NEAR(by_tilt["points"][2]["value"].get<double>(), 60.0, 1e-12);
}

TEST(SweepVerb, WritesATableWithUnitsAndAllNumbers) {
  const TemporaryDirectory directory;
  const std::string out = (directory / "out").string();
  ASSERT_EQ(sweep(lamplighter, "sun.distance=0.8..1.6AU", {"--no-duty", "--points", "3", "--out", out}).exit_status, 0);
  const std::vector<std::string> lines = lines_of(read_file(directory / "out" / "sweep.csv"));
  ASSERT_EQ(lines.size(), 5u);
  EXPECT_THAT(lines[0], testing::StartsWith("sun.distance,usable_laser_power,"));
  EXPECT_THAT(lines[1], testing::StartsWith("m,W,1,W,"));
  const ProgramResult read = run_program({"/usr/bin/python3", "-c", R"(
import csv, json, sys
rows = list(csv.reader(open(sys.argv[1] + '/sweep.csv')))
assert len({len(row) for row in rows}) == 1, [len(row) for row in rows]
record = dict(zip(rows[0], rows[3]))
point = json.load(open(sys.argv[1] + '/sweep.json'))['points'][1]
assert float(record['sun.distance']) == point['value_si']
assert float(record['cells_beam_on']) == point['temperature_K']['beam_on']['cells']
assert float(record['usable_laser_power']) == point['usable_laser_power_W']
assert record['binding_limit'].startswith(point['binding_limit']['node'])
assert float(record['binding_margin']) == point['binding_limit']['margin_' + record['binding_margin_unit']]
print('read')
)", out});
  EXPECT_EQ(read.standard_output, "read\n") << read.standard_error;
}

TEST(SweepVerb, ListsValuesWithoutAnAnswer) {
  const std::string vary = "limits.east.junction.below=40..80 degC";
  const ProgramResult result = sweep(lamplighter, vary, {"--no-duty", "--points", "3"});
  EXPECT_EQ(result.exit_status, 0);
  EXPECT_THAT(result.standard_output, HasSubstr("Values without an answer\n  40 degC: limits-contradict: `throttle_from` must lie under `below`\n"));
  EXPECT_THAT(result.standard_output, HasSubstr("no answer -> an answer"));
  const nlohmann::json json = json_of(lamplighter, vary, {"--no-duty", "--points", "3"});
  EXPECT_EQ(json["answered"], 2);
  EXPECT_EQ(json["points"][0]["trouble"]["code"], "limits-contradict");
  EXPECT_EQ(json["points"][0]["trouble"]["path"], "limits.east.junction.throttle_from");
}

TEST(SweepVerb, FailsWhereNoValueHasAnAnswer) {
  const ProgramResult result = sweep(lamplighter, "limits.east.junction.below=20..40 degC", {"--no-duty", "--points", "3"});
  EXPECT_EQ(result.exit_status, 2);
  EXPECT_THAT(result.standard_error, HasSubstr("no value has an answer"));
  EXPECT_THAT(result.standard_output, HasSubstr("No value has an answer."));
}

struct Refusal {
  std::vector<std::string> words;
  const char* code;
  const char* says;
};

TEST(SweepVerb, RefusesBeforeAnythingRuns) {
  const std::vector<Refusal> refusals{
      {{"--vary", "sun.distanse=1..2AU"}, "key-unknown", "did you mean 'sun.distance'?"},
      {{"--vary", "distance=1..2AU"}, "key-unknown", "did you mean 'sun.distance'?"},
      {{"--vary", "limits.west.juncton.below=40..60degC"}, "key-unknown", "did you mean 'limits.west.junction.below'?"},
      {{"--vary", "title=1..2"}, "wrong-kind", "'title' is no quantity"},
      {{"--vary", "lasers.east.modules=1..2"}, "wrong-kind", "is no quantity"},
      {{"--vary", "joins=1..2W/K"}, "wrong-kind", "say which of its entries"},
      {{"--vary", "joins[77].conductance=1..2W/K"}, "count-out-of-bounds", "has 7 entries"},
      {{"--vary", "battery.capacity=1..2Wh"}, "key-missing", "the case has no 'battery'"},
      {{"--vary", "sun.distance=2..1AU"}, "option-wrong", "runs backwards"},
      {{"--vary", "sun.distance=1..1AU"}, "option-wrong", "is empty"},
      {{"--vary", "sun.distance=2,1AU"}, "option-wrong", "must rise"},
      {{"--vary", "sun.distance=1..2"}, "unit-missing", "without a unit"},
      {{"--vary", "sun.distance=1..2kg"}, "dimension-wrong", "a mass"},
      {{"--vary", "sun.distance=1..2ells"}, "unit-unknown", "ells"},
      {{"--vary", "sun.distance=one..2AU"}, "number-malformed", "one"},
      {{"--vary", "sun.distance=1..2m"}, "value-out-of-range", "at least"},
      {{"--vary", "sun.distance"}, "option-wrong", "expected the path of a value"},
      {{"--vary", ""}, "option-wrong", "expected the path of a value"},
      {{}, "option-wrong", "needs --vary"},
      {{"--vary", "sun.distance=1..2AU", "--points", "10001"}, "count-out-of-bounds", "2 to 10000 points"},
      {{"--vary", "sun.distance=1..2AU", "--points", "1"}, "count-out-of-bounds", "2 to 10000 points"},
      {{"--vary", "sun.distance=1..2AU", "--points", "many"}, "option-wrong", "many"},
      {{"--vary", "sun.distance=1..2AU", "--spacing", "cubic"}, "option-wrong", "'linear' or 'log'"},
      {{"--vary", "sun.tilt=0..1rad", "--spacing", "log"}, "option-wrong", "above zero"},
      {{"--vary", "sun.distance=1..2AU", "--pionts", "3"}, "option-wrong", "did you mean '--points'?"},
  };
  for (const Refusal& refusal : refusals) {
    std::vector<std::string> words{TILEFLUX_COMMAND, "sweep", lamplighter};
    words.insert(words.end(), refusal.words.begin(), refusal.words.end());
    const ProgramResult result = run_program(words);
    const std::string shown = testing::PrintToString(refusal.words);
    EXPECT_EQ(result.exit_status, 2) << shown;
    EXPECT_THAT(result.standard_error, AllOf(HasSubstr(refusal.code), HasSubstr(refusal.says))) << shown;
    EXPECT_THAT(result.standard_output, IsEmpty()) << shown;
  }
}

TEST(SweepVerb, IsExplainedByItsHelp) {
  const ProgramResult help = run_program({TILEFLUX_COMMAND, "sweep", "--help"});
  EXPECT_EQ(help.exit_status, 0);
  for (const char* word : {"--vary", "--points", "--spacing", "--no-duty", "--json", "--out", "sun.distance=0.3..5AU", "Cautions"})
    EXPECT_THAT(help.standard_output, HasSubstr(word));
}

}  // namespace tileflux::sweep_test
