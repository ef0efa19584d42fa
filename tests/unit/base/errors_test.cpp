#include "tileflux/base/errors.h"

#include <gtest/gtest.h>

#include <cctype>
#include <set>
#include <string>

using namespace tileflux;

namespace errors_test {

Diagnostic unknown_key() {
  Diagnostic diagnostic;
  diagnostic.code = Code::key_unknown;
  diagnostic.place = {"case.yaml", 3, 5, "stack[1]"};
  diagnostic.message = "the key 'thicknes' is not known here";
  diagnostic.excerpt = "  - thicknes: 1 mm";
  diagnostic.suggestion = "did you mean 'thickness'?";
  return diagnostic;
}

TEST(Codes, StandInTheOrderOfTheEnum) {
  int expected = 0;
  for (const CodeEntry& entry : all_codes()) EXPECT_EQ(static_cast<int>(entry.code), expected++);
  EXPECT_EQ(static_cast<int>(Code::internal) + 1, expected);
}

TEST(Codes, HaveSlugsOfLowerCaseWordsEachOnce) {
  std::set<std::string> slugs;
  for (const CodeEntry& entry : all_codes()) {
    EXPECT_TRUE(slugs.insert(std::string(entry.slug)).second) << entry.slug;
    for (const char c : entry.slug)
      EXPECT_TRUE(std::islower(static_cast<unsigned char>(c)) != 0 || c == '-') << entry.slug;
  }
}

TEST(Codes, SayWhatTheyMeanAndWhatToDo) {
  for (const CodeEntry& entry : all_codes()) {
    EXPECT_TRUE(entry.meaning.ends_with('.')) << entry.slug;
    EXPECT_FALSE(entry.remedy.empty()) << entry.slug;
    EXPECT_GE(entry.exit_status, 0) << entry.slug;
    EXPECT_LE(entry.exit_status, 4) << entry.slug;
  }
}

TEST(Codes, AreFoundByTheirEnum) {
  EXPECT_EQ(entry_of(Code::key_unknown).slug, "key-unknown");
  EXPECT_EQ(entry_of(Code::limit_broken).exit_status, 1);
  EXPECT_EQ(entry_of(Code::ledger_open).exit_status, 3);
  EXPECT_EQ(entry_of(Code::internal).exit_status, 4);
}

TEST(Describe, ShowsPlaceCodeMessageExcerptCaretAndSuggestion) {
  EXPECT_EQ(describe(unknown_key()),
            "case.yaml:3:5: error key-unknown: stack[1]: the key 'thicknes' is not known here\n"
            "      - thicknes: 1 mm\n"
            "        ^\n"
            "    did you mean 'thickness'?");
}

TEST(Describe, PutsTheCaretBelowTheCharacterInTextOfSeveralBytes) {
  Diagnostic diagnostic = unknown_key();
  diagnostic.excerpt = "é: {ü: 1}";  // é is one character of two bytes, so byte column 6 is character 5
  diagnostic.place.column = 6;
  const std::string text = describe(diagnostic);
  EXPECT_NE(text.find("\n        ^"), std::string::npos) << text;
}

TEST(Describe, KeepsTabsBeforeTheCaret) {
  Diagnostic diagnostic = unknown_key();
  diagnostic.excerpt = "a:\tb";
  diagnostic.place.column = 4;
  EXPECT_NE(describe(diagnostic).find("\n      \t^"), std::string::npos) << describe(diagnostic);
}

TEST(Describe, LeavesOutWhatIsNotKnown) {
  Diagnostic diagnostic;
  diagnostic.code = Code::outside_validity;
  diagnostic.severity = Severity::warning;
  diagnostic.message = "held";
  EXPECT_EQ(describe(diagnostic), "warning outside-validity: held");
  diagnostic.place.file = "case.yaml";
  EXPECT_EQ(describe(diagnostic), "case.yaml: warning outside-validity: held");
}

TEST(AnError, CarriesItsDiagnosticsAndTheStatusOfTheFirstError) {
  Diagnostic warning = unknown_key();
  warning.severity = Severity::warning;
  warning.code = Code::outside_validity;
  const Error error({warning, unknown_key()});
  EXPECT_EQ(error.code(), Code::key_unknown);
  EXPECT_EQ(error.exit_status(), 2);
  ASSERT_EQ(error.diagnostics().size(), 2u);
  EXPECT_EQ(std::string(error.what()), describe(warning) + '\n' + describe(unknown_key()));
}

TEST(AnError, IsMadeFromACodeAndAMessage) {
  const Error error(Code::thermal_runaway, "the junction runs away");
  EXPECT_EQ(error.code(), Code::thermal_runaway);
  EXPECT_EQ(std::string(error.what()), "error thermal-runaway: the junction runs away");
}

}  // namespace errors_test
