// What the pages for users say is run as they say it: every line of their `sh` blocks, in order, in a copy of the cases
// where build/tileflux is the command of this build. A `yaml` block that is to be saved under a name is saved.

#include <gtest/gtest.h>

#include <algorithm>
#include <cctype>
#include <filesystem>
#include <set>
#include <sstream>
#include <string>
#include <vector>

#include "support/child_process.h"
#include "support/markdown.h"
#include "support/temporary_directory.h"

namespace tileflux::documented_commands_test {

namespace fs = std::filesystem;

const fs::path project = TILEFLUX_PROJECT_DIR;

/// Commands that the pages show and this test leaves out, and why.
struct LeftOut {
  const char* begins;
  const char* reason;
};
constexpr LeftOut left_out[] = {
    {"bash cases/demo.sh", "installs packages and builds the whole project"},
    {"bash tests/run.sh", "runs all tests, this one among them"},
    {"cmake ", "configures, builds or installs the whole project"},
};

bool is_left_out(const std::string& command) {
  return std::any_of(std::begin(left_out), std::end(left_out),
                     [&](const LeftOut& item) { return command.starts_with(item.begins); });
}

std::vector<std::string> pages() {
  std::vector<std::string> names{"README.md", "docs/guide.md", "docs/study-better-laser.md", "cases/README.md"};
  std::vector<std::string> more;
  for (const auto& entry : fs::directory_iterator(project / "cases")) {
    if (entry.is_directory()) more.push_back("cases/" + entry.path().filename().string() + "/README.md");
  }
  std::sort(more.begin(), more.end());
  names.insert(names.end(), more.begin(), more.end());
  return names;
}

/// A place that looks to a reader of the pages like the top of the project after the build.
class Reader {
 public:
  Reader() {
    fs::copy(project / "cases", here_ / "cases", fs::copy_options::recursive);
    fs::copy(project / "docs", here_ / "docs", fs::copy_options::recursive);
    fs::create_directory(here_ / "build");
    fs::create_symlink(TILEFLUX_COMMAND, here_ / "build" / "tileflux");
    // The system's python3, which has the packages that src/setup installs.
    fs::create_directory(here_ / "programs");
    fs::create_symlink("/usr/bin/python3", here_ / "programs" / "python3");
  }

  void save(const std::string& name, const test::Fence& fence) const {
    std::string text;
    for (const std::string& line : fence.lines) text += line + '\n';
    test::write_file(here_ / name, text);
  }

  test::ProgramResult run(const std::string& command) const {
    const std::string path = "PATH=" + (here_ / "programs").string() + ":$PATH; ";
    return test::run_program({"/bin/bash", "-c", path + "set -o pipefail; " + command}, here_.path().string());
  }

