#include "tileflux/devices/bank.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cmath>

#include "support/random_values.h"
#include "support/sample_lasers.h"

namespace tileflux::devices::bank_test {

/// A few products, a square root and an exponential, relative.
constexpr double round_off = 1e-14;

const DiodeLaw diode = test::sample_diode();
const EfficiencyLaw table = test::sample_data_sheet();

TEST(LaserBank, IsAsManyModulesAsItSays) {
  const LaserBank bank{3, diode};
  EXPECT_DOUBLE_EQ(bank.demand_W(1.0), 3.0 * diode.electrical_W(27.0));
  EXPECT_DOUBLE_EQ(bank.demand_W(0.5), 3.0 * diode.electrical_W(13.5));
  EXPECT_NEAR(bank.light_W(bank.demand_W(1.0), 310.0), 3.0 * diode.light_W(27.0, 310.0), 100.0 * round_off);
  const LaserBank sheet{2, table};
  EXPECT_DOUBLE_EQ(sheet.demand_W(0.6), 48.0);
  EXPECT_DOUBLE_EQ(sheet.light_W(48.0, 290.0), 24.0);
}

TEST(LaserBank, AsksForNothingAtZeroDrive) {
  EXPECT_EQ((LaserBank{3, diode}.demand_W(0.0)), 0.0);
  EXPECT_EQ((LaserBank{3, diode}.light_W(0.0, 300.0)), 0.0);
  EXPECT_EQ((LaserBank{3, table}.light_W(0.0, 300.0)), 0.0);
}

RC_GTEST_PROP(DriveForLight, GivesTheWantedLight, ()) {
  const double T = test::between(250.0, 350.0), share = test::between(0.001, 0.999);
  for (const LaserBank& bank : {LaserBank{3, diode}, LaserBank{2, table}}) {
    const double wanted_W = share * bank.light_W(bank.demand_W(1.0), T);
    const double drive = bank.drive_for_light(wanted_W, T);
    RC_ASSERT(drive > 0.0 && drive <= 1.0);
    RC_ASSERT(std::abs(bank.light_W(bank.demand_W(drive), T) - wanted_W) <= 100.0 * round_off);
  }
}

TEST(DriveForLight, IsNoneForNoLightAndFullForTooMuch) {
  for (const LaserBank& bank : {LaserBank{3, diode}, LaserBank{2, table}}) {
    EXPECT_EQ(bank.drive_for_light(0.0, 300.0), 0.0);
    EXPECT_EQ(bank.drive_for_light(1e4, 300.0), 1.0);
  }
  EXPECT_EQ((LaserBank{0, diode}.drive_for_light(10.0, 300.0)), 1.0);
}

TEST(DriveForLight, OfATableThatTurnsDownIsTheLowerOne) {
  EfficiencyLaw peaked = table;
  peaked.efficiency = {0.5, 0.5, 0.1, 0.5, 0.5, 0.1};  // 12 W at 0.6 drive, 4 W at full: two drives give 11 W
  EXPECT_NEAR(peaked.drive_for_light(11.0, 300.0), 11.0 / 20.0, round_off);
  // Between 0.6 and 1 the light is 40 d (1.1 - d), falling from 0.6 on: nothing gives 13 W.
  EXPECT_EQ(peaked.drive_for_light(13.0, 300.0), 1.0);
  // The light may also have its maximum between two columns: 40 d (0.9 - 0.5 d) from 0.6 to 1, 16 W at 1, maximum 16.2 W at 0.9.
  peaked.efficiency = {0.6, 0.6, 0.4, 0.6, 0.6, 0.4};
  EXPECT_NEAR(peaked.drive_for_light(16.1, 300.0), 0.9 - std::sqrt(0.81 - 0.805), round_off);
}

RC_GTEST_PROP(DriveForLight, HasExactDerivatives, ()) {
  const double T = test::temperature_between(270, 350), share = test::between(0.05, 0.95);
  for (const LaserBank& bank : {LaserBank{3, diode}, LaserBank{2, table}}) {
    const double wanted_W = share * bank.light_W(bank.demand_W(1.0), T);
    const Dual<2> drive = bank.drive_for_light(variable<2>(wanted_W, 0), variable<2>(T, 1));
    // The inverse function's derivatives, from those of the light itself: exact, kinks of the table included.
    const Dual<2> light = bank.light_W(bank.demand_W(variable<2>(value_of(drive), 0)), variable<2>(T, 1));
    constexpr double share_of_kinks = 1e-9;
    const double at_column = std::min(std::abs(value_of(drive) - 0.2), std::abs(value_of(drive) - 0.6));
    if (at_column < share_of_kinks) continue;
    RC_ASSERT(std::abs(drive.derivatives()[0] * light.derivatives()[0] - 1.0) <= 100.0 * round_off);
    RC_ASSERT(std::abs(drive.derivatives()[1] + light.derivatives()[1] / light.derivatives()[0]) <= 100.0 * round_off);
  }
}

FibreAmplifierLaw fibre() {
  return {.pump_nm = 976.0, .reference_K = 300.0, .shift_nm_per_K = 0.3, .absorption_per_m = PropertyTable({960.0, 976.0, 990.0}, {0.2, 1.0, 0.3}),
          .length_m = 3.0, .signal_nm = 1064.0, .slope_efficiency = 0.8, .threshold_W = 0.5};
}

RC_GTEST_PROP(LaserBank, GivesBackEveryWattThatItTakes, ()) {
  LaserBank bank{3, diode};
  if (*rc::gen::arbitrary<bool>()) bank.law = table;
  if (*rc::gen::arbitrary<bool>()) bank.amplifier = fibre();
  bank.driver_loss = test::between(0.0, 0.3);
  bank.remaining = test::between(0.0, 1.0);
  const double input_W = test::between(0.0, 1.2) * bank.demand_W(1.0), T = test::between(250.0, 400.0);
  const BankFlows<double> flows = bank.flows(input_W, T);
  RC_ASSERT(std::abs(flows.input - flows.light - flows.junction_heat - flows.fibre_heat - flows.unabsorbed) <= 1000.0 * round_off);
  RC_ASSERT(flows.driver_loss == bank.driver_loss * input_W);
  RC_ASSERT(flows.light >= 0.0 && flows.light <= flows.diode_light && flows.unabsorbed >= 0.0);
}

TEST(LaserBank, ThatHasWornGivesLessLightForTheSameInput) {
  LaserBank worn{3, diode};
  worn.remaining = 0.9;
  const double input_W = worn.demand_W(1.0);
  EXPECT_DOUBLE_EQ(worn.light_W(input_W, 310.0), 0.9 * LaserBank({3, diode}).light_W(input_W, 310.0));
  // Its drive for a light makes up for that as far as the rating goes.
  const double drive = worn.drive_for_light(30.0, 310.0);
  EXPECT_NEAR(worn.light_W(worn.demand_W(drive), 310.0), 30.0, 100.0 * round_off);
  worn.remaining = 0.0;
  EXPECT_EQ(worn.drive_for_light(30.0, 310.0), 1.0);
}

TEST(LaserBank, WithoutModulesIsDead) {
  LaserBank dead{0, diode};
  dead.amplifier = fibre();
  const BankFlows<double> flows = dead.flows(dead.demand_W(1.0), 310.0);
  for (const double power_W : {flows.input, flows.light, flows.junction_heat, flows.fibre_heat, flows.unabsorbed}) EXPECT_EQ(power_W, 0.0);
}

RC_GTEST_PROP(DriveForLight, OfAnAmplifiedBankGivesTheWantedSignal, ()) {
  LaserBank bank{3, diode};
  bank.amplifier = fibre();
  const double T = test::between(270.0, 340.0), share = test::between(0.001, 0.99);
  const double wanted_W = share * bank.flows(bank.demand_W(1.0), T).light;
  const double drive = bank.drive_for_light(wanted_W, T);
  RC_ASSERT(drive > 0.0 && drive <= 1.0);
  RC_ASSERT(std::abs(bank.flows(bank.demand_W(drive), T).light - wanted_W) <= 1000.0 * round_off);
}

}  // namespace tileflux::devices::bank_test
