#include "tileflux/devices/power_chain.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>

#include "support/random_values.h"

namespace tileflux::devices::power_chain_test {

/// Sums of a few products, relative.
constexpr double round_off = 1e-13;

PowerChain example() {
  PowerChain chain;
  chain.cells = {CellLaw{.area_m2 = 1.0, .packing = 1.0, .efficiency = 0.3, .reference_K = 300.0, .slope_per_K = -0.002}};
  chain.conditioning = {4.0, 0.02, 5e-5};
  chain.housekeeping_W = 6.0;
  chain.banks = {LaserBank{2, EfficiencyLaw{50.0, {300.0}, {1.0}, {0.5}}}, LaserBank{1, EfficiencyLaw{60.0, {300.0}, {1.0}, {0.4}}}};
  chain.optics_transmission = 0.95;
  return chain;
}

/// Full discharge above 25 %, full charging below 95 %, between 260 and 330 K.
BatteryLaw battery() {
  return {.capacity_J = 1e6, .resistance_loss_per_W = 5e-4, .self_discharge_per_s = 1e-8, .most_charge_W = 80.0, .most_discharge_W = 60.0,
          .least_percent = 20.0, .charge_window = {260.0, 330.0}, .discharge_window = {250.0, 340.0}};
}

ChainState<double> at_300_K() {
  ChainState<double> state;
  state.cells_K.fill(300.0);
  state.junction_K.fill(300.0);
  state.battery_K = 300.0;
  state.charge_percent = 60.0;
  return state;
}

ChainFlows<double> flows_at(const PowerChain& chain, const ChainCommand& command, const ChainState<double>& state = at_300_K()) {
  return evaluate<double>(chain, command, state);
}

TEST(PowerChain, FeedsWhatIsAskedWhereTheSunSuffices) {
  const auto flows = flows_at(example(), {.irradiance_W_per_m2 = 1000.0, .beam = true});
  EXPECT_DOUBLE_EQ(flows.available, 300.0);
  EXPECT_DOUBLE_EQ(flows.laser_demand, 160.0);
  EXPECT_DOUBLE_EQ(flows.laser_input, 160.0);
  EXPECT_NEAR(flows.conditioning_loss, 4.0 + 0.02 * 166.0 + 5e-5 * 166.0 * 166.0, 10.0 * round_off);
  EXPECT_NEAR(flows.light_out, 0.95 * (0.5 * 100.0 + 0.4 * 60.0), 100.0 * round_off);
  EXPECT_FALSE(flows.sun_limited || flows.housekeeping_short);
}

TEST(PowerChain, GivesTheLasersWhatIsLeftWhereTheSunDoesNotSuffice) {
  const auto flows = flows_at(example(), {.irradiance_W_per_m2 = 400.0, .beam = true});
  EXPECT_TRUE(flows.sun_limited);
  EXPECT_EQ(flows.drawn, flows.available);
  EXPECT_EQ(flows.undrawn, 0.0);
  EXPECT_EQ(flows.spare, 0.0);
  EXPECT_EQ(flows.housekeeping, 6.0);
  EXPECT_DOUBLE_EQ(flows.laser_input, ConditioningLaw(example().conditioning).largest_delivered_W(120.0) - 6.0);
  // Shared in the ratio of what each bank asks for.
  EXPECT_DOUBLE_EQ(flows.bank[0].input / flows.bank[1].input, 100.0 / 60.0);
}

TEST(PowerChain, IsContinuousWhereTheSunJustSuffices) {
  const PowerChain chain = example();
  const double needed_W = 166.0 + chain.conditioning.loss_W(166.0);
  const double irradiance = needed_W / 0.3;
  constexpr double step = 1e-9;  // relative; flows may differ by as much
  const auto enough = flows_at(chain, {.irradiance_W_per_m2 = irradiance * (1.0 + step), .beam = true});
  const auto short_of = flows_at(chain, {.irradiance_W_per_m2 = irradiance * (1.0 - step), .beam = true});
  EXPECT_FALSE(enough.sun_limited);
  EXPECT_TRUE(short_of.sun_limited);
  EXPECT_NEAR(enough.laser_input, short_of.laser_input, 10.0 * step * needed_W);
  EXPECT_NEAR(enough.conditioning_loss, short_of.conditioning_loss, 10.0 * step * needed_W);
  EXPECT_NEAR(enough.spare, 0.0, 10.0 * step * needed_W);
}

TEST(PowerChain, DrawsForHousekeepingOnlyWithTheBeamOff) {
  const auto flows = flows_at(example(), {.irradiance_W_per_m2 = 1000.0, .beam = false});
  EXPECT_EQ(flows.laser_input, 0.0);
  EXPECT_EQ(flows.light_out, 0.0);
  EXPECT_EQ(flows.bank[0].junction_heat, 0.0);
  EXPECT_NEAR(flows.drawn, 6.0 + example().conditioning.loss_W(6.0), round_off);
  EXPECT_NEAR(flows.undrawn, 300.0 - flows.drawn, 300.0 * round_off);
}

TEST(PowerChain, InTheDarkNothingFlowsAnywhere) {
  for (const bool beam : {false, true}) {
    for (const double housekeeping_W : {0.0, 6.0}) {
      PowerChain chain = example();
      chain.housekeeping_W = housekeeping_W;
      const auto flows = flows_at(chain, {.irradiance_W_per_m2 = 0.0, .beam = beam});
      EXPECT_EQ(flows.drawn, 0.0);
      EXPECT_EQ(flows.undrawn, 0.0);
      EXPECT_EQ(flows.conditioning_loss, 0.0);
      EXPECT_EQ(flows.housekeeping, 0.0);
      EXPECT_EQ(flows.laser_input, 0.0);
      EXPECT_EQ(flows.light_out, 0.0);
      EXPECT_EQ(flows.sun_limited, beam);
      EXPECT_EQ(flows.housekeeping_short, housekeeping_W > 0.0);
    }
  }
}

TEST(PowerChain, StandbyDrawsNoMoreThanThereIs) {
  PowerChain chain = example();
  chain.housekeeping_W = 0.0;
  const auto flows = flows_at(chain, {.irradiance_W_per_m2 = 10.0, .beam = false});  // 3 W available, 4 W of standby wanted
  EXPECT_DOUBLE_EQ(flows.drawn, 3.0);
  EXPECT_EQ(flows.undrawn, 0.0);
  EXPECT_DOUBLE_EQ(flows.conditioning_loss, 3.0);
}

TEST(PowerChain, StarvesHousekeepingLast) {
  const auto flows = flows_at(example(), {.irradiance_W_per_m2 = 30.0, .beam = true});  // 9 W available: 4 W standby, the rest for housekeeping
  EXPECT_TRUE(flows.housekeeping_short);
  EXPECT_TRUE(flows.sun_limited);
  EXPECT_GT(flows.housekeeping, 0.0);
  EXPECT_LT(flows.housekeeping, 6.0);
  EXPECT_EQ(flows.laser_input, 0.0);
}

TEST(PowerChain, ThrottlesTheDemand) {
  ChainState<double> state = at_300_K();
  state.throttle = 0.25;
  const auto flows = flows_at(example(), {.irradiance_W_per_m2 = 1000.0, .beam = true, .drive = 0.8}, state);
  EXPECT_DOUBLE_EQ(flows.laser_demand, 0.2 * 160.0);
  EXPECT_EQ(flows.throttle, 0.25);
}

TEST(PowerChain, FullyThrottledLasersAskForNothing) {
  ChainState<double> state = at_300_K();
  state.throttle = 0.0;
  const auto flows = flows_at(example(), {.irradiance_W_per_m2 = 1000.0, .beam = true}, state);
  EXPECT_EQ(flows.laser_demand, 0.0);
  EXPECT_EQ(flows.light_out, 0.0);
  EXPECT_FALSE(flows.sun_limited);
}

TEST(PowerChain, ScalesTheDemandWithTheDrive) {
  EXPECT_DOUBLE_EQ(flows_at(example(), {.irradiance_W_per_m2 = 1000.0, .beam = true, .drive = 0.5}).laser_demand, 80.0);
  EXPECT_EQ(flows_at(example(), {.irradiance_W_per_m2 = 1000.0, .beam = true, .drive = 0.0}).laser_demand, 0.0);
}

TEST(PowerChain, AddsUpTheCellsOfItsZones) {
  PowerChain chain = example();
  chain.cells[0].area_m2 = 0.25;
  chain.cells.push_back(chain.cells[0]);
  chain.cells[1].area_m2 = 0.75;
  ChainState<double> state = at_300_K();
  state.cells_K[1] = 350.0;
  const auto flows = flows_at(chain, {.irradiance_W_per_m2 = 1000.0}, state);
  EXPECT_DOUBLE_EQ(flows.cells_available[0], 75.0);
  EXPECT_DOUBLE_EQ(flows.cells_available[1], 225.0 * 0.9);
  EXPECT_DOUBLE_EQ(flows.available, 75.0 + 202.5);
}

TEST(PowerChain, WithoutOpticsAllLightLeaves) {
  PowerChain chain = example();
  chain.optics_transmission = 1.0;
  const auto flows = flows_at(chain, {.irradiance_W_per_m2 = 1000.0, .beam = true});
  EXPECT_EQ(flows.optics_loss, 0.0);
  EXPECT_DOUBLE_EQ(flows.light_out, flows.bank[0].light + flows.bank[1].light);
}

TEST(PowerChain, WithoutCellsIsFedFromOutsideWithAllThatIsWanted) {
  PowerChain chain = example();
  chain.cells.clear();
  chain.banks.clear();
  ChainState<double> state = at_300_K();
  // Sums whose parts do not cancel to the last digit: nobody is a digit short, and no conditioner takes its standby.
  for (const double heaters_W : {0.0, 0.1, 0.3, 7.7, 1e3 / 3.0}) {
    for (const double housekeeping_W : {0.0, 0.7, 6.0 / 7.0}) {
      chain.housekeeping_W = housekeeping_W;
      state.heaters_W = heaters_W;
      const auto flows = flows_at(chain, {}, state);
      EXPECT_EQ(flows.outside, housekeeping_W + heaters_W);
      EXPECT_EQ(flows.housekeeping, housekeeping_W);
      EXPECT_EQ(flows.heaters, heaters_W);
      EXPECT_EQ(flows.heaters_fed, 1.0);
      EXPECT_EQ(flows.conditioning_loss, 0.0);
      EXPECT_EQ(flows.drawn, 0.0);
      EXPECT_FALSE(flows.housekeeping_short);
    }
  }
}

TEST(PowerChain, DriversTakeTheirLossFromTheBusOnTopOfTheLasers) {
  PowerChain chain = example();
  chain.banks[0].driver_loss = 0.1;
  const auto flows = flows_at(chain, {.irradiance_W_per_m2 = 1000.0, .beam = true});
  EXPECT_DOUBLE_EQ(flows.laser_demand, 110.0 + 60.0);
  EXPECT_DOUBLE_EQ(flows.laser_bus, 170.0);
  EXPECT_DOUBLE_EQ(flows.laser_input, 160.0);
  EXPECT_DOUBLE_EQ(flows.driver_loss, 10.0);
  EXPECT_DOUBLE_EQ(flows.bank[0].driver_loss, 10.0);
  EXPECT_EQ(flows.bank[1].driver_loss, 0.0);
  // Half of it to be had: the same share of its demand for every bank, driver and all.
  const double half_W = 6.0 + 0.5 * 170.0;
  const auto starved = flows_at(chain, {.irradiance_W_per_m2 = (half_W + chain.conditioning.loss_W(half_W)) / 0.3, .beam = true});
  EXPECT_DOUBLE_EQ(starved.bank[0].input, 50.0);
  EXPECT_DOUBLE_EQ(starved.bank[1].input, 30.0);
}

FibreAmplifierLaw fibre() {
  return {.pump_nm = 976.0, .reference_K = 300.0, .shift_nm_per_K = 0.3, .absorption_per_m = PropertyTable({960.0, 976.0, 990.0}, {0.2, 1.0, 0.3}),
          .length_m = 3.0, .signal_nm = 1064.0, .slope_efficiency = 0.8, .threshold_W = 0.5};
}

TEST(PowerChain, AnAmplifierTurnsThePumpIntoLightHeatAndRest) {
  PowerChain chain = example();
  chain.banks.resize(1);
  chain.banks[0].amplifier = fibre();
  const auto flows = flows_at(chain, {.irradiance_W_per_m2 = 1000.0, .beam = true});
  const double absorbed_W = 50.0 * (1.0 - std::exp(-3.0)), signal_W = 0.8 * (absorbed_W - 0.5);
  EXPECT_NEAR(flows.bank[0].diode_light, 50.0, 50.0 * round_off);
  EXPECT_NEAR(flows.bank[0].junction_heat, 50.0, 50.0 * round_off);
  EXPECT_NEAR(flows.bank[0].unabsorbed, 50.0 * std::exp(-3.0), 50.0 * round_off);
  EXPECT_NEAR(flows.bank[0].light, signal_W, 50.0 * round_off);
  EXPECT_NEAR(flows.bank[0].fibre_heat, absorbed_W - signal_W, 50.0 * round_off);
  EXPECT_NEAR(flows.bank[0].quantum_defect, signal_W * (1064.0 / 976.0 - 1.0), 50.0 * round_off);
  EXPECT_NEAR(flows.light_out, 0.95 * signal_W, 50.0 * round_off);
}

/// Sums and roots on the way from light to drive and back.
constexpr double inverse_round_off = 1e-11;

TEST(DriveByLight, ReachesItsLightWhateverTheJunctions) {
  PowerChain chain = example();
  chain.banks[0] = LaserBank{2, EfficiencyLaw{50.0, {280.0, 340.0}, {0.2, 1.0}, {0.55, 0.5, 0.45, 0.35}}};
  chain.banks[1].amplifier = fibre();
  for (const double junction_K : {285.0, 300.0, 320.0}) {
    for (const double light_W : {1.0, 12.0, 25.0}) {
      ChainState<double> state = at_300_K();
      state.junction_K.fill(junction_K);
      const auto flows = flows_at(chain, {.irradiance_W_per_m2 = 1000.0, .beam = true, .light_W = light_W}, state);
      EXPECT_NEAR(flows.light_out, light_W, inverse_round_off * light_W) << junction_K;
      // Shared by modules: two thirds of the light come from the first bank.
      EXPECT_NEAR(flows.bank[0].light, 2.0 / 3.0 * light_W / 0.95, inverse_round_off * light_W) << junction_K;
    }
  }
}

TEST(DriveByLight, EndsAtTheCommandedDriveAndAtWhatTheThrottleLeaves) {
  const PowerChain chain = example();
  ChainState<double> state = at_300_K();
  const ChainCommand much{.irradiance_W_per_m2 = 1000.0, .beam = true, .drive = 0.6, .light_W = 1e4};
  const ChainCommand by_drive{.irradiance_W_per_m2 = 1000.0, .beam = true, .drive = 0.6};
  EXPECT_EQ(flows_at(chain, much, state).light_out, flows_at(chain, by_drive, state).light_out);
  state.throttle = 0.5;
  EXPECT_EQ(flows_at(chain, much, state).laser_demand, 0.3 * 160.0);
  const ChainCommand little{.irradiance_W_per_m2 = 1000.0, .beam = true, .drive = 0.6, .light_W = 5.0};
  EXPECT_NEAR(flows_at(chain, little, state).light_out, 5.0, 5.0 * inverse_round_off);
}

TEST(DriveByLight, IsSharedByTheModulesThatAreLeft) {
  PowerChain chain = example();
  chain.banks[0].modules = 0;
  const auto flows = flows_at(chain, {.irradiance_W_per_m2 = 1000.0, .beam = true, .light_W = 10.0});
  EXPECT_EQ(flows.bank[0].input, 0.0);
  EXPECT_NEAR(flows.light_out, 10.0, 10.0 * inverse_round_off);
}

TEST(ChainWithBattery, ChargesWithWhatIsLeftUpToItsMost) {
  PowerChain chain = example();
  chain.battery = battery();
  const auto much = flows_at(chain, {.irradiance_W_per_m2 = 1000.0});
  EXPECT_DOUBLE_EQ(much.battery_power, 80.0);
  EXPECT_NEAR(much.battery_loss, 5e-4 * 6400.0 + 1e-8 * 0.6e6, round_off * 10.0);
  EXPECT_NEAR(much.drawn, 86.0 + chain.conditioning.loss_W(86.0), 100.0 * round_off);
  const double some_W = 6.0 + 30.0;
  const auto little = flows_at(chain, {.irradiance_W_per_m2 = (some_W + chain.conditioning.loss_W(some_W)) / 0.3});
  EXPECT_NEAR(little.battery_power, 30.0, 100.0 * round_off);
  EXPECT_NEAR(little.undrawn, 0.0, 100.0 * round_off);
}

TEST(ChainWithBattery, HelpsOutWhoeverTheSunLeavesShort) {
  PowerChain chain = example();
  chain.battery = battery();
  ChainState<double> state = at_300_K();
  state.heaters_W = 20.0;
  const auto flows = flows_at(chain, {.irradiance_W_per_m2 = 0.0, .beam = true}, state);
  EXPECT_EQ(flows.housekeeping, 6.0);
  EXPECT_EQ(flows.heaters, 20.0);
  EXPECT_DOUBLE_EQ(flows.laser_bus, 34.0);
  EXPECT_DOUBLE_EQ(flows.battery_power, -60.0);
  EXPECT_DOUBLE_EQ(flows.stored(), -60.0 - flows.battery_loss);
  EXPECT_TRUE(flows.sun_limited);
  chain.battery_feeds_lasers = false;
  const auto kept = flows_at(chain, {.irradiance_W_per_m2 = 0.0, .beam = true}, state);
  EXPECT_EQ(kept.laser_bus, 0.0);
  EXPECT_DOUBLE_EQ(kept.battery_power, -26.0);
}

TEST(ChainWithBattery, CountsWhatTheBatteryCouldStillGiveAsSpare) {
  PowerChain chain = example();
  chain.battery = battery();
  const double sun_W = 6.0 + 150.0;
  const ChainCommand command{.irradiance_W_per_m2 = (sun_W + chain.conditioning.loss_W(sun_W)) / 0.3, .beam = true};
  const auto flows = flows_at(chain, command);  // 10 W of 160 W from the battery, which could give 60 W
  EXPECT_FALSE(flows.sun_limited);
  EXPECT_NEAR(flows.battery_power, -10.0, 200.0 * round_off);
  EXPECT_NEAR(flows.spare, 50.0, 200.0 * round_off);
  chain.battery_feeds_lasers = false;
  EXPECT_EQ(flows_at(chain, command).spare, 0.0);
  EXPECT_TRUE(flows_at(chain, command).sun_limited);
}

TEST(ChainWithBattery, AtRestNeitherTakesNorGivesNorLeaks) {
  PowerChain chain = example();
  chain.battery = battery();
  for (const double irradiance : {0.0, 300.0, 1000.0}) {
    const auto rests = flows_at(chain, {.irradiance_W_per_m2 = irradiance, .beam = true, .battery = false});
    EXPECT_EQ(rests.battery_power, 0.0);
    EXPECT_EQ(rests.battery_loss, 0.0);
    PowerChain without = chain;
    without.battery.reset();
    EXPECT_EQ(rests.light_out, flows_at(without, {.irradiance_W_per_m2 = irradiance, .beam = true}).light_out);
  }
}

TEST(ChainWithBattery, LosesBySelfDischargeWithNothingOnTheBus) {
  PowerChain chain = example();
  chain.battery = battery();
  chain.housekeeping_W = 0.0;
  const auto flows = flows_at(chain, {});
  EXPECT_EQ(flows.battery_power, 0.0);
  EXPECT_DOUBLE_EQ(flows.battery_loss, 1e-8 * 1e6 * 0.6);
  EXPECT_DOUBLE_EQ(flows.stored(), -flows.battery_loss);
}

TEST(ChainWithBattery, ThatIsFullTakesNothingAndThatIsAtItsLeastGivesNothing) {
  PowerChain chain = example();
  chain.battery = battery();
  ChainState<double> state = at_300_K();
  state.charge_percent = 100.0;
  EXPECT_EQ(flows_at(chain, {.irradiance_W_per_m2 = 1000.0}, state).battery_power, 0.0);
  state.charge_percent = 20.0;
  EXPECT_EQ(flows_at(chain, {}, state).battery_power, 0.0);
  EXPECT_TRUE(flows_at(chain, {}, state).housekeeping_short);
  state.charge_percent = 60.0;
  state.battery_K = 345.0;  // too hot for either
  EXPECT_EQ(flows_at(chain, {}, state).battery_power, 0.0);
  EXPECT_EQ(flows_at(chain, {.irradiance_W_per_m2 = 1000.0}, state).battery_power, 0.0);
}

/// Two groups that have 100 W and 200 W at 1000 W/m2, with equal shares; conditioning without standby that loses a tenth
/// of what it delivers.
PowerChain unequal_groups() {
  PowerChain chain = example();
  chain.cells[0].area_m2 = 1.0 / 3.0;
  chain.cells.push_back(chain.cells[0]);
  chain.cells[1].area_m2 = 2.0 / 3.0;
  chain.load_sharing = LoadSharing::equal;
  chain.conditioning = {0.0, 0.1, 0.0};
  return chain;
}

TEST(EqualLoadSharing, DrawsTheSameFromEveryGroupWhileAllHaveEnough) {
  const auto flows = flows_at(unequal_groups(), {.irradiance_W_per_m2 = 1000.0, .beam = true});  // 1.1 x 166 W are drawn
  EXPECT_NEAR(flows.cells_drawn[0], 91.3, 100.0 * round_off);
  EXPECT_NEAR(flows.cells_drawn[1], 91.3, 100.0 * round_off);
  EXPECT_NEAR(flows.spare, 2.0 * 100.0 / 1.1 - 166.0, 300.0 * round_off);
  EXPECT_EQ(flows.exhausted_groups, 0);
  EXPECT_FALSE(flows.sun_limited);
}

TEST(EqualLoadSharing, LeavesTheLoadsShortWhereTheWeakerGroupIsExhausted) {
  const auto flows = flows_at(unequal_groups(), {.irradiance_W_per_m2 = 800.0, .beam = true});  // 80 W and 160 W for 182.6 W
  EXPECT_NEAR(flows.cells_drawn[0], 80.0, 100.0 * round_off);
  EXPECT_NEAR(flows.cells_drawn[1], 91.3, 100.0 * round_off);
  EXPECT_NEAR(flows.laser_bus, 171.3 / 1.1 - 6.0, 200.0 * round_off);
  EXPECT_NEAR(flows.undrawn, 240.0 - 171.3, 300.0 * round_off);
  EXPECT_EQ(flows.exhausted_groups, 1);
  EXPECT_TRUE(flows.sun_limited);
  PowerChain helped = unequal_groups();
  helped.load_sharing = LoadSharing::proportional;
  EXPECT_FALSE(flows_at(helped, {.irradiance_W_per_m2 = 800.0, .beam = true}).sun_limited);
}

TEST(EqualLoadSharing, ChargesFromWhatGroupsHaveBeyondTheirShares) {
  PowerChain chain = unequal_groups();
  chain.battery = battery();
  chain.battery->most_charge_W = 1e4;
  ChainState<double> state = at_300_K();
  state.charge_percent = 97.5;  // half of what is left is accepted
  const auto flows = flows_at(chain, {.irradiance_W_per_m2 = 800.0, .beam = true}, state);
  EXPECT_NEAR(flows.cells_drawn[0], 80.0, 100.0 * round_off);
  EXPECT_NEAR(flows.cells_drawn[1], 91.3 + 0.5 * (160.0 - 91.3), 200.0 * round_off);
  // The battery helps the loads out and is charged in the same instant: what counts is the difference.
  EXPECT_NEAR(flows.battery_power, 0.5 * (160.0 - 91.3) / 1.1 - (166.0 - 171.3 / 1.1), 200.0 * round_off);
  EXPECT_FALSE(flows.sun_limited);
}

TEST(EqualLoadSharing, IsContinuousWhereTheWeakerGroupJustSuffices) {
  constexpr double step = 1e-9;
  const double irradiance = 913.0;  // 91.3 W of the weaker group
  const auto enough = flows_at(unequal_groups(), {.irradiance_W_per_m2 = irradiance * (1.0 + step), .beam = true});
  const auto short_of = flows_at(unequal_groups(), {.irradiance_W_per_m2 = irradiance * (1.0 - step), .beam = true});
  EXPECT_FALSE(enough.sun_limited);
  EXPECT_TRUE(short_of.sun_limited);
  EXPECT_NEAR(enough.laser_bus, short_of.laser_bus, 10.0 * step * irradiance);
  EXPECT_NEAR(enough.spare, 0.0, 10.0 * step * irradiance);
}

std::array<Consumer, consumers> random_priorities() {
  std::array<Consumer, consumers> order{Consumer::housekeeping, Consumer::heaters, Consumer::lasers, Consumer::charging};
  for (int turn = *rc::gen::inRange(0, 24); turn > 0; --turn) std::next_permutation(order.begin(), order.end());
  return order;
}

struct RandomChain {
  PowerChain chain = example();
  ChainCommand command;
  ChainState<double> state = at_300_K();

