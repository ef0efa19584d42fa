// Pictures of charts: the page's own code, run by node, which takes charts and gives pictures.
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <nlohmann/json.hpp>
#include <utility>

#include "report/page_assets.h"
#include "report/page_charts.h"
#include "report/page_text.h"
#include "tileflux/base/errors.h"
#include "tileflux/report/page.h"
#include "tileflux/results/files.h"

extern char** environ;

namespace tileflux::report {

namespace {

[[noreturn]] void no_pictures(const std::string& why) {
  throw Error(Code::report_unavailable, "pictures of charts are drawn by the program node (18 or later), " + why);
}

/// A file without a name, filled and wound back.
class ScratchFile {
 public:
  explicit ScratchFile(std::string_view content) : file_(std::tmpfile()) {
    if (!file_ || std::fwrite(content.data(), 1, content.size(), file_) != content.size() || std::fflush(file_) != 0)
      no_pictures(std::string("but no temporary file could be written: ") + std::strerror(errno));
    std::rewind(file_);
  }
  ScratchFile(const ScratchFile&) = delete;
  ScratchFile& operator=(const ScratchFile&) = delete;
  ~ScratchFile() {
    if (file_) std::fclose(file_);
  }

  int descriptor() const { return ::fileno(file_); }

  std::string content() const {
    std::string text;
    char part[65536];
    std::rewind(file_);
    for (std::size_t read; (read = std::fread(part, 1, sizeof part, file_)) > 0;) text.append(part, read);
    return text;
  }

 private:
  std::FILE* file_;
};

/// Runs node with a program on descriptor 3 and charts on its standard input.
std::string run_node(std::string_view program, const std::string& input) {
  const ScratchFile code(program), charts(input), pictures(""), complaints("");
  posix_spawn_file_actions_t files;
  ::posix_spawn_file_actions_init(&files);
  const std::pair<int, int> descriptors[] = {
      {charts.descriptor(), 0}, {pictures.descriptor(), 1}, {complaints.descriptor(), 2}, {code.descriptor(), 63}};
  for (const auto& [from, to] : descriptors) ::posix_spawn_file_actions_adddup2(&files, from, to);
  char name[] = "node", option[] = "-e";
  char start[] =
      "const m=new "
      "module.constructor('pictures');m.paths=[];m._compile(require('fs').readFileSync(63,'utf8'),'pictures.js')";
  char* arguments[] = {name, option, start, nullptr};
  pid_t child = 0;
  const int failed = ::posix_spawnp(&child, "node", &files, nullptr, arguments, environ);
  ::posix_spawn_file_actions_destroy(&files);
  if (failed != 0) no_pictures(std::string("which could not be started: ") + std::strerror(failed));
  int status = 0;
  while (::waitpid(child, &status, 0) < 0 && errno == EINTR) {
  }
  if (!WIFEXITED(status) || WEXITSTATUS(status) != 0)
    no_pictures("which failed: " + complaints.content().substr(0, 600));
  return pictures.content();
}

}  // namespace

std::vector<std::filesystem::path> write_pictures(const Story& story, const std::filesystem::path& directory) {
  if (!page_available())
    throw Error(Code::report_unavailable, "this program was built without report pages (-DTILEFLUX_REPORT=ON)");
  const results::OutputDirectory folder(directory);
  nlohmann::json charts = nlohmann::json::array();
  std::vector<std::pair<std::string, std::string>> drawn;  // section and picture; empty: to be drawn by node
  for (const Section& section : story.sections) {
    const std::optional<Chart> chart = section.chart ? drawable(*section.chart) : std::nullopt;
    if (!chart) continue;
    const std::string label = clean_text(section.title + ". " + chart_in_words(*chart));
    const auto* picture = std::get_if<SectionChart>(&*chart);
    drawn.emplace_back(section.id, picture ? section_svg(*picture, label, true) : std::string());
    if (!picture)
      charts.push_back({{"name", section.id}, {"label", label}, {"chart", nlohmann::json::parse(chart_json(*chart))}});
  }
  if (!charts.empty()) {
    const auto pictures =
        nlohmann::json::parse(run_node(page_assets().pictures, nlohmann::json({{"charts", charts}}).dump()));
    std::size_t next = 0;
    for (auto& [name, svg] : drawn) {
      if (svg.empty()) svg = pictures.at("pictures").at(next++).at("svg").get<std::string>();
    }
  }
  std::vector<std::filesystem::path> paths;
  for (const auto& [name, svg] : drawn) {
    folder.write_text(name + ".svg", svg);
    paths.push_back(folder.path() / (name + ".svg"));
  }
  return paths;
}

}  // namespace tileflux::report
