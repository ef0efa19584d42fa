// Every case of the ladder is run through the command, and its answers are held against the numbers that the case's
// folder says to expect. expected.yaml: a list of runs, each with verb, optional arguments and `case` (another file of the
// folder than case.yaml), exit_status and the values, each a JSON Pointer into what `--json` prints with either `value`, `within` and `because`, or `text`.

#include <gtest/gtest.h>
#include <yaml-cpp/yaml.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "support/child_process.h"
#include "support/temporary_directory.h"

namespace tileflux::ladder_test {

namespace fs = std::filesystem;
using Json = nlohmann::json;

const fs::path cases = fs::path(TILEFLUX_PROJECT_DIR) / "cases";

std::vector<std::string> rungs() {
  std::vector<std::string> names;
  for (const auto& entry : fs::directory_iterator(cases)) {
    if (entry.is_directory()) names.push_back(entry.path().filename().string());
  }
  std::sort(names.begin(), names.end());
  return names;
}

struct Answer {
  int exit_status = -1;
  Json json;
  std::string trouble;
};

Answer ask(const std::string& rung, const YAML::Node& run) {
  const std::string file = run["case"] ? run["case"].as<std::string>() : "case.yaml";
  std::vector<std::string> words{TILEFLUX_COMMAND, run["verb"].as<std::string>(), "cases/" + rung + '/' + file,
                                 "--json"};
  for (const YAML::Node& argument : run["arguments"]) words.push_back(argument.as<std::string>());
  const test::ProgramResult result = test::run_program(words, TILEFLUX_PROJECT_DIR);
  return {result.exit_status, Json::parse(result.standard_output, nullptr, false), result.standard_error};
}

/// What is wrong with one expected value, or nothing.
std::string difference(const Json& json, const YAML::Node& expected) {
  const std::string path = expected["path"].as<std::string>();
  const Json::json_pointer pointer(path);
  if (!json.contains(pointer)) return path + " is not in the answer";
  const Json& found = json.at(pointer);
  if (expected["text"]) {
    const std::string text = expected["text"].as<std::string>();
    return found == Json(text) ? "" : path + " is " + found.dump() + ", not '" + text + "'";
  }
  if (!expected["because"]) return path + ": the tolerance has no reason";
  const double value = expected["value"].as<double>();
  const double within = expected["within"].as<double>();
  if (!found.is_number()) return path + " is " + found.dump() + ", not a number";
  const double off = std::abs(found.get<double>() - value);
  return off <= within ? ""
                       : path + " is " + found.dump() + ", off by " + std::to_string(off) + " where " +
                             std::to_string(within) + " is allowed";
}

class Ladder : public testing::TestWithParam<std::string> {};

TEST_P(Ladder, GivesTheNumbersThatItsFolderSaysToExpect) {
  const YAML::Node expected = YAML::LoadFile((cases / GetParam() / "expected.yaml").string());
  ASSERT_TRUE(expected.IsSequence() && expected.size() > 0);
  for (const YAML::Node& run : expected) {
    const Answer answer = ask(GetParam(), run);
    EXPECT_EQ(answer.exit_status, run["exit_status"].as<int>()) << run["verb"] << '\n' << answer.trouble;
    ASSERT_TRUE(answer.json.is_object()) << run["verb"] << '\n' << answer.trouble;
    EXPECT_GT(run["values"].size(), 0u) << run["verb"];
    for (const YAML::Node& value : run["values"]) EXPECT_EQ(difference(answer.json, value), "") << run["verb"];
  }
}

TEST_P(Ladder, IsSoundAndExplained) {
  const YAML::Node check = YAML::Load("{verb: check}");
  const Answer answer = ask(GetParam(), check);
  EXPECT_EQ(answer.exit_status, 0) << answer.trouble;
  const std::string page = test::read_file(cases / GetParam() / "README.md");
  for (const char* heading : {"## What you learn", "## Builds on", "## Expected numbers"}) {
    EXPECT_NE(page.find(heading), std::string::npos) << heading;
  }
  EXPECT_NE(test::read_file(cases / "README.md").find('(' + GetParam() + "/README.md)"), std::string::npos)
      << "not in cases/README.md";
}

INSTANTIATE_TEST_SUITE_P(Cases, Ladder, testing::ValuesIn(rungs()), [](const auto& named) { return named.param; });

TEST(LadderComparison, SeesAWrongNumberAMissingPathAndAToleranceWithoutReason) {
  const Json json{{"a", {{"b.c", 1.0}, {"d", "hot"}}}};
  EXPECT_EQ(difference(json, YAML::Load("{path: /a/b.c, value: 1.05, within: 0.1, because: test}")), "");
  EXPECT_EQ(difference(json, YAML::Load("{path: /a/d, text: hot}")), "");
  for (const char* wrong :
       {"{path: /a/b.c, value: 1.2, within: 0.1, because: test}", "{path: /a/b.c, value: 1, within: 0.1}",
        "{path: /a/x, value: 1, within: 0.1, because: test}", "{path: /a/d, value: 1, within: 0.1, because: test}",
        "{path: /a/d, text: cold}"}) {
    EXPECT_NE(difference(json, YAML::Load(wrong)), "") << wrong;
  }
}

}  // namespace tileflux::ladder_test
