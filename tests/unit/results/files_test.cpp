#include "tileflux/results/files.h"

#include <gtest/gtest.h>
#include <sys/stat.h>
#include <unistd.h>

#include "expect_unwritable.h"
#include "support/child_process.h"
#include "support/temporary_directory.h"

namespace tileflux::results::files_test {

namespace fs = std::filesystem;
using test::child_verdict;
using test::expect_unwritable;
using test::read_file;
using test::TemporaryDirectory;
using test::write_file;

int count_entries(const fs::path& directory) {
  return static_cast<int>(std::distance(fs::directory_iterator(directory), fs::directory_iterator()));
}

TEST(OutputDirectory, IsCreatedWithTheDirectoriesAboveIt) {
  const TemporaryDirectory here;
  const OutputDirectory directory(here / "a/b/c");
  EXPECT_TRUE(fs::is_directory(here / "a/b/c"));
  EXPECT_EQ(directory.path(), here / "a/b/c");
  EXPECT_EQ(count_entries(directory.path()), 0);
}

TEST(OutputDirectory, KeepsItsPlaceWhenTheWorkingDirectoryChanges) {
  const TemporaryDirectory here;
  const int status = test::run_in_child([&] {
    fs::current_path(here.path());
    const OutputDirectory directory("out");
    fs::current_path("/");
    directory.write_text("a.txt", "text");
    return child_verdict();
  });
  EXPECT_EQ(status, 0);
  EXPECT_EQ(read_file(here / "out/a.txt"), "text");
}

TEST(OutputDirectory, MayBeReachedThroughASymbolicLink) {
  const TemporaryDirectory here;
  fs::create_directory(here / "real");
  fs::create_directory_symlink(here / "real", here / "link");
  OutputDirectory(here / "link").write_text("a.txt", "text");
  EXPECT_EQ(read_file(here / "real/a.txt"), "text");
}

TEST(OutputDirectory, SaysWhyItCannotBeCreated) {
  const TemporaryDirectory here;
  write_file(here / "file", "kept");
  expect_unwritable([&] { OutputDirectory(here / "file"); }, {(here / "file").string(), "Not a directory"});
  expect_unwritable([&] { OutputDirectory(here / "file/below"); }, {(here / "file/below").string(), "Not a directory"});
  expect_unwritable([&] { OutputDirectory(here / std::string(300, 'x')); }, {"File name too long"});
  expect_unwritable([] { OutputDirectory(""); }, {"empty"});
  EXPECT_EQ(read_file(here / "file"), "kept");
}

TEST(OutputDirectory, WithoutPermissionIsRefusedBeforeAnythingIsComputed) {
  const TemporaryDirectory here;
  fs::create_directory(here / "locked");
  constexpr mode_t read_and_enter_only = 0555;
  ASSERT_EQ(::chmod((here / "locked").c_str(), read_and_enter_only), 0);
  ASSERT_EQ(::chmod(here.path().c_str(), read_and_enter_only), 0);
  const int status = test::run_in_child([&] {
    constexpr uid_t nobody = 65534;
    if (::geteuid() == 0 && ::seteuid(nobody) != 0) return 2;
    expect_unwritable([&] { OutputDirectory(here / "locked"); }, {"locked", "Permission denied"});
    expect_unwritable([&] { OutputDirectory(here / "new"); }, {"new", "Permission denied"});
    return child_verdict();
  });
  EXPECT_EQ(status, 0);
  ASSERT_EQ(::chmod(here.path().c_str(), S_IRWXU), 0);
}

TEST(OutputDirectory, OnAFullDiskIsRefusedBeforeAnythingIsComputed) {
  const TemporaryDirectory here;
  const int status = test::run_in_child([&] {
    test::limit_file_size(0);
    expect_unwritable([&] { OutputDirectory(here / "out"); }, {(here / "out").string(), "File too large"});
    return child_verdict();
  });
  EXPECT_EQ(status, 0);
  EXPECT_EQ(count_entries(here / "out"), 0);
}

TEST(OutputDirectory, WritesAWholeTextAndReplacesIt) {
  const TemporaryDirectory here;
  const OutputDirectory directory(here.path());
  directory.write_text("summary.json", "first, and longer than the second\n");
  directory.write_text("summary.json", std::string("se\0cond\n", 8));
  EXPECT_EQ(read_file(here / "summary.json"), std::string("se\0cond\n", 8));
  EXPECT_EQ(count_entries(here.path()), 1) << "a temporary file was left behind";
}

TEST(OutputDirectory, AcceptsPlainFileNamesOnly) {
  const TemporaryDirectory here;
  const OutputDirectory directory(here / "out");
  const std::string bad_names[] = {"",           ".",
                                   "..",         "../a.txt",
                                   "/etc/a.txt", "a/b.txt",
                                   ".hidden",    "-a.txt",
                                   "a\nb",       std::string("a\0b", 3),
                                   "a b",        "caf\xc3\xa9.txt",
                                   "a\\b",       "out/../..",
                                   "a.txt/"};
  for (const std::string& name : bad_names) {
    expect_unwritable([&] { directory.write_text(name, "text"); }, {"plain file name"});
    expect_unwritable([&] { directory.fresh_file(name); }, {"plain file name"});
  }
  expect_unwritable([&] { directory.file(std::string(201, 'x')); }, {"plain file name"});
  EXPECT_EQ(directory.file("series-2.nc"), here / "out/series-2.nc");
  EXPECT_EQ(count_entries(here.path()), 1);
  EXPECT_EQ(count_entries(here / "out"), 0);
}

TEST(OutputDirectory, DoesNotFollowASymbolicLinkThatLeadsOutside) {
  const TemporaryDirectory here;
  const OutputDirectory directory(here / "out");
  write_file(here / "precious.txt", "kept");
  fs::create_symlink(here / "precious.txt", here / "out/a.txt");
  fs::create_symlink("a.txt", here / "out/b.txt");
  fs::create_symlink(here / "not-yet.txt", here / "out/c.txt");
  const std::pair<std::string, std::string> links[] = {
      {"a.txt", "out of the directory"}, {"b.txt", "out of the directory"}, {"c.txt", "leads nowhere"}};
  for (const auto& [name, reason] : links) {
    expect_unwritable([&] { directory.write_text(name, "text"); }, {(here / "out" / name).string(), reason});
    expect_unwritable([&] { directory.fresh_file(name); }, {(here / "out" / name).string(), reason});
  }
  EXPECT_EQ(read_file(here / "precious.txt"), "kept");
  EXPECT_FALSE(fs::exists(here / "not-yet.txt"));
}

TEST(OutputDirectory, ReplacesASymbolicLinkThatStaysInside) {
  const TemporaryDirectory here;
  const OutputDirectory directory(here.path());
  directory.write_text("run1.txt", "one");
  fs::create_symlink("run1.txt", here / "latest.txt");
  directory.write_text("latest.txt", "two");
  EXPECT_EQ(read_file(here / "latest.txt"), "two");
  EXPECT_EQ(read_file(here / "run1.txt"), "one");
}

TEST(OutputDirectory, RefusesWhatIsNotARegularFile) {
  const TemporaryDirectory here;
  const OutputDirectory directory(here.path());
  fs::create_directory(here / "a.txt");
  ASSERT_EQ(::mkfifo((here / "b.txt").c_str(), S_IRWXU), 0);
  expect_unwritable([&] { directory.write_text("a.txt", "text"); }, {"a.txt", "not a regular file"});
  expect_unwritable([&] { directory.write_text("b.txt", "text"); }, {"b.txt", "not a regular file"});
}

TEST(OutputDirectory, GivesAFreshFileThatLeavesOtherNamesOfTheOldOneAlone) {
  const TemporaryDirectory here;
  const OutputDirectory directory(here / "out");
  write_file(here / "precious.txt", "kept");
  fs::create_hard_link(here / "precious.txt", here / "out/a.txt");
  EXPECT_FALSE(fs::exists(directory.fresh_file("a.txt")));
  EXPECT_EQ(read_file(here / "precious.txt"), "kept");
}

TEST(OutputDirectory, KeepsTheOldTextWhenTheDiskIsFull) {
  const TemporaryDirectory here;
  const OutputDirectory directory(here.path());
  directory.write_text("a.txt", "old");
  constexpr rlim_t limit_bytes = 4096;
  const int status = test::run_in_child([&] {
    test::limit_file_size(limit_bytes);
    expect_unwritable([&] { directory.write_text("a.txt", std::string(2 * limit_bytes, 'x')); },
                      {here.path().string(), "a.txt", "File too large"});
    return child_verdict();
  });
  EXPECT_EQ(status, 0);
  EXPECT_EQ(read_file(here / "a.txt"), "old");
  EXPECT_EQ(count_entries(here.path()), 1) << "a temporary file was left behind";
}

}  // namespace tileflux::results::files_test
