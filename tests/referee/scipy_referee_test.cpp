// The command against a SciPy script that was written from docs/theory.md alone: it reads case and materials files by
// itself, takes derivatives by complex steps, integrates by collocation at Radau points, and shares no line with the product.
//
// Tolerances. Steady states are solved to round-off on both sides; 1e-6 K is a millionth of what a person would notice.
// Transients: the command promises 1e-7 and 1e-5 K per step, 4e-5 K at 300 K; over the steps after a switch that adds up to
// a few 1e-4 K at most. 1e-3 K is what the product promises for a day with beam switching.
//
// Negative controls: the same comparisons, with one thing wrong in the case that the referee is given, must miss by far.

#include <gtest/gtest.h>

#include "referee/comparison.h"
#include "support/child_process.h"

namespace tileflux::referee {
namespace {

constexpr double steady_tolerance_K = 1e-6;
constexpr double transient_tolerance_K = 1e-3;
constexpr double plainly_wrong_K = 1e-2;

const std::filesystem::path lamplighter = project_file("cases/lamplighter/case.yaml");
const std::filesystem::path every_law = project_file("tests/referee/cases/every_law.yaml");
const std::filesystem::path every_radiator = project_file("tests/referee/cases/every_radiator.yaml");

TEST(ScipyReferee, AgreesOnSixHoursOfBeamCyclesOfTheLamplighterTile) {
  // By the minute: 36 cycles of 300 s on and 300 s off, every switch on a row. A whole day: see devices_referee_test.cpp.
  const test::TemporaryDirectory here;
  const std::filesystem::path shorter = with_replacement(here, lamplighter, "duration: 24 h", "duration: 6 h");
  const History ours = history_by_command(shorter);
  const SecondOpinion theirs = by_scipy(shorter, coarse_K);
  ASSERT_EQ(theirs.history.time_s.size(), 361u);
  ASSERT_EQ(ours.time_s.size(), theirs.history.time_s.size());
  EXPECT_LT(reached("beam cycles, K", largest_difference_K(ours, theirs.history)), transient_tolerance_K);
}

TEST(ScipyReferee, AgreesOnBothSteadyStatesOfTheLamplighterTile) {
  const SteadyStates ours = steady_by_command(lamplighter);
  const SteadyStates theirs = steady_by_scipy(lamplighter);
  EXPECT_LT(largest_difference_K(ours.beam_off, theirs.beam_off), steady_tolerance_K);
  EXPECT_LT(largest_difference_K(ours.beam_on, theirs.beam_on), steady_tolerance_K);
}

TEST(ScipyReferee, AgreesWhereEveryLawOccurs) {
  const SteadyStates ours = steady_by_command(every_law);
  const SecondOpinion theirs = by_scipy(every_law);
  EXPECT_LT(largest_difference_K(ours.beam_off, theirs.steady.beam_off), steady_tolerance_K);
  EXPECT_LT(largest_difference_K(ours.beam_on, theirs.steady.beam_on), steady_tolerance_K);
  EXPECT_LT(largest_difference_K(history_by_command(every_law), theirs.history), transient_tolerance_K);
}

// The script solves the fin by collocation at Chebyshev points and enclosures by radiosities, not as the product does.
TEST(ScipyReferee, AgreesOnFinsLouvresInsulationAndEnclosures) {
  const SteadyStates ours = steady_by_command(every_radiator);
  const SecondOpinion theirs = by_scipy(every_radiator);
  EXPECT_LT(largest_difference_K(ours.beam_off, theirs.steady.beam_off), steady_tolerance_K);
  EXPECT_LT(largest_difference_K(ours.beam_on, theirs.steady.beam_on), steady_tolerance_K);
  EXPECT_LT(largest_difference_K(history_by_command(every_radiator), theirs.history), transient_tolerance_K);
}

TEST(ScipyReferee, AgreesOnThePlateAndOnTheBurst) {
  for (const char* name : {"cases/plate/case.yaml", "cases/burst_and_recovery/case.yaml"}) {
    EXPECT_LT(largest_difference_K(history_by_command(project_file(name)), by_scipy(project_file(name)).history), transient_tolerance_K) << name;
  }
}

TEST(ScipyReferee, AgreesWhereTheSunDoesNotFeedTheStandbyLoss) {
  const test::TemporaryDirectory here;
  const std::filesystem::path dusk = with_replacement(here, lamplighter, "tilt: 0 deg", "tilt: 89.7 deg");
  const std::filesystem::path idle = with_replacement(here, dusk, "housekeeping: {on: computer, power: 6 W}", "");
  EXPECT_LT(largest_difference_K(steady_by_command(idle).beam_off, steady_by_scipy(idle).beam_off), steady_tolerance_K);
}

TEST(ScipyReferee, MissesIfItIsGivenOnePathLess) {
  const test::TemporaryDirectory here;
  const std::filesystem::path shorter = with_replacement(here, lamplighter, "duration: 24 h", "duration: 2 h");
  const std::filesystem::path changed = with_replacement(here, shorter, "  - {between: [optics, bench], conductance: 0.6 W/K}\n", "");
  EXPECT_GT(largest_difference_K(history_by_command(lamplighter), by_scipy(changed).history), plainly_wrong_K);
}

TEST(ScipyReferee, MissesIfItIsGivenAWrongSign) {
  const test::TemporaryDirectory here;
  const std::filesystem::path changed = with_replacement(here, every_law, "power: 2 W}", "power: -2 W}");
  const SteadyStates ours = steady_by_command(every_law);
  const SecondOpinion theirs = by_scipy(changed);
  EXPECT_GT(largest_difference_K(ours.beam_off, theirs.steady.beam_off), plainly_wrong_K);
  EXPECT_GT(largest_difference_K(ours.beam_on, theirs.steady.beam_on), plainly_wrong_K);
  EXPECT_GT(largest_difference_K(history_by_command(every_law), theirs.history), plainly_wrong_K);
}

TEST(ScipyReferee, RefusesWhatItDoesNotDo) {
  const test::TemporaryDirectory here;
  const std::string script = project_file("tests/referee/scipy_referee.py").string();
  const std::filesystem::path unknown = with_replacement(here, every_law, "space: 4 K", "planet: far");
  const test::ProgramResult result = test::run_program({"/usr/bin/python3", script, unknown.string(), project_file("materials").string()});
  EXPECT_EQ(result.exit_status, 2);
  EXPECT_EQ(result.standard_error, "scipy_referee: case: the referee does not know planet\n");
}

}  // namespace
}  // namespace tileflux::referee
