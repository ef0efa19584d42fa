#include "tileflux/tile/tile_system.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "support/sample_tiles.h"
#include "tileflux/base/errors.h"

namespace tileflux::tile::tile_system_test {

/// Sums and products of a few doubles, relative.
constexpr double round_off = 1e-12;
constexpr double sigma = stefan_boltzmann_W_per_m2_K4;

std::vector<double> residual_of(const TileSystem& system, const std::vector<double>& x) {
  std::vector<double> out(x.size());
  const std::vector<double> no_rate(x.size(), 0.0);
  EXPECT_TRUE(system.residual(0.0, x, no_rate, out));
  return out;
}

std::vector<double> uniform(const TileSystem& system, double temperature_K) { return std::vector<double>(static_cast<std::size_t>(system.size()), temperature_K); }

TEST(TileSystem, BalancesSunAgainstInfrared) {
  const TileSystem system(test::plate_in_the_sun());
  const double expected_W = 0.9 * 1361.0 - sigma * 1.73 * 300.0 * 300.0 * 300.0 * 300.0;
  EXPECT_NEAR(residual_of(system, {300.0})[0], expected_W, round_off * 1361.0);
}

TEST(TileSystem, TakesStoredHeatOffTheResidual) {
  const TileSystem system(test::plate_in_the_sun());
  std::vector<double> still(1), rising(1);
  system.residual(0.0, std::vector<double>{300.0}, std::vector<double>{0.0}, still);
  system.residual(0.0, std::vector<double>{300.0}, std::vector<double>{0.5}, rising);
  EXPECT_NEAR(still[0] - rising[0], 2400.0 * 0.5, round_off * 1361.0);
}

TEST(TileSystem, RefusesTemperaturesThatAreNotPositive) {
  const TileSystem system(test::plate_in_the_sun());
  std::vector<double> out(1);
  const std::vector<double> rate{0.0};
  for (const double bad : {0.0, -1.0, std::numeric_limits<double>::quiet_NaN()}) EXPECT_FALSE(system.residual(0.0, std::vector<double>{bad}, rate, out));
}

TEST(TileSystem, GivesNoNumberThatIsNone) {
  // A search may step to absurd temperatures: these are refused, so that it tries a shorter step.
  TileSystem system(test::everything());
  system.set_mode({.beam = true});
  std::vector<double> out(static_cast<std::size_t>(system.size()));
  const std::vector<double> rate(out.size(), 0.0);
  for (const double absurd_K : {1e5, 1e8, 1e90, std::numeric_limits<double>::infinity()}) {
    bool inside = false;
    EXPECT_NO_THROW(inside = system.residual(0.0, uniform(system, absurd_K), rate, out)) << absurd_K;
    for (const double heat : out) EXPECT_TRUE(!inside || std::isfinite(heat)) << absurd_K;
  }
}

TEST(TileSystem, SaysWhichNodeHasNoNumber) {
  Case broken = test::plate_in_the_sun();
  broken.loads.push_back({.node = "plate", .power_W = std::numeric_limits<double>::quiet_NaN()});
  const TileSystem system(broken);
  std::vector<double> out(1);
  try {
    system.residual(0.0, std::vector<double>{300.0}, std::vector<double>{0.0}, out);
    FAIL() << "nothing was thrown";
  } catch (const Error& error) {
    EXPECT_EQ(error.code(), Code::law_not_finite);
    EXPECT_NE(std::string(error.what()).find("plate"), std::string::npos);
  }
}

TEST(TileSystem, WithTheSunBehindItAbsorbsNothing) {
  for (const double tilt_rad : {1.5707963267948966, 2.0, 3.14159265358979}) {
    Case plate = test::plate_in_the_sun();
    plate.sun.tilt_rad = tilt_rad;
    const TileSystem system(plate);
    constexpr double edge_on_W = 1e-12;  // cos of the double nearest to pi / 2
    EXPECT_NEAR(system.ledger(std::vector<double>{300.0}).absorbed_W, 0.0, edge_on_W);
    EXPECT_NEAR(residual_of(system, {300.0})[0], -sigma * 1.73 * 8.1e9, round_off * 800.0);
  }
}

TEST(TileSystem, SwitchesLoadsWithItsMode) {
  TileSystem system(test::everything());
  system.set_mode({.beam = false, .drive = 0.5});
  EXPECT_DOUBLE_EQ(system.ledger(uniform(system, 300.0)).loads_W, 5.0 - 2.0 + 11.0);
  system.set_mode({.beam = true, .drive = 0.5});
  EXPECT_DOUBLE_EQ(system.ledger(uniform(system, 300.0)).loads_W, 5.0 + 1.5 + 11.0);
  system.set_mode({.beam = true, .drive = 0.5, .pattern_share = {0, 0, 0, 1.0, 0}});
  EXPECT_DOUBLE_EQ(system.ledger(uniform(system, 300.0)).loads_W, 5.0 + 1.5 + 8.0 + 11.0);
}

TEST(TileSystem, LoadsAndSunlightOnAFixedPartGoToWhateverHoldsIt) {
  Case held = test::plate_in_the_sun();
  held.parts.push_back({.name = "wall", .fixed_K = 300.0});
  held.joins.push_back({.a = "plate", .b = "wall", .conductance_W_per_K = 2.0});
  held.loads.push_back({.node = "wall", .power_W = 50.0});
  held.surfaces.push_back({.name = "wall_front", .node = "wall", .area_m2 = 0.1, .emittance = 0.5, .absorptance = 0.5, .facing = tile::Surface::Facing::front});
  const TileSystem system(held);
  const Ledger books = system.ledger(std::vector<double>{310.0});
  const double wall_sun_W = 0.05 * 1361.0, wall_infrared_W = sigma * 0.05 * 8.1e9;
  EXPECT_NEAR(books.to_fixed_W, 50.0 + wall_sun_W - wall_infrared_W + 20.0, round_off * 100.0);
  EXPECT_NEAR(books.incoming_W(), 0.9 * 1361.0 + wall_sun_W + 50.0, round_off * 1361.0);
  EXPECT_NEAR(books.residual_W(), system.node_balance(std::vector<double>{310.0})[0], round_off * 1361.0);
}

TEST(TileSystem, TakesElectricityOutOfTheCells) {
  Case tile = test::everything();
  TileSystem system(tile);
  system.set_mode({.beam = false});
  const std::vector<double> x = uniform(system, 300.0);
  const auto flows = system.chain_flows(x);
  const auto cells = static_cast<std::size_t>(system.network().unknown_of(system.network().find("cells")));
  const auto shunt = static_cast<std::size_t>(system.network().unknown_of(system.network().find("shunt")));
  // At one temperature only the bus, at 285 K, draws conduction: not from the cells.
  EXPECT_NEAR(residual_of(system, x)[cells], 0.9 * 0.9 * 0.8 * 1361.0 - flows.available, round_off * 1361.0);
  tile.cells->shunt_node.reset();
  TileSystem staying(tile);
  staying.set_mode({.beam = false});
  EXPECT_NEAR(residual_of(staying, x)[cells], 0.9 * 0.9 * 0.8 * 1361.0 - flows.drawn, round_off * 1361.0);
  EXPECT_NEAR(residual_of(system, x)[shunt] - residual_of(staying, x)[shunt], flows.undrawn, round_off * 1361.0);
}

TEST(TileSystem, LoopGainIsTheSlopeOfJunctionHeatTimesItsResistance) {
  TileSystem system(test::everything());
  system.set_mode({.beam = true, .drive = 1.0, .throttled = false});
  std::vector<double> x = uniform(system, 310.0);
  const std::vector<double> gains = system.loop_gains(x);
  ASSERT_EQ(gains.size(), 2u);
  const auto junction = static_cast<std::size_t>(system.network().unknown_of(system.junction_of(0)));
  constexpr double step_K = 1e-3;
  const auto heat_at = [&](double temperature_K) {
    x[junction] = temperature_K;
    return system.chain_flows(x).bank[0].junction_heat;
  };
  const double slope = (heat_at(310.0 + step_K) - heat_at(310.0 - step_K)) / (2.0 * step_K);
  constexpr double difference_error = 1e-6;  // third derivative / T0^2 x step^2, and round-off / step
  EXPECT_NEAR(gains[0], slope * 0.5 / 3.0, difference_error);
  EXPECT_GT(gains[0], 0.0);
}

TEST(TileSystem, WithoutLasersHasNoLoopGainsAndNoFlows) {
  const TileSystem system(test::plate_in_the_sun());
  EXPECT_TRUE(system.loop_gains(std::vector<double>{300.0}).empty());
  EXPECT_EQ(system.chain_flows(std::vector<double>{300.0}).available, 0.0);
  EXPECT_FALSE(system.has_lasers() || system.has_cells());
}

TEST(TileSystem, GuessesThePlatesTemperatureOutright) {
  const TileSystem system(test::plate_in_the_sun());
  EXPECT_NEAR(system.uniform_guess_K(), 334.280, 5e-4);  // known to six printed digits
}

TEST(TileSystem, AlwaysHasAPowerScale) {
  Case dark = test::plate_in_the_sun();
  dark.sun.tilt_rad = 3.0;
  EXPECT_GT(TileSystem(dark).power_scale_W(), 0.0);
  dark.loads = {{.node = "plate", .power_W = 40.0}, {.node = "plate", .power_W = -40.0}};
  EXPECT_GE(TileSystem(dark).power_scale_W(), 40.0);
}

TEST(TileSystem, StartsWhereItsPartsSay) {
  Case tile = test::everything();
  tile.start.temperature_K = 280.0;
  tile.parts[0].start_K = 333.0;
  const TileSystem system(tile);
  const std::vector<double> start = system.stated_start();
  for (int i = 0; i < system.size(); ++i) EXPECT_EQ(start[static_cast<std::size_t>(i)], system.unknown_name(i) == "back" ? 333.0 : 280.0);
}

}  // namespace tileflux::tile::tile_system_test
