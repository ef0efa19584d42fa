#include "tileflux/input/csv_table.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include "findings.h"
#include "support/temporary_directory.h"

using namespace tileflux;
using namespace tileflux::input;
using testing::ElementsAre;
using testing::HasSubstr;
using tileflux::input::samples::places_of;

namespace csv_table_test {

const std::vector<CsvColumn> columns{
    {.name = "time", .type = QuantityType{{"s"}}, .rising = true},
    {.name = "distance", .type = QuantityType{{"m"}, {0.0, 1e13, true}}},
    {.name = "tilt", .type = QuantityType{{"rad"}}, .required = false, .filled = false},
    {.name = "share", .type = QuantityType{{"1"}}, .required = false},
    {.name = "priority", .type = CountType{-5, 100}, .required = false, .filled = false},
    {.name = "who", .type = NameType{}, .required = false},
};

struct Read {
  CsvTable table;
  std::vector<Diagnostic> findings;
};

Read read(const std::string& text, const CsvBounds& bounds = {}) {
  Read result;
  result.table = parse_csv(text, "table.csv", columns, result.findings, bounds);
  return result;
}

std::string places(const std::string& text, const CsvBounds& bounds = {}) {
  return places_of(read(text, bounds).findings);
}

std::string first_message(const std::string& text) { return describe(read(text).findings.at(0)); }

void write(const std::filesystem::path& file, const std::string& text) { std::ofstream(file) << text; }

const std::string good = "time,distance\nday,AU\n0,1\n1,2\n";
constexpr double au_m = 149597870700.0;

TEST(CsvTable, GivesColumnsInSiUnits) {
  const Read result = read("time, distance ,tilt,share\nday,AU,deg,%\n0,1,90,50\n +1.5e0,0.5,,1e2\n");
  EXPECT_EQ(places_of(result.findings), "");
  EXPECT_THAT(result.table.numbers("time"), ElementsAre(0.0, 129600.0));
  EXPECT_THAT(result.table.numbers("distance"), ElementsAre(au_m, 0.5 * au_m));
  EXPECT_DOUBLE_EQ(result.table.numbers("tilt")[0], std::acos(0.0));
  EXPECT_TRUE(std::isnan(result.table.numbers("tilt")[1]));
  EXPECT_THAT(result.table.numbers("share"), ElementsAre(0.5, 1.0));
  EXPECT_FALSE(result.table.has("priority"));
  EXPECT_TRUE(std::isnan(result.table.numbers("priority")[1]));
}

TEST(CsvTable, TakesColumnsInAnyOrderWithCommentsEmptyLinesAndLineEndsOfEitherKind) {
  const Read result = read(
      "\xEF\xBB\xBF# from the office\r\nwho,priority,distance,time\r\n,1,km,h\r\n\r\nprobe_a,-3,1,0\r\n  # later\r\n"
      "\"probe_b\",,2,1");
  EXPECT_EQ(places_of(result.findings), "");
  EXPECT_THAT(result.table.names("who"), ElementsAre("probe_a", "probe_b"));
  EXPECT_EQ(result.table.numbers("priority")[0], -3.0);
  EXPECT_THAT(result.table.numbers("time"), ElementsAre(0.0, 3600.0));
}

TEST(CsvTable, ReadsTheUnitsOfPrint) {
  EXPECT_THAT(read("time,distance\ns,\xC2\xB5m\n0,2e6\n").table.numbers("distance"), ElementsAre(2.0));
}

TEST(CsvTable, ReportsColumnsThatAreUnknownMissingOrDoubled) {
  EXPECT_EQ(places("time,distnace\ns,m\n0,1\n"), "column-unknown 1:6\ncolumn-missing 1:1");
  EXPECT_THAT(
      first_message("time,distnace\ns,m\n0,1\n"),
      HasSubstr("table.csv:1:6: error column-unknown: the column 'distnace' is not known here\n    time,distnace\n"
                "         ^\n    did you mean 'distance'?"));
  EXPECT_EQ(places("time,distance,time\ns,m,s\n0,1,0\n"), "name-taken 1:15");
  EXPECT_EQ(places("time,distance,\ns,m,\n0,1,\n"), "column-unknown 1:15");
}

TEST(CsvTable, TellsThatColumnsAreSeparatedByCommas) {
  EXPECT_THAT(first_message("time;distance\ns;m\n0;1\n"), HasSubstr("separate the columns with commas"));
  EXPECT_THAT(first_message("time\tdistance\ns\tm\n"), HasSubstr("separate the columns with commas"));
}

TEST(CsvTable, ReportsUnitsThatAreMissingOrOfTheWrongDimension) {
  EXPECT_EQ(places("time,distance\ns,\n0,1\n"), "unit-missing 2:3");
  EXPECT_EQ(places("time,distance\n0,1\n1,2\n"), "unit-missing 2:1\nunit-missing 2:3");
  EXPECT_THAT(first_message("time,distance\n0,m\n1,2\n"), HasSubstr("the second row holds the units"));
  EXPECT_EQ(places("time,distance\nm,m\n0,1\n"), "dimension-wrong 2:1");
  EXPECT_EQ(places("time,distance\ns,parsecs_or_so\n0,1\n"), "unit-unknown 2:3");
  EXPECT_EQ(places("time,distance,share\ns,m,W\n0,1,1\n"), "unit-unexpected 2:5");
  EXPECT_EQ(places("time,distance,who\ns,m,%\n0,1,a\n"), "unit-unexpected 2:5");
  EXPECT_EQ(places("time,distance\n"), "unit-missing 1:1");
}

TEST(CsvTable, ReportsRaggedRowsAndGaps) {
  EXPECT_EQ(places("time,distance\ns,m\n0\n1,2,3\n"), "table-shape 3:1\ntable-shape 4:5");
  EXPECT_EQ(places("time,distance\ns\n0,1\n"), "table-shape 2:1");
  EXPECT_EQ(places("time,distance\ns,m\n0,\n,2\n"), "empty-value 3:3\nempty-value 4:1");
  EXPECT_THAT(first_message("time,distance\ns,m\n0,1\n1,\n"), HasSubstr("distance, row 2: the cell is empty"));
}

TEST(CsvTable, ReportsNumbersThatAreNone) {
  EXPECT_EQ(places("time,distance\ns,m\n0,many\n"), "number-malformed 3:3");
  EXPECT_EQ(places("time,distance\ns,m\n0,nan\n1,inf\n2,1e999\n"),
            "number-not-finite 3:3\nnumber-not-finite 4:3\nnumber-not-finite 5:3");
  EXPECT_EQ(places("time,distance\ns,AU\n0,1e308\n"), "number-not-finite 3:3");
  EXPECT_EQ(places("time,distance\ns,m\n0,1 m\n1,0x10\n"), "unit-unexpected 3:3\nnumber-malformed 4:3");
  EXPECT_EQ(places("time,distance\ns,m\n0,\"1,5\"\n"), "number-malformed 3:3");
  EXPECT_EQ(places("time,distance,priority\ns,m,\n0,1,1.5\n1,1,101\n"),
            "number-malformed 3:5\ncount-out-of-bounds 4:5");
  EXPECT_EQ(places("time,distance,who\ns,m,\n0,1,Probe A\n"), "name-malformed 3:5");
}

TEST(CsvTable, ReportsValuesOutOfRangeAndTimesThatDoNotRise) {
  EXPECT_EQ(places("time,distance\ns,m\n0,0\n1,-1\n"), "value-out-of-range 3:3\nvalue-out-of-range 4:3");
  EXPECT_EQ(places("time,distance\ns,m\n0,1\n2,1\n2,1\n1,1\n"), "table-not-rising 5:1\ntable-not-rising 6:1");
}

TEST(CsvTable, ReportsQuotesThatAreOutOfPlace) {
  EXPECT_EQ(places("time,distance\ns,m\n0,\"1\n1,1\n"), "csv-syntax 3:3");
  EXPECT_EQ(places("time,distance\ns,m\n\"0\"1,1\n"), "csv-syntax 3:4");
  EXPECT_EQ(places("time,distance\ns,m\n0,1\"\n"), "csv-syntax 3:4");
  EXPECT_EQ(places("\"time\",\"distance\"\n\"s\",\"m\"\n\"0\" , \"1\"\n"), "");
  EXPECT_THAT(first_message("time,distance,who\ns,m,\n0,1,\"say \"\"a\"\", b\"\n"), HasSubstr("'say \"a\", b'"));
}

TEST(CsvTable, IsRefusedBeyondItsBounds) {
  EXPECT_EQ(places(good, {.bytes = good.size()}), "");
  EXPECT_EQ(places(good, {.bytes = good.size() - 1}), "text-too-large 0:0");
  EXPECT_EQ(places(good, {.most_rows = 2}), "");
  EXPECT_EQ(places(good, {.most_rows = 1}), "count-out-of-bounds 4:1");
  EXPECT_EQ(places(good, {.least_rows = 3}), "count-out-of-bounds 4:1");
  EXPECT_EQ(places(good, {.most_columns = 1}), "count-out-of-bounds 1:1");
  EXPECT_EQ(places("time,distance\ns,m\n"), "count-out-of-bounds 2:1");
  EXPECT_EQ(places(""), "empty-value 1:1");
  EXPECT_EQ(places("# nothing\n\n"), "empty-value 1:1");
}

TEST(CsvTable, TellsAtMostAHundredFindings) {
  std::string text = "time,distance\ns,m\n";
  for (int i = 0; i < 300; ++i) text += "x,y\n";
  EXPECT_EQ(read(text).findings.size(), 100u);
}

TEST(CsvTable, IsNotReadIfTheTextIsNotClean) {
  EXPECT_EQ(places("time,distance\ns,m\n0,1\xFF\n"), "text-encoding 3:4");
  EXPECT_EQ(places("time,distance\rs,m\r0,1\r"), "text-encoding 1:14");
  EXPECT_EQ(places(std::string("time,distance\ns,m\n0,1\0", 22)), "text-encoding 3:4");
}

TEST(CsvTable, FindingsAreMadeForItsCells) {
  const Read result = read(good);
  const Diagnostic finding = result.table.finding(Code::key_conflict, "distance", 1, "too far");
  EXPECT_EQ(describe(finding), "table.csv:4:3: error key-conflict: distance, row 2: too far\n    1,2\n      ^");
  EXPECT_EQ(result.table.finding(Code::key_conflict, "tilt", 1, "none").place.column, 1);
}

TEST(CsvTable, IsAskedOnlyForItsColumns) {
  const Read result = read(good);
  EXPECT_THROW(result.table.numbers("speed"), Error);
  EXPECT_THROW(result.table.numbers("who"), Error);
  EXPECT_THROW(result.table.names("time"), Error);
}

TEST(CsvFile, IsRead) {
  const test::TemporaryDirectory directory;
  write(directory / "table.csv", good);
  std::vector<Diagnostic> findings;
  EXPECT_EQ(read_csv((directory / "table.csv").string(), columns, findings).rows(), 2u);
  EXPECT_TRUE(findings.empty());
  read_csv((directory / "none.csv").string(), columns, findings);
  read_csv(directory.path().string(), columns, findings);
  read_csv((directory / "table.csv").string(), columns, findings, {.bytes = 3});
  EXPECT_EQ(places_of(findings), "file-unreadable 0:0\nfile-unreadable 0:0\ntext-too-large 0:0");
}

/// What is found when a case in `directory/case` names a table.
std::string beside(const test::TemporaryDirectory& directory, const std::string& name) {
  std::vector<Diagnostic> findings;
  const Document document = parse_document("a: 1\nfile: x\n", (directory / "case" / "case.yaml").string(), findings);
  read_csv_beside(document, {document.file, 2, 7, "file"}, name, columns, findings);
  return places_of(findings);
}

TEST(CsvFile, OfACaseLiesBesideIt) {
  const test::TemporaryDirectory directory;
  std::filesystem::create_directories(directory / "case" / "inner");
  write(directory / "case" / "table.csv", good);
  write(directory / "secret.csv", good);
  std::filesystem::create_symlink(directory / "secret.csv", directory / "case" / "leads_out.csv");
  std::filesystem::create_symlink("table.csv", directory / "case" / "leads_beside.csv");
  std::filesystem::create_symlink("nowhere.csv", directory / "case" / "leads_nowhere.csv");
  EXPECT_EQ(beside(directory, "table.csv"), "");
  EXPECT_EQ(beside(directory, "leads_beside.csv"), "");
  for (const std::string& name : {std::string("../secret.csv"), (directory / "secret.csv").string(),
                                  std::string("leads_out.csv"), std::string("inner/table.csv"), std::string("a\\b"),
                                  std::string(".."), std::string("."), std::string(), std::string("a\nb")}) {
    EXPECT_EQ(beside(directory, name), "file-elsewhere 2:7") << name;
  }
  for (const char* name : {"none.csv", "inner", "leads_nowhere.csv"})
    EXPECT_EQ(beside(directory, name), "file-unreadable 2:7") << name;
}

TEST(CsvFile, FindingsInItAreThoseOfTheTable) {
  const test::TemporaryDirectory directory;
  std::filesystem::create_directories(directory / "case");
  write(directory / "case" / "table.csv", "time,distance\ns,m\n0,\n");
  EXPECT_EQ(beside(directory, "table.csv"), "empty-value 3:3");
}

}  // namespace csv_table_test
