#include "tileflux/studies/sustainable.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "support/sample_tiles.h"
#include "support/shipped_library.h"
#include "tileflux/studies/duty.h"
#include "tileflux/tile/case_reader.h"

namespace tileflux::studies::sustainable_test {

/// What the plate of the burst radiates at its limit, in W.
double rejected_W() { return 0.88 * stefan_boltzmann_W_per_m2_K4 * std::pow(313.0, 4.0); }

/// A tile whose efficiencies do not depend on temperature: 200 W of sun for the lasers, which ask for 300 W, and a
/// battery of 360 kJ without resistance that takes at most 150 W.
tile::Case battery_tile() {
  tile::Case tile;
  tile.title = "battery tile";
  tile.parts = {{.name = "panel", .capacity_J_per_K = PropertyTable(3000.0)}, {.name = "cell_box", .capacity_J_per_K = PropertyTable(3000.0)}};
  tile.joins = {{.a = "panel", .b = "cell_box", .conductance_W_per_K = 5.0}};
  tile.sun.irradiance_at_1AU_W_per_m2 = 1000.0;
  tile.surfaces = {{.name = "front", .node = "panel", .area_m2 = 1.0, .emittance = 0.85, .absorptance = 0.9, .facing = tile::Surface::Facing::front},
                   {.name = "rear", .node = "panel", .area_m2 = 1.0, .emittance = 0.85}};
  tile.cells = tile::Cells{.surface = "front", .node = "panel", .efficiency = 0.2};
  tile.battery = tile::Battery{.node = "cell_box",
                               .law = {.capacity_J = 3.6e5, .resistance_loss_per_W = 1e-9, .most_charge_W = 150.0, .most_discharge_W = 500.0, .least_percent = 20.0},
                               .start_percent = 60.0, .least_percent = 20.0};
  tile.lasers = {{.name = "main", .mount = "panel", .devices = {.modules = 1, .law = devices::EfficiencyLaw{300.0, {300.0}, {1.0}, {0.5}}}, .resistance_K_per_W = 0.1}};
  tile.limits = {{.node = "panel", .below_K = 400.0}};
  tile.beam = tile::Beam{1.0, tile::TimePattern{60.0, 600.0, 0.0}};
  return tile;
}

tile::Case in_low_orbit(tile::Case tile) {
  tile::Orbit orbit;
  orbit.planet = {6378137.0, 3.98600436e14, 1.495978871e11, 0.0167, 0.298, environment::UniformInfrared{238.0}};
  orbit.path = environment::circular_orbit(3.98600436e14, 6378137.0, 550e3, 0.0);
  tile.orbit = orbit;
  for (tile::Surface& surface : tile.surfaces) {
    if (surface.facing == tile::Surface::Facing::not_stated) surface.facing = tile::Surface::Facing::rear;
  }
  return tile;
}

TEST(FittingCycle, IsThePeriodItselfInASteadySun) {
  const tile::TileSystem system(battery_tile());
  const FittingCycle cycle = fitting_cycle(system, 123.0);
  EXPECT_EQ(cycle.period_s, 123.0);
  EXPECT_EQ(cycle.pulses, 1);
  EXPECT_FALSE(cycle.moving);
}

TEST(FittingCycle, DividesARevolutionOrIsAWholeNumberOfThem) {
  const tile::TileSystem system(in_low_orbit(battery_tile()));
  const double revolution_s = *system.sky_period_s();
  const FittingCycle shorter = fitting_cycle(system, 0.26 * revolution_s);
  EXPECT_EQ(shorter.pulses, 4);
  EXPECT_DOUBLE_EQ(shorter.period_s, revolution_s / 4.0);
  EXPECT_DOUBLE_EQ(shorter.cycle_s, revolution_s);
  const FittingCycle longer = fitting_cycle(system, 2.6 * revolution_s);
  EXPECT_EQ(longer.pulses, 1);
  EXPECT_DOUBLE_EQ(longer.cycle_s, 3.0 * revolution_s);
  EXPECT_TRUE(longer.moving);
}

TEST(SustainableDuty, OfABatteryIsWhatTheClosedChargeBalanceGives) {
  // On: 100 W out of the store. Off: 150 W into it, all that it takes. d 100 = (1 - d) 150: d = 60 %.
  tile::TileSystem system(battery_tile());
  const SustainableDuty duty = sustainable_duty(system, 600.0);
  constexpr double resistance_and_taper = 1e-6;
  EXPECT_NEAR(*duty.short_period_energy_fraction, 0.6, resistance_and_taper);
  EXPECT_NEAR(duty.fraction, 0.6, 1e-4);  // near it the charge takes ever longer to repeat
  EXPECT_LE(duty.fraction, 0.6 + resistance_and_taper);
  ASSERT_TRUE(duty.binding);
  EXPECT_EQ(duty.binding->kind, LimitKind::energy);
  EXPECT_EQ(*duty.short_period_fraction, 1.0) << "no temperature limits it";
  EXPECT_NEAR(duty.mean_light_W, duty.fraction * 150.0, 0.02);
}

TEST(SustainableDuty, OfABatteryThatRestsIsNotBoundByEnergy) {
  tile::Case tile = battery_tile();
  tile.battery->feeds_lasers = false;
  tile::TileSystem system(tile);
  const SustainableDuty duty = sustainable_duty(system, 600.0);
  EXPECT_EQ(duty.fraction, 1.0);
  EXPECT_FALSE(duty.short_period_energy_fraction);
}

TEST(SustainableDuty, AtALongPeriodIsBoundByWhatTheBatteryHolds) {
  // From full to where 100 W are no longer given, a fifth: 2.7 kJ per percent less in 3.6e5 J x 0.8 / 100 W = 2880 s.
  tile::TileSystem system(battery_tile());
  const double period_s = 20000.0;
  const SustainableDuty duty = sustainable_duty(system, period_s);
  const double on_s = duty.fraction * period_s;
  EXPECT_LT(on_s, 2880.0);
  EXPECT_GT(on_s, 2880.0 * 0.93) << "a taper of 5 % at either end";
  ASSERT_TRUE(duty.binding);
  EXPECT_EQ(duty.binding->kind, LimitKind::charge);
  EXPECT_LT(duty.binding->value, 25.0);
  EXPECT_NEAR(duty.state.lasers_asked_J, duty.state.lasers_given_J, 1e-7 * duty.state.lasers_asked_J);  // the same integral twice
}

TEST(SustainableDuty, InAnOrbitCountsTheShadow) {
  // Lasers asked for in the dark come out of the battery; with the battery at work the duty is less than in full sun.
  tile::TileSystem sunny(battery_tile());
  tile::TileSystem orbiting(in_low_orbit(battery_tile()));
  const SustainableDuty in_sun = sustainable_duty(sunny, 600.0);
  const SustainableDuty in_orbit = sustainable_duty(orbiting, 600.0);
  EXPECT_TRUE(in_orbit.cycle.moving);
  EXPECT_LT(in_orbit.fraction, in_sun.fraction);
  EXPECT_GT(in_orbit.fraction, 0.0);
  // d 300 W = s 200 W on average where nothing is lost, s the sunlit share; less than that, for charging is bounded.
  const double sunlit = 1.0 - orbiting.surroundings().shadow_s() / *orbiting.sky_period_s();
  EXPECT_LT(in_orbit.fraction, sunlit * 200.0 / 300.0 + 0.01);
  EXPECT_FALSE(in_orbit.short_period_energy_fraction);
}

TEST(Duty, TellsWhereAPeriodDoesNotFitTheOrbit) {
  tile::Case tile = in_low_orbit(battery_tile());
  tile::TileSystem system(tile);
  const Duty result = duty(system);
  const auto told = std::find_if(result.warnings.begin(), result.warnings.end(), [](const Diagnostic& d) { return d.code == Code::mean_surroundings; });
  ASSERT_NE(told, result.warnings.end());
  EXPECT_NE(told->message.find("573.899 s"), std::string::npos) << told->message;  // a tenth of the revolution
  ASSERT_TRUE(result.sustainable);
  EXPECT_EQ(result.sustainable->cycle.pulses, 10);
}

TEST(DutyCurve, FallsFromTheShortPeriodBoundAsPeriodsGrow) {
  tile::TileSystem system(test::burst_plate(2500.0, 250.0));
  const std::vector<double> periods = spaced_periods(1.0, 3000.0, 6);
  const DutyCurve curve = duty_curve(system, periods);
  ASSERT_EQ(curve.points.size(), 6u);
  const double bound = (rejected_W() - 250.0) / 2250.0;
  EXPECT_NEAR(curve.points.front().fraction, bound, 1e-3 * bound);
  for (std::size_t i = 0; i < 6; ++i) {
    EXPECT_NEAR(*curve.points[i].short_period_fraction, bound, 1e-9);
    EXPECT_LE(curve.points[i].fraction, bound * (1.0 + 1e-9));
    if (i > 0) {
      EXPECT_LT(curve.points[i].fraction, curve.points[i - 1].fraction);
    }
  }
  // 5.2658 % at 3000 s, computed outside at 1e-10.
  EXPECT_NEAR(curve.points.back().fraction, 0.052658, 5e-7);
}

TEST(DutyCurve, EndsWhereItIsToldToWithWhatIsComplete) {
  tile::TileSystem system(test::burst_plate(2500.0, 250.0));
  const DutyCurve curve = duty_curve(system, spaced_periods(1.0, 3000.0, 6), [](double share) { return share < 0.3; });
  EXPECT_EQ(curve.points.size(), 2u);
}

TEST(DutyMap, HasTheDriveOfALineWhereTheClosedFormHasIt) {
  // Short periods: d (drive 2500) + (1 - d) 250 = rejected.
  std::vector<double> drives;
  for (int i = 1; i <= 5; ++i) drives.push_back(0.2 * i);
  const std::vector<double> periods{1.0, 300.0};
  const std::vector<double> levels{0.12, 0.2};
  const DutyMap map = duty_map(test::burst_plate(2500.0, 250.0), drives, periods, levels);
  ASSERT_EQ(map.lines.size(), 2u);
  for (const DutyMap::Line& line : map.lines) {
    ASSERT_EQ(line.drives.size(), 2u);
    const double exact = (rejected_W() - (1.0 - line.fraction) * 250.0) / (line.fraction * 2500.0);
    EXPECT_NEAR(line.drives[0], exact, 1e-3);  // a period of 1 s for none, and the drive to 14 bits
    EXPECT_LT(line.drives[1], line.drives[0]) << "a longer period takes less drive";
  }
  EXPECT_EQ(map.binding.back()[0], "plate");
}

TEST(DutyMap, PutsALineWhereTheDutyFallsOffACliff) {
  // Cells and structure are hottest with the beam off, so that a long pulse begins hotter than it would go on: always on
  // is possible up to the continuous rating, and just above it nothing of the kind.
  const tile::Case tile = tile::read_case(TILEFLUX_PROJECT_DIR "/cases/lamplighter/case.yaml", test::shipped_library()).description;
  const std::vector<double> drives{0.875, 1.0}, periods{7200.0}, levels{0.5};
  const DutyMap map = duty_map(tile, drives, periods, levels);
  EXPECT_EQ(map.fraction[0][0], 1.0);
  EXPECT_LT(map.fraction[1][0], 0.1);
  ASSERT_EQ(map.lines[0].drives.size(), 1u);
  tile::TileSystem system(tile);
  constexpr double close = 1e-3;  // of the search for the line
  EXPECT_NEAR(map.lines[0].drives[0], continuous_rating(system).drive, close);
}

}  // namespace tileflux::studies::sustainable_test
