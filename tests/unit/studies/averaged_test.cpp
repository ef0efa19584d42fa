#include "studies/averaged.h"

#include <gtest/gtest.h>

#include <cmath>

#include "studies/modes.h"
#include "support/sample_tiles.h"
#include "tileflux/studies/duty.h"

namespace tileflux::studies::averaged_test {

struct BothModes {
  tile::TileSystem on, off;
  explicit BothModes(const tile::Case& description) : on(description), off(description) {
    on.set_mode(steady_mode(description, true, false));
    off.set_mode(steady_mode(description, false, false));
  }
};

TEST(AveragedTile, WithoutMasslessNodesTakesTheMeanOfBothHeats) {
  const BothModes modes(test::burst_plate(2500.0, 250.0));
  const AveragedPoint point = averaged_point(modes.on, modes.off, 0.1);
  const double expected_K = std::pow((0.1 * 2500.0 + 0.9 * 250.0) / (0.88 * stefan_boltzmann_W_per_m2_K4), 0.25);
  constexpr double steady_K = 1e-8;
  EXPECT_NEAR(point.on_x[0], expected_K, steady_K);
  EXPECT_EQ(point.on_x, point.off_x);
}

TEST(AveragedTile, LetsMasslessNodesFollowTheBeam) {
  tile::Case tile = test::burst_plate(0.0, 250.0);
  tile.parts.push_back({.name = "junction"});
  tile.joins.push_back({.a = "junction", .b = "plate", .conductance_W_per_K = 20.0});
  tile.loads.push_back({.node = "junction", .power_W = 2500.0, .when = tile::Load::When::beam_on});
  const BothModes modes(tile);
  const AveragedPoint point = averaged_point(modes.on, modes.off, 0.1);
  constexpr double steady_K = 1e-8;
  EXPECT_NEAR(point.on_x[1] - point.on_x[0], 2500.0 / 20.0, steady_K);
  EXPECT_NEAR(point.off_x[1], point.off_x[0], steady_K);
  EXPECT_EQ(point.on_x[0], point.off_x[0]);
}

TEST(AveragedTile, NamesTheMasslessNodesOfTheDarkPhase) {
  const BothModes modes(test::everything());
  const AveragedSystem system(modes.on, modes.off, 0.3);
  EXPECT_EQ(system.size(), modes.on.size() + 2);  // spreader and the diodes' junction
  EXPECT_EQ(system.unknown_name(0), "cover.1");
  EXPECT_EQ(system.unknown_name(modes.on.size()), "spreader with the beam off");
}

TEST(AveragedTile, HasAnExactJacobian) {
  const BothModes modes(test::everything());
  const AveragedSystem system(modes.on, modes.off, 0.3);
  const auto size = static_cast<std::size_t>(system.size());
  std::vector<double> x(size), rate(size, 0.0), values(static_cast<std::size_t>(system.pattern().nonzeros())), above(size), below(size);
  for (std::size_t i = 0; i < size; ++i) x[i] = 296.0 + 2.3 * static_cast<double>(i);
  system.jacobian(0.0, x, rate, 0.0, values);
  const double h = 3e-3;
  constexpr double difference_W_per_K = 1e-3;  // third derivatives x h^2, and 1e-12 W of round-off per W over h; conductances reach 1e5 W/K
  for (std::size_t j = 0; j < size; ++j) {
    std::vector<double> moved = x;
    moved[j] += h;
    ASSERT_TRUE(system.residual(0.0, moved, rate, above));
    moved[j] = x[j] - h;
    ASSERT_TRUE(system.residual(0.0, moved, rate, below));
    for (std::size_t i = 0; i < size; ++i) {
      const int place = system.pattern().position(static_cast<int>(i), static_cast<int>(j));
      EXPECT_NEAR((above[i] - below[i]) / (2.0 * h), place >= 0 ? values[static_cast<std::size_t>(place)] : 0.0, difference_W_per_K)
          << system.unknown_name(static_cast<int>(i)) << " by " << system.unknown_name(static_cast<int>(j));
    }
  }
}

TEST(AveragedTile, IsTheLimitOfShortPeriods) {
  tile::Case tile = test::everything();
  tile.loads[3].when = tile::Load::When::always;
  tile::TileSystem system(tile);
  const BothModes modes(tile);
  const AveragedPoint mean = averaged_point(modes.on, modes.off, 0.3);
  // The period bends the state by something that falls with it: ten times shorter, about ten times closer.
  const auto distance_K = [&](double period_s) {
    const PeriodicState state = periodic_state(system, period_s, 0.3 * period_s);
    double most = 0.0;
    for (std::size_t i = 0; i < state.x.size(); ++i) {
      if (modes.on.differential()[i]) most = std::max(most, std::abs(state.x[i] - mean.on_x[i]));
    }
    return most;
  };
  const double at_2s = distance_K(2.0), at_0_2s = distance_K(0.2);
  EXPECT_LT(at_0_2s, 0.15 * at_2s + 1e-3);  // 1e-3 K: ten times the accuracy of a periodic state
  EXPECT_LT(at_0_2s, 0.5);
}

}  // namespace tileflux::studies::averaged_test
