#include "tileflux/devices/power_chain.h"

#include <gtest/gtest.h>

namespace tileflux::devices {
namespace {

/// Sums of a few products, relative.
constexpr double round_off = 1e-13;

PowerChain example() {
  PowerChain chain;
  chain.cells = CellLaw{.area_m2 = 1.0, .packing = 1.0, .efficiency = 0.3, .reference_K = 300.0, .slope_per_K = -0.002};
  chain.conditioning = {4.0, 0.02, 5e-5};
  chain.housekeeping_W = 6.0;
  chain.banks = {LaserBank{2, EfficiencyLaw{50.0, {300.0}, {1.0}, {0.5}}}, LaserBank{1, EfficiencyLaw{60.0, {300.0}, {1.0}, {0.4}}}};
  chain.throttles = {{310.0, 320.0}, {330.0, 350.0}};
  chain.optics_transmission = 0.95;
  return chain;
}

ChainFlows<double> flows_at(const PowerChain& chain, ChainCommand command, double cells_K = 300.0, std::array<double, 2> throttle_K = {300.0, 300.0}) {
  const std::array<double, most_banks> junction_K{300.0, 300.0, 300.0, 300.0, 300.0, 300.0};
  return evaluate<double>(chain, command, cells_K, junction_K, throttle_K);
}

TEST(PowerChain, FeedsWhatIsAskedWhereTheSunSuffices) {
  const auto flows = flows_at(example(), {1000.0, true, 1.0, true});
  EXPECT_DOUBLE_EQ(flows.available, 300.0);
  EXPECT_DOUBLE_EQ(flows.laser_demand, 160.0);
  EXPECT_DOUBLE_EQ(flows.laser_input, 160.0);
  EXPECT_NEAR(flows.conditioning_loss, 4.0 + 0.02 * 166.0 + 5e-5 * 166.0 * 166.0, 10.0 * round_off);
  EXPECT_NEAR(flows.light_out, 0.95 * (0.5 * 100.0 + 0.4 * 60.0), 100.0 * round_off);
  EXPECT_FALSE(flows.sun_limited || flows.housekeeping_short);
}

TEST(PowerChain, GivesTheLasersWhatIsLeftWhereTheSunDoesNotSuffice) {
  const auto flows = flows_at(example(), {400.0, true, 1.0, true});
  EXPECT_TRUE(flows.sun_limited);
  EXPECT_EQ(flows.drawn, flows.available);
  EXPECT_EQ(flows.undrawn, 0.0);
  EXPECT_EQ(flows.housekeeping, 6.0);
  EXPECT_DOUBLE_EQ(flows.laser_input, ConditioningLaw(example().conditioning).largest_delivered_W(120.0) - 6.0);
  // Shared in the ratio of what each bank asks for.
  EXPECT_DOUBLE_EQ(flows.bank_input[0] / flows.bank_input[1], 100.0 / 60.0);
}

TEST(PowerChain, IsContinuousWhereTheSunJustSuffices) {
  const PowerChain chain = example();
  const double needed_W = 166.0 + chain.conditioning.loss_W(166.0);
  const double irradiance = needed_W / 0.3;
  constexpr double step = 1e-9;  // relative; flows may differ by as much
  const auto enough = flows_at(chain, {irradiance * (1.0 + step), true, 1.0, true});
  const auto short_of = flows_at(chain, {irradiance * (1.0 - step), true, 1.0, true});
  EXPECT_FALSE(enough.sun_limited);
  EXPECT_TRUE(short_of.sun_limited);
  EXPECT_NEAR(enough.laser_input, short_of.laser_input, 10.0 * step * needed_W);
  EXPECT_NEAR(enough.conditioning_loss, short_of.conditioning_loss, 10.0 * step * needed_W);
}

TEST(PowerChain, DrawsForHousekeepingOnlyWithTheBeamOff) {
  const auto flows = flows_at(example(), {1000.0, false, 1.0, true});
  EXPECT_EQ(flows.laser_input, 0.0);
  EXPECT_EQ(flows.light_out, 0.0);
  EXPECT_EQ(flows.bank_heat[0], 0.0);
  EXPECT_NEAR(flows.drawn, 6.0 + example().conditioning.loss_W(6.0), round_off);
  EXPECT_NEAR(flows.undrawn, 300.0 - flows.drawn, 300.0 * round_off);
}

TEST(PowerChain, InTheDarkNothingFlowsAnywhere) {
  for (const bool beam : {false, true}) {
    for (const double housekeeping_W : {0.0, 6.0}) {
      PowerChain chain = example();
      chain.housekeeping_W = housekeeping_W;
      const auto flows = flows_at(chain, {0.0, beam, 1.0, true});
      EXPECT_EQ(flows.drawn, 0.0);
      EXPECT_EQ(flows.undrawn, 0.0);
      EXPECT_EQ(flows.conditioning_loss, 0.0);
      EXPECT_EQ(flows.housekeeping, 0.0);
      EXPECT_EQ(flows.laser_input, 0.0);
      EXPECT_EQ(flows.light_out, 0.0);
      EXPECT_EQ(flows.sun_limited, beam);
    }
  }
}

TEST(PowerChain, StandbyDrawsNoMoreThanThereIs) {
  PowerChain chain = example();
  chain.housekeeping_W = 0.0;
  const auto flows = flows_at(chain, {10.0, false, 1.0, true});  // 3 W available, 4 W of standby wanted
  EXPECT_DOUBLE_EQ(flows.drawn, 3.0);
  EXPECT_EQ(flows.undrawn, 0.0);
  EXPECT_DOUBLE_EQ(flows.conditioning_loss, 3.0);
}

TEST(PowerChain, StarvesHousekeepingLast) {
  const auto flows = flows_at(example(), {30.0, true, 1.0, true});  // 9 W available: 4 W standby, the rest for housekeeping
  EXPECT_TRUE(flows.housekeeping_short);
  EXPECT_TRUE(flows.sun_limited);
  EXPECT_GT(flows.housekeeping, 0.0);
  EXPECT_LT(flows.housekeeping, 6.0);
  EXPECT_EQ(flows.laser_input, 0.0);
}

TEST(PowerChain, TheHardestThrottleCounts) {
  EXPECT_EQ(flows_at(example(), {1000.0, true, 1.0, true}, 300.0, {300.0, 300.0}).throttle, 1.0);
  EXPECT_DOUBLE_EQ(flows_at(example(), {1000.0, true, 1.0, true}, 300.0, {315.0, 335.0}).throttle, 0.5);
  EXPECT_DOUBLE_EQ(flows_at(example(), {1000.0, true, 1.0, true}, 300.0, {312.0, 345.0}).throttle, 0.25);
  EXPECT_EQ(flows_at(example(), {1000.0, true, 1.0, false}, 300.0, {319.0, 349.0}).throttle, 1.0);
}

TEST(PowerChain, FullyThrottledLasersAskForNothing) {
  const auto flows = flows_at(example(), {1000.0, true, 1.0, true}, 300.0, {330.0, 300.0});
  EXPECT_EQ(flows.laser_demand, 0.0);
  EXPECT_EQ(flows.light_out, 0.0);
  EXPECT_FALSE(flows.sun_limited);
}

TEST(PowerChain, ScalesTheDemandWithTheDrive) {
  EXPECT_DOUBLE_EQ(flows_at(example(), {1000.0, true, 0.5, true}).laser_demand, 80.0);
  EXPECT_EQ(flows_at(example(), {1000.0, true, 0.0, true}).laser_demand, 0.0);
}

TEST(PowerChain, WithoutCellsGivesNothing) {
  PowerChain chain = example();
  chain.cells.reset();
  EXPECT_EQ(flows_at(chain, {1000.0, true, 1.0, true}).light_out, 0.0);
}

TEST(PowerChain, WithoutOpticsAllLightLeaves) {
  PowerChain chain = example();
  chain.optics_transmission = 1.0;
  const auto flows = flows_at(chain, {1000.0, true, 1.0, true});
  EXPECT_EQ(flows.optics_loss, 0.0);
  EXPECT_DOUBLE_EQ(flows.light_out, flows.bank_light[0] + flows.bank_light[1]);
}

}  // namespace
}  // namespace tileflux::devices
