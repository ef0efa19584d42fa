// The installed library and command, as somebody else meets them: another prefix, another project, moved once.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <string>
#include <vector>

#include "support/child_process.h"
#include "support/temporary_directory.h"

namespace tileflux::install_test {

namespace fs = std::filesystem;
using test::ProgramResult;
using test::run_program;

class Installation : public testing::Test {
 protected:
  static void SetUpTestSuite() {
    directory_ = new test::TemporaryDirectory();
    const fs::path first = prefix_as_installed();
    const ProgramResult result =
        run_program({TILEFLUX_CMAKE, "--install", TILEFLUX_BUILD_DIR, "--prefix", first.string()});
    ASSERT_EQ(result.exit_status, 0) << result.standard_output << result.standard_error;
    fs::rename(first, prefix());  // an installation can be moved
  }
  static void TearDownTestSuite() {
    delete directory_;
    directory_ = nullptr;
  }

  static fs::path prefix_as_installed() { return *directory_ / "first place"; }
  static fs::path prefix() { return *directory_ / "second place"; }
  static fs::path scratch() { return directory_->path(); }

  static std::vector<fs::path> files_below(const fs::path& top) {
    std::vector<fs::path> files;
    for (const auto& entry : fs::recursive_directory_iterator(top)) {
      if (entry.is_regular_file()) files.push_back(entry.path());
    }
    return files;
  }

 private:
  static inline test::TemporaryDirectory* directory_ = nullptr;
};

TEST_F(Installation, GivesACommandThatRunsWhereItWasMoved) {
  const ProgramResult result = run_program({(prefix() / "bin/tileflux").string(), "--version"}, "/");
  EXPECT_EQ(result.exit_status, 0) << result.standard_error;
  EXPECT_THAT(result.standard_output, testing::HasSubstr(TILEFLUX_VERSION));
}

TEST_F(Installation, GivesALibraryThatAnOutsideProjectFindsLinksAndRuns) {
  const std::string source = (fs::path(TILEFLUX_PROJECT_DIR) / "tests/install/consumer").string();
  const std::string build = (scratch() / "consumer").string();
  const ProgramResult configured = run_program(
      {TILEFLUX_CMAKE, "-S", source, "-B", build, "-G", "Ninja", "-DCMAKE_BUILD_TYPE=Release",
       std::string("-DCMAKE_CXX_COMPILER=") + TILEFLUX_CXX_COMPILER, "-DCMAKE_PREFIX_PATH=" + prefix().string()});
  ASSERT_EQ(configured.exit_status, 0) << configured.standard_output << configured.standard_error;
  const ProgramResult built = run_program({TILEFLUX_CMAKE, "--build", build});
  ASSERT_EQ(built.exit_status, 0) << built.standard_output << built.standard_error;
  const ProgramResult ran = run_program({build + "/consumer"});
  EXPECT_EQ(ran.exit_status, 0) << ran.standard_error;
  EXPECT_EQ(ran.standard_output, "plate 334.280 K\n");
}

TEST_F(Installation, HoldsEveryPublicHeaderAndEveryMaterial) {
  const fs::path project = TILEFLUX_PROJECT_DIR;
  const std::pair<fs::path, fs::path> trees[] = {{project / "include/tileflux", prefix() / "include/tileflux"},
                                                 {project / "materials", prefix() / "share/tileflux/materials"}};
  for (const auto& [from, to] : trees) {
    for (const fs::path& file : files_below(from)) {
      const fs::path installed = to / file.lexically_relative(from);
      ASSERT_TRUE(fs::exists(installed)) << installed;
      EXPECT_EQ(test::read_file(installed), test::read_file(file)) << installed;
    }
  }
  EXPECT_FALSE(files_below(prefix() / "include/tileflux").empty());
}

TEST_F(Installation, TellsNothingOfThePrefixItWasBuiltFor) {
  for (const fs::path& file : files_below(prefix())) {
    if (file.extension() != ".cmake") continue;
    EXPECT_THAT(test::read_file(file), testing::Not(testing::HasSubstr(TILEFLUX_PROJECT_DIR))) << file;
  }
}

}  // namespace tileflux::install_test
