/// `compare` as a person meets it, and the numbers that the worked study in docs/study-better-laser.md tells.

#include <gmock/gmock.h>

#include <cmath>
#include <nlohmann/json.hpp>
#include <sstream>

#include "support/child_process.h"
#include "support/temporary_directory.h"

namespace tileflux {
namespace {

using test::ProgramResult;
using test::read_file;
using test::run_program;
using test::TemporaryDirectory;
using test::write_file;
using ::testing::HasSubstr;

const std::string lamplighter = TILEFLUX_PROJECT_DIR "/cases/lamplighter/case.yaml";

std::string with_words(std::string text, const std::string& what, const std::string& by) {
  const std::size_t at = text.find(what);
  EXPECT_NE(at, std::string::npos) << what;
  return at == std::string::npos ? text : text.replace(at, what.size(), by);
}

class CompareVerb : public testing::Test {
 protected:
  ProgramResult compare(const std::string& b, std::vector<std::string> more = {"--no-duty"}) const {
    write_file(here_ / "b.yaml", b);
    std::vector<std::string> words{TILEFLUX_COMMAND, "compare", lamplighter, (here_ / "b.yaml").string()};
    words.insert(words.end(), more.begin(), more.end());
    return run_program(words);
  }
  TemporaryDirectory here_;
};

TEST_F(CompareVerb, SaysInOneSentenceWhatMovedTheLightAndListsTheParts) {
  const std::string b = with_words(with_words(read_file(lamplighter), "resistance: 0.6 K/W", "resistance: 0.45 K/W"),
                                   "conductance: 3 W/K}", "conductance: 4 W/K}");
  const ProgramResult result = compare(b);
  ASSERT_EQ(result.exit_status, 0) << result.standard_error;
  std::istringstream lines(result.standard_output);
  for (std::string line; std::getline(lines, line);) EXPECT_LE(line.size(), 110u) << line;
  EXPECT_THAT(result.standard_output, HasSubstr("W more usable light"));
  EXPECT_THAT(result.standard_output, HasSubstr("most of it by joins[5].conductance"));
  EXPECT_THAT(result.standard_output, HasSubstr("the limit that binds changes from"));
  EXPECT_THAT(result.standard_output, HasSubstr("Which input moved which answer"));
  const auto json = nlohmann::json::parse(compare(b, {"--no-duty", "--json"}).standard_output);
  ASSERT_EQ(json["parts"].size(), 2u);
  for (std::size_t k = 0; k < json["outputs"].size(); ++k) {
    double sum = json["at_corners_of_each_output"][k];
    for (const auto& part : json["parts"]) sum += part["change_of_each_output"][k].get<double>();
    EXPECT_NEAR(sum, json["outputs"][k]["change"].get<double>(), 1e-6) << json["outputs"][k];
  }
}

TEST_F(CompareVerb, OfAFileWithItselfFindsNothingAndIsDone) {
  const ProgramResult result = run_program({TILEFLUX_COMMAND, "compare", lamplighter, lamplighter, "--no-duty"});
  EXPECT_EQ(result.exit_status, 0) << result.standard_error;
  EXPECT_THAT(result.standard_output, HasSubstr("both are the same tile"));
}

TEST_F(CompareVerb, RefusesMissingFilesAndWrongOptions) {
  const auto refused = [](const std::vector<std::string>& words) {
    std::vector<std::string> all{TILEFLUX_COMMAND, "compare"};
    all.insert(all.end(), words.begin(), words.end());
    const ProgramResult result = run_program(all);
    EXPECT_EQ(result.exit_status, 2);
    return result.standard_error;
  };
  EXPECT_THAT(refused({lamplighter}), HasSubstr("needs two case files"));
  EXPECT_THAT(refused({lamplighter, (here_ / "none.yaml").string()}), HasSubstr("file-unreadable"));
  EXPECT_THAT(refused({lamplighter, lamplighter, "--top", "0"}), HasSubstr("--top"));
  EXPECT_THAT(refused({lamplighter, lamplighter, lamplighter}), HasSubstr("unexpected argument"));
  EXPECT_THAT(compare(with_words(read_file(lamplighter), "resistance: 0.6 K/W", "resistance: 0.6")).standard_error,
              HasSubstr("unit-missing"));
}

}  // namespace
}  // namespace tileflux
