#include "studies/extremes.h"

#include <gtest/gtest.h>

#include <cmath>

#include "support/sample_tiles.h"
#include "tileflux/base/constants.h"
#include "tileflux/studies/run.h"

namespace tileflux::studies::extremes_test {

/// A cubic worked out two ways, relative.
constexpr double round_off = 1e-12;

struct StepOf {
  std::vector<double> begin, end, begin_rate, end_rate;
  solvers::Step step(double from_s, double to_s) const {
    // The cubic through both ends and rates.
    const auto at = [this, from_s, to_s](double time_s, std::span<double> x) {
      const double length_s = to_s - from_s, u = (time_s - from_s) / length_s;
      for (std::size_t i = 0; i < x.size(); ++i) {
        const double a = begin[i], b = end[i], da = length_s * begin_rate[i], db = length_s * end_rate[i];
        x[i] = a + u * (da + u * (3.0 * (b - a) - 2.0 * da - db + u * (2.0 * (a - b) + da + db)));
      }
    };
    return {from_s, to_s, begin, end, begin_rate, end_rate, at};
  }
};

TEST(Extremes, FindThePeakInsideAStep) {
  const tile::TileSystem system(test::plate_in_the_sun());
  Extremes extremes(system);
  // T = 300 + 4 t - t^2 from 0 to 3 s: peak of 304 K at 2 s.
  extremes.begin(0.0, std::vector<double>{300.0});
  extremes.see(StepOf{{300.0}, {303.0}, {4.0}, {-2.0}}.step(0.0, 3.0));
  EXPECT_NEAR(extremes.ranges()[0].highest_K, 304.0, round_off * 304.0);
  EXPECT_NEAR(extremes.ranges()[0].highest_at_s, 2.0, round_off * 10.0);
  EXPECT_EQ(extremes.ranges()[0].lowest_K, 300.0);
  EXPECT_EQ(extremes.ranges()[0].lowest_at_s, 0.0);
}

TEST(Extremes, FindTheTroughOfACubic) {
  const tile::TileSystem system(test::plate_in_the_sun());
  Extremes extremes(system);
  // T = 300 + t^3 - 3 t from 0.5 to 2 s: trough of 298 K at 1 s.
  const auto T = [](double t) { return 300.0 + t * t * t - 3.0 * t; };
  const auto rate = [](double t) { return 3.0 * t * t - 3.0; };
  extremes.begin(0.5, std::vector<double>{T(0.5)});
  extremes.see(StepOf{{T(0.5)}, {T(2.0)}, {rate(0.5)}, {rate(2.0)}}.step(0.5, 2.0));
  EXPECT_NEAR(extremes.ranges()[0].lowest_K, 298.0, round_off * 298.0);
  EXPECT_NEAR(extremes.ranges()[0].lowest_at_s, 1.0, round_off * 10.0);
}

TEST(Extremes, WithTheBeamOnLeaveOutWhatWasSeenWithoutIt) {
  tile::TileSystem system(test::plate_in_the_sun());
  Extremes extremes(system);
  extremes.begin(0.0, std::vector<double>{200.0});
  EXPECT_TRUE(extremes.lit_ranges().empty());
  system.set_mode({.beam = true});
  extremes.see(1.0, std::vector<double>{250.0});
  extremes.see(2.0, std::vector<double>{280.0});
  system.set_mode({.beam = false});
  extremes.see(3.0, std::vector<double>{190.0});
  ASSERT_EQ(extremes.lit_ranges().size(), 1u);
  EXPECT_EQ(extremes.lit_ranges()[0].lowest_K, 250.0);
  EXPECT_EQ(extremes.lit_ranges()[0].highest_K, 280.0);
  EXPECT_EQ(extremes.ranges()[0].lowest_K, 190.0);
}

TEST(Extremes, OfAStepWithoutATurnAreItsEnds) {
  const tile::TileSystem system(test::plate_in_the_sun());
  Extremes extremes(system);
  extremes.begin(0.0, std::vector<double>{300.0});
  extremes.see(StepOf{{300.0}, {310.0}, {1.0}, {9.0}}.step(0.0, 2.0));
  EXPECT_EQ(extremes.ranges()[0].highest_K, 310.0);
  extremes.see(5.0, std::vector<double>{290.0});
  EXPECT_EQ(extremes.ranges()[0].lowest_K, 290.0);
  EXPECT_EQ(extremes.ranges()[0].lowest_at_s, 5.0);
}

TEST(Extremes, FindWhereADifferenceTurnsInsideAStep) {
  tile::Case pair;
  pair.parts = {{.name = "a", .capacity_J_per_K = PropertyTable(100.0)}, {.name = "b", .capacity_J_per_K = PropertyTable(100.0)}};
  pair.joins = {{.a = "a", .b = "b", .conductance_W_per_K = 1.0}};
  pair.differences = {{.a = "b", .b = "a", .below_K = 10.0}};
  const tile::TileSystem system(pair);
  Extremes extremes(system);
  // T_a - T_b = 4 t - t^2, while T_a = 300 + 5 t - t^2 / 2 and T_b never turn: at most 4 K at 2 s.
  extremes.begin(0.0, std::vector<double>{300.0, 300.0});
  extremes.see(StepOf{{300.0, 300.0}, {310.5, 307.5}, {5.0, 1.0}, {2.0, 4.0}}.step(0.0, 3.0));
  EXPECT_NEAR(extremes.peaks()[0].most, 4.0, round_off * 304.0);
  EXPECT_NEAR(extremes.peaks()[0].at_s, 2.0, 300.0 * round_off);
  EXPECT_NEAR(extremes.margins()[0].margin, 6.0, round_off * 304.0);
}

TEST(Extremes, OfRatesSeeTheJumpAfterASwitch) {
  tile::Case plate = test::burst_plate(2500.0, 250.0);
  plate.limits[0].rate_below_K_per_s = 1.0;
  tile::TileSystem system(plate);
  Extremes extremes(system);
  const double out_W = 0.88 * stefan_boltzmann_W_per_m2_K4 * std::pow(293.0, 4);
  system.set_mode({.beam = false});
  extremes.begin(0.0, std::vector<double>{293.0});
  EXPECT_NEAR(extremes.peaks()[0].most, std::abs(250.0 - out_W) / 1e4, round_off);
  system.set_mode({.beam = true});
  extremes.see(7.0, std::vector<double>{293.0});
  EXPECT_NEAR(extremes.peaks()[0].most, (2500.0 - out_W) / 1e4, round_off);
  EXPECT_EQ(extremes.peaks()[0].at_s, 7.0);
}

TEST(Extremes, OfARunFindTheAfterglowOfABurst) {
  // A small heated node passes its heat to a large one that peaks after the burst, between the rows.
  tile::Case pair;
  pair.parts = {{.name = "small", .capacity_J_per_K = PropertyTable(50.0)}, {.name = "large", .capacity_J_per_K = PropertyTable(200.0)}, {.name = "wall", .fixed_K = 300.0}};
  pair.joins = {{.a = "small", .b = "large", .conductance_W_per_K = 5.0}, {.a = "large", .b = "wall", .conductance_W_per_K = 5.0}};
  pair.loads = {{.node = "small", .power_W = 500.0, .when = tile::Load::When::pattern, .pattern = {20.0, 1000.0, 0.0}}};
  pair.start.temperature_K = 300.0;
  pair.run = {.duration_s = 200.0, .output_every_s = 0.01};
  struct Highest : RunSink {
    double at_s = 0.0, temperature_K = 0.0;
    void row(const RunRow& row) override {
      if (row.temperature_K[1] > temperature_K) {
        temperature_K = row.temperature_K[1];
        at_s = row.time_s;
      }
    }
    void event(const RunEvent&) override {}
  } highest;
  tile::TileSystem system(pair);
  const RunResult result = run(system, &highest);
  const TemperatureRange& large = result.ranges[1];
  EXPECT_GT(large.highest_at_s, 20.5);
  constexpr double row_s = 0.01, interpolation_K = 1e-3;  // cubic between steps that the solver chose for 1e-8
  EXPECT_NEAR(large.highest_K, highest.temperature_K, interpolation_K);
  EXPECT_NEAR(large.highest_at_s, highest.at_s, 30.0 * row_s);  // a flat top: time is known less well than temperature
  EXPECT_EQ(result.ranges[2].highest_K, 300.0);
}

}  // namespace tileflux::studies::extremes_test
