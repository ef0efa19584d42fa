#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "support/sample_tiles.h"
#include "tileflux/studies/duty.h"
#include "tileflux/studies/run.h"

namespace tileflux::studies::periodic_test {

/// A periodic state is accepted within ten times the absolute accuracy of temperatures, 1e-5 K.
constexpr double periodic_K = 1e-4;

TEST(PeriodicState, RepeatsItself) {
  tile::Case plate = test::burst_plate(2500.0, 250.0);
  tile::TileSystem system(plate);
  const PeriodicState state = periodic_state(system, 300.0, 28.0);
  plate.beam->pattern = tile::TimePattern{28.0, 300.0, 0.0};
  plate.start.temperature_K = state.x[0];
  plate.run = {.duration_s = 300.0, .output_every_s = 100.0};
  tile::TileSystem once(plate);
  const RunResult cycle = run(once, nullptr);
  EXPECT_NEAR(cycle.final_x[0], state.x[0], periodic_K);
  EXPECT_NEAR(cycle.ranges[0].highest_K, state.ranges[0].highest_K, periodic_K);
  EXPECT_LE(state.error_K, periodic_K);
}

TEST(PeriodicState, EqualsBruteForceCycling) {
  tile::Case tile = test::everything();
  tile.loads[3].when = tile::Load::When::always;  // no second period
  for (tile::Limit& limit : tile.limits) {
    limit.throttle_from_K.reset();
    limit.trip_reset_K.reset();
  }
  tile::TileSystem system(tile);
  const PeriodicState state = periodic_state(system, 200.0, 60.0);
  tile.beam->pattern = tile::TimePattern{60.0, 200.0, 0.0};
  tile.start.temperature_K = 300.0;
  tile.run = {.duration_s = 200.0 * 400, .output_every_s = 1e4};
  tile::TileSystem brute(tile);
  const RunResult cycled = run(brute, nullptr);
  for (std::size_t i = 0; i < state.x.size(); ++i) {
    if (!system.differential()[i]) continue;  // massless nodes: before the switch there, after it here
    EXPECT_NEAR(cycled.final_x[i], state.x[i], 10.0 * periodic_K) << system.unknown_name(static_cast<int>(i));
  }
  EXPECT_LT(state.cycles, 10);
  EXPECT_GT(state.slowest_multiplier, 0.0);
  EXPECT_LT(state.slowest_multiplier, 1.0);
}

TEST(PeriodicState, WithTheBeamAlwaysOnOrOffIsTheSteadyState) {
  tile::TileSystem system(test::burst_plate(500.0, 250.0));
  for (const auto& [on_s, heat_W] : {std::pair{300.0, 500.0}, {0.0, 250.0}}) {
    const PeriodicState state = periodic_state(system, 300.0, on_s);
    EXPECT_NEAR(state.x[0], std::pow(heat_W / (0.88 * stefan_boltzmann_W_per_m2_K4), 0.25), periodic_K);
  }
}

TEST(PeriodicState, OfMasslessNodesAloneNeedsOneCycle) {
  tile::Case bare = test::burst_plate(500.0, 250.0);
  bare.parts[0].capacity_J_per_K.reset();
  tile::TileSystem system(bare);
  const PeriodicState state = periodic_state(system, 300.0, 30.0);
  EXPECT_EQ(state.cycles, 1);
  EXPECT_EQ(state.slowest_multiplier, 0.0);
  EXPECT_NEAR(state.ranges[0].highest_K, std::pow(500.0 / (0.88 * stefan_boltzmann_W_per_m2_K4), 0.25), periodic_K);
  EXPECT_NEAR(state.ranges[0].lowest_K, std::pow(250.0 / (0.88 * stefan_boltzmann_W_per_m2_K4), 0.25), periodic_K);
}

TEST(PeriodicState, ThatDoesNotExistIsRefusedWithWhatIsLeft) {
  /// Heat that is another one in every cycle: no state repeats after one period.
  class Restless : public tile::TileSystem {
   public:
    using TileSystem::TileSystem;
    bool residual(double time_s, std::span<const double> x, std::span<const double> rate, std::span<double> out) const override {
      if (time_s == 0.0 && last_s_ > 0.0) share_ = std::fmod(share_ + 0.618, 1.0);  // a cycle begins
      last_s_ = time_s;
      if (!TileSystem::residual(time_s, x, rate, out)) return false;
      out[0] += 200.0 * share_;
      return true;
    }

   private:
    mutable double last_s_ = 0.0;
    mutable double share_ = 0.0;
  };
  Restless system(test::burst_plate(500.0, 250.0));
  try {
    periodic_state(system, 300.0, 30.0);
    FAIL() << "nothing was thrown";
  } catch (const Error& error) {
    EXPECT_EQ(error.code(), Code::periodic_not_found);
    EXPECT_THAT(error.what(), testing::HasSubstr("no periodic state within"));
    EXPECT_THAT(error.what(), testing::HasSubstr("K away"));
  }
}

TEST(SustainableDuty, OfOneNodeHasTheValuesOfTheClosedForm) {
  tile::TileSystem system(test::burst_plate(2500.0, 250.0));
  constexpr double half_a_printed_digit = 5e-7;
  for (const auto& [period_s, percent] : {std::pair{30.0, 10.0913}, {300.0, 9.3896}, {1305.0, 7.3739}, {3000.0, 5.2658}}) {
    const SustainableDuty result = sustainable_duty(system, period_s);
    EXPECT_NEAR(result.fraction, percent / 100.0, half_a_printed_digit + 1e-7) << period_s;
    EXPECT_TRUE(result.limited);
    EXPECT_EQ(result.binding->node, "plate");
    const double held_W = 0.88 * stefan_boltzmann_W_per_m2_K4 * std::pow(313.0, 4);
    EXPECT_NEAR(*result.short_period_fraction, (held_W - 250.0) / 2250.0, 1e-8);
  }
}

TEST(SustainableDuty, IsWholeWhereNoLimitIsNear) {
  tile::TileSystem system(test::burst_plate(300.0, 250.0));
  const SustainableDuty result = sustainable_duty(system, 300.0);
  EXPECT_EQ(result.fraction, 1.0);
  EXPECT_FALSE(result.limited);
}

}  // namespace tileflux::studies::periodic_test
