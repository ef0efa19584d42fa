// The points of a Sobol design against SciPy, which has read the published direction numbers for itself.

#include <gtest/gtest.h>

#include <sstream>
#include <string>
#include <vector>

#include "support/child_process.h"
#include "tileflux/studies/design.h"

namespace tileflux::referee::sobol_referee_test {

TEST(SobolReferee, AgreesOnEveryPointOfManyDimensions) {
  constexpr int dimensions = 40, points = 512;
  const std::string script = TILEFLUX_PROJECT_DIR "/tests/referee/sobol_referee.py";
  const test::ProgramResult told =
      test::run_program({"/usr/bin/python3", script, std::to_string(dimensions), std::to_string(points)});
  ASSERT_EQ(told.exit_status, 0) << told.standard_error;
  const studies::Design design = studies::Design::sobol(std::vector<studies::SampledRange>(dimensions), points);
  std::istringstream numbers(told.standard_output);
  int different = 0;
  for (long long row = 0; row < points; ++row) {
    for (const double ours : design.row(row)) {
      double theirs = -1.0;
      numbers >> theirs;
      different += ours == theirs ? 0 : 1;
    }
  }
  EXPECT_EQ(different, 0);
  // Negative control: another row is another point.
  EXPECT_NE(design.row(17), design.row(18));
}

}  // namespace tileflux::referee::sobol_referee_test
