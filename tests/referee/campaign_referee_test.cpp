// A campaign against a script that was written from docs/theory.md alone: it lays out the timetable by itself, integrates every window
// and shares the light by priority.
//
// Tolerances: light of a few watts over windows of minutes to half an hour follows temperatures that both know to a few 1e-4 K in
// transients; what a wanted light takes is met exactly by both. Temperatures at the end of two days: what the product promises, 1e-3 K.

#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "referee/comparison.h"
#include "support/child_process.h"

namespace tileflux::referee::campaign_referee_test {

using Json = nlohmann::json;

constexpr double light_tolerance = 1e-5;
constexpr double temperature_tolerance_K = 1e-3;

const std::string bursts = project_file("cases/campaigns/case.yaml").string();

Json by_command(const std::string& case_file) {
  const test::ProgramResult result =
      test::run_program({TILEFLUX_COMMAND, "campaign", case_file, "--duration", "2 day", "--json"});
  EXPECT_EQ(result.exit_status, 0) << result.standard_error;
  return Json::parse(result.standard_output);
}

Json by_script(const std::string& case_file) {
  const test::ProgramResult result = test::run_program(
      {"/usr/bin/python3", project_file("tests/referee/campaign_referee.py").string(), case_file, project_file("materials").string(), "2"});
  EXPECT_EQ(result.exit_status, 0) << result.standard_error;
  return Json::parse(result.standard_output);
}

TEST(CampaignReferee, AgreesOnTwoDaysOfBurstsThatOverlap) {
  const Json ours = by_command(bursts), theirs = by_script(bursts);
  ASSERT_EQ(theirs.at("delivered_J").size(), 3u);
  for (const auto& [name, delivered] : theirs.at("delivered_J").items()) {
    const double expected_J = delivered.get<double>();
    EXPECT_NEAR(ours.at("names").at(name).at("delivered_J").get<double>(), expected_J, light_tolerance * expected_J) << name;
  }
  for (const auto& [name, temperature] : theirs.at("temperature_K").items())
    EXPECT_NEAR(ours.at("final_temperature_K").at(name).get<double>(), temperature.get<double>(), temperature_tolerance_K) << name;
}

TEST(CampaignReferee, MissesIfThePriorityIsTurnedRound) {
  const test::TemporaryDirectory here;
  const std::filesystem::path turned =
      with_replacement(here, project_file("cases/campaigns/requests.csv"), "120,120,0,24", "120,120,2,24");
  std::filesystem::copy_file(bursts, here / "case.yaml");
  ASSERT_EQ(turned.parent_path(), here.path());
  std::filesystem::rename(turned, here / "requests.csv");
  const double ours_J = by_command(bursts).at("names").at("probe_b").at("delivered_J").get<double>();
  const double theirs_J = by_script((here / "case.yaml").string()).at("delivered_J").at("probe_b").get<double>();
  EXPECT_GT(std::abs(ours_J - theirs_J), 100.0 * light_tolerance * ours_J);
}

}  // namespace tileflux::referee::campaign_referee_test
