// Each rule of the source tree: it holds in this project, and it is seen to be broken in a small made-up tree.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "lint/source_tree.h"
#include "support/temporary_directory.h"
#include "tileflux/base/errors.h"

namespace tileflux::lint::lint_test {

using testing::AllOf;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::StartsWith;

const fs::path project = TILEFLUX_PROJECT_DIR;

std::vector<std::string> all_slugs() {
  std::vector<std::string> slugs;
  for (const CodeEntry& entry : all_codes()) slugs.emplace_back(entry.slug);
  return slugs;
}

/// A project in small that keeps every rule; tests break one of them.
class MadeUpTree : public testing::Test {
 protected:
  MadeUpTree() {
    write("include/tileflux/base/one.h", "#pragma once\n#include <vector>\n");
    write("include/tileflux/units/two.h",
          "#include \"tileflux/base/one.h\"\n#include <Eigen/Core>\n#include <unsupported/Eigen/AutoDiff>\n");
    write("include/tileflux/solvers/system.h", "#include \"tileflux/base/one.h\"\n");
    write("include/tileflux/solvers/steady.h", "#include \"tileflux/solvers/system.h\"\n");
    write("include/tileflux/network/three.h",
          "#include \"tileflux/solvers/system.h\"\n#include \"tileflux/units/two.h\"\n");
    write("src/units/private.h", "\n");
    write("src/units/two.cpp", "#include \"private.h\"\n#include <udunits2.h>\n#include \"units/private.h\"\n");
    write("src/network/three.cpp", "#include \"tileflux/network/three.h\"\n");
    write("src/cli/main.cpp", "#include \"tileflux/network/three.h\"\n#include <CLI/CLI.hpp>\n");
    write("docs/errors.md", "| `key-unknown` | `key-missing` |\n");
    write("tests/unit/a_test.cpp", "EXPECT_EQ(error.code(), Code::key_unknown);\n");
    write("tests/bad/expected.txt", "key-missing\n");
    for (const char* name : {"README.md", "DEVELOPERS.md", "CMakeLists.txt", "CMakePresets.json"}) write(name, "\n");
    write("materials/solids.yaml", "\n");
    write("cases/demo.sh", "\n");
    write(".gitignore", "\n");
    write("build/tileflux", "\n");
  }

  void write(const std::string& name, const std::string& text) { test::write_file(tree_ / name, text); }
  const fs::path& tree() const { return tree_.path(); }

