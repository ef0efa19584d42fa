/// What the command leaves on the disk: where, in which form, after a full disk, an interrupt or a sudden end.

#include <gmock/gmock.h>

#include <filesystem>
#include <map>
#include <nlohmann/json.hpp>
#include <sstream>

#include "support/child_process.h"
#include "support/temporary_directory.h"

namespace tileflux::files_test {

namespace fs = std::filesystem;
using test::ProgramResult;
using test::read_file;
using test::run_program;
using test::TemporaryDirectory;
using test::write_file;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::StartsWith;

const std::string command = TILEFLUX_COMMAND;
const std::string lamplighter = TILEFLUX_PROJECT_DIR "/cases/lamplighter/case.yaml";

std::map<std::string, std::string> tree_of(const fs::path& top) {
  std::map<std::string, std::string> files;
  for (const auto& entry : fs::recursive_directory_iterator(top)) {
    files[entry.path().lexically_relative(top).string()] = entry.is_regular_file() ? read_file(entry.path()) : "directory";
  }
  return files;
}

std::vector<std::string> lines_of(const fs::path& file) {
  std::istringstream input(read_file(file));
  std::vector<std::string> lines;
  for (std::string line; std::getline(input, line);) lines.push_back(line);
  return lines;
}

/// Reads series.nc and prints rows, last time and whether all is finite and the time rises.
ProgramResult read_series(const fs::path& directory) {
  return run_program({"/usr/bin/python3", "-c", R"(
import sys, numpy, xarray
series = xarray.open_dataset(sys.argv[1], decode_times=False)
time = series['time'].values
temperature = series['temperature'].values
assert series.attrs['Conventions'].startswith('CF-'), series.attrs
assert series.attrs['title'] and series.attrs['source'].startswith('tileflux')
assert series['time'].attrs['units'] == 's' and series['temperature'].attrs['units'] == 'K'
assert all(series[name].attrs['units'] and series[name].attrs['long_name'] for name in series.data_vars if name != 'part_name')
assert temperature.shape == (len(time), series.sizes['part'])
assert numpy.all(numpy.diff(time) > 0) and numpy.all(numpy.isfinite(temperature)) and numpy.all(temperature > 1)
assert numpy.all(numpy.isfinite(series['light_out_W'].values))
print(len(time), time[-1] if len(time) else -1, b''.join(series['part_name'].values[0].flat).decode() if series['part_name'].values.dtype.kind == 'S' and series['part_name'].ndim > 1 else series['part_name'].values[0])
)",
                      (directory / "series.nc").string()});
}

/// A series.csv with a row of names, a row of units and rows that are all complete.
std::size_t rows_of_series(const fs::path& directory) {
  const std::string text = read_file(directory / "series.csv");
  EXPECT_TRUE(text.ends_with("\n")) << "the last row is not whole";
  const auto lines = lines_of(directory / "series.csv");
  if (lines.size() < 2) return 0;
  EXPECT_THAT(lines[0], StartsWith("time,temperature."));
  EXPECT_THAT(lines[1], StartsWith("s,K,"));
  const auto commas = [](const std::string& line) { return std::count(line.begin(), line.end(), ','); };
  for (const std::string& line : lines) EXPECT_EQ(commas(line), commas(lines[0])) << line;
  return lines.size() - 2;
}

TEST(OutputFiles, AreTheOnlyThingARunWrites) {
  const TemporaryDirectory place;
  fs::create_directories(place / "home");
  fs::create_directories(place / "work");
  const std::string work = (place / "work").string();
  for (const std::string verb : {"balance", "run", "duty"}) {
    const ProgramResult result = run_program({"env", "HOME=" + (place / "home").string(), "TMPDIR=" + (place / "home").string(), command, verb, lamplighter, "--out", "results/of/" + verb}, work);
    EXPECT_LE(result.exit_status, 1) << result.standard_error;
    EXPECT_THAT(result.standard_error, IsEmpty());
  }
  std::vector<std::string> names;
  for (const auto& [name, content] : tree_of(place.path())) names.push_back(name);
  EXPECT_THAT(names, ::testing::UnorderedElementsAre("home", "work", "work/results", "work/results/of", "work/results/of/balance", "work/results/of/balance/balance.json",
                                            "work/results/of/duty", "work/results/of/duty/duty.json", "work/results/of/run", "work/results/of/run/events.csv",
                                            "work/results/of/run/run.json", "work/results/of/run/series.csv", "work/results/of/run/series.nc"));
  for (const std::string verb : {"balance", "run", "duty"}) {
    EXPECT_EQ(nlohmann::json::parse(read_file(place / ("work/results/of/" + verb + '/' + verb + ".json"))).at("verb"), verb);
  }
}