 private:
  test::TemporaryDirectory here_;
};

class DocumentedCommands : public testing::TestWithParam<std::string> {};

TEST_P(DocumentedCommands, DoWhatThePageSays) {
  const Reader reader;
  int count = 0;
  for (const test::Fence& fence : test::fences_of(test::read_file(project / GetParam()))) {
    if (const std::string name = test::saved_as(fence); !name.empty()) reader.save(name, fence);
    if (fence.language != "sh") continue;
    for (const test::Command& command : test::commands_of(fence)) {
      ++count;
      if (is_left_out(command.text)) continue;
      const test::ProgramResult result = reader.run(command.text);
      EXPECT_EQ(result.exit_status, command.exit_status)
          << GetParam() << ':' << command.line << ": " << command.text << '\n'
          << result.standard_output << result.standard_error;
    }
  }
  EXPECT_GT(count, 0) << "the page shows no command";
}

/// A line with every number replaced by one sign and blanks run together: what must not change without the page.
std::string words_of(const std::string& line) {
  std::string words;
  for (const char c : line) {
    const bool number = std::isdigit(static_cast<unsigned char>(c)) != 0 || c == '.' || c == '+' || c == '-';
    const char shown = number ? '#' : c;
    const bool again = (shown == '#' || shown == ' ') && !words.empty() && words.back() == shown;
    if (!again) words += shown;
  }
  return words;
}

TEST(Readme, ShowsOutputThatTheCommandReallyPrints) {
  const Reader reader;
  std::set<std::string> printed;
  int shown = 0;
  for (const test::Fence& fence : test::fences_of(test::read_file(project / "README.md"))) {
    for (const test::Command& command : test::commands_of(fence)) {
      if (fence.language != "sh" || is_left_out(command.text)) continue;
      std::istringstream output(reader.run(command.text).standard_output);
      for (std::string line; std::getline(output, line);) printed.insert(words_of(line));
    }
    for (const std::string& line : fence.lines) {
      if (fence.language != "text" || line.find_first_not_of(" .") == std::string::npos) continue;
      ++shown;
      EXPECT_TRUE(printed.contains(words_of(line))) << line;
    }
  }
  EXPECT_GT(shown, 0);
}

/// Targets of the links of a page that point into the project, without their anchors.
std::vector<std::string> links_of(const std::string& page) {
  std::vector<std::string> targets;
  for (std::size_t at = page.find("]("); at != std::string::npos; at = page.find("](", at + 1)) {
    const std::string target = page.substr(at + 2, page.find_first_of(")#\n", at + 2) - at - 2);
    if (!target.empty() && target.find("://") == std::string::npos) targets.push_back(target);
  }
  return targets;
}

TEST(Pages, LinkOnlyToWhatIsThere) {
  std::vector<std::string> names = pages();
  names.push_back("DEVELOPERS.md");
  for (const auto& entry : fs::directory_iterator(project / "docs")) {
    if (entry.path().extension() == ".md") names.push_back("docs/" + entry.path().filename().string());
  }
  for (const std::string& name : names) {
    for (const std::string& target : links_of(test::read_file(project / name))) {
      EXPECT_TRUE(fs::exists(project / fs::path(name).parent_path() / target)) << name << " links to " << target;
    }
  }
}

std::string name_of_page(const testing::TestParamInfo<std::string>& info) {
  std::string name = info.param;
  std::replace_if(
      name.begin(), name.end(), [](char c) { return std::isalnum(static_cast<unsigned char>(c)) == 0; }, '_');
  return name;
}

INSTANTIATE_TEST_SUITE_P(Pages, DocumentedCommands, testing::ValuesIn(pages()), name_of_page);

TEST(FencedBlocks, AreReadWithTheirCommandsPromisesAndNames) {
  const std::string page =
      "text\n\n```sh\n# a remark\nfirst --one\nsecond \\\n  more   # exit status 2\n```\nSave this as "
      "`own.yaml`:\n\n```yaml\na: 1\n```\n```text\nno command\n```\n";
  const std::vector<test::Fence> fences = test::fences_of(page);
  ASSERT_EQ(fences.size(), 3u);
  const std::vector<test::Command> commands = test::commands_of(fences[0]);
  ASSERT_EQ(commands.size(), 2u);
  EXPECT_EQ(commands[0].text, "first --one");
  EXPECT_EQ(commands[0].line, 5);
  EXPECT_EQ(commands[0].exit_status, 0);
  EXPECT_EQ(commands[1].text, "second    more");
  EXPECT_EQ(commands[1].exit_status, 2);
  EXPECT_EQ(test::saved_as(fences[1]), "own.yaml");
  EXPECT_EQ(test::saved_as(fences[2]), "");
}

TEST(ReaderOfPages, SeesFailureWhereThePromiseIsWrong) {
  const Reader reader;
  EXPECT_EQ(reader.run("build/tileflux check cases/plate/case.yaml").exit_status, 0);
  EXPECT_NE(reader.run("build/tileflux check cases/plate/none.yaml").exit_status, 0);
  EXPECT_NE(reader.run("false | cat").exit_status, 0);
}

}  // namespace tileflux::documented_commands_test
