/// `margins` as a person meets it: what it says first, its exit statuses, its files, policies of one's own.

#include <gmock/gmock.h>

#include <nlohmann/json.hpp>

#include "support/child_process.h"
#include "support/temporary_directory.h"

namespace tileflux::margins_test {

using test::ProgramResult;
using test::read_file;
using test::TemporaryDirectory;
using test::write_file;
using ::testing::HasSubstr;
using ::testing::Not;

const std::string known_margins = TILEFLUX_PROJECT_DIR "/cases/known_margins/case.yaml";

std::string with(std::string text, const std::string& what, const std::string& by) {
  const std::size_t at = text.find(what);
  EXPECT_NE(at, std::string::npos) << what;
  return at == std::string::npos ? text : text.replace(at, what.size(), by);
}

ProgramResult margins_of(const std::string& text, std::vector<std::string> more = {"--samples", "0"}) {
  const TemporaryDirectory directory;
  write_file(directory / "case.yaml", text);
  std::vector<std::string> words{TILEFLUX_COMMAND, "margins", (directory / "case.yaml").string()};
  words.insert(words.end(), more.begin(), more.end());
  return test::run_program(words);
}

nlohmann::json json_of(const std::string& text, std::vector<std::string> more = {"--samples", "0"}) {
  more.emplace_back("--json");
  return nlohmann::json::parse(margins_of(text, std::move(more)).standard_output);
}

TEST(MarginsVerb, SaysTheWorstLimitFirst) {
  const ProgramResult result = margins_of(read_file(known_margins), {"--samples", "100"});
  EXPECT_EQ(result.exit_status, 1);
  EXPECT_THAT(result.standard_error, HasSubstr("margin-too-small"));
  const std::size_t answer = result.standard_output.find("Answer\n  TOO SMALL: plate below (end of life, beam off)");
  EXPECT_NE(answer, std::string::npos) << result.standard_output;
  EXPECT_THAT(result.standard_output, HasSubstr("1.31 K missing"));
  EXPECT_THAT(result.standard_output, HasSubstr("[transcribed: SMC-S-016"));
  EXPECT_THAT(result.standard_output, HasSubstr("margin-twice"));
  EXPECT_THAT(result.standard_output, HasSubstr("samples make too few arrays"));
}

TEST(MarginsVerb, EndsByWhatThePolicyFinds) {
  const std::string text = read_file(known_margins);
  EXPECT_EQ(margins_of(with(text, "tested: no", "tested: yes")).exit_status, 0);
  EXPECT_EQ(margins_of(text, {"--samples", "0", "--policy", "ecss_stacking"}).exit_status, 0);
  const ProgramResult broken = margins_of(with(text, "below: 90 degC", "below: 70 degC"));
  EXPECT_EQ(broken.exit_status, 1);
  EXPECT_THAT(broken.standard_error, HasSubstr("limit-broken"));
  EXPECT_THAT(broken.standard_output, HasSubstr("BROKEN: plate below"));
}

TEST(MarginsVerb, TakesAPolicyOfOnesOwn) {
  const TemporaryDirectory directory;
  write_file(directory / "ours.yaml",
             "tileflux_policy: 1\ntitle: Ours\nuntested: {value: 3 K, source: our rule 7, basis: practice}\n"
             "tested: {value: 2 K, source: our rule 7, basis: practice}\n");
  const auto json = json_of(read_file(known_margins), {"--samples", "0", "--policy", (directory / "ours.yaml").string()});
  EXPECT_EQ(json["verdict"], "kept");
  EXPECT_EQ(json["margins"][0]["uncertainty_K"], 3.0);
  EXPECT_EQ(json["policy"]["untested_K"]["source"], "our rule 7");
  const ProgramResult unknown = margins_of(read_file(known_margins), {"--policy", "smc_s_061"});
  EXPECT_EQ(unknown.exit_status, 2);
  EXPECT_THAT(unknown.standard_error, HasSubstr("did you mean 'smc_s_016'?"));
}

TEST(MarginsVerb, AddsUpALevelAndWarnsOfAMarginInTheLimit) {
  const std::string text =
      with(read_file(known_margins), "below: 90 degC", "below: 100 degC, level: qualification, includes_margin: 11 K");
  const auto json = json_of(text, {"--samples", "0", "--policy", "ecss_stacking"});
  EXPECT_EQ(json["margins"][0]["step_to_level_K"], 10.0);
  bool told = false;
  for (const auto& warning : json["warnings"]) told = told || warning["code"] == "margin-twice";
  EXPECT_TRUE(told) << json["warnings"];
  bool differs = false;
  const auto by_the_case = json_of(text);  // outlives the loop
  for (const auto& warning : by_the_case["warnings"]) differs = differs || warning["code"] == "margin-differs";
  EXPECT_TRUE(differs);
}

TEST(MarginsVerb, IsTheSameForEveryNumberOfThreadsAndEachSeed) {
  const std::string text = read_file(known_margins);
  const auto one = json_of(text, {"--samples", "40", "--threads", "1", "--tiles", "1"});
  EXPECT_EQ(one["margins"], json_of(text, {"--samples", "40", "--threads", "2", "--tiles", "1"})["margins"]);
  EXPECT_NE(one["margins"], json_of(text, {"--samples", "40", "--seed", "2", "--tiles", "1"})["margins"]);
}

TEST(MarginsVerb, WritesFiles) {
  const TemporaryDirectory directory;
  const ProgramResult result =
      margins_of(read_file(known_margins), {"--samples", "0", "--out", (directory / "out").string()});
  EXPECT_EQ(result.exit_status, 1);
  EXPECT_THAT(read_file(directory / "out/margins.csv"), HasSubstr("temperature,plate,,below,K,363.15,"));
  EXPECT_EQ(nlohmann::json::parse(read_file(directory / "out/margins.json"))["verdict"], "too small");
}

TEST(MarginsVerb, GivesBeginOfLifeAloneWhereThereIsNoEnd) {
  const std::string text = with(read_file(known_margins), "finish: absorber", "finish: black_polyurethane_paint");
  const std::string plain = with(text, "  - input: materials.surfaces.absorber.absorptance.factor\n    normal: {standard_deviation: 2 %}\n    batch: absorber\n    correlation: 50 %\n", "");
  const ProgramResult result = margins_of(plain);
  EXPECT_THAT(result.standard_output, HasSubstr("life-unknown"));
  EXPECT_THAT(result.standard_output, HasSubstr("was cut where it would make more than 100 %"));
  EXPECT_THAT(result.standard_output, Not(HasSubstr("(end of life")));
}

TEST(MarginsVerb, RefusesWrongOptions) {
  for (const auto& [option, value] : std::vector<std::pair<std::string, std::string>>{
           {"--samples", "5"}, {"--samples", "many"}, {"--tiles", "0"}, {"--policy", ""}, {"--seed", "-1"}}) {
    const ProgramResult result = margins_of(read_file(known_margins), {option, value});
    EXPECT_EQ(result.exit_status, 2) << option << ' ' << value;
    EXPECT_THAT(result.standard_error, HasSubstr("option-wrong"));
  }
}

TEST(MarginsVerb, HasNothingToSayWithoutLimits) {
  const std::string text = with(read_file(known_margins), "limits:\n  plate: {below: 90 degC, above: 20 degC}\n", "");
  const ProgramResult result = margins_of(text);
  EXPECT_EQ(result.exit_status, 0) << result.standard_error;
  EXPECT_THAT(result.standard_output, HasSubstr("no limit"));
}

}  // namespace tileflux::margins_test
