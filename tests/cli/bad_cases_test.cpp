/// Every file of bad_cases/ against the findings written beside it: all of them, with code and place, in the order of
/// the file. `NAME.expected` holds a line `line:column code` for each finding.

#include <gmock/gmock.h>

#include <algorithm>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <set>
#include <sstream>

#include "support/child_process.h"
#include "support/shipped_library.h"
#include "support/temporary_directory.h"
#include "tileflux/tile/case_reader.h"

namespace tileflux::bad_cases_test {

namespace fs = std::filesystem;
using ::testing::HasSubstr;
using ::testing::IsEmpty;

const fs::path folder = fs::path(TILEFLUX_PROJECT_DIR) / "tests/cli/bad_cases";

std::vector<std::string> bad_case_names() {
  std::vector<std::string> names;
  for (const auto& entry : fs::directory_iterator(folder)) {
    if (entry.path().extension() == ".yaml") names.push_back(entry.path().stem().string());
  }
  std::sort(names.begin(), names.end());
  return names;
}

/// What the reader says of a file; empty if it takes it.
std::vector<Diagnostic> findings_in(const fs::path& file) {
  try {
    tile::read_case(file.string(), test::shipped_library());
  } catch (const Error& error) {
    return error.diagnostics();
  }
  return {};
}

std::string places_of(const std::vector<Diagnostic>& findings) {
  std::string text;
  for (const Diagnostic& finding : findings) {
    text += std::to_string(finding.place.line) + ':' + std::to_string(finding.place.column) + ' ' +
            std::string(entry_of(finding.code).slug) + '\n';
  }
  return text;
}

std::string report_of(const std::vector<Diagnostic>& findings) {
  std::string text;
  for (const Diagnostic& finding : findings) text += describe(finding) + '\n';
  return text;
}

// All files in one test: a process for each would take longer than reading them.

TEST(BadCases, AreRefusedWithExactlyTheseFindings) {
  ASSERT_GT(bad_case_names().size(), 100u);
  for (const std::string& name : bad_case_names()) {
    const std::vector<Diagnostic> findings = findings_in(folder / (name + ".yaml"));
    EXPECT_EQ(places_of(findings), test::read_file(folder / (name + ".expected"))) << name << '\n'
                                                                                   << report_of(findings);
  }
}

TEST(BadCases, AreToldWithoutWordsOfOtherLibraries) {
  for (const std::string& name : bad_case_names()) {
    for (const Diagnostic& finding : findings_in(folder / (name + ".yaml"))) {
      EXPECT_NE(finding.code, Code::internal) << name << ": " << finding.message;
      EXPECT_EQ(finding.severity, Severity::error) << name;
      EXPECT_GT(finding.message.size(), 10u) << name << ": too short to help: " << finding.message;
      for (const char* foreign : {"yaml-cpp", "bad conversion", "ut_", "std::", "variant", "exception"}) {
        EXPECT_THAT(finding.message, Not(HasSubstr(foreign))) << name;
      }
    }
  }
}

/// Codes that no file of the folder can show: the tests below, command_test.cpp and those of reports do.
const std::set<Code> raised_elsewhere{Code::file_unreadable,   Code::yaml_too_many_nodes, Code::node_isolated,
                                      Code::output_unwritable, Code::verb_unknown,        Code::option_wrong,
                                      Code::result_damaged,    Code::report_unavailable};

TEST(BadCases, RaiseEveryCodeOfWrongInput) {
  std::set<std::string> raised;
  for (const std::string& name : bad_case_names()) {
    std::istringstream lines(test::read_file(folder / (name + ".expected")));
    for (std::string place, slug; lines >> place >> slug;) raised.insert(slug);
  }
  for (const CodeEntry& entry : all_codes()) {
    if (entry.exit_status != 2 || raised_elsewhere.count(entry.code) > 0) continue;
    EXPECT_EQ(raised.count(std::string(entry.slug)), 1u) << entry.slug << " is raised by no bad case";
  }
}

TEST(CaseReader, RefusesAFileThatIsNotThere) {
  const auto findings = findings_in("no/such/case.yaml");
  ASSERT_EQ(findings.size(), 1u);
  EXPECT_EQ(findings[0].code, Code::file_unreadable);
  EXPECT_EQ(findings[0].place.file, "no/such/case.yaml");
}

TEST(CaseReader, RefusesADirectory) {
  const auto findings = findings_in(folder);
  ASSERT_EQ(findings.size(), 1u);
  EXPECT_EQ(findings[0].code, Code::file_unreadable);
  EXPECT_THAT(findings[0].message, HasSubstr("directory"));
}

TEST(CaseReader, RefusesAFileBeyondOneMebibyte) {
  const test::TemporaryDirectory directory;
  test::write_file(directory / "large.yaml", std::string((1u << 20) + 1, '#'));
  const auto findings = findings_in(directory / "large.yaml");
  ASSERT_EQ(findings.size(), 1u);
  EXPECT_EQ(findings[0].code, Code::text_too_large);
  EXPECT_THAT(findings[0].message, HasSubstr("1048577"));
}

TEST(CaseReader, RefusesADeviceWithoutEnd) {
  const auto findings = findings_in("/dev/zero");
  ASSERT_EQ(findings.size(), 1u);
  EXPECT_THAT(findings[0].code, ::testing::AnyOf(Code::text_too_large, Code::file_unreadable));
}

TEST(CaseReader, RefusesMoreEntriesThanTheBound) {
  const test::TemporaryDirectory directory;
  std::string text = "tileflux: 1\ntitle: [";
  for (int i = 0; i < 50'000; ++i) text += "0,";
  test::write_file(directory / "many.yaml", text + "0]\n");
  const auto findings = findings_in(directory / "many.yaml");
  ASSERT_EQ(findings.size(), 1u) << report_of(findings);
  EXPECT_EQ(findings[0].code, Code::yaml_too_many_nodes);
  EXPECT_EQ(findings[0].place.line, 2);
}

TEST(CaseReader, TellsAtMostAHundredFindings) {
  const test::TemporaryDirectory directory;
  std::string text = "tileflux: 1\ntitle: t\nsun: {distance: 1 AU}\n";
  for (int i = 0; i < 500; ++i) text += "wrong" + std::to_string(i) + ": 1\n";
  test::write_file(directory / "many.yaml", text);
  EXPECT_EQ(findings_in(directory / "many.yaml").size(), 100u);
}

TEST(CaseReader, SuggestsTheNearestKey) {
  const auto findings = findings_in(folder / "inner_key_misspelt.yaml");
  ASSERT_EQ(findings.size(), 2u);
  EXPECT_EQ(findings[0].suggestion, "did you mean 'start'?");
  EXPECT_EQ(findings[0].excerpt, "  plate: {heat_capacity: 2 kJ/K, strat: 300 K}");
}

TEST(CaseReader, SuggestsTheNearestPart) {
  const auto findings = findings_in(folder / "join_to_nowhere.yaml");
  ASSERT_EQ(findings.size(), 1u);
  EXPECT_EQ(findings[0].suggestion, "did you mean 'plate'?");
}

TEST(CaseReader, SaysWhatItExpectedAndWhatItFound) {
  const auto message_of = [](const char* name) {
    const auto findings = findings_in(folder / (std::string(name) + ".yaml"));
    return findings.empty() ? std::string() : findings.front().message;
  };
  EXPECT_THAT(message_of("watt_hours_for_watts"), HasSubstr("expected a power such as"));
  EXPECT_THAT(message_of("watt_hours_for_watts"), HasSubstr("found '250 Wh' (an energy)"));
  EXPECT_THAT(message_of("coulomb_for_celsius"), HasSubstr("write degC"));
  EXPECT_THAT(message_of("temperature_without_unit"), HasSubstr("found '20' without a unit"));
  EXPECT_THAT(message_of("unit_ambiguous"), HasSubstr("write 'W/(m2 K)'"));
  EXPECT_THAT(message_of("celsius_as_kelvin"), HasSubstr("at least 1 K"));
  EXPECT_THAT(message_of("tilt_in_radians_meant_as_degrees"), HasSubstr("at most 3.14"));
  EXPECT_THAT(message_of("choice_misspelt"), HasSubstr("'begin' or 'end'"));
  EXPECT_THAT(message_of("version_two"), HasSubstr("version 1"));
  EXPECT_THAT(message_of("version_two"), HasSubstr("'2'"));
  EXPECT_THAT(message_of("version_missing"), HasSubstr("`tileflux: 1`"));
  EXPECT_THAT(message_of("shares_not_whole"), HasSubstr("90 %"));
}

TEST(CaseReader, WarnsOfAPartThatCanLoseItsHeatNowhere) {
  const tile::CaseFile file =
      tile::read_case_text("tileflux: 1\ntitle: t\nsun: {distance: 1 AU}\nparts: {alone: {heat_capacity: 1 J/K}}\n",
                           "alone.yaml", test::shipped_library());
  ASSERT_EQ(file.warnings.size(), 1u);
  EXPECT_EQ(file.warnings[0].code, Code::node_isolated);
  EXPECT_EQ(file.warnings[0].severity, Severity::warning);
  EXPECT_THAT(file.warnings[0].message, HasSubstr("'alone'"));
}

// The same through the command

TEST(Command, TellsABadCaseOnStandardErrorWithExcerptAndCaret) {
  const std::string file = (folder / "watt_hours_for_watts.yaml").string();
  const auto result = test::run_program({TILEFLUX_COMMAND, "check", file});
  EXPECT_EQ(result.exit_status, 2);
  EXPECT_THAT(result.standard_output, IsEmpty());
  EXPECT_THAT(result.standard_error, HasSubstr(file + ":9:28: error dimension-wrong: loads[0].power: "));
  EXPECT_THAT(result.standard_error,
              HasSubstr("\n      - {on: plate, power: 250 Wh}\n" + std::string(4 + 27, ' ') + "^\n"));
}

TEST(Command, SetsTheCaretByCharactersNotBytes) {
  const auto result = test::run_program({TILEFLUX_COMMAND, "check", (folder / "column_counts_bytes.yaml").string()});
  std::istringstream lines(result.standard_error);
  std::string message, excerpt, caret;
  std::getline(lines, message);
  std::getline(lines, excerpt);
  std::getline(lines, caret);
  const std::size_t before = excerpt.find("µm");
  ASSERT_NE(before, std::string::npos) << result.standard_error;
  EXPECT_EQ(caret.find('^'), before - 1) << "one two-byte letter stands before: m²";
}

TEST(Command, TellsAllMistakesOfACaseAtOnceInTheOrderOfTheFile) {
  for (const char* verb : {"check", "balance", "run", "duty"}) {
    const auto result =
        test::run_program({TILEFLUX_COMMAND, verb, (folder / "many_mistakes_at_once.yaml").string(), "--json"});
    EXPECT_EQ(result.exit_status, 2);
    const auto json = nlohmann::json::parse(result.standard_output);
    EXPECT_EQ(json.at("error").at("code"), "key-unknown");
    EXPECT_EQ(json.at("error").at("exit_status"), 2);
    std::string places;
    for (const auto& finding : json.at("error").at("diagnostics")) {
      places += std::to_string(finding.at("line").get<int>()) + ':' + std::to_string(finding.at("column").get<int>()) +
                ' ' + finding.at("code").get<std::string>() + '\n';
      EXPECT_EQ(finding.at("severity"), "error");
      EXPECT_FALSE(finding.at("message").get<std::string>().empty());
    }
    EXPECT_EQ(places, test::read_file(folder / "many_mistakes_at_once.expected"));
  }
}

TEST(Command, WritesNothingForABadCase) {
  const test::TemporaryDirectory directory;
  const auto result = test::run_program(
      {TILEFLUX_COMMAND, "run", (folder / "join_to_nowhere.yaml").string(), "--out", (directory / "out").string()});
  EXPECT_EQ(result.exit_status, 2);
  EXPECT_FALSE(fs::exists(directory / "out"));
}

TEST(Command, PutsNoControlCharacterOfACaseOnTheTerminal) {
  for (const std::string& name : bad_case_names()) {
    const auto result = test::run_program({TILEFLUX_COMMAND, "check", (folder / (name + ".yaml")).string()});
    EXPECT_EQ(result.exit_status, 2) << name;
    EXPECT_THAT(result.standard_output, IsEmpty()) << name;
    const bool clean = std::none_of(result.standard_error.begin(), result.standard_error.end(), [](char c) {
      return (static_cast<unsigned char>(c) < 0x20 && c != '\n') || c == 0x7f;
    });
    EXPECT_TRUE(clean) << name << ": " << result.standard_error;
  }
}

}  // namespace tileflux::bad_cases_test
