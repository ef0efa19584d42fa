/// The low orbit of the ladder in its repeating state, against shooting outside the program (collocation at 1e-10 K, views
/// of the planet by quadrature over its ground), and every body of the library flown around.

#include <gtest/gtest.h>

#include <map>

#include "support/shipped_library.h"
#include "tileflux/studies/balance.h"
#include "tileflux/studies/periodic.h"
#include "tileflux/tile/case_reader.h"

namespace tileflux::orbit_case_test {

TEST(LowOrbit, RepeatsWithTheExtremesOfAShootingMethod) {
  const tile::CaseFile file = tile::read_case(TILEFLUX_PROJECT_DIR "/cases/low_orbit/case.yaml", test::shipped_library());
  tile::TileSystem system(file.description);
  studies::CycleSettings settings;
  settings.period_s = *system.sky_period_s();
  settings.on_s = file.description.beam->pattern->on_s;
  settings.first_s = file.description.beam->pattern->first_s;
  const studies::PeriodicState state = studies::periodic_state(system, settings);
  const std::map<std::string, std::pair<double, double>> extremes_K{
      {"panel", {225.43774, 344.81916}},       {"bench", {247.21252, 322.63690}},   {"wing", {249.13875, 305.10246}},
      {"electronics", {254.73654, 325.85638}}, {"battery", {281.63058, 303.12372}}};
  constexpr double promised_K = 1e-3;
  int compared = 0;
  for (const studies::TemperatureRange& range : state.ranges) {
    const auto found = extremes_K.find(range.node);
    if (found == extremes_K.end()) continue;
    EXPECT_NEAR(range.lowest_K, found->second.first, promised_K) << range.node;
    EXPECT_NEAR(range.highest_K, found->second.second, promised_K) << range.node;
    ++compared;
  }
  EXPECT_EQ(compared, 5);
  EXPECT_NEAR(state.light_J, 175819.016, 2e-6 * 175819.016);  // 1e-3 K of the junction change it by 3e-6
  // Plain revolutions contract by 0.13 each.
  EXPECT_NEAR(state.slowest_multiplier, 0.13, 0.01);
  EXPECT_LE(state.books.relative(), 1e-6);
}

TEST(Bodies, OfTheLibraryCanAllBeFlownAround) {
  for (const std::string& name : test::shipped_library().body_names()) {
    const std::string text =
        "tileflux: 1\ntitle: around a body\nsun: {}\norbit: {body: " + name +
        ", altitude: 400 km, inclination: 30 deg, front_to: zenith}\n"
        "parts: {plate: {heat_capacity: 9000 J/K}}\nsurfaces:\n"
        "  front: {on: plate, area: 1 m2, emittance: 85 %, absorptance: 90 %, sunlit: yes}\n"
        "  rear: {on: plate, area: 1 m2, emittance: 88 %, absorptance: 20 %, facing: rear}\n";
    const tile::CaseFile file = tile::read_case_text(text, "body.yaml", test::shipped_library());
    const studies::Balance result = studies::balance(file.description);
    // The rear looks at the ground: it takes more from the body than nothing and less than the Sun gives there.
    const double sun_W = file.description.sun.normal_irradiance_W_per_m2();
    EXPECT_GT(result.beam_off.ledger.planet_W, 0.05 * sun_W) << name;
    EXPECT_LT(result.beam_off.ledger.planet_W, sun_W) << name;
    EXPECT_LT(std::abs(result.beam_off.ledger_relative), 1e-9) << name;
  }
}

}  // namespace tileflux::orbit_case_test