 private:
  test::TemporaryDirectory tree_;
};

TEST(SourceTree, FollowsTheRanksOfItsModules) { EXPECT_THAT(broken_ranks(project), IsEmpty()); }

TEST(SourceTree, ShowsNoOutsideLibraryButEigenInPublicHeaders) {
  EXPECT_THAT(foreign_public_includes(project), IsEmpty());
}

TEST(SourceTree, KeepsEachOutsideLibraryInItsModule) { EXPECT_THAT(straying_libraries(project), IsEmpty()); }

TEST(SourceTree, KeepsFilesShort) { EXPECT_THAT(oversized_files(project), IsEmpty()); }

TEST(SourceTree, HoldsNoUnfinishedWork) { EXPECT_THAT(unfinished_marks(project), IsEmpty()); }

TEST(SourceTree, ExplainsEveryErrorCode) { EXPECT_THAT(undocumented_codes(project, all_slugs()), IsEmpty()); }

TEST(SourceTree, TestsEveryErrorCode) { EXPECT_THAT(untested_codes(project, all_slugs()), IsEmpty()); }

TEST(SourceTree, HasNothingElseAtTheTop) { EXPECT_THAT(strangers_at_the_top(project), IsEmpty()); }

TEST_F(MadeUpTree, KeepsEveryRule) {
  EXPECT_THAT(broken_ranks(tree()), IsEmpty());
  EXPECT_THAT(foreign_public_includes(tree()), IsEmpty());
  EXPECT_THAT(straying_libraries(tree()), IsEmpty());
  EXPECT_THAT(oversized_files(tree()), IsEmpty());
  EXPECT_THAT(unfinished_marks(tree()), IsEmpty());
  EXPECT_THAT(undocumented_codes(tree(), {"key-unknown", "key-missing"}), IsEmpty());
  EXPECT_THAT(untested_codes(tree(), {"key-unknown", "key-missing"}), IsEmpty());
  EXPECT_THAT(strangers_at_the_top(tree()), IsEmpty());
}

TEST_F(MadeUpTree, ShowsAnUpwardInclude) {
  write("include/tileflux/base/bad.h", "#pragma once\n#include \"tileflux/units/two.h\"\n");
  EXPECT_THAT(broken_ranks(tree()),
              ElementsAre(AllOf(StartsWith("include/tileflux/base/bad.h:2:"), HasSubstr("base may not use units"))));
}

TEST_F(MadeUpTree, ShowsASidewaysIncludeWithAngleBracketsAndBlanks) {
  write("src/units/bad.cpp", "  #  include <tileflux/solvers/system.h>\n");
  EXPECT_THAT(broken_ranks(tree()), ElementsAre(HasSubstr("units may not use solvers")));
}

TEST_F(MadeUpTree, ShowsARelativeIncludeOfAnotherModule) {
  write("src/network/bad.cpp", "#include \"../cli/main.cpp\"\n#include \"cli/main.cpp\"\n");
  EXPECT_THAT(broken_ranks(tree()), ElementsAre(StartsWith("src/network/bad.cpp:1: network may not use cli"),
                                                StartsWith("src/network/bad.cpp:2: network may not use cli")));
}

TEST_F(MadeUpTree, ShowsThatTheNetworkUsesMoreOfTheSolversThanTheirInterface) {
  write("src/network/bad.cpp", "#include \"tileflux/solvers/steady.h\"\n");
  EXPECT_THAT(broken_ranks(tree()), ElementsAre(HasSubstr("network may not use solvers")));
}

TEST_F(MadeUpTree, ShowsAnIncludeThatLeadsNowhereAndAFolderThatIsNoModule) {
  write("src/network/bad.cpp", "#include \"tileflux/network/none.h\"\n");
  write("src/other/bad.cpp", "\n");
  EXPECT_THAT(broken_ranks(tree()),
              ElementsAre(HasSubstr("tileflux/network/none.h is not found"), HasSubstr("'other' is not a module")));
}

TEST_F(MadeUpTree, ShowsAnOutsideLibraryInAPublicHeader) {
  for (const char* header : {"<klu.h>", "<yaml-cpp/yaml.h>", "<netcdf.h>", "<CLI/CLI.hpp>", "<nlohmann/json.hpp>",
                             "<udunits2.h>", "<fmt/format.h>", "\"units/private.h\""}) {
    write("include/tileflux/network/bad.h", std::string("#include ") + header + "\n");
    EXPECT_THAT(foreign_public_includes(tree()), ElementsAre(StartsWith("include/tileflux/network/bad.h:1:")))
        << header;
  }
}

TEST_F(MadeUpTree, ShowsALibraryOutsideItsModule) {
  write("src/network/bad.cpp", "#include <netcdf.h>\n#include <kinsol/kinsol.h>\n#include <nlohmann/json.hpp>\n");
  EXPECT_THAT(straying_libraries(tree()), testing::SizeIs(3));
}

TEST_F(MadeUpTree, ShowsFilesThatAreTooLong) {
  write("include/tileflux/units/long.h", std::string(most_header_lines + 1, '\n'));
  write("src/units/long.cpp", std::string(most_source_lines + 1, '\n'));
  write("src/units/just.cpp", std::string(most_source_lines, '\n'));
  EXPECT_THAT(oversized_files(tree()),
              ElementsAre(StartsWith("include/tileflux/units/long.h"), StartsWith("src/units/long.cpp")));
}

TEST_F(MadeUpTree, ShowsUnfinishedWork) {
  write("src/units/bad.cpp", std::string("int a;\n// TO") + "DO: think\n");
  write("docs/bad.md", std::string("FIX") + "ME\n");
  EXPECT_THAT(unfinished_marks(tree()), ElementsAre(StartsWith("src/units/bad.cpp:2:"), StartsWith("docs/bad.md:1:")));
}

TEST_F(MadeUpTree, ShowsCodesWithoutTextOrTest) {
  EXPECT_THAT(undocumented_codes(tree(), {"key-unknown", "key"}), ElementsAre(HasSubstr("key is not explained")));
  EXPECT_THAT(untested_codes(tree(), {"key-unknown", "key", "missing"}),
              ElementsAre(HasSubstr("no test raises key"), HasSubstr("no test raises missing")));
  write("tests/lint/list.cpp", "only-listed\n");
  EXPECT_THAT(untested_codes(tree(), {"only-listed"}), testing::SizeIs(1));
}

TEST_F(MadeUpTree, ShowsAStrangerAtTheTop) {
  write("notes.txt", "\n");
  write("scripts/a.sh", "\n");
  fs::remove(tree() / "DEVELOPERS.md");
  EXPECT_THAT(strangers_at_the_top(tree()),
              testing::UnorderedElementsAre("notes.txt: does not belong here", "scripts: does not belong here",
                                            "DEVELOPERS.md: missing"));
}

}  // namespace tileflux::lint::lint_test
