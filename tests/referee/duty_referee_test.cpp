// Duty limits against a script that was written from docs/theory.md alone and that runs cycles until they repeat, where the
// command solves for the periodic state.
//
// Tolerances: times are those of a temperature that crosses a bound, known to some 4e-5 K (the command's tolerances), over its
// rate there: about 0.02 K/s at the end of the burst, 1e-3 K/s at the end of the recovery. The drive of the continuous rating is solved to
// round-off by both. The margin over the cycle at the command's own sustainable duty must be zero within the distance to
// the periodic state that the command accepts, 1e-4 K, and what is left between the script's samples.

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "referee/comparison.h"
#include "support/child_process.h"

namespace tileflux::referee::duty_referee_test {

using Json = nlohmann::json;

constexpr double burst_tolerance_s = 0.01;
constexpr double recovery_tolerance_s = 0.05;
constexpr double drive_tolerance = 1e-7;
constexpr double margin_tolerance_K = 5e-4;

const std::string lamplighter = project_file("cases/lamplighter/case.yaml").string();

Json duty_by_command() {
  const test::ProgramResult result = test::run_program({TILEFLUX_COMMAND, "duty", lamplighter, "--json"});
  EXPECT_EQ(result.exit_status, 0) << result.standard_error;
  return Json::parse(result.standard_output);
}

Json duty_by_script(double fraction) {
  char text[32];
  std::snprintf(text, sizeof text, "%.17g", fraction);
  const test::ProgramResult result = test::run_program({"/usr/bin/python3", project_file("tests/referee/duty_referee.py").string(), lamplighter,
                                                        project_file("materials").string(), text});
  EXPECT_EQ(result.exit_status, 0) << result.standard_error;
  return Json::parse(result.standard_output);
}

TEST(DutyReferee, AgreesOnBurstRecoveryRatingAndSustainableDuty) {
  const Json ours = duty_by_command();
  const Json theirs = duty_by_script(ours.at("sustainable_duty").at("fraction").get<double>());
  EXPECT_NEAR(ours.at("burst").at("length_s").get<double>(), theirs.at("burst_s").get<double>(), burst_tolerance_s);
  EXPECT_NEAR(ours.at("recovery").at("time_s").get<double>(), theirs.at("recovery_s").get<double>(), recovery_tolerance_s);
  EXPECT_NEAR(ours.at("continuous_rating").at("drive").get<double>(), theirs.at("rating").get<double>(), drive_tolerance);
  EXPECT_NEAR(theirs.at("margin_K").get<double>(), 0.0, margin_tolerance_K);
}

TEST(DutyReferee, BreaksTheLimitOneTenthOfAPerCentAboveTheSustainableDuty) {
  const Json ours = duty_by_command();
  const double more = 1.001 * ours.at("sustainable_duty").at("fraction").get<double>();
  EXPECT_LT(duty_by_script(more).at("margin_K").get<double>(), -margin_tolerance_K);
}

}  // namespace tileflux::referee::duty_referee_test
