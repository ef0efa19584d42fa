/// `sweep` of answers by name: designs, files that survive being killed, and what it refuses before anything runs.

#include <gmock/gmock.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <csignal>
#include <nlohmann/json.hpp>
#include <string>
#include <thread>
#include <vector>

#include "support/child_process.h"
#include "support/temporary_directory.h"

namespace tileflux::sweep_rows_test {

using test::ProgramResult;
using test::read_file;
using test::run_program;
using test::TemporaryDirectory;
using ::testing::AllOf;
using ::testing::HasSubstr;

const std::string lamplighter_case = TILEFLUX_PROJECT_DIR "/cases/lamplighter/case.yaml";

std::vector<std::string> rows_words(std::vector<std::string> more) {
  std::vector<std::string> words{TILEFLUX_COMMAND, "sweep", lamplighter_case};
  words.insert(words.end(), more.begin(), more.end());
  return words;
}

ProgramResult rows_of(std::vector<std::string> more) { return run_program(rows_words(std::move(more))); }

nlohmann::json rows_json(std::vector<std::string> more) {
  more.emplace_back("--json");
  const ProgramResult result = rows_of(std::move(more));
  EXPECT_EQ(result.exit_status, 0) << result.standard_error;
  return nlohmann::json::parse(result.standard_output);
}

const std::vector<std::string> small_grid{"--vary", "sun.tilt=0,20,40 deg", "--vary", "sun.distance=0.9..1.3AU",
                                          "--points", "40", "--output", "usable_laser_power,temperature.bench.on,regime"};

std::vector<std::string> with(std::vector<std::string> words, const std::vector<std::string>& more) {
  words.insert(words.end(), more.begin(), more.end());
  return words;
}

TEST(SweepRows, AreEveryCombinationAndEachIsWhatASweepOfOneValueFinds) {
  const nlohmann::json found = rows_json(small_grid);
  EXPECT_EQ(found["rows"], 120);
  EXPECT_EQ(found["answered"], 120);
  EXPECT_EQ(found["varied"][1]["path"], "sun.distance");
  EXPECT_EQ(found["varied"][0]["values_si"][0], found["varied"][0]["values_si"][39]);
  const nlohmann::json one = rows_json({"--vary", "sun.distance=0.9..1.3AU", "--points", "40", "--no-duty"});
  for (std::size_t i = 0; i < 40; ++i) {
    const double expected_W = one["points"][i]["usable_laser_power_W"];
    // Steady states close to 1e-12 of the power.
    EXPECT_NEAR(found["answers"]["usable_laser_power"]["values"][i], expected_W, 1e-6) << i;
  }
}

TEST(SweepRows, AreToldInATableThatFitsATerminal) {
  const ProgramResult result = rows_of(small_grid);
  ASSERT_EQ(result.exit_status, 0) << result.standard_error;
  EXPECT_THAT(result.standard_output, AllOf(HasSubstr("120 of 120 rows of a grid over 2 inputs"), HasSubstr("over all rows"),
                                            HasSubstr("usable_laser_power (W)"), HasSubstr("heat-limited")));
}

TEST(SweepRows, HaveTheSameBytesForAnyThreads) {
  const TemporaryDirectory directory;
  for (const char* threads : {"1", "2", "3"}) {
    const ProgramResult result = rows_of(with(small_grid, {"--threads", threads, "--out", (directory / threads).string()}));
    ASSERT_EQ(result.exit_status, 0) << result.standard_error;
  }
  for (const char* name : {"answers.csv", "answers.nc", "design.json"}) {
    EXPECT_EQ(read_file(directory / "1" / name), read_file(directory / "2" / name)) << name;
    EXPECT_EQ(read_file(directory / "1" / name), read_file(directory / "3" / name)) << name;
  }
}

/// Starts a sweep and kills it as soon as `rows` lines stand in its CSV file.
void kill_behind(const std::vector<std::string>& words, const std::filesystem::path& out, long rows) {
  const pid_t child = ::fork();
  if (child == 0) {
    std::vector<char*> arguments;
    for (const std::string& word : words) arguments.push_back(const_cast<char*>(word.c_str()));
    arguments.push_back(nullptr);
    if (::freopen("/dev/null", "w", stdout) == nullptr) ::_exit(98);
    ::execv(arguments[0], arguments.data());
    ::_exit(99);
  }
  for (int i = 0; i < 3000; ++i) {
    std::error_code ignored;
    const bool there = std::filesystem::exists(out / "answers.csv", ignored);
    if (there && rows >= 0) {
      const std::string text = read_file(out / "answers.csv");
      if (std::count(text.begin(), text.end(), '\n') >= rows + 2) break;
    }
    if (there && rows < 0) break;
    if (::waitpid(child, nullptr, WNOHANG) == child) return;
    std::this_thread::sleep_for(std::chrono::milliseconds(1));
  }
  ::kill(child, SIGKILL);
  ::waitpid(child, nullptr, 0);
}

TEST(SweepRows, ThatAreKilledGoOnWhereTheyWere) {
  const TemporaryDirectory directory;
  const std::vector<std::string> grid{"--vary", "sun.tilt=0..60 deg", "--vary", "sun.distance=0.8..1.4AU", "--points",
                                      "40",     "--threads",          "2"};
  ASSERT_EQ(rows_of(with(grid, {"--out", (directory / "whole").string()})).exit_status, 0);
  const std::filesystem::path out = directory / "killed";
  const std::vector<std::string> words = with(grid, {"--out", out.string()});
  // As soon as there is a file, then in the middle, twice.
  for (const long rows : {-1L, 300L, 800L}) kill_behind(rows_words(words), out, rows);
  const std::string text = read_file(out / "answers.csv");
  const long there = std::count(text.begin(), text.end(), '\n') - 2;
  EXPECT_GT(there, 0);
  const nlohmann::json last = rows_json(words);
  EXPECT_EQ(last["answered"].get<long>() + last["without_an_answer"].get<long>(), 1600);
  // Nothing that was complete is solved again, but for a segment that was cut through.
  EXPECT_LE(last["solved_now"].get<long>(), 1600 - there + 32);
  for (const char* name : {"answers.csv", "answers.nc"})
    EXPECT_EQ(read_file(out / name), read_file(directory / "whole" / name)) << name;
  EXPECT_EQ(rows_json(words)["solved_now"], 0);
}

TEST(SweepRows, OfAnotherSweepAreNotMixedIn) {
  const TemporaryDirectory directory;
  const std::string out = (directory / "out").string();
  ASSERT_EQ(rows_of(with(small_grid, {"--out", out})).exit_status, 0);
  std::vector<std::string> other = small_grid;
  other.back() = "usable_laser_power";
  const ProgramResult result = rows_of(with(other, {"--out", out}));
  EXPECT_EQ(result.exit_status, 2);
  EXPECT_THAT(result.standard_error, AllOf(HasSubstr("option-wrong"), HasSubstr("`outputs` differs")));
}

TEST(SweepRows, AreDrawnFromRanges) {
  for (const char* sample : {"latin=20", "sobol=16"}) {
    const nlohmann::json found = rows_json({"--vary", "sun.distance=0.9..1.3AU", "--vary", "parts.bench.mass=1..2 kg",
                                            "--sample", sample, "--output", "usable_laser_power"});
    EXPECT_EQ(found["rows"], std::stoi(std::string(sample).substr(6)));
    EXPECT_EQ(found["without_an_answer"], 0);
  }
}

TEST(SweepRows, AnswerEveryQuestion) {
  const nlohmann::json duty = rows_json({"--vary", "sun.distance=1,1.1 AU", "--ask", "duty", "--output", "burst.length,continuous_rating.drive"});
  EXPECT_GT(duty["answers"]["continuous_rating.drive"]["values"][0], 0.0);
  const nlohmann::json run = rows_json({"--vary", "run.duration=20,40 min", "--ask", "run", "--output", "beam_time,temperature.bench.most"});
  EXPECT_EQ(run["answers"]["beam_time"]["values"][1], 1200.0);
  const ProgramResult size = run_program({TILEFLUX_COMMAND, "sweep", TILEFLUX_PROJECT_DIR "/cases/sized_radiator/case.yaml",
                                          "--vary", "sun.distance=1,1.05 AU", "--ask", "size", "--json"});
  ASSERT_EQ(size.exit_status, 0) << size.standard_error;
  EXPECT_GT(nlohmann::json::parse(size.standard_output)["answers"]["area"]["values"][0], 0.0);
}

TEST(SweepRows, WithoutAnAnswerAreKeptAndTold) {
  const nlohmann::json found = rows_json({"--vary", "limits.cells.above=300..400 K", "--points", "5", "--output", "regime"});
  EXPECT_GT(found["without_an_answer"], 0);
  EXPECT_LT(found["without_an_answer"], 5);
  EXPECT_THAT(found["troubles"][0].get<std::string>(), HasSubstr("limits-contradict"));
}

TEST(SweepRows, AreRefusedBeforeAnythingRuns) {
  struct Refusal {
    std::vector<std::string> words;
    std::string told;
  };
  const std::vector<Refusal> refusals{
      {{"--vary", "sun.distanse=1..2AU", "--ask", "steady"}, "did you mean 'sun.distance'?"},
      {{"--vary", "sun.distance=2..1AU", "--ask", "steady"}, "runs backwards"},
      {{"--vary", "sun.distance=1..1AU", "--ask", "steady"}, "is empty"},
      {{"--vary", "sun.distance=1..2kg", "--ask", "steady"}, "dimension-wrong"},
      {{"--vary", "sun.distance=1..2AU", "--vary", "sun.distance=1..3AU"}, "varied twice"},
      {{"--vary", "sun.distance=1..2AU", "--vary", "sun.tilt=0..1rad", "--points", "10000"}, "2000000 rows"},
      {{"--vary", "sun.distance=1..2AU", "--sample", "sobol=99999999"}, "2000000 rows"},
      {{"--vary", "sun.distance=1..2AU", "--sample", "sobel=64"}, "latin=N"},
      {{"--vary", "sun.distance=1,2AU", "--sample", "latin=64"}, "has a list"},
      {{"--vary", "sun.distance=1..2AU", "--ask", "duti"}, "did you mean 'duty'?"},
      {{"--vary", "sun.distance=1..2AU", "--output", "usable_laser_pover"}, "did you mean 'usable_laser_power'?"},
      {{"--vary", "sun.distance=1..2AU", "--ask", "steady", "--threads", "-1"}, "--threads"},
      {{"--vary", "sun.distance=1..2AU", "--ask", "steady", "--no-duty"}, "--no-duty"},
      {{"--vary", "sun.distance=1..2AU", "--ask", "size"}, "key-missing"},
  };
  for (const Refusal& refusal : refusals) {
    const ProgramResult result = rows_of(refusal.words);
    EXPECT_EQ(result.exit_status, 2) << refusal.told;
    EXPECT_THAT(result.standard_error, HasSubstr(refusal.told));
  }
}

/// Whether this build can be launched by mpirun.
bool has_ranks() {
  const ProgramResult cache = run_program({"grep", "-q", "TILEFLUX_MPI:BOOL=ON", TILEFLUX_BUILD_DIR "/CMakeCache.txt"});
  return cache.exit_status == 0 && run_program({"mpirun", "--version"}).exit_status == 0;
}

ProgramResult on_two_ranks(const std::vector<std::string>& words) {
  return run_program(with({"mpirun", "--allow-run-as-root", "--oversubscribe", "-n", "2"}, words));
}

TEST(SweepRows, HaveTheSameBytesOnTwoRanks) {
  if (!has_ranks()) GTEST_SKIP() << "built without MPI";
  const TemporaryDirectory directory;
  const std::vector<std::string> grid{"--vary", "sun.tilt=0..60 deg", "--vary", "sun.distance=0.9..1.3AU", "--points", "25"};
  ASSERT_EQ(rows_of(with(grid, {"--out", (directory / "one").string()})).exit_status, 0);
  const ProgramResult two = on_two_ranks(rows_words(with(grid, {"--out", (directory / "two").string(), "--threads", "1"})));
  ASSERT_EQ(two.exit_status, 0) << two.standard_error;
  EXPECT_THAT(two.standard_output, HasSubstr("625 of 625 rows"));
  EXPECT_EQ(two.standard_output.find("625 of 625"), two.standard_output.rfind("625 of 625")) << "one rank talks";
  for (const char* name : {"answers.csv", "answers.nc", "design.json"})
    EXPECT_EQ(read_file(directory / "one" / name), read_file(directory / "two" / name)) << name;
}

TEST(SweepRows, EndOnAllRanksWithTheStatusOfTheError) {
  if (!has_ranks()) GTEST_SKIP() << "built without MPI";
  const ProgramResult result = on_two_ranks(rows_words({"--vary", "sun.distanse=1..2AU", "--ask", "steady"}));
  EXPECT_EQ(result.exit_status, 2);
  const std::size_t first = result.standard_error.find("key-unknown");
  EXPECT_NE(first, std::string::npos);
  EXPECT_EQ(result.standard_error.find("key-unknown", first + 1), std::string::npos) << "one rank talks";
}

}  // namespace tileflux::sweep_rows_test
