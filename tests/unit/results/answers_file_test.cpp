#include "tileflux/results/answers_file.h"

#include <gtest/gtest.h>
#include <netcdf.h>

#include <bit>
#include <cmath>
#include <csignal>
#include <cstdint>
#include <functional>
#include <limits>
#include <string>
#include <vector>

#include "support/child_process.h"
#include "support/temporary_directory.h"
#include "tileflux/base/errors.h"

namespace tileflux::results::answers_file_test {

constexpr double nothing = std::numeric_limits<double>::quiet_NaN();
const std::string identity = "{\"case\": \"one\", \"rows\": 12}";

AnswersLayout grid_layout() {
  AnswersLayout layout;
  layout.title = "plate";
  layout.rows = 12;
  layout.varied = {{"a", "m", "first", {1.0, 2.0}}, {"b", "s", "second", {1.0, 2.0}}, {"c[0].d", "1", "third", {5.0, 6.0, 7.0}}};
  layout.answers = {{"power", "W", "light", {}}, {"regime", "1", "what sets it", {"beam off", "sun-limited"}}};
  layout.troubles = {"key-unknown", "steady-not-found"};
  return layout;
}

void append_row(AnswersWriter& writer, long long row) {
  const auto r = static_cast<std::size_t>(row);
  const std::vector<double> inputs{1.0 + static_cast<double>(r / 6), 1.0 + static_cast<double>(r / 3 % 2), 5.0 + static_cast<double>(r % 3)};
  const bool failed = row == 7;
  const std::vector<double> answers{failed ? nothing : 0.1 * static_cast<double>(row), failed ? nothing : 1.0};
  writer.append({inputs, answers, failed ? 2 : 0, failed ? "steady-not-found: nothing,\nat all" : ""});
}

void write_all(const std::filesystem::path& path, const std::vector<long long>& flush_behind = {}) {
  AnswersWriter writer(OutputDirectory(path), grid_layout(), identity);
  for (long long row = writer.rows(); row < 12; ++row) {
    append_row(writer, row);
    for (const long long at : flush_behind) {
      if (at == row) writer.flush();
    }
  }
  writer.close();
}

TEST(AnswersFile, HoldsEveryRowInItsPlace) {
  const test::TemporaryDirectory directory;
  write_all(directory / "out");
  const std::string csv = test::read_file(directory / "out/answers.csv");
  EXPECT_EQ(csv.substr(0, csv.find('\n', 40)), "a,b,c[0].d,power,regime,trouble\nm,s,1,W,1,");
  EXPECT_NE(csv.find("\n2,1,6,,,\"steady-not-found: nothing, at all\"\n"), std::string::npos) << csv;
  int file = -1, id = -1;
  ASSERT_EQ(nc_open((directory / "out/answers.nc").c_str(), NC_NOWRITE, &file), NC_NOERR);
  ASSERT_EQ(nc_inq_varid(file, "power", &id), NC_NOERR);
  std::vector<double> power(12);
  nc_get_var_double(file, id, power.data());
  for (std::size_t i = 0; i < power.size(); ++i) {
    if (i != 7) EXPECT_EQ(power[i], 0.1 * static_cast<double>(i));
  }
  EXPECT_TRUE(std::isnan(power[7]));
  std::vector<int> trouble(12);
  nc_inq_varid(file, "trouble", &id);
  nc_get_var_int(file, id, trouble.data());
  EXPECT_EQ(trouble[7], 2);
  EXPECT_EQ(trouble[6], 0);
  std::vector<double> coordinate(3);
  ASSERT_EQ(nc_inq_varid(file, "c[0].d", &id), NC_NOERR);
  nc_get_var_double(file, id, coordinate.data());
  EXPECT_EQ(coordinate, (std::vector<double>{5.0, 6.0, 7.0}));
  nc_close(file);
}

TEST(AnswersFile, EndsWithTheSameBytesHoweverRowsAreHeldBackAndTakenUp) {
  const test::TemporaryDirectory directory;
  write_all(directory / "whole");
  write_all(directory / "parts", {0, 1, 4, 9});
  for (const long long killed_at : {0, 1, 5, 11}) {
    const std::filesystem::path out = directory / ("killed" + std::to_string(killed_at));
    test::run_in_child([&] {
      AnswersWriter writer(OutputDirectory(out), grid_layout(), identity);
      for (long long row = 0; row < killed_at; ++row) append_row(writer, row);
      writer.flush();
      if (killed_at < 11) append_row(writer, killed_at);  // held back: lost
      std::raise(SIGKILL);
      return 0;
    });
    // Half a line, as a process that is killed while it writes may leave it.
    test::write_file(out / "answers.csv", test::read_file(out / "answers.csv") + "2,1,");
    {
      AnswersWriter writer(OutputDirectory(out), grid_layout(), identity);
      EXPECT_EQ(writer.rows(), killed_at);
      if (killed_at > 3) writer.keep(3);
    }
    write_all(out);
    for (const char* name : {"answers.csv", "answers.nc"}) {
      EXPECT_EQ(test::read_file(out / name), test::read_file(directory / "whole" / name)) << name << killed_at;
      EXPECT_EQ(test::read_file(directory / "parts" / name), test::read_file(directory / "whole" / name)) << name;
    }
  }
}

std::string refusal_in(const std::function<void()>& made, Code code = Code::option_wrong) {
  try {
    made();
  } catch (const Error& error) {
    EXPECT_EQ(error.code(), code) << error.what();
    return error.what();
  }
  return "";
}

std::string replaced(std::string text, const std::string& old, const std::string& with) {
  const std::size_t at = text.find(old);
  EXPECT_NE(at, std::string::npos) << old;
  return at == std::string::npos ? text : text.replace(at, old.size(), with);
}

/// The eight bytes of a number as they lie in the netCDF file.
std::string bytes_of(double value) {
  const auto bits = std::bit_cast<std::uint64_t>(value);
  std::string bytes;
  for (int shift = 56; shift >= 0; shift -= 8) bytes += static_cast<char>(bits >> shift & 0xffu);
  return bytes;
}

TEST(AnswersFile, TakesUpOnlyWhatBothFilesTellAlike) {
  const test::TemporaryDirectory directory;
  write_all(directory / "whole");
  const std::string csv = test::read_file(directory / "whole/answers.csv");
  const std::string netcdf = test::read_file(directory / "whole/answers.nc");
  struct Damage {
    const char* name;
    std::string bytes;
    long long alike;
  };
  const Damage all[] = {{"answers.csv", csv, 12},
                        {"answers.csv", replaced(csv, "0.5,1,", "0.6,1,"), 5},
                        {"answers.csv", replaced(csv, "\n2,1,6,", "\n2,1,5,"), 7},
                        {"answers.csv", replaced(csv, "steady-not", "ready-not"), 7},
                        {"answers.csv", replaced(csv, "1,2,7,0.5,1,\n", ""), 5},
                        {"answers.csv", csv.substr(0, csv.size() - 1), 11},
                        {"answers.nc", replaced(netcdf, bytes_of(0.1 * 4.0), bytes_of(0.1 * 4.5)), 4},
                        {"answers.nc", netcdf.substr(0, netcdf.size() - 100), 6}};
  for (const Damage& damage : all) {
    const std::filesystem::path out = directory / "damaged";
    std::filesystem::remove_all(out);
    std::filesystem::copy(directory / "whole", out);
    test::write_file(out / damage.name, damage.bytes);
    EXPECT_EQ(AnswersWriter(OutputDirectory(out), grid_layout(), identity).rows(), damage.alike) << damage.name;
    write_all(out);
    EXPECT_EQ(test::read_file(out / "answers.csv"), csv) << damage.name << damage.alike;
    EXPECT_EQ(test::read_file(out / "answers.nc"), netcdf) << damage.name << damage.alike;
  }
}

TEST(AnswersFile, RefusesFilesWhoseRowsCannotBeTold) {
  const test::TemporaryDirectory directory;
  write_all(directory / "out");
  const OutputDirectory out(directory / "out");
  const std::string csv = test::read_file(directory / "out/answers.csv"), netcdf = test::read_file(directory / "out/answers.nc");
  const auto refusal = [&] {
    return refusal_in([&] { AnswersWriter(out, grid_layout(), identity); }, Code::result_damaged);
  };
  test::write_file(directory / "out/answers.csv", replaced(csv, "power", "tower"));
  EXPECT_NE(refusal().find("answers.csv is damaged"), std::string::npos);
  test::write_file(directory / "out/answers.csv", csv);
  for (const std::string& broken : {netcdf.substr(0, 100), std::string("no netCDF"), replaced(netcdf, "power", "tower")}) {
    test::write_file(directory / "out/answers.nc", broken);
    EXPECT_NE(refusal().find("answers.nc is damaged"), std::string::npos);
    EXPECT_EQ(test::read_file(directory / "out/answers.nc"), broken) << "what is refused stays as it is";
  }
  test::write_file(directory / "out/answers.nc", netcdf);
  EXPECT_EQ(refusal(), "");
}

TEST(AnswersFile, RefusesTheDirectoryOfAnotherSweepAndOneInUse) {
  const test::TemporaryDirectory directory;
  write_all(directory / "out");
  const OutputDirectory out(directory / "out");
  EXPECT_NE(refusal_in([&] { AnswersWriter(out, grid_layout(), "{\"case\": \"two\", \"rows\": 12}"); }).find("`case` differs"),
            std::string::npos);
  const AnswersWriter holding(out, grid_layout(), identity);
  EXPECT_NE(refusal_in([&] { AnswersWriter(out, grid_layout(), identity); }).find("another sweep is being written"), std::string::npos);
}

TEST(AnswersFile, OfSamplesHasOneDimension) {
  const test::TemporaryDirectory directory;
  AnswersLayout layout = grid_layout();
  layout.grid = false;
  for (VariedVariable& varied : layout.varied) varied.values.clear();
  AnswersWriter writer(OutputDirectory(directory / "out"), layout, identity);
  for (long long row = 0; row < 12; ++row) append_row(writer, row);
  writer.flush();
  EXPECT_EQ(writer.read(0)[5], 0.5);
  EXPECT_EQ(writer.read_troubles()[7], 2);
  writer.close();
  int file = -1, id = -1, dimensions = 0;
  nc_open((directory / "out/answers.nc").c_str(), NC_NOWRITE, &file);
  nc_inq_varid(file, "a", &id);
  std::vector<double> first(12);
  EXPECT_EQ(nc_get_var_double(file, id, first.data()), NC_NOERR);
  EXPECT_EQ(first[6], 2.0);
  nc_inq_ndims(file, &dimensions);
  EXPECT_EQ(dimensions, 1);
  nc_close(file);
}

}  // namespace tileflux::results::answers_file_test
