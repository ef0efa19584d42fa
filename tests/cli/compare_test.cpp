/// `compare` as a person meets it, and the numbers that the worked study in docs/study-better-laser.md tells.

#include <gmock/gmock.h>

#include <cmath>
#include <map>
#include <nlohmann/json.hpp>
#include <sstream>

#include "support/child_process.h"
#include "support/markdown.h"
#include "support/temporary_directory.h"

namespace tileflux::compare_test {

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
  for (std::string line; std::getline(lines, line);) {
    if (line.starts_with("Planning aid")) continue;  // the caution of every answer
    EXPECT_LE(line.size(), 110u) << line;
  }
  EXPECT_THAT(result.standard_output, HasSubstr("W more usable light"));
  EXPECT_THAT(result.standard_output, HasSubstr("most of it by joins[5].conductance"));
  EXPECT_THAT(result.standard_output, HasSubstr("limit that binds changes from"));
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

/// The cases of the worked study, put together from the blocks of its page.
class BetterLaserStudy : public testing::Test {
 protected:
  BetterLaserStudy() {
    for (const test::Fence& fence : test::fences_of(page_)) saved_[test::saved_as(fence)] = fence.lines;
    const std::string tile = read_file(lamplighter);
    const std::size_t begin = tile.find("\nlasers:") + 1, end = tile.find("\noptics:") + 1;
    const std::string present = tile.substr(0, begin) + tile.substr(end) + text_of("lasers_50.yaml");
    write_file(here_ / "50.yaml", present);
    write_file(here_ / "60.yaml", better(present));
  }

  std::string text_of(const std::string& name) const {
    std::string text;
    for (const std::string& line : saved_.at(name)) text += line + '\n';
    return text;
  }
  static std::string better(std::string text) {
    for (int bank = 0; bank < 2; ++bank) text = with_words(text, "light_factor: 79.25 %", "light_factor: 95.3 %");
    return text;
  }
  nlohmann::json answer(const std::string& verb, std::vector<std::string> files, std::vector<std::string> more = {}) const {
    std::vector<std::string> words{TILEFLUX_COMMAND, verb, "--json"};
    for (const std::string& file : files) words.push_back((here_ / file).string());
    words.insert(words.end(), more.begin(), more.end());
    return nlohmann::json::parse(run_program(words).standard_output);
  }
  /// A number of the page against the program, to half of its last digit.
  void expect_told(const std::string& told, double value, const std::string& around = "") const {
    const std::size_t point = told.find('.');
    const double within = 0.501 * std::pow(10.0, point == std::string::npos ? 0.0 : -double(told.size() - point - 1));
    EXPECT_NEAR(std::stod(told), value, within);
    EXPECT_THAT(page_, HasSubstr(told + around));
  }

  const std::string page_ = read_file(TILEFLUX_PROJECT_DIR "/docs/study-better-laser.md");
  std::map<std::string, std::vector<std::string>> saved_;
  TemporaryDirectory here_;
};

TEST_F(BetterLaserStudy, TellsTheLightOverTheDistance) {
  const std::vector<std::string> vary{"--vary", "sun.distance=0.9, 1, 1.1, 1.3, 1.6 AU", "--no-duty"};
  const std::vector<std::vector<std::string>> told{{"77.84", "138.85", "122.13", "48.02"},
                                                   {"128.04", "181.62", "151.04", "49.24"}};
  const std::vector<std::string> files{"50.yaml", "60.yaml"};
  for (std::size_t i = 0; i < files.size(); ++i) {
    const nlohmann::json points = answer("sweep", {files[i]}, vary)["points"];
    ASSERT_EQ(points.size(), 5u);
    EXPECT_EQ(points[0]["usable_laser_power_W"], 0.0);
    for (std::size_t k = 0; k < told[i].size(); ++k)
      expect_told(told[i][k], points[k + 1]["usable_laser_power_W"].get<double>(), " W |");
  }
}

TEST_F(BetterLaserStudy, TellsTheRadiatorTheBurstsAndTheParts) {
  for (const char* file : {"50.yaml", "60.yaml"})
    write_file(here_ / (std::string("sized_") + file), read_file(here_ / file) + text_of("radiator.yaml"));
  expect_told("1.858", answer("size", {"sized_50.yaml"})["radiator"]["area_m2"].get<double>(), " m2");
  expect_told("1.224", answer("size", {"sized_60.yaml"})["radiator"]["area_m2"].get<double>(), " m2");
  const nlohmann::json present = answer("duty", {"50.yaml"}), better = answer("duty", {"60.yaml"});
  expect_told("38.5", present["burst"]["length_s"].get<double>(), " s");
  expect_told("96.8", better["burst"]["length_s"].get<double>(), " s");
  expect_told("5.9", 100.0 * present["sustainable_duty"]["fraction"].get<double>(), " %");
  expect_told("15.6", 100.0 * better["sustainable_duty"]["fraction"].get<double>(), " %");
  const nlohmann::json parts = answer("compare", {"50.yaml", "60.yaml"}, {"--no-duty"})["parts"];
  ASSERT_EQ(parts.size(), 2u);
  expect_told("21.40", parts[0]["change_of_each_output"][0].get<double>(), " W");
  expect_told("28.80", parts[1]["change_of_each_output"][0].get<double>(), " W");
}

}  // namespace tileflux::compare_test
