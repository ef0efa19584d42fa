/// docs/verification.md says what this program finds, and no row is passed over in silence.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>
#include <set>
#include <sstream>

#include "verification/book.h"

namespace tileflux::verification::book_test {

std::string read(const std::string& name) {
  std::ifstream file(name);
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

void expect_every_row_once(const Reproductions& all) {
  std::set<std::string> reproduced;
  for (const Reproduction& reproduction : all) {
    EXPECT_TRUE(reproduced.insert(reproduction.id).second) << reproduction.id << " is reproduced twice";
    EXPECT_EQ(reasons().count(reproduction.id), 0U) << reproduction.id << " is reproduced and said not to be";
  }
  std::set<std::string> ids;
  for (const Row& row : published_rows()) {
    EXPECT_TRUE(ids.insert(row.id).second) << row.id << " is there twice";
    EXPECT_EQ(reproduced.count(row.id) + reasons().count(row.id), 1U) << row.id << " (" << row.quantity << ") is neither reproduced nor explained";
  }
  for (const auto& [id, reason] : reasons()) {
    EXPECT_EQ(ids.count(id), 1U) << id << " is no row";
    EXPECT_GT(reason.size(), 10U) << id;
  }
}

/// One test: each one runs as a process of its own, and all groups take half a minute.
TEST(Book, AccountsForEveryRowOnceAndIsTheCommittedPage) {
  const Findings all = all_findings();
  expect_every_row_once(all.reproductions);
  const std::string made = page_of(all);
  const std::string made_file = TILEFLUX_BUILD_DIR "/verification.md";
  std::ofstream(made_file) << made;
  EXPECT_THAT(differences(read(TILEFLUX_PROJECT_DIR "/docs/verification.md"), made), testing::IsEmpty())
      << "the page of this run is " << made_file << ": if it is right, copy it over docs/verification.md";
}

TEST(Book, AllowsRoundOffOnly) {
  const std::string line = "| A-1 | what | 2.5 K | 2.5000001 | ≤ 1e-8 | code | S1 |\n";
  EXPECT_THAT(differences(line, line), testing::IsEmpty());
  EXPECT_THAT(differences(line, "| A-1 | what | 2.5 K | 2.5000002 | ≤ 1e-7 | code | S1 |\n"), testing::IsEmpty());
  EXPECT_THAT(differences(line, "| A-1 | what | 2.5 K | 2.5000001 | ≤ 1e-12 | code | S1 |\n"), testing::IsEmpty());
  EXPECT_THAT(differences("| slope | ≈ 0.83 |\n", "| slope | ≈ 0.80 |\n"), testing::IsEmpty());
}

TEST(Book, RefusesAnotherNumberAWorseErrorAndAMissingLine) {
  const std::string line = "| A-1 | what | 2.5 K | 2.5000001 | ≤ 1e-8 | code | S1 |\n";
  EXPECT_THAT(differences(line, "| A-1 | what | 2.5 K | 2.5001 | ≤ 1e-8 | code | S1 |\n"), testing::SizeIs(1));
  EXPECT_THAT(differences(line, "| A-1 | what | 2.5 K | 2.5000001 | ≤ 1e-6 | code | S1 |\n"), testing::SizeIs(1));
  EXPECT_THAT(differences(line, "| A-1 | what | 2.5 K | 2.5000001 | ≤ 1e-8 | other code | S1 |\n"), testing::SizeIs(1));
  EXPECT_THAT(differences(line + line, line), testing::SizeIs(1));
  EXPECT_THAT(differences("| slope | ≈ 2.00 |\n", "| slope | ≈ 1.50 |\n"), testing::SizeIs(1));
}

}  // namespace tileflux::verification::book_test
