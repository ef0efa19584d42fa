// Steady states against ngspice: the tile as a circuit, volts for kelvin and amperes for watts, translated from
// docs/theory.md alone. A circuit simulator knows nothing of heat; it has its own Newton method and derivatives.
//
// Tolerance. ngspice accepts a state when no voltage changes by more than 1e-9 of itself (reltol), 3e-7 K at 300 K, and Newton's
// method is then far closer still. 1e-3 K is what the product promises.

#include <gtest/gtest.h>

#include <algorithm>

#include "referee/comparison.h"

namespace tileflux::referee::ngspice_test {

constexpr double tolerance_K = 1e-3;
constexpr double plainly_wrong_K = 1e-2;

const std::filesystem::path lamplighter = project_file("cases/lamplighter/case.yaml");

/// Circuit nodes have no dots in their names.
State without_dots(const State& state) {
  State renamed;
  for (const auto& [name, temperature_K] : state) {
    std::string plain = name;
    std::replace(plain.begin(), plain.end(), '.', '_');
    renamed[plain] = temperature_K;
  }
  return renamed;
}

double off_by_K(const std::filesystem::path& ours, const std::filesystem::path& theirs, bool beam,
                const std::optional<Change>& change = {}) {
  const SteadyStates states = steady_by_command(ours);
  return largest_difference_K(without_dots(beam ? states.beam_on : states.beam_off),
                              steady_by_ngspice(theirs, beam, change));
}

TEST(NgspiceReferee, AgreesOnTheLamplighterTileWithTheBeamOff) { EXPECT_LT(off_by_K(lamplighter, lamplighter, false), tolerance_K); }

TEST(NgspiceReferee, AgreesOnTheLamplighterTileWithTheBeamOn) { EXPECT_LT(off_by_K(lamplighter, lamplighter, true), tolerance_K); }

TEST(NgspiceReferee, AgreesOnATileThatIsShortOfSun) {
  const test::TemporaryDirectory here;
  const std::filesystem::path far = with_replacement(here, lamplighter, "distance: 1 AU", "distance: 1.5 AU");
  EXPECT_LT(off_by_K(far, far, true), tolerance_K);
}

TEST(NgspiceReferee, AgreesOnThePlate) {
  const std::filesystem::path plate = project_file("cases/plate/case.yaml");
  EXPECT_LT(off_by_K(plate, plate, false), tolerance_K);
}

TEST(NgspiceReferee, AgreesOnSegmentedFinsLouvresAndEnclosures) {
  const test::TemporaryDirectory here;
  const std::filesystem::path segmented = with_replacement(here, project_file("tests/referee/cases/every_radiator.yaml"),
                                                           "length: 15 cm}", "length: 15 cm, segments: 4}");
  EXPECT_LT(off_by_K(segmented, segmented, false), tolerance_K);
  EXPECT_LT(off_by_K(segmented, segmented, true), tolerance_K);
}

TEST(NgspiceReferee, MissesIfItIsGivenOnePathLess) {
  const test::TemporaryDirectory here;
  const std::filesystem::path changed = with_replacement(here, lamplighter, "  - {between: [bench, optics], exchange_area: 0.01 m2}\n", "");
  EXPECT_GT(off_by_K(lamplighter, changed, false), plainly_wrong_K);
  EXPECT_GT(off_by_K(lamplighter, changed, true), plainly_wrong_K);
}

TEST(NgspiceReferee, MissesIfItIsGivenAWrongSign) {
  // Heat of the computer taken from it instead of given to it.
  const Change turned{"0 temperature_computer I = V(house)", "temperature_computer 0 I = V(house)"};
  EXPECT_GT(off_by_K(lamplighter, lamplighter, false, turned), plainly_wrong_K);
  EXPECT_GT(off_by_K(lamplighter, lamplighter, true, turned), plainly_wrong_K);
}

}  // namespace tileflux::referee::ngspice_test