TEST(OutputFiles, AreNotWrittenWithoutAWord) {
  const TemporaryDirectory place;
  for (const std::string verb : {"check", "balance", "run", "duty", "materials"}) {
    run_program({"env", "HOME=" + place.path().string(), "TMPDIR=" + place.path().string(), command, verb, lamplighter}, place.path().string());
  }
  EXPECT_THAT(tree_of(place.path()), IsEmpty());
}

TEST(OutputFiles, OfARunOpenInXarrayAndHaveUnits) {
  const TemporaryDirectory place;
  const ProgramResult run = run_program({command, "run", lamplighter, "--duration", "2 h", "--every", "30 s", "--out", place.path().string()});
  ASSERT_LE(run.exit_status, 1) << run.standard_error;
  const ProgramResult series = read_series(place.path());
  EXPECT_EQ(series.exit_status, 0) << series.standard_error;
  constexpr std::size_t rows = 2 * 3600 / 30 + 1;  // both ends
  EXPECT_THAT(series.standard_output, HasSubstr(std::to_string(rows) + " 7200.0 ")) << series.standard_output;
  EXPECT_THAT(series.standard_output, HasSubstr("cover"));
  EXPECT_EQ(rows_of_series(place.path()), rows);
  const auto events = lines_of(place / "events.csv");
  ASSERT_GE(events.size(), 3u);
  EXPECT_EQ(events[0], "time_s,what,where,value,unit");
  EXPECT_EQ(events[1], "s,,,,");
  EXPECT_THAT(events[2], StartsWith("0,beam_on,beam,"));
}

TEST(OutputFiles, OfASecondRunReplaceThoseOfTheFirst) {
  const TemporaryDirectory place;
  const std::vector<std::string> longer{command, "run", lamplighter, "--duration", "1 h", "--out", place.path().string()};
  std::vector<std::string> shorter = longer;
  shorter[4] = "10 min";
  ASSERT_LE(run_program(longer).exit_status, 1);
  ASSERT_LE(run_program(shorter).exit_status, 1);
  EXPECT_EQ(rows_of_series(place.path()), 11u);
  EXPECT_THAT(read_series(place.path()).standard_output, StartsWith("11 600.0"));
  EXPECT_EQ(nlohmann::json::parse(read_file(place / "run.json")).at("end_s"), 600.0);
  EXPECT_EQ(tree_of(place.path()).size(), 4u);
}

TEST(OutputFiles, CannotGoWhereAFileStands) {
  const TemporaryDirectory place;
  write_file(place / "taken", "mine\n");
  for (const std::string verb : {"balance", "run", "duty"}) {
    for (const std::string target : {"taken", "taken/below"}) {
      const ProgramResult result = run_program({command, verb, lamplighter, "--out", (place / target).string()});
      EXPECT_EQ(result.exit_status, 2) << verb;
      EXPECT_THAT(result.standard_error, HasSubstr("output-unwritable"));
      EXPECT_THAT(result.standard_error, HasSubstr((place / target).string()));
      EXPECT_THAT(result.standard_error, HasSubstr("directory"));
      EXPECT_THAT(result.standard_output, IsEmpty());
    }
  }
  EXPECT_EQ(read_file(place / "taken"), "mine\n");
}

TEST(OutputFiles, CannotGoIntoAFileSystemWithoutWriting) {
  const ProgramResult result = run_program({command, "balance", lamplighter, "--out", "/proc/tileflux"});
  EXPECT_EQ(result.exit_status, 2);
  EXPECT_THAT(result.standard_error, HasSubstr("/proc/tileflux: "));
}

TEST(OutputFiles, DoNotFollowALinkOutOfTheDirectory) {
  const TemporaryDirectory place;
  write_file(place / "precious", "mine\n");
  fs::create_directories(place / "out");
  fs::create_symlink(place / "precious", place / "out/series.csv");
  const ProgramResult result = run_program({command, "run", lamplighter, "--duration", "10 min", "--out", (place / "out").string()});
  EXPECT_EQ(result.exit_status, 2);
  EXPECT_THAT(result.standard_error, HasSubstr("series.csv"));
  EXPECT_EQ(read_file(place / "precious"), "mine\n");
}

