// Every case of the ladder is asked what its folder says to expect, by `verify`: expected.yaml is a list of runs, each
// with verb, optional arguments and `case` (another file of the folder than case.yaml), exit_status and the values,
// each a JSON Pointer into what `--json` prints with either `value`, `within` and `because`, or `text`.

#include <gtest/gtest.h>

#include <algorithm>
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
    if (entry.is_directory() && entry.path().filename() != "laws") names.push_back(entry.path().filename().string());
  }
  std::sort(names.begin(), names.end());
  return names;
}

/// What `verify` says of a case, alone in a folder.
Json verdict_on(const std::string& rung) {
  const test::TemporaryDirectory directory;
  fs::create_directory_symlink(cases / rung, directory / rung);
  const test::ProgramResult result =
      test::run_program({TILEFLUX_COMMAND, "verify", directory.path().string(), "--json"}, TILEFLUX_PROJECT_DIR);
  const Json groups = Json::parse(result.standard_output, nullptr, false).value("groups", Json::array());
  return groups.size() == 1 ? groups[0] : Json();
}

class Ladder : public testing::TestWithParam<std::string> {};

TEST_P(Ladder, GivesTheNumbersThatItsFolderSaysToExpect) {
  const Json verdict = verdict_on(GetParam());
  ASSERT_TRUE(verdict.is_object());
  EXPECT_EQ(verdict["faults"], Json::array());
  EXPECT_GT(verdict["right"], 1);
}

TEST_P(Ladder, IsSoundAndExplained) {
  const test::ProgramResult check =
      test::run_program({TILEFLUX_COMMAND, "check", "cases/" + GetParam() + "/case.yaml"}, TILEFLUX_PROJECT_DIR);
  EXPECT_EQ(check.exit_status, 0) << check.standard_error;
  const std::string page = test::read_file(cases / GetParam() / "README.md");
  for (const char* heading : {"## What you learn", "## Builds on", "## Expected numbers"}) {
    EXPECT_NE(page.find(heading), std::string::npos) << heading;
  }
  EXPECT_NE(test::read_file(cases / "README.md").find('(' + GetParam() + "/README.md)"), std::string::npos)
      << "not in cases/README.md";
}

INSTANTIATE_TEST_SUITE_P(Cases, Ladder, testing::ValuesIn(rungs()), [](const auto& named) { return named.param; });

/// A folder with the plate, of which something else is expected.
test::ProgramResult verified(const std::string& written, const std::string& instead) {
  const test::TemporaryDirectory directory;
  fs::copy(cases / "plate", directory / "plate", fs::copy_options::recursive);
  std::string expected = test::read_file(directory / "plate" / "expected.yaml");
  expected.replace(expected.find(written), written.size(), instead);
  test::write_file((directory / "plate" / "expected.yaml").string(), expected);
  return test::run_program({TILEFLUX_COMMAND, "verify", (directory / "").string()}, TILEFLUX_PROJECT_DIR);
}

/// Rows that an installation is asked for, one law at a time.
TEST(Laws, AreMetAloneAndSayWhichRowTheyAre) {
  const test::ProgramResult result =
      test::run_program({TILEFLUX_COMMAND, "verify", (cases / "laws").string(), "--json"}, TILEFLUX_PROJECT_DIR);
  const Json groups = Json::parse(result.standard_output, nullptr, false).value("groups", Json::array());
  constexpr std::size_t kinds_of_laws = 12;
  ASSERT_EQ(groups.size(), kinds_of_laws);
  const std::string page = test::read_file(cases / "laws" / "README.md");
  for (const Json& group : groups) {
    const std::string name = group["case"].get<std::string>();
    EXPECT_EQ(group["faults"], Json::array()) << name;
    EXPECT_TRUE(group["pass"].get<bool>()) << name;
    EXPECT_EQ(group["checks"], group["right"]) << name;
    EXPECT_LE(group["worst_error_in_tolerances"].get<double>(), 1.0) << name;
    EXPECT_NE(page.find("| " + name + " |"), std::string::npos) << name << " is not in cases/laws/README.md";
  }
}

TEST(Verify, TellsEachCaseAndEndsWithTheCount) {
  const test::ProgramResult result = test::run_program({TILEFLUX_COMMAND, "verify"}, TILEFLUX_PROJECT_DIR);
  EXPECT_EQ(result.exit_status, 0) << result.standard_output;
  for (const char* group : {"burst_and_recovery", "laws/fins", "worst error"})
    EXPECT_NE(result.standard_output.find(group), std::string::npos) << group;
  EXPECT_NE(result.standard_output.find(" 0 wrong"), std::string::npos);
  EXPECT_EQ(result.standard_output.find("FAIL"), std::string::npos);
}

TEST(Verify, SeesAWrongNumberAMissingPathAWrongStatusAndAToleranceWithoutReason) {
  const test::ProgramResult number = verified("value: 334.28023", "value: 334.28043");
  EXPECT_EQ(number.exit_status, 1);
  EXPECT_NE(number.standard_output.find("FAIL"), std::string::npos);
  EXPECT_NE(number.standard_output.find("expected 334.28043"), std::string::npos);
  EXPECT_NE(number.standard_error.find("verification-failed"), std::string::npos);
  EXPECT_NE(verified("temperature_K/plate", "temperature_K/dish").standard_output.find("is not in the answer"),
            std::string::npos);
  EXPECT_NE(verified("exit_status: 0", "exit_status: 1").standard_output.find("exit status 0, expected 1"),
            std::string::npos);
  EXPECT_NE(verified(", because: \"closed form, worked to seven digits\"", "").standard_error.find("no reason"),
            std::string::npos);
  EXPECT_EQ(verified("334.28023", "warm").exit_status, 2);
}

}  // namespace tileflux::ladder_test
