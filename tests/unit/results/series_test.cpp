#include "tileflux/results/series.h"

#include <gtest/gtest.h>
#include <netcdf.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <csignal>
#include <limits>
#include <sstream>

#include "expect_unwritable.h"
#include "support/child_process.h"
#include "support/temporary_directory.h"

namespace tileflux::results::series_test {

using test::TemporaryDirectory;

SeriesLayout small_layout() {
  return {.title = "Two parts",
          .parts = {"cover", "laser.w\xc3\xa4rme"},
          .scalars = {{"light_out", "W", "light out"}, {"duty", "1", "share of beam time"}}};
}

/// A netCDF file read back through the C interface, every status checked.
class OpenFile {
 public:
  explicit OpenFile(const std::filesystem::path& path) { check(nc_open(path.c_str(), NC_NOWRITE, &id_)); }
  OpenFile(const OpenFile&) = delete;
  OpenFile& operator=(const OpenFile&) = delete;
  ~OpenFile() { nc_close(id_); }

  int id() const { return id_; }

  std::size_t length(const char* dimension) const {
    int number = -1;
    std::size_t length = 0;
    check(nc_inq_dimid(id_, dimension, &number));
    check(nc_inq_dimlen(id_, number, &length));
    return length;
  }

  int variable(const std::string& name) const {
    int number = -1;
    check(nc_inq_varid(id_, name.c_str(), &number));
    return number;
  }

  std::vector<double> values(const std::string& name, std::size_t size) const {
    std::vector<double> values(size);
    check(nc_get_var_double(id_, variable(name), values.data()));
    return values;
  }

  std::string attribute(int variable, const char* name) const {
    std::size_t length = 0;
    check(nc_inq_attlen(id_, variable, name, &length));
    std::string text(length, '\0');
    check(nc_get_att_text(id_, variable, name, text.data()));
    return text;
  }

  static void check(int status) {
    if (status != NC_NOERR) throw std::runtime_error(nc_strerror(status));
  }

 private:
  int id_ = -1;
};

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream input(text);
  for (std::string line; std::getline(input, line);) lines.push_back(line);
  return lines;
}

TEST(SeriesWriter, WritesNetcdfThatSaysWhatItHolds) {
  const TemporaryDirectory here;
  SeriesWriter writer(OutputDirectory(here.path()), small_layout());
  writer.append(0.0, std::array{300.0, 310.5}, std::array{120.0, 0.5});
  writer.append(10.0, std::array{301.25, 320.0}, std::array{0.0, 0.25});
  writer.close();

  const OpenFile file(here / "series.nc");
  int format = 0, unlimited = -1, time = -1;
  OpenFile::check(nc_inq_format(file.id(), &format));
  OpenFile::check(nc_inq_unlimdim(file.id(), &unlimited));
  OpenFile::check(nc_inq_dimid(file.id(), "time", &time));
  EXPECT_EQ(format, NC_FORMAT_NETCDF4_CLASSIC);
  EXPECT_EQ(unlimited, time);
  EXPECT_EQ(file.length("time"), 2u);
  EXPECT_EQ(file.length("part"), 2u);
  EXPECT_EQ(file.values("time", 2), (std::vector{0.0, 10.0}));
  EXPECT_EQ(file.values("temperature", 4), (std::vector{300.0, 310.5, 301.25, 320.0}));
  EXPECT_EQ(file.values("light_out", 2), (std::vector{120.0, 0.0}));
  EXPECT_EQ(file.values("duty", 2), (std::vector{0.5, 0.25}));
  EXPECT_EQ(file.attribute(file.variable("time"), "units"), "s");
  EXPECT_EQ(file.attribute(file.variable("temperature"), "units"), "K");
  EXPECT_EQ(file.attribute(file.variable("light_out"), "units"), "W");
  EXPECT_EQ(file.attribute(file.variable("light_out"), "long_name"), "light out");
  EXPECT_EQ(file.attribute(NC_GLOBAL, "Conventions"), "CF-1.8");
  EXPECT_EQ(file.attribute(NC_GLOBAL, "title"), "Two parts");
  EXPECT_EQ(file.attribute(NC_GLOBAL, "source"), "tileflux " TILEFLUX_VERSION);
}