TEST(OutputFiles, BeyondALimitOfTheSystemAreToldWithPathAndReason) {
  const TemporaryDirectory place;
  const std::string call = "ulimit -f 6000; exec " + command + " run " + lamplighter + " --every '1 s' --out " + place.path().string();
  const ProgramResult result = run_program({"sh", "-c", call});
  EXPECT_EQ(result.exit_status, 2) << result.standard_error;
  EXPECT_THAT(result.standard_error, HasSubstr("output-unwritable: cannot write " + place.path().string() + "/series."));
  EXPECT_THAT(result.standard_error, HasSubstr("File too large"));
  rows_of_series(place.path());
}

/// Starts a long run, waits for its first rows, then sends a signal after a while. What it leaves behind is in `out`.
ProgramResult run_and_signal(const fs::path& out, const std::string& signal, const std::string& after_s) {
  const std::string script =
      "\"$1\" run \"$2\" --duration '3000 day' --every '900 s' --out \"$3\" & pid=$!\n"
      "for i in $(seq 1 600); do [ \"$(wc -l < \"$3/series.csv\" || echo 0)\" -gt 2 ] 2>/dev/null && break; sleep 0.05; done 2>/dev/null\n"
      "sleep \"$5\"; kill \"-$4\" $pid; wait $pid";
  return run_program({"bash", "-c", script, "script", command, lamplighter, out.string(), signal, after_s});
}

TEST(Interrupt, LeavesWholeFilesAndSaysSo) {
  for (const std::string signal : {"INT", "TERM"}) {
    const TemporaryDirectory place;
    const ProgramResult result = run_and_signal(place.path(), signal, "0.2");
    EXPECT_EQ(result.exit_status, 3) << result.standard_error;
    EXPECT_THAT(result.standard_output, HasSubstr("INTERRUPTED"));
    const std::size_t rows = rows_of_series(place.path());
    EXPECT_GT(rows, 0u);
    const ProgramResult series = read_series(place.path());
    EXPECT_EQ(series.exit_status, 0) << series.standard_error;
    EXPECT_THAT(series.standard_output, StartsWith(std::to_string(rows) + ' ')) << "both files hold the same rows";
    const auto summary = nlohmann::json::parse(read_file(place / "run.json"));
    EXPECT_EQ(summary.at("outcome"), "interrupted");
    EXPECT_GE(summary.at("end_s").get<double>(), static_cast<double>(rows - 1) * 900.0);
  }
}

TEST(Interrupt, EndsACommandThatWaitsForItsCase) {
  const TemporaryDirectory place;
  const std::string script = "mkfifo \"$2\"; \"$1\" check \"$2\" & pid=$!; sleep 0.5; kill -TERM $pid; wait $pid";
  const ProgramResult result = run_program({"bash", "-c", script, "script", command, (place / "case.yaml").string()});
  EXPECT_EQ(result.exit_status, 128 + 15);
}

TEST(SuddenEnd, AtAnyMomentLeavesReadableFiles) {
  for (const std::string after_s : {"0", "0.037", "0.11", "0.23", "0.41", "0.77"}) {
    const TemporaryDirectory place;
    const ProgramResult result = run_and_signal(place.path(), "KILL", after_s);
    EXPECT_EQ(result.exit_status, 128 + 9);
    const ProgramResult series = read_series(place.path());
    EXPECT_EQ(series.exit_status, 0) << after_s << series.standard_error;
    EXPECT_FALSE(fs::exists(place / "run.json")) << "a summary stands only behind a run that has ended";
    const std::string csv = read_file(place / "series.csv");
    EXPECT_GT(std::count(csv.begin(), csv.end(), '\n'), 2) << "some rows are there";
    const std::string whole = csv.substr(0, csv.rfind('\n') + 1);
    std::istringstream lines(whole);
    std::string head, line;
    std::getline(lines, head);
    while (std::getline(lines, line)) {
      ASSERT_EQ(std::count(line.begin(), line.end(), ','), std::count(head.begin(), head.end(), ',')) << line;
    }
  }
}

}  // namespace tileflux::files_test
