/// What answers say of limits of every kind, which one binds and which comes next; and where a burst starts.

#include <gmock/gmock.h>

#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <string>

#include "support/child_process.h"
#include "support/temporary_directory.h"

namespace tileflux::limit_answers_test {

using ::testing::HasSubstr;
using ::testing::Not;
using Json = nlohmann::json;

std::string burst_case(const std::string& limits) {
  return "tileflux: 1\ntitle: A burst\nsun: {distance: 1 AU, irradiance_at_1AU: 0 W/m2}\nspace: 1 K\nparts:\n"
         "  slab: {heat_capacity: 10 kJ/K, start: 290 K}\n  lid: {heat_capacity: 1 kJ/K, start: 290 K}\n"
         "joins:\n  - {between: [slab, lid], conductance: 5 W/K}\n"
         "surfaces:\n  face: {on: slab, area: 1 m2, emittance: 0.88}\n"
         "loads:\n  - {on: slab, power: 2500 W, when: beam_on}\n  - {on: slab, power: 250 W, when: beam_off}\n"
         "beam: {on: 30 s, every: 300 s}\nrun: {duration: 10 min}\n" + limits;
}

test::ProgramResult answer(const std::string& verb, const std::string& text, std::vector<std::string> options = {}) {
  const test::TemporaryDirectory directory;
  test::write_file(directory / "case.yaml", text);
  std::vector<std::string> call{TILEFLUX_COMMAND, verb, (directory / "case.yaml").string()};
  call.insert(call.end(), options.begin(), options.end());
  return test::run_program(call);
}

const char* const slab = "limits:\n  slab: {below: 313 K}\n";

TEST(LimitsInAnswers, OfARateSayThatItEndsABurstAtOnce) {
  // (2500 W - 0.88 sigma 290^4) / 10 kJ/K = 12.883 K/min.
  const std::string text = burst_case("limits:\n  slab: {below: 313 K, rate_below: 12 K/min}\n");
  const std::string printed = answer("duty", text).standard_output;
  EXPECT_THAT(printed, HasSubstr("burst length         0 s\n"));
  EXPECT_THAT(printed, HasSubstr("ended by rate of slab below 12.000 K/min (at 12.882 K/min, margin -0.882 K/min)\n"));
  EXPECT_THAT(printed, HasSubstr("next slab below 39.85 degC (at 16.85 degC, margin +23.00 K)\n"));
  const Json json = Json::parse(answer("duty", text, {"--json"}).standard_output);
  EXPECT_EQ(json.at("/burst/binding_limit/kind"_json_pointer), "rate");
  EXPECT_NEAR(json.at("/burst/binding_limit/rate_K_per_s"_json_pointer).get<double>(), 0.2147, 5e-5);
  EXPECT_NEAR(json.at("/burst/binding_limit/limit_K_per_s"_json_pointer).get<double>(), 0.2, 1e-15);
  EXPECT_EQ(json.at("/burst/next_limit/kind"_json_pointer), "temperature");
  EXPECT_THAT(answer("duty", burst_case("limits:\n  slab: {below: 313 K, rate_below: 13 K/min}\n")).standard_output,
              Not(HasSubstr("burst length         0 s\n")));
}

TEST(LimitsInAnswers, OfADifferenceAreToldByEveryVerb) {
  const std::string text = burst_case(std::string(slab) + "differences:\n  - {between: [lid, slab], below: 4 K}\n");
  const std::string printed = answer("duty", text).standard_output;
  EXPECT_THAT(printed, HasSubstr("ended by difference of lid - slab below 4.00 K (at 4.00 K, margin +0.00 K)\n"));
  const test::ProgramResult run = answer("run", text);
  EXPECT_EQ(run.exit_status, 1);
  EXPECT_THAT(run.standard_output, HasSubstr("binding limit    difference of lid - slab below 4.00 K (at "));
  EXPECT_THAT(run.standard_output, HasSubstr("next limit       slab below 39.85 degC"));
  EXPECT_THAT(run.standard_output, HasSubstr("difference of lid - slab"));
  EXPECT_THAT(run.standard_error, HasSubstr("'lid - slab' breaks its limit by "));
  const test::ProgramResult balance = answer("balance", text);
  EXPECT_THAT(balance.standard_output, HasSubstr("next limit          difference of lid - slab below 4.00 K (at 0.00 K, margin +4.00 K)"));
}

TEST(LimitsInAnswers, OfAGradientAloneAreEnoughForDuty) {
  const std::string text = burst_case("differences:\n  - {between: [lid, slab], distance: 0.1 m, gradient_below: 40 K/m}\n");
  EXPECT_THAT(answer("duty", text).standard_output,
              HasSubstr("ended by gradient of lid - slab below 40.00 K/m (at 40.00 K/m, margin +0.00 K/m)\n"));
}

TEST(DutyFrom, StartsEveryNodeAtTheTemperatureOfTheCommandLine) {
  const Json stated = Json::parse(answer("duty", burst_case(slab), {"--json"}).standard_output);
  const Json warm = Json::parse(answer("duty", burst_case(slab), {"--json", "--from", "300 K"}).standard_output);
  EXPECT_NEAR(stated.at("/start_temperature_K/lid"_json_pointer).get<double>(), 290.0, 1e-9);
  EXPECT_NEAR(warm.at("/start_temperature_K/lid"_json_pointer).get<double>(), 300.0, 1e-9);
  EXPECT_NEAR(warm.at("/start_temperature_K/slab"_json_pointer).get<double>(), 300.0, 1e-9);
  EXPECT_LT(warm.at("/burst/length_s"_json_pointer).get<double>(), stated.at("/burst/length_s"_json_pointer).get<double>());
  EXPECT_THAT(answer("duty", burst_case(slab), {"--from", "300 K"}).standard_output, HasSubstr("starting state       26.85 degC\n"));
  EXPECT_THAT(answer("duty", burst_case(slab)).standard_output, HasSubstr("starting state       20.00 degC, but for what states its own\n"));
}

TEST(DutyFrom, RefusesWhatIsNoTemperature) {
  for (const std::string from : {"warm", "20", "20 K/s", "-300 degC", "5000 K"}) {
    const test::ProgramResult result = answer("duty", burst_case(slab), {"--from=" + from});
    EXPECT_EQ(result.exit_status, 2) << from;
    EXPECT_THAT(result.standard_error, HasSubstr("--from")) << from;
  }
  EXPECT_EQ(answer("balance", burst_case(slab), {"--from", "300 K"}).exit_status, 2);
}

/// A tile in the shade whose bank of 30 W lives on the battery: cases of the unit tests of bursts, as a file.
std::string on_battery(const std::string& housekeeping) {
  return "tileflux: 1\ntitle: On battery\nsun: {distance: 1 AU, tilt: 120 deg}\nparts:\n"
         "  node: {heat_capacity: 1 kJ/K}\n  wall: {fixed: 300 K}\n"
         "joins:\n  - {between: [node, wall], conductance: 5 W/K}\n"
         "surfaces:\n  face: {on: node, area: 1 m2, emittance: 1 %, absorptance: 90 %, sunlit: yes}\n"
         "cells: {surface: face, on: node, efficiency: 30 %, slope: -0.1 %/K}\n"
         "lasers:\n  bank: {mount: wall, modules: 1, resistance: 0.1 K/W, table: {rated_input: 30 W, efficiency: 50 %}}\n"
         "battery: {on: node, capacity: 100 kJ, start: 90 %, round_trip: {efficiency: 94 %, at: 30 W}, charge: {most: 50 W}, discharge: {most: 60 W}, depth_of_discharge: 80 %}\n" +
         housekeeping + "limits:\n  node: {below: 310 K}\nbeam: {drive: 100 %}\nstart: {temperature: 300 K}\n";
}

TEST(DutyOnBattery, SaysThatTheChargeEndsTheBurstAndNeverComesBack) {
  const std::string text = on_battery("housekeeping: {on: node, power: 5 W}\n");
  const std::string printed = answer("duty", text).standard_output;
  EXPECT_THAT(printed, HasSubstr("battery at 90 %\n"));
  EXPECT_THAT(printed, HasSubstr("ended by the charge of the battery: at 2"));
  EXPECT_THAT(printed, HasSubstr("never: with the beam off the battery does not recharge (its store gains -5.0"));
  const Json json = Json::parse(answer("duty", text, {"--json"}).standard_output);
  EXPECT_EQ(json.at("/burst/binding_limit/kind"_json_pointer), "charge");
  EXPECT_EQ(json.at("/recovery/node"_json_pointer), "battery");
  EXPECT_TRUE(json.at("/recovery/never"_json_pointer).get<bool>());
}

}  // namespace tileflux::limit_answers_test