TEST(SeriesWriter, StoresPartNamesAsPaddedUtf8) {
  const TemporaryDirectory here;
  SeriesWriter(OutputDirectory(here.path()), small_layout()).close();
  const OpenFile file(here / "series.nc");
  const std::size_t length = file.length("part_name_length");
  ASSERT_EQ(length, std::string("laser.w\xc3\xa4rme").size());
  std::string table(2 * length, '?');
  OpenFile::check(nc_get_var_text(file.id(), file.variable("part_name"), table.data()));
  EXPECT_EQ(table, "cover" + std::string(length - 5, '\0') + "laser.w\xc3\xa4rme");
  EXPECT_EQ(file.attribute(file.variable("part_name"), "_Encoding"), "utf-8");
}

TEST(SeriesWriter, WritesCsvWithNamesUnitsAndTheSameNumbers) {
  const TemporaryDirectory here;
  SeriesLayout layout = small_layout();
  layout.parts = {"cover", "a,b"};
  SeriesWriter writer(OutputDirectory(here.path()), layout);
  writer.append(0.1, std::array{300.0, 1.0 / 3.0}, std::array{120.0, 0.5});
  writer.close();
  EXPECT_EQ(test::read_file(here / "series.csv"),
            "time,temperature.cover,\"temperature.a,b\",light_out,duty\n"
            "s,K,K,W,1\n"
            "0.1,300,0.3333333333333333,120,0.5\n");
}

TEST(SeriesWriter, MarksAMissingValueInBothFiles) {
  const TemporaryDirectory here;
  const double missing = std::numeric_limits<double>::quiet_NaN();
  SeriesWriter writer(OutputDirectory(here.path()), small_layout());
  writer.append(0.0, std::array{300.0, missing}, std::array{missing, 0.5});
  writer.close();
  EXPECT_EQ(lines_of(test::read_file(here / "series.csv")).back(), "0,300,,,0.5");
  const OpenFile file(here / "series.nc");
  EXPECT_TRUE(std::isnan(file.values("temperature", 2)[1]));
  EXPECT_TRUE(std::isnan(file.values("light_out", 1)[0]));
  double fill = 0.0;
  OpenFile::check(nc_get_att_double(file.id(), file.variable("light_out"), "_FillValue", &fill));
  EXPECT_TRUE(std::isnan(fill));
}

TEST(SeriesWriter, KeepsEveryRowWhateverTheBlock) {
  for (const int block : {1, 7, 100, 1000}) {
    const TemporaryDirectory here;
    constexpr std::size_t rows = 100;
    {
      SeriesWriter writer(OutputDirectory(here.path()), small_layout(), {.rows_per_block = block});
      for (std::size_t i = 0; i < rows; ++i) {
        const auto x = static_cast<double>(i);
        writer.append(x, std::array{x + 0.25, x + 0.5}, std::array{2 * x, -x});
      }
      EXPECT_EQ(writer.rows(), 100);
    }  // the destructor closes
    const OpenFile file(here / "series.nc");
    ASSERT_EQ(file.length("time"), rows);
    const std::vector<double> temperatures_K = file.values("temperature", 2 * rows);
    const std::vector<double> duty = file.values("duty", rows);
    for (std::size_t i = 0; i < rows; ++i) {
      const auto x = static_cast<double>(i);
      EXPECT_EQ(temperatures_K[2 * i + 1], x + 0.5);
      EXPECT_EQ(duty[i], -x);
    }
    EXPECT_EQ(lines_of(test::read_file(here / "series.csv")).size(), rows + 2);
  }
}

TEST(SeriesWriter, KeepsTheTimeAxisRisingAcrossASwitch) {
  const TemporaryDirectory here;
  SeriesWriter writer(OutputDirectory(here.path()), small_layout());
  const std::array temperatures_K{300.0, 300.0};
  const std::array scalars{0.0, 0.0};
  for (const double time_s : {0.0, 300.0, 300.0, 300.0, 600.0}) writer.append(time_s, temperatures_K, scalars);
  writer.close();
  const std::vector<double> times_s = OpenFile(here / "series.nc").values("time", 5);
  EXPECT_EQ(std::adjacent_find(times_s.begin(), times_s.end(), std::greater_equal<>()), times_s.end());
  EXPECT_EQ(times_s[2], std::nextafter(300.0, 301.0));
  EXPECT_EQ(times_s[4], 600.0);
}

