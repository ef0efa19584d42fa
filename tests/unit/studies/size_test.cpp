#include "tileflux/studies/size.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "support/sample_tiles.h"
#include "support/sized_tiles.h"
#include "tileflux/base/constants.h"

namespace tileflux::studies::size_test {

using testing::ElementsAre;
using testing::IsEmpty;

/// Roots are found to 42 bits of the logarithm of an area, from states that close to 1e-12 of the power.
constexpr double found = 1e-9;
/// What the task allows for a sized tile that is balanced again.
constexpr double balanced_again_K = 0.01;

double black_W_per_m2(double temperature_K) { return stefan_boltzmann_W_per_m2_K4 * std::pow(temperature_K, 4); }

TEST(Size, OfOneNodeIsTheAreaWorkedOnPaper) {
  const Size answer = size(test::plain_radiator());
  ASSERT_TRUE(answer.possible);
  const double area_m2 = 400.0 / (0.88 * black_W_per_m2(300.0));
  EXPECT_NEAR(answer.best.needed_m2, area_m2, found * area_m2);
  EXPECT_EQ(answer.best.design.area_m2, answer.best.needed_m2);
  EXPECT_NEAR(answer.best.root_K, 300.0, found * 300.0);
  EXPECT_NEAR(answer.best.heat_W, 400.0, found * 400.0);
  EXPECT_EQ(answer.demands.front().node, "plate");
  EXPECT_FALSE(answer.demands.front().beam);
  EXPECT_LT(answer.balances, 60) << "a handful of balances must do";
}

TEST(Size, TellsAnotherAreaForAnotherEmittance) {
  tile::Case dull = test::plain_radiator();
  dull.surfaces.front().emittance = 0.44;
  EXPECT_NEAR(size(dull).best.needed_m2 / size(test::plain_radiator()).best.needed_m2, 2.0, 2.0 * found);
}

TEST(Size, OfARadiatorInTheSunTakesWhatItAbsorbsOff) {
  tile::Case lit = test::plain_radiator();
  lit.surfaces.front().facing = tile::Surface::Facing::front;
  lit.surfaces.front().absorptance = 0.15;
  lit.space_K = 200.0;
  const Size answer = size(lit);
  const double area_m2 = 400.0 / (0.88 * (black_W_per_m2(300.0) - black_W_per_m2(200.0)) - 0.15 * 1361.0);
  EXPECT_NEAR(answer.best.needed_m2, area_m2, found * area_m2);
  const double sink_K = std::pow(0.15 * 1361.0 / (0.88 * stefan_boltzmann_W_per_m2_K4) + std::pow(200.0, 4), 0.25);
  EXPECT_NEAR(answer.sink_K, sink_K, found * sink_K);
}

TEST(Size, KeepsItsMarginsOnceEach) {
  tile::Case careful = test::plain_radiator();
  careful.size->margin_K = 11.0;
  careful.size->area_margin = 0.10;
  careful.size->other_kg_per_m2 = 5.0;
  const Size answer = size(careful);
  const double area_m2 = 400.0 / (0.88 * black_W_per_m2(289.0));
  EXPECT_NEAR(answer.best.needed_m2, area_m2, found * area_m2);
  EXPECT_NEAR(answer.best.design.area_m2, 1.10 * area_m2, found * area_m2);
  EXPECT_NEAR(answer.best.mass_kg(), 5.5 * area_m2, found * 5.5 * area_m2);
  EXPECT_EQ(answer.demands.front().wanted, 289.0);
  EXPECT_EQ(answer.demands.front().limit_K, 300.0);
  EXPECT_LT(answer.hot->beam_off.x[0], 289.0 - 1.0) << "as built it is colder by the margin on area";
}

TEST(Size, BalancedAgainMeetsItsLimit) {
  for (const bool segments : {false, true}) {
    tile::Case wanted = test::finned_radiator();
    if (segments) wanted.surfaces.front().fin->segments = 8;
    const Size answer = size(wanted);
    ASSERT_TRUE(answer.possible);
    const Balance again = balance(with_radiator(wanted, "panel", answer.best.design));
    EXPECT_NEAR(again.beam_off.margins.front().value, 300.0, balanced_again_K) << segments;
    EXPECT_LT(std::abs(answer.check), balanced_again_K);
    tile::RadiatorDesign smaller = answer.best.design;
    smaller.area_m2 *= 0.99;
    EXPECT_GT(balance(with_radiator(wanted, "panel", smaller)).beam_off.margins.front().value,
              300.0 + balanced_again_K)
        << "one per cent less must be seen";
  }
}

TEST(Size, OfAPanelOnPipesIsTheLeastMassFin) {
  const Size answer = size(test::finned_radiator());
  // Three digits are published; the valley of the mass is found to 1e-8 of its place.
  EXPECT_NEAR(std::sqrt(answer.best.zeta), 0.92, 0.005);
  EXPECT_NEAR(answer.best.efficiency, 0.565, 0.0005);
  // Heat per pipe goes as (mass of its sheet)^(1/3) at that fin, so the least mass per heat has half the pipe's mass in sheet.
  constexpr double place = 1e-4;
  EXPECT_NEAR(answer.best.sheet_kg / answer.best.pipes_kg, 0.5, place);
  EXPECT_THAT(answer.at_bounds, IsEmpty());
  ASSERT_EQ(answer.curves.size(), 2u);
}

TEST(Size, WithAFixedSheetHasThePublishedHeatPerMass) {
  tile::Case panel = test::finned_radiator();
  panel.size->thickness_m.reset();
  const Size answer = size(panel);
  // Rows FIN-09a and FIN-09b: half the pitch 0.11222467 m, 157.44343 W/kg.
  EXPECT_NEAR(0.5 * answer.best.design.pitch_m, 0.11222467, 1e-4 * 0.11222467);
  EXPECT_NEAR(400.0 / answer.best.mass_kg(), 157.44343, 1e-7 * 157.44343);
}

TEST(Size, OfLeastAreaTakesTheThickestSheetAndTheClosestPipes) {
  tile::Case panel = test::finned_radiator();
  panel.size->minimise = tile::SizeSettings::Minimise::area;
  panel.size->thickness_m = tile::Bounds{1e-4, 2e-3};
  panel.size->pitch_m = tile::Bounds{0.05, 0.5};
  const Size answer = size(panel);
  EXPECT_EQ(answer.best.design.thickness_m, 2e-3);
  EXPECT_EQ(answer.best.design.pitch_m, 0.05);
  EXPECT_THAT(answer.at_bounds, ElementsAre("thickness at its most", "pitch at its least"));
}

TEST(Size, StaysWithinTheLargestArea) {
  tile::Case panel = test::finned_radiator();
  const double free_m2 = size(panel).best.design.area_m2;
  panel.size->area_m2 = {0.01, 0.8 * free_m2};
  const Size answer = size(panel);
  ASSERT_TRUE(answer.possible);
  EXPECT_NEAR(answer.best.design.area_m2, 0.8 * free_m2, 1e-6 * free_m2);
  EXPECT_GT(answer.best.mass_kg(), size(test::finned_radiator()).best.mass_kg());
  EXPECT_THAT(answer.at_bounds, ElementsAre("area at its most"));
}

TEST(Size, InSegmentsStaysWithinTheLargestAreaToo) {
  tile::Case panel = test::finned_radiator();
  panel.surfaces.front().fin->segments = 4;
  const double free_m2 = size(panel).best.design.area_m2;
  panel.size->area_m2 = {0.01, 0.8 * free_m2};
  const Size answer = size(panel);
  ASSERT_TRUE(answer.possible);
  EXPECT_NEAR(answer.best.design.area_m2, 0.8 * free_m2, 1e-6 * free_m2);
  EXPECT_LT(std::abs(answer.check), balanced_again_K);
}

TEST(Size, ChoosesTheNumberOfFaces) {
  tile::Case panel = test::finned_radiator();
  panel.surfaces.front().faces = 1;
  panel.surfaces.front().area_m2 = 1.0;
  const double one_kg = size(panel).best.mass_kg();
  panel.size->either_face_count = true;
  const Size answer = size(panel);
  EXPECT_EQ(answer.best.design.faces, 2);
  EXPECT_LT(answer.best.mass_kg(), one_kg);
}

TEST(Size, IsSetByTheHotterOfBeamOnAndBeamOff) {
  tile::Case switched = test::plain_radiator();
  switched.beam = tile::Beam{};
  switched.loads.push_back({.node = "plate", .power_W = 100.0, .when = tile::Load::When::beam_on});
  const Size on = size(switched);
  EXPECT_TRUE(on.demands.front().beam);
  EXPECT_NEAR(on.best.heat_W, 500.0, found * 500.0);
  switched.loads.back().when = tile::Load::When::beam_off;
  EXPECT_FALSE(size(switched).demands.front().beam);
}

TEST(Size, ForALightIsTheAreaWorkedOnPaper) {
  const tile::Case tile = test::lit_tile();
  // 146 W of 320 W: the efficiency, so the junction; the mount below it; then the panel by bisection of its own balance.
  const double waste_W = 320.0 - 146.0, junction_K = 293.15 + (0.50 - 146.0 / 320.0) / 0.001;
  const double back_K = junction_K - 0.5 / 4.0 * waste_W, drawn_W = 320.0 + 2.0 + 0.04 * 320.0;
  double low_K = 250.0, high_K = 400.0;
  for (int i = 0; i < 100; ++i) {
    const double panel_K = 0.5 * (low_K + high_K);
    const double left_W = 0.9 * 1361.0 - drawn_W - 0.85 * black_W_per_m2(panel_K) - 20.0 * (panel_K - back_K);
    (left_W > 0.0 ? low_K : high_K) = panel_K;
  }
  const double heat_W = 20.0 * (low_K - back_K) + 2.0 + 0.04 * 320.0 + waste_W;
  const Size answer = size(tile);
  ASSERT_TRUE(answer.possible);
  EXPECT_TRUE(answer.demands.front().is_light());
  EXPECT_NEAR(answer.best.needed_m2, heat_W / (0.88 * black_W_per_m2(back_K)), found);
  const Balance again = balance(with_radiator(tile, "rear", answer.best.design));
  EXPECT_NEAR(again.usable_laser_W, 146.0, 1e-6) << "the root is found far finer";
}

TEST(Size, ForALightBeyondTheTileNamesTheNearest) {
  tile::Case tile = test::lit_tile();
  tile.size->light_W = 175.0;
  const Size answer = size(tile);
  EXPECT_FALSE(answer.possible);
  ASSERT_EQ(answer.shortfalls.size(), 1u);
  const Shortfall& shortfall = answer.shortfalls.front();
  EXPECT_TRUE(shortfall.demand.is_light());
  EXPECT_EQ(shortfall.nearest.area_m2, 20.0);
  EXPECT_NEAR(shortfall.reached, balance(with_radiator(tile, "rear", shortfall.nearest)).usable_laser_W, 1e-6);
  EXPECT_EQ(shortfall.regime, Regime::drive_limited);
  EXPECT_LT(shortfall.reached, 175.0);
  tile.size->light_W = 0.999 * shortfall.reached;
  EXPECT_TRUE(size(tile).possible) << "what is called nearest must be possible";
}

TEST(Size, BelowTheSinkIsImpossibleAndNamesTheNearest) {
  tile::Case lit = test::plain_radiator();
  lit.surfaces.front().facing = tile::Surface::Facing::front;
  lit.surfaces.front().absorptance = 0.9;
  const Size answer = size(lit);
  EXPECT_FALSE(answer.possible);
  ASSERT_EQ(answer.shortfalls.size(), 1u);
  EXPECT_GT(answer.sink_K, 300.0);
  EXPECT_GT(answer.shortfalls.front().reached, answer.sink_K);
  EXPECT_NEAR(answer.shortfalls.front().endless, answer.sink_K, 0.1) << "an endless radiator is as warm as its sink";
  lit.limits.front().below_K = answer.shortfalls.front().reached + 0.01;
  EXPECT_TRUE(size(lit).possible) << "what is called nearest must be possible";
}

TEST(Size, ThatEveryRadiatorMeetsIsTheLeast) {
  tile::Case easy = test::plain_radiator();
  easy.size->area_m2 = {3.0, 20.0};
  const Size answer = size(easy);
  ASSERT_TRUE(answer.possible);
  EXPECT_TRUE(answer.at_least_area);
  EXPECT_EQ(answer.best.design.area_m2, 3.0);
}

TEST(Size, WithoutALightKeepsThrottlesFromBeginning) {
  tile::Case tile = test::lit_tile();
  tile.size->light_W.reset();
  tile.limits.push_back({.node = "main.junction", .below_K = 348.15, .throttle_from_K = 340.0});
  const Size answer = size(tile);
  ASSERT_TRUE(answer.possible);
  EXPECT_EQ(answer.demands.front().node, "main.junction");
  EXPECT_TRUE(answer.demands.front().before_throttle);
  EXPECT_NEAR(answer.demands.front().wanted, 340.0, balanced_again_K);
  EXPECT_FALSE(answer.hot->beam_on->throttling);
  for (const Demand& demand : answer.demands)
    EXPECT_FALSE(demand.before_throttle && !demand.beam) << "with the beam off there is nothing to throttle";
}

TEST(Size, HoldsTheNamedLimitsOnly) {
  tile::Case two = test::plain_radiator();
  two.parts.push_back({.name = "box", .capacity_J_per_K = PropertyTable(100.0)});
  two.joins.push_back({.a = "box", .b = "plate", .conductance_W_per_K = 1.0});
  two.loads.push_back({.node = "box", .power_W = 10.0});
  two.limits.push_back({.node = "box", .below_K = 290.0});
  EXPECT_EQ(size(two).demands.front().node, "box");
  two.size->hold = {"plate"};
  const Size answer = size(two);
  ASSERT_EQ(answer.demands.size(), 1u);
  EXPECT_EQ(answer.demands.front().node, "plate");
  EXPECT_FALSE(answer.hot->limits_met) << "the balance of the hot case still tells of the other";
}

TEST(Size, RefusesWhatIsNotAsked) {
  const auto code_of = [](const tile::Case& description) {
    try {
      size(description);
    } catch (const Error& error) {
      return error.code();
    }
    return Code::internal;
  };
  tile::Case none = test::plain_radiator();
  none.size.reset();
  EXPECT_EQ(code_of(none), Code::key_missing);
  tile::Case other = test::plain_radiator();
  other.size->surface = "pannel";
  EXPECT_EQ(code_of(other), Code::name_unknown);
  tile::Case boundless = test::plain_radiator();
  boundless.limits.clear();
  EXPECT_EQ(code_of(boundless), Code::key_missing);
}

TEST(Size, RefusesASunThatChanges) {
  tile::Case around = test::in_orbit(test::plain_radiator());
  tile::Case stowed = test::plain_radiator();
  stowed.stow = {{10.0, 20.0}};
  for (const tile::Case& one : {around, stowed}) {
    try {
      size(one);
      ADD_FAILURE() << "nothing was refused";
    } catch (const Error& error) {
      EXPECT_EQ(error.code(), Code::key_conflict);
    }
  }
}

}  // namespace tileflux::studies::size_test
