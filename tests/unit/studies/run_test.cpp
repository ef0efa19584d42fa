#include "tileflux/studies/run.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "support/sample_tiles.h"
#include "support/small_system.h"
#include "tileflux/studies/balance.h"

namespace tileflux::studies::run_test {

/// A run is carried ten times finer than promised; global errors stay below this many promised tolerances.
constexpr double errors_per_tolerance = 20.0;

/// One radiating node without any source, space at 0 K.
tile::Case cooling_plate() {
  tile::Case plate;
  plate.space_K = 0.0;
  plate.parts.push_back({.name = "plate", .capacity_J_per_K = PropertyTable(1000.0)});
  plate.surfaces.push_back({.name = "face", .node = "plate", .area_m2 = 1.0, .emittance = 0.8});
  plate.start.temperature_K = 400.0;
  plate.run = {.duration_s = 1000.0, .output_every_s = 100.0};
  return plate;
}
constexpr double emission = 0.8 * stefan_boltzmann_W_per_m2_K4;

struct Kept : RunSink {
  std::vector<double> times_s;
  std::vector<std::vector<double>> temperatures, scalars;
  std::vector<RunEvent> events;
  void row(const RunRow& row) override {
    times_s.push_back(row.time_s);
    temperatures.emplace_back(row.temperature_K.begin(), row.temperature_K.end());
    scalars.emplace_back(row.scalars.begin(), row.scalars.end());
  }
  void event(const RunEvent& event) override { events.push_back(event); }
};

std::vector<const RunEvent*> events_named(const std::vector<RunEvent>& events, std::string_view what) {
  std::vector<const RunEvent*> found;
  for (const RunEvent& event : events) {
    if (event.what == what) found.push_back(&event);
  }
  return found;
}

TEST(Run, FollowsTheRadiativeCoolDown) {
  tile::TileSystem system(cooling_plate());
  Kept kept;
  const RunResult result = run(system, &kept);
  EXPECT_EQ(result.outcome, RunOutcome::complete);
  EXPECT_EQ(result.end_s, 1000.0);
  ASSERT_EQ(kept.times_s.size(), 11u);
  for (std::size_t i = 0; i < kept.times_s.size(); ++i) {
    EXPECT_EQ(kept.times_s[i], 100.0 * static_cast<double>(i));
    EXPECT_NEAR(kept.temperatures[i][0], test::cooled_K(400.0, 1000.0, emission, kept.times_s[i]), errors_per_tolerance * 1e-7 * 400.0);
  }
  EXPECT_LE(result.books.relative(), transient_ledger_bound);
  EXPECT_NEAR(result.books.stored_J, 1000.0 * (result.final_x[0] - 400.0), 1e-9 * 4e5);
}

TEST(Run, OfMillionsOfSwitchesIsRefusedBeforeItBegins) {
  tile::Case plate = cooling_plate();
  plate.beam = tile::Beam{1.0, tile::TimePattern{0.001, 0.002, 0.0}};
  plate.run.duration_s = 1e9;
  tile::TileSystem system(plate);
  try {
    run(system, nullptr);
    FAIL() << "not refused";
  } catch (const Error& error) {
    EXPECT_EQ(error.code(), Code::value_out_of_range);
    EXPECT_THAT(error.what(), testing::HasSubstr("1e+12 times"));
  }
}

TEST(Run, ErrorShrinksWithTheAccuracyOfTheCase) {
  const auto error_K = [](double relative) {
    tile::Case plate = cooling_plate();
    plate.accuracy = {relative, 1e-3 * relative};
    tile::TileSystem system(plate);
    return std::abs(run(system, nullptr).final_x[0] - test::cooled_K(400.0, 1000.0, emission, 1000.0));
  };
  EXPECT_LT(error_K(1e-7), 0.1 * error_K(1e-5));
  EXPECT_LT(error_K(1e-9), 0.1 * error_K(1e-7));
}

TEST(Run, ClosesItsBooksAtAnyAccuracyThatACaseMayAskFor) {
  for (const double relative : {1e-3, 1e-5, 1e-9}) {
    tile::Case tile = test::everything();
    tile.accuracy = {relative, 100.0 * relative};
    tile::TileSystem system(tile);
    EXPECT_NO_THROW(run(system, nullptr)) << relative;
  }
}

TEST(Run, ClosesItsBooksForATinyTile) {
  tile::Case plate = cooling_plate();
  plate.parts[0].capacity_J_per_K = PropertyTable(0.01);
  plate.surfaces[0].area_m2 = 1e-5;
  plate.loads = {{.node = "plate", .power_W = 1e-3, .when = tile::Load::When::pattern, .pattern = {3.0, 10.0, 0.0}}};
  plate.run.duration_s = 100.0;
  tile::TileSystem system(plate);
  EXPECT_LE(run(system, nullptr).books.relative(), transient_ledger_bound);
}

TEST(Run, LocatesTheCrossingOfALimit) {
  tile::Case plate = cooling_plate();
  plate.limits = {{.node = "plate", .above_K = 350.0}};
  tile::TileSystem system(plate);
  const RunResult result = run(system, nullptr);
  ASSERT_EQ(result.events.size(), 1u);
  EXPECT_EQ(result.events[0].what, "limit_broken");
  EXPECT_EQ(result.events[0].where, "plate");
  const double speed_K_per_s = emission * std::pow(350.0, 4) / 1000.0;
  EXPECT_NEAR(result.events[0].time_s, test::time_to_cool_s(400.0, 350.0, 1000.0, emission), errors_per_tolerance * 1e-7 * 400.0 / speed_K_per_s);
  EXPECT_NEAR(result.events[0].temperature_K, 350.0, 1e-6);
  EXPECT_FALSE(result.limits_met());
}

/// Two nodes of 500 J/K with 2 W/K between them and 100 W into the first: T_a - T_b = 25 K (1 - exp(-t / 125 s)), and
/// dT_a/dt = 0.1 K/s (1 + exp(-t / 125 s)).
tile::Case heated_pair() {
  tile::Case pair;
  pair.parts = {{.name = "hot", .capacity_J_per_K = PropertyTable(500.0)}, {.name = "cool", .capacity_J_per_K = PropertyTable(500.0)}};
  pair.joins = {{.a = "hot", .b = "cool", .conductance_W_per_K = 2.0}};
  pair.loads = {{.node = "hot", .power_W = 100.0, .when = tile::Load::When::beam_on}};
  pair.beam = tile::Beam{1.0, tile::TimePattern{300.0, 1e6, 0.0}};
  pair.start.temperature_K = 300.0;
  pair.run = {.duration_s = 400.0, .output_every_s = 10.0};
  return pair;
}

TEST(Run, LocatesWhereDifferencesAndRatesMeetTheirLimits) {
  tile::Case pair = heated_pair();
  pair.differences = {{.a = "hot", .b = "cool", .below_K = 20.0}};
  pair.limits = {{.node = "hot", .rate_below_K_per_s = 0.15}};
  tile::TileSystem system(pair);
  const RunResult result = run(system, nullptr);
  const auto broken = events_named(result.events, "limit_broken"), met = events_named(result.events, "limit_met");
  ASSERT_EQ(broken.size(), 2u);
  ASSERT_EQ(met.size(), 2u);
  constexpr double located_pair_s = 1e-3;  // 1e-6 K over 0.04 K/s, and the same share of a rate
  EXPECT_EQ(broken[0]->where, "rate of hot");
  EXPECT_EQ(broken[0]->time_s, 0.0);
  EXPECT_EQ(met[0]->where, "rate of hot");
  EXPECT_NEAR(met[0]->time_s, 125.0 * std::log(2.0), located_pair_s);
  EXPECT_EQ(broken[1]->where, "difference of hot - cool");
  EXPECT_NEAR(broken[1]->time_s, 125.0 * std::log(5.0), located_pair_s);
  EXPECT_NEAR(met[1]->time_s, 300.0 + 125.0 * std::log(25.0 / 20.0 * (1.0 - std::exp(-300.0 / 125.0))), located_pair_s);
  // The rate is broken by a third of its limit, the difference by less than a quarter.
  EXPECT_EQ(result.binding->kind, LimitKind::rate);
  EXPECT_NEAR(result.binding->value, 0.2, 1e-9);
  EXPECT_EQ(result.next->kind, LimitKind::difference);
  EXPECT_NEAR(result.next->value, 25.0 * (1.0 - std::exp(-300.0 / 125.0)), 1e-5);
  EXPECT_FALSE(result.limits_met());
}

TEST(Run, OfAPairWithinItsLimitsBreaksNone) {
  tile::Case pair = heated_pair();
  pair.differences = {{.a = "hot", .b = "cool", .distance_m = 0.1, .gradient_below_K_per_m = 251.0}};
  pair.limits = {{.node = "hot", .rate_below_K_per_s = 0.201}};
  tile::TileSystem system(pair);
  const RunResult result = run(system, nullptr);
  EXPECT_TRUE(events_named(result.events, "limit_broken").empty());
  EXPECT_TRUE(result.limits_met());
}

TEST(Run, SwitchesExactlyAtTheEdgesOfItsBeam) {
  tile::Case plate = test::burst_plate(500.0, 250.0);
  plate.beam->pattern = tile::TimePattern{0.1, 0.7, 0.3};
  plate.run = {.duration_s = 2.1, .output_every_s = 0.7};
  tile::TileSystem system(plate);
  const RunResult result = run(system, nullptr);
  const auto on = events_named(result.events, "beam_on"), off = events_named(result.events, "beam_off");
  ASSERT_EQ(on.size(), 3u);
  ASSERT_EQ(off.size(), 3u);
  EXPECT_EQ(on[1]->time_s, 0.3 + 0.7);
  constexpr double round_off_s = 1e-14;
  EXPECT_NEAR(off[2]->time_s, 1.8, round_off_s);
  EXPECT_NEAR(result.beam_s, 0.3, round_off_s);
  EXPECT_EQ(result.end_s, 2.1);
}

TEST(Run, EndsWhereAnEdgeFallsWithinRoundOffOfItsEnd) {
  tile::Case plate = test::burst_plate(500.0, 250.0);
  plate.beam->pattern = tile::TimePattern{0.35, 0.7, 0.0};
  plate.run = {.duration_s = 2.1, .output_every_s = 0.7};  // 3 x 0.7 = 2.0999999999999996
  tile::TileSystem system(plate);
  EXPECT_EQ(run(system, nullptr).end_s, 2.1);
}

TEST(Run, TakesEdgesThatCoincideAsOne) {
  tile::Case plate = test::burst_plate(500.0, 250.0);
  plate.beam->pattern = tile::TimePattern{0.3, 0.6, 0.0};
  plate.loads.push_back({.node = "plate", .power_W = 10.0, .when = tile::Load::When::pattern, .pattern = {0.1, 0.3, 0.0}});
  plate.loads.push_back({.node = "plate", .power_W = 10.0, .when = tile::Load::When::pattern, .pattern = {0.2, 0.4, 0.1 + 0.2}});
  plate.run = {.duration_s = 6.0, .output_every_s = 1.0};
  tile::TileSystem system(plate);
  const RunResult result = run(system, nullptr);
  EXPECT_EQ(events_named(result.events, "beam_on").size(), 10u);
  EXPECT_LE(result.books.relative(), transient_ledger_bound);
}

TEST(Run, WithABeamThatIsAlwaysOrNeverOnHasNoSwitches) {
  tile::Case plate = test::burst_plate(300.0, 250.0);
  plate.run = {.duration_s = 900.0, .output_every_s = 300.0};
  plate.beam->pattern = tile::TimePattern{300.0, 300.0, 0.0};
  tile::TileSystem always(plate);
  const RunResult on = run(always, nullptr);
  EXPECT_EQ(on.beam_s, 900.0);
  EXPECT_EQ(on.counts.restarts, 0);
  plate.beam->pattern = tile::TimePattern{0.0, 300.0, 0.0};
  tile::TileSystem never(plate);
  const RunResult off = run(never, nullptr);
  EXPECT_EQ(off.beam_s, 0.0);
  EXPECT_TRUE(off.events.empty());
  plate.beam->pattern = tile::TimePattern{100.0, 300.0, 600.0};
  tile::TileSystem late(plate);
  const RunResult first = run(late, nullptr);
  ASSERT_FALSE(first.events.empty());
  EXPECT_EQ(first.events[0].time_s, 600.0);
  EXPECT_NEAR(first.beam_s, 100.0, 1e-12);
}

TEST(Run, StartsFromABalanceAndStaysThere) {
  tile::Case tile = test::everything();
  tile.beam->pattern.reset();
  tile.loads[3].when = tile::Load::When::always;
  for (const auto from : {tile::Start::From::beam_on_balance, tile::Start::From::beam_off_balance}) {
    tile.start.from = from;
    const bool on = from == tile::Start::From::beam_on_balance;
    if (!on) tile.beam.reset();
    tile::TileSystem system(tile);
    const std::vector<double> begin = starting_state(system);
    const RunResult result = run(system, nullptr);
    constexpr double steady_K = 1e-5;  // what a second of steps may wander within its tolerance
    for (std::size_t i = 0; i < begin.size(); ++i) EXPECT_NEAR(result.final_x[i], begin[i], steady_K) << system.unknown_name(static_cast<int>(i));
  }
}

TEST(Run, StopsWhereItIsAskedToWithBooksThatClose) {
  tile::TileSystem system(cooling_plate());
  int asked = 0;
  Kept kept;
  const RunResult result = run(system, &kept, {.stop_requested = [&] { return ++asked >= 10; }, .progress = {}});
  EXPECT_EQ(result.outcome, RunOutcome::interrupted);
  EXPECT_EQ(asked, 10);
  EXPECT_GT(result.end_s, 0.0);
  EXPECT_LT(result.end_s, 1000.0);
  EXPECT_LT(result.error_K, 1e-5);  // the accuracy of temperatures: too little energy has passed to be relative to
  EXPECT_NEAR(result.final_x[0], test::cooled_K(400.0, 1000.0, emission, result.end_s), errors_per_tolerance * 1e-7 * 400.0);
}

TEST(Run, TellsHowFarItIs) {
  tile::TileSystem system(cooling_plate());
  double last = 0.0;
  run(system, nullptr, {.stop_requested = {}, .progress = [&](double share) {
                          EXPECT_GE(share, last);
                          last = share;
                        }});
  EXPECT_EQ(last, 1.0);
}

TEST(Run, PassesOnWhatItsSinkThrows) {
  struct Full : RunSink {
    void row(const RunRow& row) override {
      if (row.time_s > 150.0) throw Error(Code::output_unwritable, "no room");
    }
    void event(const RunEvent&) override {}
  } full;
  tile::TileSystem system(cooling_plate());
  try {
    run(system, &full);
    FAIL() << "nothing was thrown";
  } catch (const Error& error) {
    EXPECT_EQ(error.code(), Code::output_unwritable);
  }
}

TEST(Run, GivesOneScalarPerColumn) {
  tile::TileSystem system(test::everything());
  Kept kept;
  const RunResult result = run(system, &kept);
  ASSERT_FALSE(kept.scalars.empty());
  EXPECT_EQ(kept.scalars[0].size(), series_columns().size());
  EXPECT_EQ(kept.temperatures[0].size(), static_cast<std::size_t>(system.network().node_count()));
  EXPECT_EQ(kept.scalars[0][0], 0.0);
  EXPECT_EQ(kept.scalars[1][0], 1.0);  // 20 s: the beam came on at 10 s
  EXPECT_GT(kept.scalars[1][2], 0.0);
  EXPECT_GT(result.mean_light_W, 0.0);
  EXPECT_GE(result.most_light_W, result.least_light_W);
  EXPECT_NEAR(result.beam_s, 600.0, 1e-9);
}

TEST(EnergyBooks, AreRelativeToTheLargestTerm) {
  const EnergyBooks books{.incoming_J = 100.0, .light_J = 20.0, .to_space_J = 70.0, .to_fixed_J = 5.0, .stored_J = 4.0};
  EXPECT_DOUBLE_EQ(books.residual_J(), 1.0);
  EXPECT_DOUBLE_EQ(books.relative(), 0.01);
  EXPECT_EQ(EnergyBooks{}.relative(), 0.0);
}

TEST(RunThatFails, TellsTimeStepAndNodes) {
  class Failing : public tile::TileSystem {
   public:
    using TileSystem::TileSystem;
    bool residual(double time_s, std::span<const double> x, std::span<const double> rate, std::span<double> out) const override {
      return time_s < 50.0 && TileSystem::residual(time_s, x, rate, out);
    }
  };
  tile::Case three_nodes = test::plate_in_the_sun();
  for (const char* name : {"bench", "shelf"}) {
    three_nodes.parts.push_back({.name = name, .capacity_J_per_K = PropertyTable(500.0)});
    three_nodes.joins.push_back({.a = name, .b = "plate", .conductance_W_per_K = 2.0});
  }
  three_nodes.run = {.duration_s = 2000.0, .output_every_s = 20.0};
  Failing system(three_nodes);
  try {
    run(system, nullptr);
    FAIL() << "nothing was thrown";
  } catch (const Error& error) {
    EXPECT_EQ(error.code(), Code::transient_failed);
    EXPECT_THAT(error.what(), testing::ContainsRegex("at [0-9.]+ s with a step of [-+0-9.e]+ s; .*: [a-z_.0-9]+ \\(.*\\), [a-z_.0-9]+ \\(.*\\), [a-z_.0-9]+ \\("));
  }
}

}  // namespace tileflux::studies::run_test
