// Phase change, fins, heat pipes, zones, fibres, thermostats and a day with a battery, against the SciPy script (see
// scipy_referee_test.cpp) and, for the fin, scipy's solver of boundary-value problems.
//
// Tolerances. Both solve steady states to round-off, view factors by corners apart: 1e-10 of area integrals on one side, 1e-8
// promised on the other. Transients: 1e-3 K is what the product promises for a day; less than 1e-4 K is reached and printed. The
// promise for the battery is 0.01 % of its charge. Thermostats switch where a temperature that is known to 1e-5 K passes at
// 1e-3 K/s or faster: 0.02 s.

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "referee/comparison.h"
#include "support/child_process.h"

namespace tileflux::referee::devices_referee_test {

using Json = nlohmann::json;

constexpr double steady_tolerance_K = 1e-6;
constexpr double transient_tolerance_K = 1e-3;
constexpr double charge_tolerance = 1e-4;
constexpr double melted_tolerance = 1e-6;
constexpr double switching_tolerance_s = 0.02;
constexpr double duty_tolerance = 1e-5;  // 60 switchings of 0.02 s in a day
constexpr double plainly_wrong_K = 1e-2;

std::filesystem::path own_case(const std::string& name) { return project_file("tests/referee/cases/" + name + ".yaml"); }

struct Both {
  History ours, theirs;
};

/// Compares both steady states and the transient, and prints what was reached.
Both expect_agreement(const std::filesystem::path& file, const std::string& name, double tolerance_K) {
  const SteadyStates steady = steady_by_command(file);
  SecondOpinion opinion = by_scipy(file, tolerance_K);
  EXPECT_LT(reached(name + ", steady, K", largest_difference_K(steady.beam_off, opinion.steady.beam_off)), steady_tolerance_K);
  if (!steady.beam_on.empty()) {
    EXPECT_LT(reached(name + ", steady with the beam, K", largest_difference_K(steady.beam_on, opinion.steady.beam_on)), steady_tolerance_K);
  }
  Both both{history_by_command(file), std::move(opinion.history)};
  EXPECT_LT(reached(name + ", K", largest_difference_K(both.ours, both.theirs)), transient_tolerance_K);
  return both;
}

Both expect_agreement(const std::string& name, double tolerance_K = fine_K) { return expect_agreement(own_case(name), name, tolerance_K); }

bool has(const History& history, const std::string& what) {
  return std::any_of(history.switchings.begin(), history.switchings.end(), [&what](const Switching& one) { return one.what == what; });
}

TEST(DevicesReferee, AgreesOnADayOfTheLamplighterTileWithBatteryThrottleAndHeater) {
  const Both both = expect_agreement("lamplighter_battery", coarse_K);
  ASSERT_EQ(both.theirs.time_s.size(), 1441u);
  EXPECT_LT(reached("charge", largest_difference(both.ours.battery_charge, both.theirs.battery_charge)), charge_tolerance);
  EXPECT_LT(reached("thermostat, s", largest_difference_s(both.ours.switchings, both.theirs.switchings)), switching_tolerance_s);
  // The battery is worked through: nearly to the least charge of 30 %, and up again.
  const auto [least, most] = std::minmax_element(both.theirs.battery_charge.begin(), both.theirs.battery_charge.end());
  EXPECT_LT(*least, 0.35);
  EXPECT_GT(*most, 0.8);
}

// 30 nodes: zones, core, switch, enclosure, heat pipes, store in slices, fin in segments, louvre, battery, heaters, fibre, throttle.
TEST(DevicesReferee, AgreesOnTwoHoursOfTheFullLamplighterTile) {
  const test::TemporaryDirectory here;
  const std::filesystem::path file = with_replacement(here, project_file("cases/lamplighter_full/case.yaml"), "duration: 24 h", "duration: 2 h");
  const Both both = expect_agreement(file, "lamplighter_full", coarse_K);
  EXPECT_LT(reached("charge", largest_difference(both.ours.battery_charge, both.theirs.battery_charge)), charge_tolerance);
  EXPECT_LT(reached("melted share", largest_difference(both.ours.melted_share, both.theirs.melted_share)), melted_tolerance);
  EXPECT_LT(reached("thermostats, s", largest_difference_s(both.ours.switchings, both.theirs.switchings)), switching_tolerance_s);
}

TEST(DevicesReferee, AgreesOnAStoreThatMeltsAndFreezesAgain) {
  for (const char* name : {"melting_lump", "melting_slices"}) {
    const Both both = expect_agreement(name);
    EXPECT_LT(reached(std::string(name) + ", melted share", largest_difference(both.ours.melted_share, both.theirs.melted_share)), melted_tolerance);
    const auto [least, most] = std::minmax_element(both.theirs.melted_share.begin(), both.theirs.melted_share.end());
    EXPECT_EQ(*least, 0.0);
    EXPECT_GT(*most, 0.9);
  }
}

TEST(DevicesReferee, AgreesOnABoxWithInsulationAndAThermostatInTheCold) {
  const Both both = expect_agreement("cold_box");
  EXPECT_GT(both.ours.switchings.size(), 20u);
  EXPECT_LT(reached("thermostat, s", largest_difference_s(both.ours.switchings, both.theirs.switchings)), switching_tolerance_s);

  const double end_s = both.theirs.time_s.back();
  double on_s = 0.0;
  for (const Switching& one : both.theirs.switchings) on_s += one.what == "heater_on" ? end_s - one.time_s : one.time_s - end_s;
  const test::ProgramResult run = test::run_program({TILEFLUX_COMMAND, "run", own_case("cold_box").string(), "--json"});
  const double duty = Json::parse(run.standard_output).at("heaters").at("warm").at("duty").get<double>();
  EXPECT_LT(reached("duty", std::abs(on_s / end_s - duty)), duty_tolerance);
}

TEST(DevicesReferee, AgreesOnHeatPipesThatBeginFrozenAndLoseOne) { expect_agreement("heat_pipes"); }

TEST(DevicesReferee, AgreesOnZonesCoreSwitchFibreAmplifierChosenLightAndFailures) { expect_agreement("zones_and_fibre"); }

TEST(DevicesReferee, AgreesOnTripsThatLeaveAShareOfTheDrive) {
  const Both both = expect_agreement("trips");
  EXPECT_TRUE(has(both.ours, "trip"));
  EXPECT_LT(reached("trips, s", largest_difference_s(both.ours.switchings, both.theirs.switchings)), switching_tolerance_s);
}

TEST(DevicesReferee, AgreesOnAnEnclosureByCorners) { expect_agreement("corners"); }

double held_by_command_W(const std::filesystem::path& file) {
  const test::ProgramResult result = test::run_program({TILEFLUX_COMMAND, "balance", file.string(), "--json"});
  EXPECT_EQ(result.exit_status, 0) << result.standard_error;
  return Json::parse(result.standard_output).at("beam_off").at("power_W").at("to_held_parts").get<double>();
}

TEST(DevicesReferee, AgreesOnTheExactFinAndOnSegmentsThatTendToIt) {
  // solve_bvp is asked for 1e-9 of residual, relative.
  constexpr double fin_tolerance_W = 1e-7;
  constexpr double second_order = 2.0, order_tolerance = 0.05;
  const std::filesystem::path file = own_case("fin");
  const test::ProgramResult script = test::run_program(
      {"/usr/bin/python3", project_file("tests/referee/fin_referee.py").string(), file.string(), project_file("materials").string()});
  ASSERT_EQ(script.exit_status, 0) << script.standard_error;
  const double heat_W = Json::parse(script.standard_output).at("to_root_W").get<double>();
  EXPECT_LT(reached("fin, W", std::abs(held_by_command_W(file) - heat_W)), fin_tolerance_W);

  const test::TemporaryDirectory here;
  double before_W = 0.0;
  for (const int segments : {8, 16, 32}) {
    const double error_W = std::abs(held_by_command_W(with_replacement(here, file, "segments: 0", "segments: " + std::to_string(segments))) - heat_W);
    if (before_W > 0.0) {
      EXPECT_NEAR(reached("order of segments", std::log2(before_W / error_W)), second_order, order_tolerance);
    }
    before_W = error_W;
  }
}

TEST(DevicesReferee, MissesIfOneThingIsWrong) {
  struct Mistake {
    const char *name, *text, *replacement;
  };
  for (const Mistake& mistake : {Mistake{"melting_lump", "contact: 300 W/(m2 K)", "contact: 200 W/(m2 K)"},
                                 Mistake{"cold_box", "lowest_voltage: 24 V", "lowest_voltage: 24.5 V"},
                                 Mistake{"heat_pipes", "of: loop, count: 1", "of: loop, count: 2"},
                                 Mistake{"zones_and_fibre", "shift: 0.3 nm/K", "shift: 0.25 nm/K"}}) {
    const test::TemporaryDirectory here;
    const std::filesystem::path file = own_case(mistake.name);
    const History theirs = by_scipy(with_replacement(here, file, mistake.text, mistake.replacement), coarse_K).history;
    EXPECT_GT(largest_difference_K(history_by_command(file), theirs), plainly_wrong_K) << mistake.name;
  }
}

}  // namespace tileflux::referee::devices_referee_test