  RandomChain() {
    chain.priorities = random_priorities();
    chain.cells.push_back(chain.cells[0]);
    chain.cells[1].area_m2 = test::between(0.0, 1.0);
    chain.banks[0].driver_loss = test::between(0.0, 0.2);
    chain.banks[1].amplifier = fibre();
    chain.housekeeping_W = test::between(0.0, 40.0);
    if (*rc::gen::arbitrary<bool>()) chain.battery = battery();
    chain.battery_feeds_lasers = *rc::gen::arbitrary<bool>();
    command = {.irradiance_W_per_m2 = test::between(0.0, 1400.0), .beam = *rc::gen::arbitrary<bool>(), .drive = test::between(0.0, 1.0),
               .battery = *rc::gen::arbitrary<bool>()};
    if (*rc::gen::arbitrary<bool>()) command.light_W = test::between(0.0, 80.0);
    state.heaters_W = test::between(0.0, 40.0);
    state.throttle = test::between(0.0, 1.0);
    state.charge_percent = test::between(0.0, 100.0);
    state.battery_K = test::between(240.0, 350.0);
    state.cells_K.fill(test::between(200.0, 400.0));
    state.junction_K = {test::between(250.0, 350.0), test::between(280.0, 340.0)};
  }

  double wanted_W(Consumer consumer, const ChainFlows<double>& flows) const {
    if (consumer == Consumer::housekeeping) return chain.housekeeping_W;
    return consumer == Consumer::heaters ? state.heaters_W : flows.laser_demand;
  }
  static double got_W(Consumer consumer, const ChainFlows<double>& flows) {
    if (consumer == Consumer::housekeeping) return flows.housekeeping;
    return consumer == Consumer::heaters ? flows.heaters : flows.laser_bus;
  }
};

RC_GTEST_PROP(PowerChainIdentity, TheBusIsClosedInAnyOrderOfPriorities, ()) {
  const RandomChain random;
  const auto flows = flows_at(random.chain, random.command, random.state);
  const double bound_W = round_off * (100.0 + flows.available);
  RC_ASSERT(std::abs(flows.available - flows.drawn - flows.undrawn) <= bound_W);
  RC_ASSERT(std::abs(flows.drawn - flows.conditioning_loss - flows.housekeeping - flows.heaters - flows.laser_bus - flows.battery_power) <= bound_W);
  double bus_W = 0.0, light_W = 0.0;
  for (std::size_t b = 0; b < 2; ++b) {
    const BankFlows<double>& bank = flows.bank[b];
    RC_ASSERT(std::abs(bank.input - bank.light - bank.junction_heat - bank.fibre_heat - bank.unabsorbed) <= bound_W);
    RC_ASSERT(bank.light >= 0.0 && bank.unabsorbed >= 0.0 && bank.fibre_heat >= bank.quantum_defect - bound_W);
    bus_W += bank.input + bank.driver_loss;
    light_W += bank.light;
  }
  RC_ASSERT(std::abs(flows.laser_bus - bus_W) <= bound_W);
  RC_ASSERT(std::abs(flows.light_out + flows.optics_loss - light_W) <= bound_W);
}

RC_GTEST_PROP(PowerChainIdentity, GroupsTogetherDrawWhatTheBusDrawsAndNoneMoreThanItHas, ()) {
  RandomChain random;
  if (*rc::gen::arbitrary<bool>()) {
    random.chain.load_sharing = LoadSharing::equal;
    random.chain.priorities = example().priorities;
  }
  const auto flows = flows_at(random.chain, random.command, random.state);
  const double bound_W = round_off * (100.0 + flows.available);
  RC_ASSERT(std::abs(flows.cells_drawn[0] + flows.cells_drawn[1] - flows.drawn) <= bound_W);
  RC_ASSERT(std::abs(flows.drawn - flows.conditioning_loss - flows.housekeeping - flows.heaters - flows.laser_bus - flows.battery_power) <= bound_W);
  for (std::size_t g = 0; g < 2; ++g) {
    RC_ASSERT(flows.cells_drawn[g] >= -bound_W && flows.cells_drawn[g] <= flows.cells_available[g] + bound_W);
  }
}

RC_GTEST_PROP(PowerChainIdentity, NobodyGetsMoreThanWantedAndTheBatteryKeepsItsBounds, ()) {
  const RandomChain random;
  const auto flows = flows_at(random.chain, random.command, random.state);
  const double bound_W = round_off * (100.0 + flows.available);
  for (const Consumer consumer : {Consumer::housekeeping, Consumer::heaters, Consumer::lasers}) {
    RC_ASSERT(RandomChain::got_W(consumer, flows) >= -bound_W);
    RC_ASSERT(RandomChain::got_W(consumer, flows) <= random.wanted_W(consumer, flows) + bound_W);
  }
  RC_ASSERT(flows.undrawn >= -bound_W && flows.drawn >= 0.0 && flows.conditioning_loss >= -bound_W && flows.spare >= 0.0);
  if (!random.chain.battery || !random.command.battery) {
    RC_ASSERT(flows.battery_power == 0.0);
    return;
  }
  const BatteryLaw& law = *random.chain.battery;
  RC_ASSERT(flows.battery_power <= law.largest_charge_W(random.state.charge_percent, random.state.battery_K) + bound_W);
  RC_ASSERT(flows.battery_power >= -law.largest_discharge_W(random.state.charge_percent, random.state.battery_K) - bound_W);
  // It takes from the bus only what the sun gives, and gives only what the sun does not.
  const double loads_W = flows.housekeeping + flows.heaters + flows.laser_bus;
  const double sun_W = random.chain.conditioning.largest_delivered_W(flows.available);
  if (flows.battery_power > bound_W) RC_ASSERT(loads_W <= sun_W + bound_W);
  if (flows.battery_power < -bound_W) RC_ASSERT(loads_W >= sun_W - law.most_charge_W - bound_W);
}

RC_GTEST_PROP(PowerChainIdentity, WhoStandsFirstIsFedFirst, ()) {
  RandomChain random;
  random.chain.battery.reset();
  const auto flows = flows_at(random.chain, random.command, random.state);
  const double bound_W = round_off * (100.0 + flows.available);
  bool someone_short = false;
  for (const Consumer consumer : random.chain.priorities) {
    if (consumer == Consumer::charging) continue;
    if (someone_short) RC_ASSERT(RandomChain::got_W(consumer, flows) <= bound_W);
    someone_short = someone_short || RandomChain::got_W(consumer, flows) < random.wanted_W(consumer, flows) - bound_W;
  }
}

RC_GTEST_PROP(PowerChainIdentity, NobodyIsCalledShortWhoGetsAllThatIsWanted, ()) {
  RandomChain random;
  random.chain.battery = battery();
  random.chain.battery_feeds_lasers = true;
  random.command.battery = true;
  random.state.charge_percent = 60.0;
  random.state.battery_K = 300.0;
  random.chain.priorities = example().priorities;
  const auto flows = flows_at(random.chain, random.command, random.state);
  const double wanted_W = random.chain.housekeeping_W + random.state.heaters_W + flows.laser_demand;
  const double there_W = random.chain.conditioning.largest_delivered_W(flows.available) + 60.0;
  constexpr double clear = 1e-9;  // beyond any round-off of the sums
  if (wanted_W < there_W * (1.0 - clear)) {
    RC_ASSERT(!flows.sun_limited && !flows.housekeeping_short);
    RC_ASSERT(flows.laser_bus == flows.laser_demand && flows.housekeeping == random.chain.housekeeping_W);
  } else if (wanted_W > there_W * (1.0 + clear)) {
    RC_ASSERT(flows.sun_limited || flows.heaters < random.state.heaters_W || flows.housekeeping_short);
  }
}

}  // namespace tileflux::devices::power_chain_test
