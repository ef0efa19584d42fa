#include "results/text_file.h"

#include <gtest/gtest.h>

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

}  // namespace tileflux::results::text_file_test
