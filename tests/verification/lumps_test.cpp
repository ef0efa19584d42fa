/// Lumps: one temperature each.
/// C dT/dt = q - K (T^4 - Ts^4) - h A (T - Ta). Closed forms: t = C/(3K) (1/T^3 - 1/Ti^3) to 0 K; Bejan and Kraus, Heat
/// Transfer Handbook, equations 3.283 and 3.284; exponentials of Newton's cooling (Holman, example 4.1; Incropera et al.,
/// examples 5.1 to 5.3; Cengel, example 4.1). Times are the events that `run` locates at a limit. Convection is a
/// conductance h A to a fixed part. The solver's tolerance is 1e-11, its error over a run below 1e-8: rows ask for 1e-7.

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "tileflux/studies/duty.h"
#include "tileflux/studies/run.h"
#include "verification/groups.h"
#include "verification/model.h"

namespace tileflux::verification::lumps_test {

const char* const event_of_run = "studies::run, event at a limit";
const char* const end_of_run = "studies::run, final state";
const char* const balance = "studies::balance";
const char* const scaled_sigma = "emitting area times the ratio of the source's sigma to CODATA's; 0 degC = 273 K";

constexpr double ice_point_of_source_K = 273.0;
constexpr double sigma_incropera = 5.67e-8;

/// The aluminium plate of rows TR-01 and TR-02: per square metre, both faces.
Model plate(double start_K, double surroundings_K) {
  Model model;
  model.space(surroundings_K).store("plate", 2770.0 * 0.003 * 875.0, start_K).radiate("plate", 2.0, 0.8);
  return model;
}

Reproductions cooling_by_radiation() {
  Model heated;
  heated.massless("node").radiate("node", 0.5).heat("node", 100.0);
  const double balanced_K = Steady(heated).temperature_K("node");
  Model heating;
  heating.store("node", 1000.0, 200.0).radiate("node", 0.5).heat("node", 100.0);
  Model both;
  both.fixed("air", 0.0).store("body", 7271.25, 500.0).join("body", "air", 10.0).radiate("body", 1.0, 0.8);
  return {
      {"TR-01a", crossing_s(plate(400.0, 0.0), "plate", 300.0, 1e4), event_of_run},
      {"TR-01b", crossing_s(plate(300.0, 0.0), "plate", 200.0, 1e4), event_of_run},
      {"TR-01c", After(plate(400.0, 0.0), 600.0).temperature_K("plate"), end_of_run},
      {"TR-02a", crossing_s(plate(400.0, 300.0), "plate", 320.0, 1e4), event_of_run},
      {"TR-02b", crossing_s(plate(200.0, 300.0), "plate", 290.0, 1e4), event_of_run},
      {"TR-02c", crossing_s(plate(400.0, 100.0), "plate", 150.0, 1e5), event_of_run},
      {"TR-03a", balanced_K, balance},
      {"TR-03b", crossing_s(heating, "node", 0.95 * balanced_K, 1e4), event_of_run},
      {"TR-04", crossing_s(both, "body", 300.0, 1e4), event_of_run},
  };
}

/// Holman 4.1: a steel ball of 50 mm from 450 to 150 degC in air of 100 degC.
double steel_ball_s() {
  const double radius_m = 0.025;
  const double area_m2 = 4.0 * std::numbers::pi * radius_m * radius_m;
  Model model;
  model.fixed("air", 373.0).store("ball", 7800.0 * 460.0 * area_m2 * radius_m / 3.0, 723.0).join("ball", "air", 10.0 * area_m2);
  return crossing_s(model, "ball", 423.0, 1e5);
}

/// Incropera 5.2: a thermocouple bead (0.706 mm) in gas of 200 degC between duct walls of 400 degC.
Model bead(bool stores_heat) {
  const double diameter_m = 6.0 * 400.0 / (8500.0 * 400.0);
  Model model;
  model.fixed("gas", 200.0 + ice_point_of_source_K).fixed("duct", 400.0 + ice_point_of_source_K);
  if (stores_heat) {
    model.store("bead", 8500.0 * 400.0 * diameter_m / 6.0, 25.0 + ice_point_of_source_K);
  } else {
    model.massless("bead");
  }
  model.join("bead", "gas", 400.0).infrared("bead", "duct", 0.9 * sigma_ratio(sigma_incropera));
  return model;
}

/// A thermocouple with h = 210, 1 mm: starts at 1 K and goes to 0 K above the air's 1 K.
Model thermocouple() {
  Model model;
  model.fixed("air", 1.0).store("bead", 8500.0 * 320.0 * 1e-3 / 6.0, 101.0).join("bead", "air", 210.0);
  return model;
}

Reproductions lumps_in_air() {
  Reproductions rows;
  for (const char* id : {"TR-05", "TR-05c"}) rows.emplace_back(id, steel_ball_s(), event_of_run, "0 degC = 273 K");
  rows.emplace_back("TR-07a", Steady(bead(false)).temperature_K("bead") - ice_point_of_source_K, balance, scaled_sigma);
  for (const char* id : {"TR-07b", "TR-07bc"}) {
    rows.emplace_back(id, crossing_s(bead(true), "bead", 217.7 + ice_point_of_source_K, 100.0), event_of_run, scaled_sigma);
  }
  const double rate_per_s = 1.0 / Steady(thermocouple()).point().slowest_s;
  for (const char* id : {"TR-09a", "TR-09ac"}) rows.emplace_back(id, rate_per_s, "studies::balance, slowest time constant");
  for (const char* id : {"TR-09b", "TR-09bc"}) rows.emplace_back(id, crossing_s(thermocouple(), "bead", 2.0, 100.0), event_of_run);
  Model liquid;  // 2 kg of liquid and 0.5 kg of case under 50 W: no path out
  liquid.store("melt", 2.0 * 2200.0 + 0.5 * 900.0, 301.0).heat("melt", 50.0);
  rows.emplace_back("PCM-05b", (After(liquid, 100.0).temperature_K("melt") - 301.0) / 100.0, end_of_run, "the liquid after the melt only");
  return rows;
}

/// Incropera 5.3: half an aluminium panel of 3 mm with air and walls of one temperature.
Model panel(double start_K, double film_W_per_m2_K, double around_K) {
  Model model;
  model.space(around_K).fixed("air", around_K).store("panel", 2770.0 * 875.0 * 0.0015, start_K);
  model.join("panel", "air", film_W_per_m2_K).radiate("panel", 1.0, 0.8 * sigma_ratio(sigma_incropera));
  return model;
}

Reproductions panel_in_an_oven() {
  constexpr double oven_K = 175.0 + ice_point_of_source_K, room_K = 25.0 + ice_point_of_source_K, cure_s = 300.0;
  const Model heating = panel(room_K, 40.0, oven_K);
  const double heated_s = crossing_s(heating, "panel", 150.0 + ice_point_of_source_K, 1e4);
  const double cured_K = After(heating, heated_s + cure_s).temperature_K("panel");
  const double cooled_s = crossing_s(panel(cured_K, 10.0, room_K), "panel", 37.0 + ice_point_of_source_K, 1e4);
  const double total_s = heated_s + cure_s + cooled_s;
  return {
      {"TR-08a", heated_s, event_of_run, scaled_sigma},
      {"TR-08ac", heated_s, event_of_run, scaled_sigma},
      {"TR-08b", heated_s + cure_s, event_of_run, scaled_sigma},
      {"TR-08bc", heated_s + cure_s, event_of_run, scaled_sigma},
      {"TR-08d", total_s, "studies::run, two runs end to end", scaled_sigma},
      {"TR-08dc", total_s, "studies::run, two runs end to end", scaled_sigma},
      {"TR-08e", cured_K - ice_point_of_source_K, end_of_run, scaled_sigma},
  };
}

/// Holman 2.11: two steel bars with a contact between them, 100 K over all.
Steady bars_in_contact() {
  const double area_m2 = std::numbers::pi * 0.03 * 0.03 / 4.0;
  Model model;
  model.fixed("hot", 400.0).massless("upper").massless("lower").fixed("cold", 300.0);
  const double bar_W_per_K = 16.3 * area_m2 / 0.1;
  model.join("hot", "upper", bar_W_per_K).join("upper", "lower", 1893.93 * area_m2).join("lower", "cold", bar_W_per_K);
  return Steady(model);
}

/// A bar with k(T) in two halves; the integral of k telescopes.
double bar_with_rising_conductivity_W() {
  Model model;
  model.fixed("hot", 400.0).massless("middle").fixed("cold", 300.0);
  const PropertyTable conductivity({200.0, 500.0}, {150.0 * (1.0 - 0.05), 150.0 * (1.0 + 0.1)});
  for (const auto& [a, b] : {std::pair{"hot", "middle"}, std::pair{"middle", "cold"}}) {
    tile::Join half;
    half.a = a;
    half.b = b;
    half.bar_W_per_K = conductivity.scaled(1e-4 / 0.1);
    model.description.joins.push_back(half);
  }
  return Steady(model).flow_W("hot", "middle");
}

Reproductions steady_chains() {
  Model chain;
  chain.massless("source").massless("radiator").join("source", "radiator", 2.0).radiate("radiator", 0.4).heat("source", 50.0);
  const Steady lit(chain);
  const Steady bars = bars_in_contact();
  Model pipe;
  pipe.massless("evaporator").massless("vapour").fixed("condenser", 300.0).heat("evaporator", 60.0);
  pipe.join("evaporator", "vapour", 8000.0 * 0.4 * 0.012).join("vapour", "condenser", 10000.0 * 0.8 * 0.012);
  const char* flow = "studies::balance, heat flow";
  return {
      {"TR-37a", lit.temperature_K("radiator"), balance},
      {"TR-37b", lit.temperature_K("source"), balance},
      {"TR-38", bar_with_rising_conductivity_W(), flow},
      {"TR-52", bars.flow_W("hot", "upper"), flow},
      {"TR-52c", bars.flow_W("hot", "upper"), flow},
      {"TR-52b", bars.temperature_K("upper") - bars.temperature_K("lower"), balance},
      {"HP-11", Steady(pipe).temperature_K("evaporator") - 300.0, balance, "evaporator and condenser as conductances about a massless vapour"},
  };
}

constexpr double orbit_s = 5700.0, lit_s = 3600.0;

tile::Case orbit_case() {
  Model model;
  model.store("node", 5000.0, 290.0).radiate("node", 0.6);
  model.heat("node", 400.0).heat("node", 40.0);
  model.description.loads[0].when = tile::Load::When::beam_on;
  model.description.loads[1].when = tile::Load::When::beam_off;
  model.description.beam = tile::Beam{1.0, tile::TimePattern{lit_s, orbit_s, 0.0}};
  return model.description;
}

Reproductions orbit_node() {
  tile::Case description = orbit_case();
  tile::TileSystem system(description);
  const studies::PeriodicState state = studies::periodic_state(system, orbit_s, lit_s);
  // One more cycle from the repeating state gives its books: infrared over the cycle is the mean of T^4.
  description.parts[0].start_K = state.x[0];
  description.run = {orbit_s, orbit_s};
  tile::TileSystem once(description);
  const studies::RunResult cycle = studies::run(once, nullptr);
  Model mean;
  mean.massless("node").radiate("node", 0.6).heat("node", cycle.books.to_space_J / orbit_s);
  return {
      {"TR-42a", state.ranges[0].lowest_K, "studies::periodic_state"},
      {"TR-42b", state.ranges[0].highest_K, "studies::periodic_state"},
      {"TR-42c", Steady(mean).temperature_K("node"), "studies::periodic_state, run over one cycle, books"},
  };
}

/// A run to a tolerance in relative terms and 100 K of it.
double plate_after_600_s_K(double tolerance) {
  Model model = plate(400.0, 0.0);
  model.description.accuracy = {tolerance, 100.0 * tolerance};
  return After(model, 600.0).temperature_K("plate");
}

double plate_at_320_K_s(double tolerance) {
  Model model = plate(400.0, 300.0);
  model.description.accuracy = {tolerance, 100.0 * tolerance};
  return crossing_s(model, "plate", 320.0, 1e4);
}

/// The slab of row TR-41 in 20 slices, its outermost one after an hour.
double slab_after_an_hour_K(double tolerance) {
  Model model;
  tile::Layer layer;
  layer.name = "slab";
  layer.material = {"slab", 1400.0, PropertyTable(1000.0), PropertyTable(0.2)};
  layer.thickness_m = 0.05;
  layer.slices = 20;
  layer.start_K = 300.0;
  model.description.stack = tile::Stack{1.0, {layer}};
  model.massless("face").join("face", "slab.20", 0.2 / (0.025 / layer.slices)).radiate("face", 1.0, 0.9);
  model.description.parts.back().start_K = 300.0;
  model.description.accuracy = {tolerance, 100.0 * tolerance};
  return After(model, 3600.0).temperature_K("slab.20");
}

/// What is left of the error is compared with the row only down to its eight digits: the reference is the same run at the
/// tightest tolerance, which must meet the row itself.
Convergences tolerances_in_time() {
  Convergences all;
  const auto add = [&all](const char* what, const char* id, const char* through, double (*at)(double)) {
    constexpr double tightest = 1e-12;
    // In proportion to the tolerance for a method that goes on with the better one of two formulas an order apart; less
    // where stiff parts take an order off.
    constexpr double expected = 0.8, within = 0.25;
    Convergence series{what, std::string(id) + ", met by the same run at 1e-12", through, {}, expected, within, "1 at best, less where stiff parts take an order off the method"};
    const double reference = at(tightest);
    if (!judge(row(id), {reference}).agrees) series.reference = std::string(id) + " is missed at 1e-12";
    for (const double tolerance : {1e-5, 1e-6, 1e-7, 1e-8, 1e-9}) {
      char label[20];
      std::snprintf(label, sizeof label, "%.0e", tolerance);
      series.refinements.push_back({label, tolerance, std::abs(at(tolerance) / reference - 1.0)});
    }
    all.push_back(series);
  };
  add("tolerance in time: plate that cools by radiation", "TR-01c", end_of_run, plate_after_600_s_K);
  add("tolerance in time: when the plate passes 320 K", "TR-02a", event_of_run, plate_at_320_K_s);
  add("tolerance in time: slab of 20 slices that radiates", "TR-41b", "studies::run of a stack", slab_after_an_hour_K);
  return all;
}

TEST(TolerancesInTime, AreKeptInProportion) {
  const Convergences all = tolerances_in_time();
  check_all(all);
  for (const Convergence& series : all) EXPECT_EQ(series.reference.find("missed"), std::string::npos) << series.reference;
}

TEST(Lump, CoolsAndHeatsByRadiationInThePublishedTimes) { check_all(cooling_by_radiation()); }

TEST(Lump, IsRefusedWithOneFaceOnlyOrTheWrongSurroundings) {
  Model one_face;
  one_face.store("plate", 2770.0 * 0.003 * 875.0, 400.0).radiate("plate", 1.0, 0.8);
  expect_refused("TR-01a", crossing_s(one_face, "plate", 300.0, 1e4));
  expect_refused("TR-02c", crossing_s(plate(400.0, 0.0), "plate", 150.0, 1e5));
}

TEST(Lump, FollowsNewtonsCooling) { check_all(lumps_in_air()); }

TEST(Lump, IsRefusedWithTheWallsLeftOut) {
  Model model;
  model.fixed("gas", 473.0).massless("bead").join("bead", "gas", 400.0);
  expect_refused("TR-07a", Steady(model).temperature_K("bead") - ice_point_of_source_K);
}

TEST(PanelInAnOven, HeatsCuresAndCools) { check_all(panel_in_an_oven()); }

TEST(PanelInAnOven, IsRefusedAtItsFullThickness) {
  Model thick;
  thick.space(448.0).fixed("air", 448.0).store("panel", 2770.0 * 875.0 * 0.003, 298.0).join("panel", "air", 40.0).radiate("panel", 1.0, 0.8);
  expect_refused("TR-08a", crossing_s(thick, "panel", 423.0, 1e4));
}

TEST(SteadyChain, CarriesThePublishedHeat) { check_all(steady_chains()); }

TEST(SteadyChain, IsRefusedWithoutTheContact) {
  const double area_m2 = std::numbers::pi * 0.03 * 0.03 / 4.0;
  Model model;
  model.fixed("hot", 400.0).massless("middle").fixed("cold", 300.0).join("hot", "middle", 163.0 * area_m2).join("middle", "cold", 163.0 * area_m2);
  expect_refused("TR-52", Steady(model).flow_W("hot", "middle"));
}

TEST(OrbitNode, RepeatsThePublishedCycle) { check_all(orbit_node()); }

TEST(OrbitNode, IsRefusedAtTheMeanPower) {
  Model mean;
  mean.massless("node").radiate("node", 0.6).heat("node", (400.0 * lit_s + 40.0 * (orbit_s - lit_s)) / orbit_s);
  expect_refused("TR-42b", Steady(mean).temperature_K("node"));
}

}  // namespace tileflux::verification::lumps_test