TEST(SeriesWriter, RefusesRowsThatDoNotFit) {
  const TemporaryDirectory here;
  SeriesWriter writer(OutputDirectory(here.path()), small_layout());
  const std::array temperatures_K{300.0, 300.0};
  const std::array scalars{0.0, 0.0};
  writer.append(5.0, temperatures_K, scalars);
  EXPECT_THROW(writer.append(6.0, std::array{300.0}, scalars), Error);
  EXPECT_THROW(writer.append(6.0, temperatures_K, std::array{0.0, 0.0, 0.0}), Error);
  EXPECT_THROW(writer.append(4.0, temperatures_K, scalars), Error);
  EXPECT_THROW(writer.append(std::numeric_limits<double>::quiet_NaN(), temperatures_K, scalars), Error);
  EXPECT_THROW(writer.append(std::numeric_limits<double>::infinity(), temperatures_K, scalars), Error);
  EXPECT_EQ(writer.rows(), 1);
  writer.close();
  writer.close();
  EXPECT_THROW(writer.append(7.0, temperatures_K, scalars), Error);
  EXPECT_EQ(OpenFile(here / "series.nc").length("time"), 1u);
}

TEST(SeriesWriter, RefusesALayoutThatCannotBeWritten) {
  const TemporaryDirectory here;
  const OutputDirectory directory(here.path());
  const auto refused = [&](auto change, SeriesOptions options = {}) {
    SeriesLayout layout = small_layout();
    change(layout);
    try {
      SeriesWriter(directory, layout, options).close();
    } catch (const Error& error) {
      return error.code() == Code::internal;
    }
    return false;
  };
  EXPECT_FALSE(refused([](SeriesLayout&) {}));
  EXPECT_TRUE(refused([](SeriesLayout& layout) { layout.parts.clear(); }));
  EXPECT_TRUE(refused([](SeriesLayout& layout) { layout.scalars[0].name = "time"; }));
  EXPECT_TRUE(refused([](SeriesLayout& layout) { layout.scalars[0].name = "duty"; }));
  EXPECT_TRUE(refused([](SeriesLayout& layout) { layout.scalars[0].name = "two words"; }));
  EXPECT_TRUE(refused([](SeriesLayout& layout) { layout.scalars[0].name = ""; }));
  EXPECT_TRUE(refused([](SeriesLayout&) {}, {.rows_per_block = 0}));
}

TEST(SeriesWriter, ReplacesAnOlderSeries) {
  const TemporaryDirectory here;
  test::write_file(here / "series.nc", "something else");
  test::write_file(here / "series.csv", std::string(10000, 'x'));
  SeriesWriter(OutputDirectory(here.path()), small_layout()).close();
  EXPECT_EQ(OpenFile(here / "series.nc").length("time"), 0u);
  EXPECT_EQ(lines_of(test::read_file(here / "series.csv")).size(), 2u);
}

TEST(SeriesWriter, MovedOverAnotherClosesBoth) {
  const TemporaryDirectory here;
  const OutputDirectory directory(here.path());
  const std::array temperatures_K{300.0, 300.0};
  const std::array scalars{0.0, 0.0};
  {
    SeriesLayout other_layout = small_layout();
    other_layout.stem = "other";
    SeriesWriter writer(directory, small_layout());
    SeriesWriter other(directory, other_layout);
    writer.append(1.0, temperatures_K, scalars);
    other.append(1.0, temperatures_K, scalars);
    writer = std::move(other);
    writer.append(2.0, temperatures_K, scalars);
  }
  EXPECT_EQ(OpenFile(here / "series.nc").length("time"), 1u);
  EXPECT_EQ(OpenFile(here / "other.nc").length("time"), 2u);
}

