#include "tileflux/tile/ageing.h"

#include <gtest/gtest.h>

#include <cmath>

#include "support/sample_tiles.h"
#include "tileflux/base/constants.h"
#include "tileflux/base/errors.h"

namespace tileflux::tile::ageing_test {

/// Products and exponentials of a few doubles, relative.
constexpr double round_off = 1e-13;

Case ageing_tile() {
  Case tile = test::everything_else();
  tile.ageing = Ageing{.cells = devices::CellFading{1e-9, {0.0, 298.15}},
                       .radiation = devices::RadiationDamage{0.05, 1e14, 1e5},
                       .finishes = {{"front", {0.95, 1e7}}, {"rear", {0.4, 1e7}}},
                       .diodes = {{"pump", {2e-9, {0.5, 298.15}, 1.5}}, {"west", {1e-9, {0.0, 298.15}, 0.0}}}};
  return tile;
}

TEST(StatesOfAgeing, AreNamedByWhatWears) {
  EXPECT_EQ(age_names(ageing_tile()), (std::vector<std::string>{"cells.remaining", "front.absorptance", "rear.absorptance", "pump.wear", "west.wear"}));
  EXPECT_TRUE(age_names(test::everything_else()).empty());
  EXPECT_TRUE(age_of(test::everything_else()).empty());
}

TEST(StatesOfAgeing, BeginAsTheCaseIsDescribedAndComeBackAsTheyWereSet) {
  Case tile = ageing_tile();
  EXPECT_EQ(age_of(tile), (std::vector<double>{0.97, 0.9, 0.0, 0.0, 0.0}));
  const std::vector<double> worn{0.8, 0.93, 0.1, 0.25, 0.5};
  set_age(tile, worn);
  EXPECT_EQ(tile.cells->remaining, 0.8);
  EXPECT_EQ(tile.surfaces[0].absorptance, 0.93);
  EXPECT_EQ(tile.lasers[0].devices.remaining, 0.75);
  EXPECT_EQ(age_of(tile), worn);
}

TEST(RatesOfAgeing, FollowTheirLawsAtTheStateOfTheTile) {
  const Case tile = ageing_tile();
  TileSystem system(tile);
  system.set_mode({.beam = true, .drive = 0.8, .throttled = false});
  std::vector<double> x = system.uniform_state(300.0), rate(5);
  x[static_cast<std::size_t>(system.network().unknown_of(system.junction_of(0)))] = 330.0;
  age_rates(system, 0.0, x, rate);
  const double radiation = -0.05 / std::log(10.0) * 1e5 / 1e14 * std::exp(-0.03 * std::log(10.0) / 0.05);
  EXPECT_NEAR(rate[0], -1e-9 * 0.97 + radiation, round_off * 1e-9);
  EXPECT_NEAR(rate[1], (0.95 - 0.9) / 1e7, round_off * 1e-8);
  EXPECT_EQ(rate[2], 0.0);  // the rear meets no sunlight
  const auto& diode = std::get<devices::DiodeLaw>(tile.lasers[0].devices.law);
  const double drive = diode.current_A(system.chain_flows(x).bank[0].input / 2.0) / 27.0;
  const double hotter = std::exp(0.5 / boltzmann_eV_per_K * (1.0 / 298.15 - 1.0 / 330.0));
  ASSERT_GT(drive, 0.0);
  EXPECT_NEAR(rate[3], 2e-9 * hotter * std::pow(drive, 1.5), round_off * rate[3]);
  EXPECT_NEAR(rate[4], 1e-9, round_off * 1e-9);
}

TEST(RatesOfAgeing, AreThoseOfRestWithTheBeamOffAndInTheDark) {
  Case tile = ageing_tile();
  tile.sun.tilt_rad = 2.0;
  TileSystem system(tile);
  system.set_mode({.beam = false});
  std::vector<double> rate(5, 1.0);
  age_rates(system, 0.0, system.uniform_state(300.0), rate);
  EXPECT_LT(rate[0], 0.0);
  EXPECT_EQ(rate[1], 0.0);
  EXPECT_EQ(rate[3], 0.0);
  EXPECT_EQ(rate[4], 0.0);
}

TEST(RatesOfAgeing, TakeTheMeanOfTheZonesByShare) {
  Case tile = ageing_tile();
  tile.ageing->radiation.reset();
  tile.ageing->cells->temperature.activation_eV = 0.6;
  TileSystem system(tile);
  std::vector<double> x = system.uniform_state(300.0), rate(5);
  x[static_cast<std::size_t>(system.network().unknown_of(system.network().find("cells.outer")))] = 350.0;
  age_rates(system, 0.0, x, rate);
  EXPECT_NEAR(rate[0], -0.97e-9 * tile.ageing->cells->temperature.factor(0.6 * 300.0 + 0.4 * 350.0), round_off * 1e-7);
}

TEST(Ageing, OfWhatIsNotDescribedIsRefused) {
  Case tile = ageing_tile();
  tile.ageing->diodes[0].bank = "nobody";
  try {
    age_of(tile);
    FAIL() << "not refused";
  } catch (const Error& error) {
    EXPECT_EQ(error.code(), Code::name_unknown);
  }
}

}  // namespace tileflux::tile::ageing_test
