// The command against a SciPy script that was written from docs/theory.md alone: it reads case and materials files by
// itself, takes derivatives by complex steps, integrates by collocation at Radau points, and shares no line with the product.
//
// Tolerances. Steady states are solved to round-off on both sides; 1e-6 K is a millionth of what a person would notice.
// Transients: the command promises 1e-7 and 1e-5 K per step, 4e-5 K at 300 K; over the steps after a switch that adds up to
// a few 1e-4 K at most. 1e-3 K is what the product promises for a day with beam switching.
//
// Negative controls: the same comparisons, with one thing wrong in the case that the referee is given, must miss by far.

#include <gtest/gtest.h>

#include <algorithm>

#include "referee/comparison.h"
#include "support/child_process.h"

namespace tileflux::referee::scipy_referee_test {

constexpr double steady_tolerance_K = 1e-6;
constexpr double transient_tolerance_K = 1e-3;
constexpr double plainly_wrong_K = 1e-2;
// Mean surroundings are put together by Simpson's rule, which bends at an edge-on Sun and at a limb that comes into sight, from
// fluxes that are good to 0.02 W/m2: 1e-3 K for parts that lose 5 W/(m2 K) and take up 0.3 of that on average.
constexpr double mean_tolerance_K = 1e-3;
constexpr double charge_tolerance = 1e-5;  // the program promises 1e-4

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

std::filesystem::path low_orbit_for(const test::TemporaryDirectory& here, const std::string& time) {
  return with_replacement(here, project_file("cases/low_orbit/case.yaml"), "duration: 8 h", "duration: " + time);
}

/// Both steady states and the transient; returns ours.
History expect_agreement_under_a_sky(const std::filesystem::path& file, const std::string& name, double steady_K) {
  const SteadyStates steady = steady_by_command(file);
  const SecondOpinion theirs = by_scipy(file, coarse_K);
  EXPECT_LT(reached(name + ", steady, K", largest_difference_K(steady.beam_off, theirs.steady.beam_off)), steady_K);
  if (!steady.beam_on.empty()) {
    EXPECT_LT(reached(name + ", steady with the beam, K", largest_difference_K(steady.beam_on, theirs.steady.beam_on)), steady_K);
  }
  const History ours = history_by_command(file);
  EXPECT_LT(reached(name + ", K", largest_difference_K(ours, theirs.history)), transient_tolerance_K);
  if (!theirs.history.battery_charge.empty()) {
    EXPECT_LT(reached(name + ", charge", largest_difference(ours.battery_charge, theirs.history.battery_charge)), charge_tolerance);
  }
  return ours;
}

double range_K(const History& history, const std::string& node) {
  const auto [least, most] = std::minmax_element(history.temperature_K.at(node).begin(), history.temperature_K.at(node).end());
  return *most - *least;
}

// The script integrates views of the planet over its ground and the Sun's disc by rings; in place of a spline it has polynomials that
// are halved until they follow to 1e-6 W/m2.
TEST(ScipyReferee, AgreesOnALowOrbitThroughShadowAndFiring) {
  const test::TemporaryDirectory here;
  const History ours = expect_agreement_under_a_sky(low_orbit_for(here, "2 h"), "low orbit", mean_tolerance_K);
  EXPECT_GT(range_K(ours, "panel"), 100.0);
}

// Around the Moon, whose infrared follows the Sun: all that low_orbit is not. Louvre, light that goes to two nodes, edge-on for a while.
TEST(ScipyReferee, AgreesOnAnEllipticOrbitByItsInclinationWithTheFrontToTheZenith) {
  expect_agreement_under_a_sky(project_file("tests/referee/cases/elliptic_orbit.yaml"), "elliptic orbit", mean_tolerance_K);
}

TEST(ScipyReferee, AgreesOnAnEllipseAroundTheSunFixedInSpaceUntilTheRearIsLit) {
  const History ours = expect_agreement_under_a_sky(project_file("tests/referee/cases/ellipse.yaml"), "ellipse", mean_tolerance_K);
  EXPECT_GT(range_K(ours, "panel"), 300.0);
}

TEST(ScipyReferee, AgreesOnACourseWithATimeEdgeOn) {
  expect_agreement_under_a_sky(project_file("tests/referee/cases/course.yaml"), "course", mean_tolerance_K);
}

TEST(ScipyReferee, AgreesOnATileThatTurnsItself) {
  const test::TemporaryDirectory here;
  const std::filesystem::path hour = with_replacement(here, project_file("cases/near_sun/turning.yaml"), "duration: 12 h", "duration: 1 h");
  expect_agreement_under_a_sky(hour, "turning", steady_tolerance_K);
}

TEST(ScipyReferee, AgreesOnSteadyStatesAtOneInstantOfAnOrbit) {
  // Noon, in the penumbra (the disc is seen by two constructions that differ by 1e-5 of it: 1e-3 K), in the shadow, and lit from ahead.
  const std::filesystem::path file = project_file("cases/low_orbit/case.yaml");
  for (const char* time : {"0 s", "1826 s", "48 min", "80 min"}) {
    EXPECT_LT(reached(time, largest_difference_K(steady_by_command(file, time).beam_off, steady_by_scipy(file, time).beam_off)), mean_tolerance_K);
  }
}

TEST(ScipyReferee, MissesIfThePlanetOrTheEllipseIsNotThatOfTheCase) {
  struct Mistake {
    const char *name, *text, *replacement;
  };
  const test::TemporaryDirectory here;
  const std::filesystem::path orbit = low_orbit_for(here, "25 min");
  for (const Mistake& mistake : {Mistake{"albedo", "beta: 20 deg", "beta: 20 deg, albedo: 0 %"},
                                 Mistake{"face", "view_to_space: 95 %, facing: rear", "view_to_space: 95 %, facing: front"}}) {
    const test::TemporaryDirectory changed;
    const History theirs = by_scipy(with_replacement(changed, orbit, mistake.text, mistake.replacement), coarse_K).history;
    EXPECT_GT(reached(mistake.name, largest_difference_K(history_by_command(orbit), theirs)), plainly_wrong_K);
  }
  const std::filesystem::path ellipse = project_file("tests/referee/cases/ellipse.yaml");
  // Not the tilt: by Kepler's law of areas the mean over a year does not depend on where a tile that is fixed in space looks.
  const std::filesystem::path nearer = with_replacement(here, ellipse, "perihelion: 0.45 AU", "perihelion: 0.44 AU");
  EXPECT_GT(largest_difference_K(steady_by_command(ellipse).beam_off, steady_by_scipy(nearer).beam_off), plainly_wrong_K);
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

}  // namespace tileflux::referee::scipy_referee_test