TEST(SeriesWriter, LeavesReadableFilesWhenTheRunIsKilled) {
  const TemporaryDirectory here;
  constexpr int block = 50;
  constexpr int rows_before_kill = 1020;
  std::array<int, 2> pipe_ends{};
  ASSERT_EQ(::pipe(pipe_ends.data()), 0);
  const pid_t child = ::fork();
  ASSERT_GE(child, 0);
  if (child == 0) {
    ::alarm(60);
    SeriesWriter writer(OutputDirectory(here.path()), small_layout(), {.rows_per_block = block});
    for (int i = 0; i < rows_before_kill; ++i) {
      writer.append(i, std::array{i + 0.25, i + 0.5}, std::array{2.0 * i, -1.0 * i});
    }
    if (::write(pipe_ends[1], "r", 1) != 1) ::_exit(1);
    for (;;) ::pause();
  }
  char ready = 0;
  ::close(pipe_ends[1]);
  ASSERT_EQ(::read(pipe_ends[0], &ready, 1), 1);
  ::close(pipe_ends[0]);
  ASSERT_EQ(::kill(child, SIGKILL), 0);
  int status = 0;
  ASSERT_EQ(::waitpid(child, &status, 0), child);
  ASSERT_TRUE(WIFSIGNALED(status));

  constexpr std::size_t whole_blocks = rows_before_kill / block * block;
  const OpenFile file(here / "series.nc");
  ASSERT_EQ(file.length("time"), whole_blocks);
  const std::vector<double> temperatures_K = file.values("temperature", 2 * whole_blocks);
  const std::vector<double> duty = file.values("duty", whole_blocks);
  for (std::size_t i = 0; i < whole_blocks; ++i) {
    EXPECT_EQ(temperatures_K[2 * i], static_cast<double>(i) + 0.25);
    EXPECT_EQ(duty[i], -static_cast<double>(i));
  }
  EXPECT_EQ(lines_of(test::read_file(here / "series.csv")).size(), whole_blocks + 2);
}

/// Appends until the disk, as it were, is full.
void fill(SeriesWriter& writer) {
  constexpr int far_too_many = 1000000;
  for (int i = 0; i < far_too_many; ++i) writer.append(i, std::array{300.125, 300.25}, std::array{0.5, 0.5});
}

TEST(SeriesWriter, SaysThatTheDiskIsFullAndLeavesWhatWasWritten) {
  const TemporaryDirectory here;
  constexpr rlim_t limit_bytes = 1 << 21;
  const int status = test::run_in_child([&] {
    test::limit_file_size(limit_bytes);
    test::expect_unwritable(
        [&] {
          SeriesWriter writer(OutputDirectory(here.path()), small_layout());
          fill(writer);
        },
        {(here / "series.").string(), "File too large"});
    return test::child_verdict();
  });
  EXPECT_EQ(status, 0);
  const OpenFile file(here / "series.nc");
  EXPECT_GT(file.length("time"), 1000u);
  EXPECT_EQ(file.values("temperature", 2 * file.length("time")).back(), 300.25);
}

TEST(SeriesWriter, SaysThatNetcdfMeetsAFullDisk) {
  const TemporaryDirectory here;
  SeriesLayout layout = small_layout();  // names so long that the binary file needs more room than the text
  layout.parts.push_back(std::string(20000, 'x'));
  constexpr rlim_t limit_bytes = 32768;
  const int status = test::run_in_child([&]() -> int {
    test::limit_file_size(limit_bytes);
    test::expect_unwritable([&] { SeriesWriter writer(OutputDirectory(here.path()), layout); },
                            {(here / "series.nc").string(), "File too large"});
    std::exit(test::child_verdict());  // what the library does at the end of a process must not fail either
  });
  EXPECT_EQ(status, 0);
}

TEST(SeriesWriter, DoesNotFollowALinkOutOfTheDirectory) {
  const TemporaryDirectory here;
  const OutputDirectory directory(here / "out");
  test::write_file(here / "precious.nc", "kept");
  std::filesystem::create_symlink(here / "precious.nc", here / "out/series.nc");
  test::expect_unwritable([&] { SeriesWriter(directory, small_layout()); }, {"series.nc", "out of the directory"});
  EXPECT_EQ(test::read_file(here / "precious.nc"), "kept");
}

}  // namespace tileflux::results::series_test
