#include "tileflux/input/document.h"

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include "findings.h"
#include "support/temporary_directory.h"

using namespace tileflux;
using namespace tileflux::input;
using tileflux::input::samples::places_of;

namespace document_test {

std::string findings_of(const std::string& text, const Bounds& bounds = {}) {
  std::vector<Diagnostic> findings;
  parse_document(text, "case.yaml", findings, bounds);
  return places_of(findings);
}

TEST(Document, KeepsFileAndLines) {
  std::vector<Diagnostic> findings;
  const Document document = parse_document("a: 1\r\nb: 2\n", "case.yaml", findings);
  EXPECT_TRUE(findings.empty());
  EXPECT_TRUE(document.complete);
  EXPECT_EQ(document.file, "case.yaml");
  EXPECT_EQ(document.lines, (std::vector<std::string>{"a: 1", "b: 2"}));
}

TEST(Document, SkipsAByteOrderMark) {
  std::vector<Diagnostic> findings;
  const Document document = parse_document(
      "\xEF\xBB\xBF"
      "a: 1\n",
      "case.yaml", findings);
  ASSERT_EQ(document.root.entries.size(), 1u);
  EXPECT_EQ(document.root.entries[0].key, "a");
  EXPECT_EQ(document.root.entries[0].column, 1);
}

TEST(Document, IsRefusedBeyondItsSize) {
  EXPECT_EQ(findings_of("a: 12345", {.bytes = 8}), "");
  EXPECT_EQ(findings_of("a: 123456", {.bytes = 8}), "text-too-large 0:0");
  EXPECT_EQ(findings_of(std::string((1u << 20) + 1, ' ')), "text-too-large 0:0");
}

TEST(Document, IsNotParsedIfTheTextIsNotClean) {
  std::vector<Diagnostic> findings;
  const Document document = parse_document("a: 1\na: 2\n\tb: 3\nc: \xFF\n", "case.yaml", findings);
  EXPECT_EQ(places_of(findings), "text-encoding 3:1\ntext-encoding 4:4");
  EXPECT_FALSE(document.complete);
  EXPECT_TRUE(findings[0].excerpt.empty());
}

TEST(Document, FindingsCarryTheirLine) {
  std::vector<Diagnostic> findings;
  parse_document("first: 1\nfirst: 2\n", "case.yaml", findings);
  ASSERT_EQ(findings.size(), 1u);
  EXPECT_EQ(describe(findings[0]),
            "case.yaml:2:1: error key-duplicate: the key 'first' stands twice in this map, first in line 1\n"
            "    first: 2\n"
            "    ^");
}

TEST(Document, FindingsDoNotRepeatVeryLongLines) {
  std::vector<Diagnostic> findings;
  parse_document("{a: 1, a: " + std::string(300, 'x') + "}", "case.yaml", findings);
  ASSERT_EQ(findings.size(), 1u);
  EXPECT_TRUE(findings[0].excerpt.empty());
}

TEST(ReadDocument, ReadsAFile) {
  const test::TemporaryDirectory directory;
  const std::filesystem::path file = directory.path() / "case.yaml";
  std::ofstream(file) << "a: 1\n";
  std::vector<Diagnostic> findings;
  const Document document = read_document(file.string(), findings);
  EXPECT_TRUE(findings.empty());
  ASSERT_EQ(document.root.entries.size(), 1u);
  EXPECT_EQ(document.file, file.string());
}

TEST(ReadDocument, ReportsAFileThatIsNotThere) {
  const test::TemporaryDirectory directory;
  std::vector<Diagnostic> findings;
  read_document((directory.path() / "none.yaml").string(), findings);
  ASSERT_EQ(places_of(findings), "file-unreadable 0:0");
  EXPECT_EQ(findings[0].message, "the file does not exist");
  EXPECT_EQ(findings[0].place.file, (directory.path() / "none.yaml").string());
}

TEST(ReadDocument, ReportsADirectory) {
  const test::TemporaryDirectory directory;
  std::vector<Diagnostic> findings;
  read_document(directory.path().string(), findings);
  ASSERT_EQ(places_of(findings), "file-unreadable 0:0");
  EXPECT_EQ(findings[0].message, "this is a directory, not a file");
}

TEST(ReadDocument, ReadsNoMoreThanTheBound) {
  const test::TemporaryDirectory directory;
  const std::filesystem::path file = directory.path() / "large.yaml";
  std::ofstream(file) << std::string(100, '#');
  std::vector<Diagnostic> findings;
  read_document(file.string(), findings, {.bytes = 99});
  ASSERT_EQ(places_of(findings), "text-too-large 0:0");
  EXPECT_EQ(findings[0].message, "the file has 100 bytes; at most 99 are read");
  findings.clear();
  read_document("/dev/zero", findings);  // has no end
  EXPECT_EQ(places_of(findings), "text-too-large 0:0");
}

}  // namespace document_test
