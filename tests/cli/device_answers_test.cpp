/// What the printed answers say of heat pipes, stores, heaters and the battery, with the words that stand for trouble.

#include <gmock/gmock.h>

#include <filesystem>
#include <string>

#include "support/child_process.h"
#include "support/temporary_directory.h"

namespace tileflux::device_answers_test {

using ::testing::HasSubstr;
using ::testing::Not;

std::string case_text(const std::string& name) {
  return test::read_file(std::filesystem::path(TILEFLUX_PROJECT_DIR) / "cases" / name);
}

/// `text` with the first `what` replaced; the test has nothing to say if it is not there.
std::string changed(std::string text, const std::string& what, const std::string& by) {
  const std::size_t at = text.find(what);
  EXPECT_NE(at, std::string::npos) << what;
  return at == std::string::npos ? text : text.replace(at, what.size(), by);
}

std::string answer(const std::string& verb, const std::string& text) {
  const test::TemporaryDirectory directory;
  test::write_file(directory / "case.yaml", text);
  return test::run_program({TILEFLUX_COMMAND, verb, (directory / "case.yaml").string()}).standard_output;
}

// The numbers are those of cases/heat_pipe/README.md.
TEST(HeatPipesInAnswers, SayWhatTheyCarryAndWhatIsInHand) {
  const std::string pair = case_text("heat_pipe/case.yaml");
  EXPECT_THAT(answer("balance", pair), HasSubstr("carries 98.84 of at most 290.43 W, beam on\n"));
  const std::string one = changed(changed(pair, "pipes: 2", "pipes: 2\n    lost: 1"), "power: 100 W", "power: 160 W");
  EXPECT_THAT(answer("balance", one), HasSubstr("beam on: AT ITS LIMIT, frozen or dry"));
}

TEST(StoresInAnswers, SayHowMuchIsMolten) {
  const std::string store = case_text("melting_store/case.yaml");
  EXPECT_THAT(answer("duty", store), HasSubstr("93.9 % molten at its end"));
  EXPECT_THAT(answer("run", store), HasSubstr("wax: 0.0 % molten at the end"));
  EXPECT_THAT(answer("balance", store), HasSubstr("100.0 % molten, beam on"));
  const std::string sliced = changed(store, "mass: 3 kg", "mass: 3 kg, slices: 4");
  EXPECT_THAT(answer("balance", sliced), HasSubstr("100.0 % molten, beam on"));
  EXPECT_THAT(answer("duty", case_text("melting_store/bare.yaml")), Not(HasSubstr("molten")));
}

TEST(HeatersInAnswers, AreMarkedWithLessThanAQuarterInHand) {
  const char* mark = "LESS THAN 25 % IN HAND";
  EXPECT_THAT(answer("balance", case_text("cold_night/case.yaml")), Not(HasSubstr(mark)));
  EXPECT_THAT(answer("balance", case_text("cold_night/small_heater.yaml")), HasSubstr(mark));
}

/// A box with a heater on the bus of a dark tile, whose battery feeds it until it is empty.
std::string dark_tile(const std::string& capacity) {
  return "tileflux: 1\ntitle: In the dark\nsun: {distance: 1 AU, irradiance_at_1AU: 0 W/m2}\nparts:\n"
         "  panel: {heat_capacity: 3 kJ/K}\n  box: {heat_capacity: 6 kJ/K}\njoins:\n"
         "  - {between: [panel, box], conductance: 0.1 W/K}\nsurfaces:\n"
         "  front: {on: panel, area: 1 m2, emittance: 85 %, absorptance: 90 %, sunlit: yes}\n"
         "cells: {surface: front, on: panel, efficiency: 30 %, slope: 0 %/K}\n"
         "battery: {on: box, capacity: " +
         capacity +
         ", round_trip: {efficiency: 94 %, at: 50 W}, charge: {most: 50 W}, discharge: {most: 60 W}}\n"
         "heaters:\n  warm: {on: box, power: 20 W, on_below: 15 degC, off_above: 18 degC}\nrun: {duration: 4 h}\n";
}

TEST(HeatersInAnswers, SayWhereTheBusCannotFeedThem) {
  const char* shortage = "SHORT: the bus gave them only";
  EXPECT_THAT(answer("run", dark_tile("10 Wh")), HasSubstr(shortage));
  EXPECT_THAT(answer("run", dark_tile("1 kWh")), Not(HasSubstr(shortage)));
  // The battery rests in a steady state, and there is no sun.
  EXPECT_THAT(answer("balance", dark_tile("1 kWh")), HasSubstr("SHORT: the bus gives them only 0.0 %"));
  EXPECT_THAT(answer("balance", dark_tile("1 kWh")), HasSubstr("rests at 100.0 % in steady states"));
}

TEST(PowerChainInAnswers, SpeaksOfLasersOnlyWhereThereAreSome) {
  EXPECT_THAT(answer("balance", dark_tile("1 kWh")), Not(HasSubstr("laser input")));
  EXPECT_THAT(answer("balance", case_text("dead_string/case.yaml")), HasSubstr("laser input"));
}

TEST(EventsInAnswers, TellWhatHappensOnceBeforeWhatComesBack) {
  const std::string night = case_text("cold_night/case.yaml");
  const std::string late = night + "failures:\n  - {at: 20 h, what: stuck_heater, of: warm, state: on}\n";
  // More than the dozen events that are shown come before it.
  EXPECT_THAT(answer("run", late), HasSubstr("72000.000 s   failure"));
  EXPECT_THAT(answer("run", late), HasSubstr("more; `--out DIR` writes all of them"));
}

TEST(NumbersInAnswers, HaveNoMinusSignBeforeNought) {
  const std::string burst = answer("duty", case_text("melting_store/bare.yaml"));
  EXPECT_THAT(burst, HasSubstr("margin +0.00 K"));
  EXPECT_THAT(burst, Not(HasSubstr("margin -0.00 K")));
}

}  // namespace tileflux::device_answers_test
