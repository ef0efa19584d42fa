#include <gtest/gtest.h>

#include <cmath>

#include "support/sample_tiles.h"
#include "tileflux/base/errors.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::tile {
namespace {

/// Sums and quotients of a few doubles, relative.
constexpr double round_off = 1e-12;

/// Flow of the path of that name at a state in which node `a` is 1 K warmer than all others at 300 K.
double conductance_of(const TileSystem& system, const std::string& path, const std::string& warmer) {
  std::vector<double> x(static_cast<std::size_t>(system.size()), 300.0);
  x[static_cast<std::size_t>(system.network().unknown_of(system.network().find(warmer)))] += 1.0;
  for (const network::Flow& flow : system.network().flows(x)) {
    if (flow.path == path) return std::abs(flow.power_W);
  }
  ADD_FAILURE() << "no path " << path;
  return 0.0;
}

Case stack_of_two() {
  Case tile;
  const Material a{"a", 1000.0, PropertyTable(500.0), PropertyTable(2.0)}, b{"b", 2000.0, PropertyTable(800.0), PropertyTable(10.0)};
  tile.stack = Stack{0.5, {{.name = "top", .material = a, .thickness_m = 0.01, .slices = 2, .contact_below_W_per_m2_K = 100.0}, {.name = "bottom", .material = b, .thickness_m = 0.02}}};
  tile.surfaces = {{.name = "rear", .node = "bottom", .area_m2 = 0.5, .emittance = 0.8}};
  return tile;
}

Code code_of(const Case& description) {
  try {
    const TileSystem system(description);
  } catch (const Error& error) {
    return error.code();
  }
  return Code::internal;
}

TEST(StackOfLayers, MakesANodePerSlice) {
  const TileSystem system(stack_of_two());
  EXPECT_EQ(system.size(), 3);
  EXPECT_EQ(system.unknown_name(0), "top.1");
  EXPECT_EQ(system.unknown_name(2), "bottom");
  // Density x heat capacity x area x thickness of a slice.
  EXPECT_NEAR(system.network().node(0).capacity_J_per_K.value(300.0), 1000.0 * 500.0 * 0.5 * 0.005, round_off * 1250.0);
  EXPECT_NEAR(system.network().node(2).capacity_J_per_K.value(300.0), 2000.0 * 800.0 * 0.5 * 0.02, round_off * 16000.0);
}

TEST(StackOfLayers, ConductsBetweenMidPlanes) {
  const TileSystem system(stack_of_two());
  // Slices of 5 mm of 2 W/(m K) over 0.5 m2: k A / d between their middles.
  EXPECT_NEAR(conductance_of(system, "stack: top.1 - top.2", "top.1"), 2.0 * 0.5 / 0.005, 200.0 * round_off * 300.0);
  const double resistance = 0.0025 / (2.0 * 0.5) + 1.0 / (100.0 * 0.5) + 0.01 / (10.0 * 0.5);
  EXPECT_NEAR(conductance_of(system, "stack: top.2 - bottom", "top.2"), 1.0 / resistance, round_off * 300.0 / resistance);
}

TEST(LaserBankOfATile, PutsItsModulesInParallel) {
  const TileSystem system(test::everything());
  EXPECT_NEAR(conductance_of(system, "east.junction - bench", "east.junction"), 3.0 / 0.5, round_off * 300.0 * 6.0);
  EXPECT_NEAR(conductance_of(system, "west.junction - spreader", "west.junction"), 2.0 / 0.4, round_off * 300.0 * 5.0);
  const auto& west = system.network().node(system.junction_of(1));
  EXPECT_EQ(west.capacity_J_per_K.value(300.0), 30.0);
  EXPECT_EQ(system.network().node(system.junction_of(0)).kind, network::NodeKind::massless);
}

TEST(TileBuild, ListsEveryPropertyThatHasARange) {
  const TileSystem system(test::everything());
  int bars = 0;
  for (const UsedProperty& used : system.used_properties()) {
    EXPECT_LT(used.valid_from_K, used.valid_to_K);
    bars += used.property == "conductivity" && system.network().node(used.node).name == "bench" ? 1 : 0;
  }
  EXPECT_EQ(bars, 1);
}

TEST(TileBuild, RefusesWhatDoesNotFitTogether) {
  Case twice = test::plate_in_the_sun();
  twice.parts.push_back({.name = "plate", .fixed_K = 300.0});
  EXPECT_EQ(code_of(twice), Code::name_taken);

  Case lost = test::plate_in_the_sun();
  lost.joins.push_back({.a = "plate", .b = "nobody", .conductance_W_per_K = 1.0});
  EXPECT_EQ(code_of(lost), Code::name_unknown);

  Case lost_limit = test::plate_in_the_sun();
  lost_limit.limits.push_back({.node = "nobody", .below_K = 300.0});
  EXPECT_EQ(code_of(lost_limit), Code::name_unknown);

  Case lost_cells = test::everything();
  lost_cells.cells->surface = "nowhere";
  EXPECT_EQ(code_of(lost_cells), Code::name_unknown);

  Case unfed = test::everything();
  unfed.cells.reset();
  EXPECT_EQ(code_of(unfed), Code::key_conflict);

  Case nothing;
  nothing.parts.push_back({.name = "wall", .fixed_K = 300.0});
  EXPECT_EQ(code_of(nothing), Code::part_not_described);

  Case banks = test::everything();
  for (int i = 0; i < devices::most_banks; ++i) {
    Bank bank = banks.lasers[0];
    bank.name += std::to_string(i);
    banks.lasers.push_back(bank);
  }
  EXPECT_EQ(code_of(banks), Code::count_out_of_bounds);

  Case throttles = test::everything();
  for (int i = 0; i < devices::most_throttles; ++i) throttles.limits.push_back({.node = "back", .below_K = 350.0, .throttle_from_K = 340.0});
  EXPECT_EQ(code_of(throttles), Code::count_out_of_bounds);
}

}  // namespace
}  // namespace tileflux::tile
