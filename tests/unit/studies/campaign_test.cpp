#include "tileflux/studies/campaign.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <numeric>

#include "support/sample_tiles.h"
#include "tileflux/studies/balance.h"

namespace tileflux::studies::campaign_test {

constexpr double hour_s = 3600.0, day_s = 86400.0;

/// The solver's tolerance on energies, relative, with room for its steps.
constexpr double energy_tolerance = 1e-6;
/// What taking cycles over may cost.
constexpr double light_cost = 1e-6, temperature_cost_K = 1e-3;

/// Panel with cells, radiator with two modules of a data sheet that give 32 W at full drive, whatever the temperature.
tile::Case lamp() {
  tile::Case lamp;
  lamp.title = "lamp";
  lamp.space_K = 0.0;
  lamp.parts = {{.name = "panel", .capacity_J_per_K = PropertyTable(3000.0)},
                {.name = "radiator", .capacity_J_per_K = PropertyTable(4000.0)}};
  lamp.joins = {{.a = "panel", .b = "radiator", .conductance_W_per_K = 10.0}};
  lamp.surfaces = {
      {.name = "front", .node = "panel", .area_m2 = 1.0, .emittance = 0.85, .absorptance = 0.9, .facing = tile::Surface::Facing::front},
      {.name = "rear", .node = "radiator", .area_m2 = 1.0, .emittance = 0.88}};
  lamp.cells = tile::Cells{.surface = "front", .node = "panel", .efficiency = 0.3};
  lamp.lasers = {{.name = "main", .mount = "radiator",
                  .devices = {2, devices::EfficiencyLaw{40.0, {200.0, 400.0}, {0.1, 1.0}, {0.4, 0.4, 0.4, 0.4}}},
                  .resistance_K_per_W = 0.5}};
  lamp.beam = tile::Beam{};
  lamp.start.from = tile::Start::From::beam_off_balance;
  return lamp;
}

CampaignResult carried(const tile::Case& description, bool every_cycle = false, RunSink* sink = nullptr) {
  tile::TileSystem system(description);
  return campaign(system, sink, {.every_cycle = every_cycle});
}

double refused(const Served& served, Refusal why) { return served.refused_J[static_cast<std::size_t>(why)]; }

void expect_sound(const CampaignResult& result) {
  EXPECT_LE(result.books.relative(), transient_ledger_bound);
  double delivered_J = 0.0;
  for (const RequestAnswer& request : result.requests) {
    const Served& one = request.served;
    delivered_J += one.delivered_J;
    EXPECT_NEAR(std::accumulate(one.refused_J.begin(), one.refused_J.end(), one.delivered_J), one.asked_J,
                1e-12 * one.asked_J);
  }
  EXPECT_NEAR(delivered_J, result.books.light_J, energy_tolerance * result.books.light_J);
}

TEST(Campaign, GivesWhatIsAskedForWhereItCan) {
  tile::Case asked = lamp();
  asked.campaign = tile::Campaign{.requests = {{.name = "a", .at_s = 100.0, .for_s = hour_s, .light_W = 20.0},
                                               {.name = "b", .at_s = 1900.0, .for_s = hour_s, .light_W = 10.0}}};
  asked.campaign->needed_light_W = 30.0;
  asked.run.duration_s = 3.0 * hour_s;
  const CampaignResult result = carried(asked);
  expect_sound(result);
  EXPECT_NEAR(result.requests[0].served.delivered_J, 20.0 * hour_s, energy_tolerance * 20.0 * hour_s);
  EXPECT_NEAR(result.requests[1].served.delivered_J, 10.0 * hour_s, energy_tolerance * 10.0 * hour_s);
  EXPECT_EQ(result.requests[0].met_windows, 1);
  EXPECT_NEAR(result.met_share(), 1.0, 1e-9);
  EXPECT_NEAR(result.available_s, 1800.0, 1e-6) << "both together for half an hour";
  EXPECT_NEAR(result.beam_s, 5400.0, 1e-6);
}

TEST(Campaign, ServesTheHigherPriorityFirst) {
  tile::Case asked = lamp();
  asked.campaign =
      tile::Campaign{.requests = {{.name = "low", .at_s = 0.0, .for_s = hour_s, .light_W = 20.0},
                                  {.name = "high", .at_s = 0.0, .for_s = hour_s, .light_W = 25.0, .priority = 1}}};
  asked.run.duration_s = hour_s;
  const CampaignResult result = carried(asked);
  expect_sound(result);
  // Two modules of 40 W at 40 % give 32 W.
  EXPECT_NEAR(result.requests[1].served.delivered_J, 25.0 * hour_s, energy_tolerance * 25.0 * hour_s);
  EXPECT_NEAR(result.requests[0].served.delivered_J, 7.0 * hour_s, energy_tolerance * 25.0 * hour_s);
  EXPECT_NEAR(refused(result.requests[0].served, Refusal::higher_priority), 13.0 * hour_s,
              energy_tolerance * 25.0 * hour_s);
  EXPECT_NEAR(result.met_share(), 0.5, 1e-9);
}

TEST(Campaign, SharesDriveAndTellsWhatIsBeyondTheMostOfTheCase) {
  tile::Case asked = lamp();
  asked.beam->drive = 0.8;
  asked.campaign = tile::Campaign{.requests = {{.name = "a", .at_s = 0.0, .for_s = hour_s, .drive = 0.5, .priority = 1},
                                               {.name = "b", .at_s = 0.0, .for_s = hour_s, .drive = 0.9}}};
  asked.run.duration_s = hour_s;
  const CampaignResult result = carried(asked);
  expect_sound(result);
  const double full_J = 32.0 * hour_s;
  EXPECT_NEAR(result.requests[0].served.delivered_J, 0.5 * full_J, energy_tolerance * full_J);
  EXPECT_NEAR(result.requests[1].served.delivered_J, 0.3 * full_J, energy_tolerance * full_J);
  EXPECT_NEAR(refused(result.requests[1].served, Refusal::beyond_lasers), 0.1 * full_J, energy_tolerance * full_J);
  EXPECT_NEAR(refused(result.requests[1].served, Refusal::higher_priority), 0.5 * full_J, energy_tolerance * full_J);
}

TEST(Campaign, EmitsNothingWhereItMayNot) {
  tile::Case asked = lamp();
  asked.campaign = tile::Campaign{.requests = {{.name = "a", .at_s = 0.0, .for_s = hour_s, .light_W = 20.0}},
                                  .keep_out = {{.from_s = 600.0, .to_s = 1500.0}}};
  asked.run.duration_s = hour_s;
  const CampaignResult result = carried(asked);
  expect_sound(result);
  EXPECT_NEAR(refused(result.requests[0].served, Refusal::keep_out), 20.0 * 900.0, energy_tolerance * 20.0 * hour_s);
  EXPECT_NEAR(result.beam_s, 2700.0, 1e-6);
  EXPECT_EQ(result.requests[0].met_windows, 0);
}

TEST(Campaign, BlamesTheLimitThatThrottles) {
  tile::Case asked = lamp();
  asked.campaign = tile::Campaign{.requests = {{.name = "a", .at_s = 0.0, .for_s = day_s, .drive = 1.0}}};
  asked.run.duration_s = day_s;
  asked.start.from = tile::Start::From::beam_on_balance;
  tile::TileSystem probe(asked);
  const double junction_K =
      probe.network().temperature_K(probe.network().find("main.junction"), starting_state(probe));
  asked.limits = {{.node = "main.junction", .below_K = junction_K + 10.0, .throttle_from_K = junction_K - 10.0}};
  const CampaignResult result = carried(asked);
  expect_sound(result);
  EXPECT_EQ(result.requests[0].throttled_by, "main.junction");
  // Started in balance, it is the steady light all the time.
  tile::TileSystem system(asked);
  const double light_W = balance(system).usable_laser_W;
  EXPECT_NEAR(result.requests[0].served.delivered_J, light_W * day_s, energy_tolerance * light_W * day_s);
  EXPECT_NEAR(refused(result.requests[0].served, Refusal::heat), (32.0 - light_W) * day_s,
              energy_tolerance * 32.0 * day_s);
}

TEST(Campaign, BlamesTheLimitThatTrips) {
  tile::Case asked = lamp();
  asked.campaign = tile::Campaign{.requests = {{.name = "a", .at_s = 60.0, .for_s = 2.0 * hour_s, .light_W = 30.0}}};
  asked.run.duration_s = 3.0 * hour_s;
  tile::TileSystem probe(asked);
  const double radiator_K = probe.network().temperature_K(probe.network().find("radiator"), starting_state(probe));
  asked.limits = {{.node = "radiator", .below_K = radiator_K + 0.5, .trip_reset_K = radiator_K + 0.2,
                   .trip_min_off_s = 30.0, .trip_to = 0.25}};
  const CampaignResult result = carried(asked);
  expect_sound(result);
  EXPECT_GT(result.trips, 0);
  EXPECT_EQ(result.requests[0].tripped_by, "radiator");
  EXPECT_GT(refused(result.requests[0].served, Refusal::trip), 0.0);
  EXPECT_EQ(refused(result.requests[0].served, Refusal::heat), 0.0);
}

TEST(Campaign, TellsOfAShortageOfSunlight) {
  tile::Case asked = lamp();
  asked.cells->efficiency = 0.03;  // some 40 W for lasers that want 80 W
  asked.campaign = tile::Campaign{.requests = {{.name = "a", .at_s = 60.0, .for_s = hour_s, .light_W = 30.0}}};
  asked.run.duration_s = 2.0 * hour_s;
  const CampaignResult result = carried(asked);
  expect_sound(result);
  const Served& served = result.requests[0].served;
  EXPECT_GT(refused(served, Refusal::energy), 0.3 * served.asked_J);
  EXPECT_NEAR(refused(served, Refusal::energy), served.asked_J - served.delivered_J, 1e-9 * served.asked_J);
  EXPECT_EQ(result.requests[0].worst_share, served.share());
}

/// Bursts each day for two months, of two who overlap, with a pause and a throttle.
tile::Case two_months() {
  tile::Case asked = lamp();
  asked.campaign = tile::Campaign{
      .requests = {{.name = "a", .at_s = hour_s, .for_s = 1800.0, .light_W = 25.0, .every_s = day_s, .times = 60},
                   {.name = "b", .at_s = hour_s + 900.0, .for_s = 1800.0, .light_W = 15.0, .priority = 1,
                    .every_s = day_s, .times = 50}},
      .keep_out = {{.from_s = 20.0 * day_s, .to_s = 21.0 * day_s}}};
  asked.campaign->needed_light_W = 20.0;
  asked.run = {.duration_s = 60.0 * day_s, .output_every_s = hour_s};
  return asked;
}

void expect_alike(const CampaignResult& taken, const CampaignResult& every) {
  expect_sound(taken);
  expect_sound(every);
  EXPECT_NEAR(taken.books.light_J, every.books.light_J, light_cost * every.books.light_J);
  EXPECT_NEAR(taken.books.incoming_J, every.books.incoming_J, light_cost * every.books.incoming_J);
  for (std::size_t i = 0; i < taken.requests.size(); ++i) {
    const RequestAnswer &one = taken.requests[i], &other = every.requests[i];
    EXPECT_EQ(one.windows, other.windows);
    EXPECT_EQ(one.met_windows, other.met_windows);
    EXPECT_NEAR(one.served.delivered_J, other.served.delivered_J, light_cost * other.served.asked_J);
    for (std::size_t why = 0; why < refusals; ++why)
      EXPECT_NEAR(one.served.refused_J[why], other.served.refused_J[why], light_cost * other.served.asked_J);
    EXPECT_NEAR(one.worst_share, other.worst_share, light_cost);
  }
  for (std::size_t i = 0; i < taken.final_x.size(); ++i)
    EXPECT_NEAR(taken.final_x[i], every.final_x[i], temperature_cost_K);
  for (std::size_t i = 0; i < taken.ranges.size(); ++i) {
    EXPECT_NEAR(taken.ranges[i].lowest_K, every.ranges[i].lowest_K, temperature_cost_K);
    EXPECT_NEAR(taken.ranges[i].highest_K, every.ranges[i].highest_K, temperature_cost_K);
  }
  EXPECT_NEAR(taken.available_s, every.available_s, 1e-6 * every.end_s);
  EXPECT_NEAR(taken.beam_s, every.beam_s, 1e-9 * every.end_s);
  EXPECT_EQ(taken.event_counts, every.event_counts);
  EXPECT_EQ(taken.trips, every.trips);
}

TEST(Campaign, TakesEqualCyclesOverAndGivesTheSame) {
  const CampaignResult taken = carried(two_months()), every = carried(two_months(), true);
  EXPECT_GT(taken.cycles.taken_over, 40);
  EXPECT_EQ(taken.cycles.period_s, day_s);
  EXPECT_EQ(every.cycles.taken_over, 0);
  EXPECT_LT(10 * taken.counts.steps, 2 * every.counts.steps);
  expect_alike(taken, every);
}

TEST(Campaign, TakesCyclesOverOnlyOnceASlowPartHasSettled) {
  tile::Case slow = two_months();
  // A mass behind a weak path: some twelve days.
  slow.parts.push_back({.name = "ballast", .capacity_J_per_K = PropertyTable(1e5)});
  slow.joins.push_back({.a = "ballast", .b = "radiator", .conductance_W_per_K = 0.1});
  slow.parts.back().start_K = 250.0;
  slow.start = {tile::Start::From::temperature, 300.0};
  slow.campaign->requests[0].times = slow.campaign->requests[1].times = 400;
  slow.campaign->keep_out.clear();
  slow.run.duration_s = 400.0 * day_s;
  const CampaignResult taken = carried(slow), every = carried(slow, true);
  EXPECT_GT(taken.cycles.evaluated, 100) << "the change over a day is small long before the state is there";
  EXPECT_GT(taken.cycles.taken_over, 50);
  expect_alike(taken, every);
}

TEST(Campaign, CountsTripsOfCyclesThatWereNotIntegrated) {
  tile::Case asked = two_months();
  tile::TileSystem probe(asked);
  const double radiator_K = probe.network().temperature_K(probe.network().find("radiator"), starting_state(probe));
  asked.limits = {{.node = "radiator", .below_K = radiator_K + 0.3, .trip_reset_K = radiator_K + 0.1,
                   .trip_min_off_s = 30.0}};
  const CampaignResult taken = carried(asked), every = carried(asked, true);
  EXPECT_GT(taken.cycles.taken_over, 40);
  EXPECT_GT(every.trips, 60);
  expect_alike(taken, every);
}

TEST(Campaign, GoesThroughAFailure) {
  tile::Case asked = two_months();
  asked.failures.push_back(
      {.at_s = 30.2 * day_s, .what = tile::Failure::What::dead_modules, .where = "main", .value = 1.0});
  const CampaignResult taken = carried(asked), every = carried(asked, true);
  EXPECT_GT(taken.cycles.taken_over, 40);
  expect_alike(taken, every);
  EXPECT_GT(refused(taken.requests[1].served, Refusal::heat) + refused(taken.requests[0].served, Refusal::beyond_lasers),
            0.0);
}

TEST(Campaign, RunFollowsTheSameTimetable) {
  tile::Case asked = two_months();
  asked.run.duration_s = 5.0 * day_s;
  tile::TileSystem system(asked);
  const RunResult plain = run(system, nullptr);
  const CampaignResult result = carried(asked);
  EXPECT_NEAR(result.books.light_J, plain.books.light_J, energy_tolerance * plain.books.light_J);
  EXPECT_NEAR(result.beam_s, plain.beam_s, 1e-9 * plain.end_s);
}

TEST(Campaign, RefusesWhatItCannotCarry) {
  const auto code_of = [](const tile::Case& description) {
    try {
      carried(description);
    } catch (const Error& error) {
      return error.code();
    }
    return Code::internal;
  };
  EXPECT_EQ(code_of(lamp()), Code::key_missing);
  tile::Case ageing = two_months();
  ageing.ageing = tile::Ageing{};
  EXPECT_EQ(code_of(ageing), Code::key_conflict);
}

TEST(Campaign, StopsWhenToldAndSaysSo) {
  tile::TileSystem system(two_months());
  int steps = 0;
  CampaignOptions options;
  options.run.stop_requested = [&] { return ++steps > 100; };
  const CampaignResult result = campaign(system, nullptr, options);
  EXPECT_EQ(result.outcome, RunOutcome::interrupted);
  EXPECT_LT(result.end_s, 60.0 * day_s);
  expect_sound(result);
}

TEST(Campaign, WritesRowsOfWhatItIntegrates) {
  struct Times : RunSink {
    std::vector<double> times_s;
    void row(const RunRow& row) override { times_s.push_back(row.time_s); }
    void event(const RunEvent&) override {}
  };
  Times taken, every;
  carried(two_months(), false, &taken);
  carried(two_months(), true, &every);
  EXPECT_EQ(every.times_s.size(), 60u * 24u + 1u);
  EXPECT_LT(taken.times_s.size(), every.times_s.size() / 2);
  EXPECT_TRUE(std::is_sorted(taken.times_s.begin(), taken.times_s.end()));
  EXPECT_EQ(taken.times_s.back(), 60.0 * day_s);
}

}  // namespace tileflux::studies::campaign_test
