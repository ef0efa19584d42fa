// A series of ours is opened by xarray, which knows the CF conventions and nothing of this project. The program below
// says what it found; the numbers must be those that were written, names and units must have been understood.

#include "tileflux/results/series.h"

#include <gtest/gtest.h>

#include <array>
#include <limits>

#include "support/child_process.h"
#include "support/temporary_directory.h"

namespace tileflux::results::series_test {

constexpr const char* reader = R"(
import sys
import xarray
series = xarray.open_dataset(sys.argv[1])
print(dict(series.sizes)["time"], dict(series.sizes)["part"])
print(*series["time"].values.tolist())
print(series["time"].attrs["units"], series["temperature"].attrs["units"], series["light_out"].attrs["units"])
print(*[str(name) for name in series.coords["part_name"].values])
hot = series["temperature"].where(series["part_name"] == "junction.\u03b1", drop=True)
print(*hot.values.ravel().tolist())
print(int(series["light_out"].isnull().sum()), float(series["light_out"].sum()))
print(series.attrs["title"], "|", series.attrs["Conventions"])
)";

TEST(SeriesReadByXarray, HasItsNumbersNamesAndUnits) {
  const test::TemporaryDirectory here;
  SeriesWriter writer(
      OutputDirectory(here.path()),
      {.title = "Lamplighter", .parts = {"cover", "junction.\xce\xb1"}, .scalars = {{"light_out", "W", "light out"}}});
  const double missing = std::numeric_limits<double>::quiet_NaN();
  writer.append(0.0, std::array{300.0, 310.5}, std::array{120.0});
  writer.append(10.5, std::array{301.25, 320.125}, std::array{missing});
  writer.append(20.0, std::array{302.0, 330.0}, std::array{0.5});
  writer.close();

  const test::ProgramResult result = test::run_program(
      {"/usr/bin/env", "PYTHONUTF8=1", "/usr/bin/python3", "-c", reader, (here / "series.nc").string()});
  ASSERT_EQ(result.exit_status, 0) << result.standard_error;
  EXPECT_EQ(result.standard_output,
            "3 2\n"
            "0.0 10.5 20.0\n"
            "s K W\n"
            "cover junction.\xce\xb1\n"
            "310.5 320.125 330.0\n"
            "1 120.5\n"
            "Lamplighter | CF-1.8\n");
}

}  // namespace tileflux::results::series_test
