#include "results/text_file.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <charconv>
#include <limits>

#include "expect_unwritable.h"
#include "support/child_process.h"
#include "support/temporary_directory.h"

namespace tileflux::results::text_file_test {

using test::expect_unwritable;

TEST(TextFile, HoldsTextBackUntilFlush) {
  const test::TemporaryDirectory here;
  TextFile file(here / "a.txt");
  file.append("one ");
  EXPECT_EQ(test::read_file(here / "a.txt"), "");
  file.flush();
  file.append("two");
  EXPECT_EQ(test::read_file(here / "a.txt"), "one ");
  file.close();
  file.close();
  EXPECT_EQ(test::read_file(here / "a.txt"), "one two");
}

TEST(TextFile, NeverOpensWhatIsThere) {
  const test::TemporaryDirectory here;
  test::write_file(here / "a.txt", "kept");
  expect_unwritable([&] { TextFile(here / "a.txt"); }, {(here / "a.txt").string(), "File exists"});
  expect_unwritable([&] { TextFile(here / "none/a.txt"); }, {"none/a.txt", "No such file or directory"});
  EXPECT_EQ(test::read_file(here / "a.txt"), "kept");
}

TEST(TextFile, DoesNotEndInHalfALineWhenTheDiskIsFull) {
  const test::TemporaryDirectory here;
  const int status = test::run_in_child([&] {
    test::limit_file_size(10);
    TextFile file(here / "a.txt");
    file.append("12345\n");
    file.flush();
    file.append("67890\n");
    expect_unwritable([&] { file.flush(); }, {(here / "a.txt").string(), "File too large"});
    return test::child_verdict();
  });
  EXPECT_EQ(status, 0);
  EXPECT_EQ(test::read_file(here / "a.txt"), "12345\n");
}

RC_GTEST_PROP(CsvNumber, ReadsBackTheSameDouble, (double value)) {
  const std::string text = csv_number(value);
  double back = 0.0;
  const auto result = std::from_chars(text.data(), text.data() + text.size(), back);
  RC_ASSERT(result.ec == std::errc());
  RC_ASSERT(back == value);
}

TEST(CsvNumber, IsShortAndEmptyForNotANumber) {
  EXPECT_EQ(csv_number(300.0), "300");
  EXPECT_EQ(csv_number(0.1), "0.1");
  EXPECT_EQ(csv_number(-2.5e-12), "-2.5e-12");
  EXPECT_EQ(csv_number(std::numeric_limits<double>::quiet_NaN()), "");
}

TEST(CsvText, IsQuotedOnlyWhereItMustBe) {
  EXPECT_EQ(csv_text("laser.junction"), "laser.junction");
  EXPECT_EQ(csv_text("a,b"), "\"a,b\"");
  EXPECT_EQ(csv_text("say \"on\""), "\"say \"\"on\"\"\"");
  EXPECT_EQ(csv_text("two\nlines"), "\"two\nlines\"");
  EXPECT_EQ(csv_text(""), "");
}

}  // namespace tileflux::results::text_file_test
