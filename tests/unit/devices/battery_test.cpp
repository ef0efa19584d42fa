#include "tileflux/devices/battery.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "support/random_values.h"

namespace tileflux::devices::battery_test {

/// A few products and a square root, relative.
constexpr double round_off = 1e-14;

/// 200 Wh, 95 % round trip at 100 W, 5 to 45 degC for charge, -15 to 55 degC for discharge, three quarters usable.
const BatteryLaw battery{.capacity_J = 720e3, .resistance_loss_per_W = resistance_loss_for(0.95, 100.0), .self_discharge_per_s = 1e-8,
                         .most_charge_W = 120.0, .most_discharge_W = 200.0, .full_percent = 98.0, .taper_percent = 6.0,
                         .least_percent = 25.0, .derating_percent = 4.0, .charge_window = {278.15, 318.15, 2.0},
                         .discharge_window = {258.15, 328.15, 3.0}};

constexpr double room_K = 298.15;

TEST(Battery, RoundTripAtOnePowerHasTheStatedEfficiency) {
  EXPECT_NEAR(battery.round_trip_efficiency(100.0), 0.95, round_off);
  EXPECT_GT(battery.round_trip_efficiency(50.0), 0.95);
  EXPECT_EQ(battery.round_trip_efficiency(0.0), 1.0);
}

TEST(Battery, EnergyOutOverEnergyInIsTheRoundTripEfficiency) {
  BatteryLaw law = battery;
  law.self_discharge_per_s = 0.0;
  const double taken_J = law.stored_W(80.0, 50.0) * 3600.0;               // one hour in
  const double duration_s = taken_J / -law.stored_W(-80.0, 50.0);         // what it lasts out
  EXPECT_NEAR(duration_s / 3600.0, law.round_trip_efficiency(80.0), round_off);
}

TEST(Battery, AChargeKeepsLessAndADischargeTakesMore) {
  EXPECT_LT(battery.stored_W(100.0, 50.0), 100.0);
  EXPECT_LT(battery.stored_W(-100.0, 50.0), -100.0);
  EXPECT_EQ(battery.loss_W(100.0), battery.loss_W(-100.0));
}

TEST(Battery, AtRestLosesByItselfOnly) {
  EXPECT_DOUBLE_EQ(battery.stored_W(0.0, 50.0), -1e-8 * 360e3);
  EXPECT_EQ(battery.stored_W(0.0, 0.0), 0.0);
}

RC_GTEST_PROP(Battery, BusPowerIsStoredOrHeat, ()) {
  const double bus_W = test::between(-200.0, 120.0), charge = test::between(0.0, 100.0);
  RC_ASSERT(std::abs(bus_W - battery.stored_W(bus_W, charge) - battery.heat_W(bus_W, charge)) <= round_off * 200.0);
  RC_ASSERT(battery.heat_W(bus_W, charge) >= 0.0);
}

TEST(Battery, FullAcceptsNothing) {
  EXPECT_EQ(battery.largest_charge_W(98.0, room_K), 0.0);
  EXPECT_EQ(battery.largest_charge_W(100.0, room_K), 0.0);
  EXPECT_GT(battery.largest_charge_W(97.9, room_K), 0.0);
  EXPECT_EQ(battery.largest_charge_W(92.0, room_K), 120.0);
  EXPECT_NEAR(battery.largest_charge_W(95.0, room_K), 60.0, 120.0 * round_off);
}

TEST(Battery, AtItsDepthOfDischargeGivesNothing) {
  EXPECT_EQ(battery.largest_discharge_W(25.0, room_K), 0.0);
  EXPECT_EQ(battery.largest_discharge_W(0.0, room_K), 0.0);
  EXPECT_GT(battery.largest_discharge_W(25.1, room_K), 0.0);
  EXPECT_EQ(battery.largest_discharge_W(29.0, room_K), 200.0);
  EXPECT_NEAR(battery.largest_discharge_W(27.0, room_K), 100.0, 200.0 * round_off);
}

TEST(Battery, OutsideItsTemperaturesTakesAndGivesNothing) {
  for (const double too_cold_or_hot_K : {250.0, 258.15, 328.15, 340.0}) {
    EXPECT_EQ(battery.largest_charge_W(50.0, too_cold_or_hot_K), 0.0);
    EXPECT_EQ(battery.largest_discharge_W(50.0, too_cold_or_hot_K), 0.0);
  }
  EXPECT_EQ(battery.largest_charge_W(50.0, 270.0), 0.0);       // too cold for charge only
  EXPECT_EQ(battery.largest_discharge_W(50.0, 270.0), 200.0);
}

TEST(TemperatureWindow, RampsLinearlyInsideItsEnds) {
  const TemperatureWindow window{280.0, 300.0, 2.0};
  EXPECT_EQ(window.factor(280.0), 0.0);
  EXPECT_EQ(window.factor(281.0), 0.5);
  EXPECT_EQ(window.factor(282.0), 1.0);
  EXPECT_EQ(window.factor(299.5), 0.25);
  EXPECT_EQ(window.factor(variable<1>(281.0, 0)).derivatives()[0], 0.5);
  EXPECT_EQ(window.factor(variable<1>(299.0, 0)).derivatives()[0], -0.5);
  EXPECT_EQ(window.factor(variable<1>(290.0, 0)).derivatives()[0], 0.0);
  EXPECT_EQ(TemperatureWindow{}.factor(77.0), 1.0);
}

TEST(SmoothStep, HasNoKinkAtItsEnds) {
  for (const double end : {0.0, 1.0}) {
    for (const double step : {-1e-9, 1e-9}) {
      // Inside, the derivative 6x(1 - x) is no more than six times the distance to the end.
      EXPECT_LE(std::abs(smooth_step(variable<1>(end + step, 0)).derivatives()[0]), 6.0 * 1e-9);
    }
  }
  EXPECT_EQ(smooth_step(variable<1>(0.5, 0)).derivatives()[0], 1.5);
}

RC_GTEST_PROP(Battery, LimitsStayBetweenZeroAndTheMost, ()) {
  const double charge = test::between(-5.0, 105.0), T = test::between(200.0, 380.0);
  RC_ASSERT(battery.largest_charge_W(charge, T) >= 0.0 && battery.largest_charge_W(charge, T) <= 120.0);
  RC_ASSERT(battery.largest_discharge_W(charge, T) >= 0.0 && battery.largest_discharge_W(charge, T) <= 200.0);
}

RC_GTEST_PROP(Battery, DerivativesEqualDifferenceQuotients, ()) {
  const double bus_W = test::between(20.0, 120.0), charge = test::between(25.5, 97.5);
  const Dual<2> rate = battery.stored_W(variable<2>(bus_W, 0), variable<2>(charge, 1));
  const double by_power = test::difference_quotient([&](double p) { return battery.stored_W(p, charge); }, bus_W);
  const double by_charge = test::difference_quotient([&](double z) { return battery.stored_W(bus_W, z); }, charge);
  RC_ASSERT(std::abs(rate.derivatives()[0] - by_power) <= test::difference_error(bus_W, bus_W));
  RC_ASSERT(std::abs(rate.derivatives()[1] - by_charge) <= test::difference_error(bus_W, charge));
}

RC_GTEST_PROP(Battery, LimitsHaveExactDerivatives, ()) {
  // Off the second derivative's jumps at both ends of the taper, and off the kinks of the windows' ramps at 0.15 K.
  const double charge = 92.001 + 0.01 * *rc::gen::inRange(0, 600), T = test::temperature_between(274, 322);
  const Dual<2> most = battery.largest_charge_W(variable<2>(charge, 0), variable<2>(T, 1));
  const double by_charge = test::difference_quotient([&](double z) { return battery.largest_charge_W(z, T); }, charge);
  const double by_temperature = test::difference_quotient([&](double t) { return battery.largest_charge_W(charge, t); }, T);
  // The curvature's scale is the taper's and the ramp's width, not the argument itself: so much larger is the error.
  const double by_width = charge / 6.0 * charge / 6.0;
  RC_ASSERT(std::abs(most.derivatives()[0] - by_charge) <= by_width * test::difference_error(120.0, charge));
  RC_ASSERT(std::abs(most.derivatives()[1] - by_temperature) <= test::difference_error(120.0, T));
}

TEST(Battery, IsRefusedIfADischargeCostsNothing) {
  // The balance of a discharge with the sign of the loss turned round must not close.
  const double stored_W = -100.0 + battery.loss_W(-100.0);
  EXPECT_GT(std::abs(-100.0 - stored_W - battery.heat_W(-100.0, 0.0)), 1.0);
}

TEST(BatterySizing, CapacityNeededIsWhatADischargeTakesOverTheDepth) {
  const double capacity_J = capacity_needed_J(battery, 100.0, 1800.0, 0.75);
  BatteryLaw sized = battery;
  sized.capacity_J = capacity_J;
  sized.self_discharge_per_s = 0.0;
  EXPECT_NEAR(sized.stored_W(-100.0, 100.0) * 1800.0 / capacity_J, -0.75, round_off);
}

RC_GTEST_PROP(BatterySizing, RechargePutsBackWhatTheDarkTook, ()) {
  BatteryLaw law = battery;
  law.self_discharge_per_s = 0.0;
  const double delivered_W = test::between(1.0, 200.0), dark_s = test::between(100.0, 2000.0), sunlit_s = 3600.0;
  const std::optional<double> charge_W = recharge_W(law, delivered_W, dark_s, sunlit_s);
  RC_ASSERT(charge_W.has_value());
  const double taken_J = law.stored_W(-delivered_W, 50.0) * dark_s, put_J = law.stored_W(*charge_W, 50.0) * sunlit_s;
  RC_ASSERT(std::abs(taken_J + put_J) <= 10.0 * round_off * std::abs(taken_J));
  RC_ASSERT(*charge_W < law.peak_charge_W());
}

TEST(BatterySizing, NoPowerRechargesWhatIsTooMuch) {
  EXPECT_FALSE(recharge_W(battery, 1000.0, 3600.0, 100.0).has_value());
  EXPECT_LT(battery.stored_W(1.01 * battery.peak_charge_W(), 0.0), battery.stored_W(battery.peak_charge_W(), 0.0));
}

}  // namespace tileflux::devices::battery_test
