/// What the command costs on the Lamplighter tile: the measures of the project. Only where it is built for release.

#include <fcntl.h>
#include <gtest/gtest.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <stdexcept>
#include <string>
#include <vector>

#include "support/slowness.h"
#include "support/temporary_directory.h"

namespace tileflux::timing_test {

struct Cost {
  int status = -1;
  double wall_s = 0.0;
  double peak_MB = 0.0;
};

/// Runs the command with its output thrown away.
Cost cost_of(std::vector<std::string> arguments) {
  arguments.insert(arguments.begin(), TILEFLUX_COMMAND);
  std::vector<char*> raw;
  for (std::string& argument : arguments) raw.push_back(argument.data());
  raw.push_back(nullptr);
  const auto begin = std::chrono::steady_clock::now();
  const pid_t child = ::fork();
  if (child == 0) {
    const int nowhere = ::open("/dev/null", O_WRONLY);
    ::dup2(nowhere, STDOUT_FILENO);
    ::dup2(nowhere, STDERR_FILENO);
    ::execv(raw.front(), raw.data());
    ::_exit(127);
  }
  Cost cost;
  int status = 0;
  rusage usage{};
  if (child < 0 || ::wait4(child, &status, 0, &usage) != child) return cost;
  cost.wall_s = std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
  cost.status = WIFEXITED(status) ? WEXITSTATUS(status) : 128;
  cost.peak_MB = static_cast<double>(usage.ru_maxrss) * 1024.0 / 1e6;
  return cost;
}

/// The quickest of several runs: what else a shared machine does only adds to what the command costs.
Cost least_cost_of(const std::vector<std::string>& arguments, int runs) {
  std::vector<Cost> costs;
  for (int i = 0; i < runs; ++i) costs.push_back(cost_of(arguments));
  return *std::min_element(costs.begin(), costs.end(),
                           [](const Cost& a, const Cost& b) { return a.wall_s < b.wall_s; });
}

const std::string lamplighter = TILEFLUX_PROJECT_DIR "/cases/lamplighter/case.yaml";

constexpr double balance_s = 0.050;
constexpr double balance_with_why_s = 1.0 / 6.0;
constexpr double balance_MB = 60.0;
constexpr double day_with_144_cycles_s = 1.0;
constexpr double size_s = 1.0;

/// The tile with its outer wing as a fin to be sized in everything, for every limit, with a cold case.
std::string with_finned_wing(std::string text) {
  const std::string wing = "wing_outer: {on: wing_outer, area: 0.12 m2, faces: 2, ";
  const std::size_t at = text.find(wing);
  if (at == std::string::npos) throw std::runtime_error("the Lamplighter tile has no such wing");
  text.insert(at + wing.size(), "fin: {material: aluminium_6061_t6, thickness: 1 mm, length: 60 mm, segments: 4}, ");
  return text +
         "\nsize: {surface: wing_outer, area: [0.02 m2, 6 m2], thickness: [0.2 mm, 4 mm], pitch: [40 mm, 600 mm], "
         "faces: either, pipe_mass: 0.3 kg/m, margin: 0 K, area_margin: 0 %, light: 170 W, hot: {life: begin}, "
         "cold: {distance: 2 AU}}\n";
}

/// 0 done, 1 the answer is "no": both are answers.
bool answered(const Cost& cost) { return cost.status == 0 || cost.status == 1; }

TEST(TimingOfBalance, IsUnderFiftyMillisecondsForTheWholeProcess) {
  if (!test::for_release) GTEST_SKIP() << "times count in a release build only";
  const Cost cost = least_cost_of({"balance", lamplighter, "--no-why"}, 21);
  ASSERT_TRUE(answered(cost)) << cost.status;
  EXPECT_LT(cost.wall_s, test::allowed(balance_s));
}

TEST(TimingOfBalance, WithItsReasonsIsUnderASixthOfASecond) {
  if (!test::for_release) GTEST_SKIP() << "times count in a release build only";
  const Cost cost = least_cost_of({"balance", lamplighter}, 7);
  ASSERT_TRUE(answered(cost)) << cost.status;
  EXPECT_LT(cost.wall_s, test::allowed(balance_with_why_s));
}

TEST(TimingOfBalance, TakesLessThanSixtyMegabytes) {
  if (!test::for_release) GTEST_SKIP() << "memory counts in a release build only";
  const Cost cost = cost_of({"balance", lamplighter});
  ASSERT_TRUE(answered(cost)) << cost.status;
  EXPECT_LT(cost.peak_MB, balance_MB);
}

TEST(TimingOfSize, OfTheLamplighterTileIsUnderASecond) {
  if (!test::for_release) GTEST_SKIP() << "times count in a release build only";
  const test::TemporaryDirectory directory;
  const std::string file = (directory / "case.yaml").string();
  test::write_file(file, with_finned_wing(test::read_file(lamplighter)));
  const Cost cost = least_cost_of({"size", file}, 5);
  ASSERT_EQ(cost.status, 0);
  EXPECT_LT(cost.wall_s, test::allowed(size_s));
}

TEST(TimingOfRun, OfADayWith144BeamCyclesIsUnderASecond) {
  if (!test::for_release) GTEST_SKIP() << "times count in a release build only";
  const Cost cost = least_cost_of({"run", lamplighter}, 5);
  ASSERT_TRUE(answered(cost)) << cost.status;
  EXPECT_LT(cost.wall_s, test::allowed(day_with_144_cycles_s));
}

}  // namespace tileflux::timing_test
