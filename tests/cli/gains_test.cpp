/// The verb `gains`, and the paragraph that answers end with.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "support/child_process.h"

namespace tileflux::test::gains_test {

using Json = nlohmann::json;
using testing::HasSubstr;
using testing::Not;

const std::string lamplighter_case = TILEFLUX_PROJECT_DIR "/cases/lamplighter/case.yaml";

TEST(GainsVerb, TellsInputsStepsAndLasersAsJson) {
  const ProgramResult out =
      run_program({TILEFLUX_COMMAND, "gains", lamplighter_case, "--no-duty", "--json", "--laser", "50 %, 69 %"});
  ASSERT_EQ(out.exit_status, 0) << out.standard_error;
  const Json json = Json::parse(out.standard_output);
  EXPECT_EQ(json["regime"], "heat-limited");
  EXPECT_EQ(json["radiator"]["surface"], "rear");
  ASSERT_EQ(json["outputs"][0]["what"], "usable_laser_power");
  const std::size_t outputs = json["outputs"].size();
  bool met = false;
  for (const Json& input : json["inputs"]) {
    ASSERT_EQ(input["slope_of_each_output"].size(), outputs);
    if (input["input"] != "sun.distance") continue;
    met = true;
    const double slope = input["slope_of_each_output"][0], value = input["value"];
    EXPECT_NEAR(input["bought_by_portion"][0].get<double>(), 0.01 * slope * value, 1e-12 * std::abs(slope * value));
    EXPECT_EQ(input["regime_ends"]["above"]["to"], "sun-limited");
  }
  EXPECT_TRUE(met);
  ASSERT_EQ(json["conversion_steps"].size(), 4u);
  EXPECT_EQ(json["conversion_steps"][0]["per_point"]["usable_laser_power_W"], 0.0) << "cells are no bottleneck here";
  ASSERT_EQ(json["lasers"].size(), 3u);
  EXPECT_NEAR(json["lasers"][2]["efficiency"].get<double>(), 0.69, 1e-9);
  EXPECT_EQ(json["why"]["one_per_cent_buys"].size(), 3u);
}

TEST(GainsVerb, IsReadOnATerminal) {
  const ProgramResult out = run_program({TILEFLUX_COMMAND, "gains", lamplighter_case, "--no-duty", "--for", "area", "--top", "4"});
  ASSERT_EQ(out.exit_status, 0) << out.standard_error;
  EXPECT_THAT(out.standard_output, HasSubstr("Ranked by radiator area"));
  EXPECT_THAT(out.standard_output, HasSubstr("more that it follows: --top"));
  EXPECT_THAT(out.standard_output, HasSubstr("One point (1 % of what goes in) more efficiency"));
}

TEST(GainsVerb, RefusesWhatItCannotRead) {
  const auto error_of = [](std::vector<std::string> options) {
    std::vector<std::string> all{TILEFLUX_COMMAND, "gains", lamplighter_case};
    all.insert(all.end(), options.begin(), options.end());
    const ProgramResult out = run_program(all);
    EXPECT_EQ(out.exit_status, 2) << out.standard_error;
    return out.standard_error;
  };
  EXPECT_THAT(error_of({"--for", "lihgt"}), HasSubstr("did you mean 'light'?"));
  EXPECT_THAT(error_of({"--laser", "130 %"}), HasSubstr("value-out-of-range"));
  EXPECT_THAT(error_of({"--laser", "50 W"}), HasSubstr("50 W"));
  EXPECT_THAT(error_of({"--areal-mass", "5 kg"}), HasSubstr("kg/m2"));
  EXPECT_THAT(error_of({"--radiator", "tail"}), HasSubstr("no surface 'tail'"));
  EXPECT_THAT(error_of({"--top", "0"}), HasSubstr("--top"));
}

TEST(Why, EndsEveryAnswerUnlessItIsNotWanted) {
  const ProgramResult with = run_program({TILEFLUX_COMMAND, "balance", lamplighter_case});
  EXPECT_THAT(with.standard_output, HasSubstr("\nWhy\n  The tile is heat-limited. What binds is west.junction with the beam on"));
  EXPECT_THAT(with.standard_output, HasSubstr("for most hangs on them"));
  const ProgramResult without = run_program({TILEFLUX_COMMAND, "balance", lamplighter_case, "--no-why"});
  EXPECT_THAT(without.standard_output, Not(HasSubstr("\nWhy\n")));
  EXPECT_EQ(with.standard_output.substr(0, without.standard_output.size()), without.standard_output);
  const ProgramResult other = run_program({TILEFLUX_COMMAND, "size", TILEFLUX_PROJECT_DIR "/cases/sized_radiator/case.yaml", "--json"});
  EXPECT_TRUE(Json::parse(other.standard_output).contains("why"));
}

TEST(Why, WeighsTheTwoFacesOfARadiatorOnce) {
  const ProgramResult out = run_program({TILEFLUX_COMMAND, "gains", lamplighter_case, "--no-duty", "--json"});
  const Json answer = Json::parse(out.standard_output);
  double slope_W_per_m2 = 0.0;
  for (const Json& input : answer["inputs"]) {
    if (input["input"] == "surfaces.wing_inner.area") slope_W_per_m2 = input["slope_of_each_output"][0];
  }
  ASSERT_GT(slope_W_per_m2, 0.0);
  // The case has 0.5 kg for two faces of 0.12 m2.
  const double kg_per_m2 = 0.5 / 0.12;
  const Json& best = answer["why"]["one_kilogram_buys"][0];
  EXPECT_EQ(best["input"], "surfaces.wing_inner.area");
  EXPECT_NEAR(best["usable_light_W"].get<double>(), slope_W_per_m2 / kg_per_m2, 1e-9 * slope_W_per_m2);
}

}  // namespace tileflux::test::gains_test
