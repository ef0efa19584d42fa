#include "bench/measure.h"

#include <fcntl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <stdexcept>

#include "bench/plain_solvers.h"
#include "tileflux/materials/library.h"
#include "tileflux/tile/case_reader.h"

namespace tileflux::bench {

double largest_difference(const std::vector<double>& a, const std::vector<double>& b) {
  if (a.size() != b.size() || a.empty()) throw std::runtime_error("rows of different lengths cannot be compared");
  double most = 0.0;
  for (std::size_t i = 0; i < a.size(); ++i) most = std::max(most, std::abs(a[i] - b[i]));
  return most;
}

double exponent(const std::vector<double>& x, const std::vector<double>& y) {
  double sx = 0.0, sy = 0.0, sxx = 0.0, sxy = 0.0;
  const auto n = static_cast<double>(x.size());
  for (std::size_t i = 0; i < x.size(); ++i) {
    const double u = std::log(x[i]), v = std::log(y[i]);
    sx += u;
    sy += v;
    sxx += u * u;
    sxy += u * v;
  }
  return (n * sxy - sx * sy) / (n * sxx - sx * sx);
}

std::string project_file(const std::string& name) { return std::string(TILEFLUX_PROJECT_DIR) + "/" + name; }

tile::Case reference_case() {
  return tile::read_case(project_file("tests/bench/reference_tile.yaml"), materials::Library()).description;
}

ChildUse run_child(const std::vector<std::string>& words) {
  std::vector<char*> arguments;
  for (const std::string& word : words) arguments.push_back(const_cast<char*>(word.c_str()));
  arguments.push_back(nullptr);
  const double begin = seconds_now();
  const pid_t child = fork();
  if (child == 0) {
    const int nowhere = open("/dev/null", O_WRONLY);
    dup2(nowhere, 1);
    dup2(nowhere, 2);
    execv(arguments[0], arguments.data());
    _exit(127);
  }
  int status = 0;
  rusage use{};
  if (child < 0 || wait4(child, &status, 0, &use) != child) throw std::runtime_error("no process for " + words[0]);
  const double seconds = seconds_now() - begin;
  // 1 says that a limit of the case is broken, which is nobody's trouble here.
  if (!WIFEXITED(status) || WEXITSTATUS(status) > 1) {
    std::string line;
    for (const std::string& word : words) line += word + ' ';
    throw std::runtime_error("ended badly: " + line);
  }
  const auto of = [](const timeval& time) { return static_cast<double>(time.tv_sec) + 1e-6 * static_cast<double>(time.tv_usec); };
  return {seconds, static_cast<double>(use.ru_maxrss) / 1024.0, of(use.ru_utime) + of(use.ru_stime)};
}

}  // namespace tileflux::bench
