#include <gtest/gtest.h>

#include <cmath>

#include "support/sample_tiles.h"
#include "tileflux/base/errors.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::tile::tile_build_test {

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
}

/// The stack of two in two zones of unequal share.
Case stack_in_zones() {
  Case tile = stack_of_two();
  tile.stack->zones = {{"near", 0.7}, {"far", 0.3}};
  tile.stack->border_m = 0.4;
  tile.stack->distance_m = 0.8;
  return tile;
}

TEST(ZonesOfAStack, ShareAreaCapacityAndConductanceOfTheirLayers) {
  const TileSystem system(stack_in_zones());
  EXPECT_EQ(system.size(), 6);
  const auto capacity = [&](const char* name) { return system.network().node(system.network().find(name)).capacity_J_per_K.value(300.0); };
  EXPECT_NEAR(capacity("top.1.near"), 0.7 * 1250.0, round_off * 1250.0);
  EXPECT_NEAR(capacity("bottom.far"), 0.3 * 16000.0, round_off * 16000.0);
  EXPECT_NEAR(conductance_of(system, "stack: top.1.far - top.2.far", "top.1.far"), 0.3 * 200.0, 200.0 * round_off * 300.0);
}

TEST(ZonesOfAStack, ConductSidewaysWithThicknessTimesBorderOverDistance) {
  const TileSystem system(stack_in_zones());
  EXPECT_NEAR(conductance_of(system, "sideways: top.2.near - top.2.far", "top.2.near"), 2.0 * 0.005 * 0.4 / 0.8, round_off * 300.0);
  EXPECT_NEAR(conductance_of(system, "sideways: bottom.near - bottom.far", "bottom.far"), 10.0 * 0.02 * 0.4 / 0.8, round_off * 300.0);
}

TEST(ZonesOfAStack, ConductSidewaysToTheirNeighboursOnly) {
  Case tile = stack_in_zones();
  tile.stack->zones = {{"a", 0.25}, {"b", 0.5}, {"c", 0.25}};
  const TileSystem system(tile);
  int sideways = 0;
  for (const network::Flow& flow : system.network().flows(system.uniform_state(300.0))) {
    sideways += flow.path.starts_with("sideways") ? 1 : 0;
    EXPECT_EQ(flow.path.find(".a - top.1.c"), std::string_view::npos);
  }
  EXPECT_EQ(sideways, 3 * 2);
}

TEST(ZonesOfAStack, ShareWhatTheBareNameOfALayerStandsFor) {
  Case tile = stack_in_zones();
  tile.parts = {{.name = "block", .capacity_J_per_K = PropertyTable(100.0)}};
  tile.joins = {{.a = "bottom", .b = "block", .conductance_W_per_K = 10.0},
                {.a = "top.1", .b = "bottom", .conductance_W_per_K = 4.0},
                {.a = "bottom.near", .b = "block", .switched_W_per_K = PropertyTable({290.0, 310.0}, {0.0, 8.0})}};
  tile.radiation = {{"bottom", "block", 0.2}};
  tile.loads = {{.node = "top.1", .power_W = 50.0}};
  TileSystem system(tile);
  EXPECT_NEAR(conductance_of(system, "bottom.far - block", "bottom.far"), 0.3 * 10.0, round_off * 3000.0);
  // Between two layers in zones zone by zone: nothing goes crosswise.
  EXPECT_NEAR(conductance_of(system, "top.1.near - bottom.near", "bottom.near"), 0.7 * 4.0, round_off * 3000.0);
  for (const network::Flow& flow : system.network().flows(system.uniform_state(300.0))) EXPECT_NE(flow.path, "top.1.near - bottom.far");
  const std::vector<double> left = system.node_balance(system.uniform_state(300.0));
  EXPECT_NEAR(left[static_cast<std::size_t>(system.network().unknown_of(system.network().find("top.1.near")))], 35.0, round_off * 50.0);
  const std::vector<TileSystem::Member> members = system.members("bottom", "a test");
  ASSERT_EQ(members.size(), 2u);
  EXPECT_EQ(members[1].share, 0.3);
  // The whole layer radiates, by shares.
  EXPECT_NEAR(system.infrared_by_surface_W(system.uniform_state(300.0))[0], 0.8 * 0.5 * stefan_boltzmann_W_per_m2_K4 * (8.1e9 - std::pow(tile.space_K, 4)), round_off * 300.0);
}

TEST(ZonesOfAStack, AreCellGroupsOfTheirOwn) {
  const TileSystem system(test::everything_else());
  std::vector<double> x = system.uniform_state(300.0);
  const auto even = system.chain_flows(x);
  EXPECT_NEAR(even.cells_available[0] / even.available, 0.6, round_off);
  x[static_cast<std::size_t>(system.network().unknown_of(system.network().find("cells.outer")))] = 340.0;
  const auto uneven = system.chain_flows(x);
  EXPECT_EQ(uneven.cells_available[0], even.cells_available[0]);
  EXPECT_NEAR(uneven.cells_available[1] / even.cells_available[1], (1.0 - 0.0022 * (340.0 - 301.15)) / (1.0 - 0.0022 * (300.0 - 301.15)), round_off);
}

TEST(ZonesOfAStack, MustBeNamedWhereOneNodeIsWanted) {
  Case tile = stack_in_zones();
  tile.housekeeping = Housekeeping{"bottom", 3.0};
  try {
    const TileSystem system(tile);
    FAIL() << "not refused";
  } catch (const Error& error) {
    EXPECT_EQ(error.code(), Code::name_unknown);
    EXPECT_NE(std::string(error.what()).find("bottom.near"), std::string::npos) << error.what();
  }
}

TEST(LimitOfAZonedLayer, IsOnePerZone) {
  Case tile = stack_in_zones();
  tile.limits = {{.node = "bottom", .below_K = 350.0}};
  const TileSystem system(tile);
  ASSERT_EQ(system.limits().size(), 2u);
  EXPECT_EQ(system.limits()[1].limit.node, "bottom.far");
}

Store wax(int slices) {
  return {.name = "wax", .node = "plate", .material = "wax", .mass_kg = 2.0, .area_m2 = 0.5, .thickness_m = 0.004, .contact_W_per_m2_K = 400.0, .slices = slices,
          .solid_J_per_kg_K = 2000.0, .liquid_J_per_kg_K = 2200.0, .latent_J_per_kg = 2e5, .melt_K = 310.0, .range_K = 2.0, .solid_W_per_m_K = 0.4, .liquid_W_per_m_K = 0.2};
}

TEST(StoreInAPart, IsAMeltingNodeBehindItsContact) {
  Case plate = test::plate_in_the_sun();
  plate.stores = {wax(1)};
  const TileSystem system(plate);
  ASSERT_EQ(system.unknown_name(1), "wax");
  const network::MeltingLaw& law = system.network().node(1).melting;
  EXPECT_EQ(law.solid_J_per_K, 4000.0);
  EXPECT_EQ(law.liquid_J_per_K, 4400.0);
  EXPECT_EQ(law.latent_J, 4e5);
  // All solid and warmer outside: the contact alone.
  EXPECT_NEAR(conductance_of(system, "plate - wax", "plate"), 400.0 * 0.5, 200.0 * round_off * 300.0);
  EXPECT_EQ(system.melted_share(system.uniform_state(300.0)), 0.0);
  EXPECT_NEAR(system.melted_share(system.uniform_state(310.0)), 0.5, round_off);
  EXPECT_EQ(system.melted_share(system.uniform_state(320.0)), 1.0);
}

TEST(StoreInAPart, InSlicesIsARowFromTheWallInwards) {
  Case plate = test::plate_in_the_sun();
  plate.stores = {wax(4)};
  const TileSystem system(plate);
  EXPECT_EQ(system.size(), 5);
  EXPECT_EQ(system.network().node(4).melting.latent_J, 1e5);
  const double slice = 0.4 * 0.5 / 0.001;  // k A / d of the solid
  EXPECT_NEAR(conductance_of(system, "wax.2 - wax.3", "wax.2"), slice, slice * round_off * 300.0);
  EXPECT_NEAR(conductance_of(system, "plate - wax.1", "plate"), 1.0 / (1.0 / 200.0 + 0.5 / slice), slice * round_off * 300.0);
}

TEST(StoreInAPart, CountsItsMeltByHeatOfFusion) {
  Case plate = test::plate_in_the_sun();
  plate.stores = {wax(1), wax(1)};
  plate.stores[1].name = "second";
  plate.stores[1].mass_kg = 6.0;
  plate.stores[1].melt_K = 280.0;
  const TileSystem system(plate);
  EXPECT_NEAR(system.melted_share(system.uniform_state(300.0)), 0.75, round_off);
}

Case piped(int pipes) {
  Case tile;
  tile.parts = {{.name = "hot", .capacity_J_per_K = PropertyTable(100.0)}, {.name = "cold", .capacity_J_per_K = PropertyTable(100.0)}};
  tile.surfaces = {{.name = "face", .node = "cold", .area_m2 = 1.0, .emittance = 0.8}};
  tile.pipes = {{.name = "loop", .pipes = pipes, .evaporators = {{"hot", 12.0}}, .condensers = {{"cold", 8.0}}, .transport_W_m = PropertyTable({200.0, 300.0, 400.0}, {0.0, 50.0, 0.0}),
                 .effective_length_m = 2.0, .vapour_W_per_K = 100.0}};
  return tile;
}

double flow_of(const TileSystem& system, const std::vector<double>& x, std::string_view path) {
  for (const network::Flow& flow : system.network().flows(x)) {
    if (flow.path == path) return flow.power_W;
  }
  ADD_FAILURE() << "no path " << path;
  return 0.0;
}

TEST(HeatPipeOfATile, IsTwoVapourNodesWithConductancesPerPipe) {
  const TileSystem system(piped(3));
  ASSERT_EQ(system.size(), 4);
  EXPECT_EQ(system.unknown_name(2), "loop.evaporator");
  EXPECT_EQ(system.network().node(3).kind, network::NodeKind::massless);
  EXPECT_NEAR(conductance_of(system, "hot - loop.evaporator", "hot"), 36.0, 36.0 * round_off * 300.0);
  EXPECT_NEAR(conductance_of(system, "cold - loop.condenser", "cold"), 24.0, 24.0 * round_off * 300.0);
  // 0.1 K over 300 W/K; 50 K would be 15 kW, of which three pipes of 25 W at their best carry 50 W between 300 and 350 K.
  EXPECT_NEAR(flow_of(system, {300.0, 300.0, 300.1, 300.0}, "vapour: loop"), 30.0, 1e-9);
  EXPECT_NEAR(flow_of(system, {350.0, 300.0, 350.0, 300.0}, "vapour: loop"), 3.0 * 12.5, round_off * 100.0);
  EXPECT_NEAR(flow_of(system, {350.0, 300.0, 300.0, 350.0}, "vapour: loop"), -3.0 * 12.5, round_off * 100.0);
}

TEST(HeatPipeOfATile, CarriesLessWithOnePipeOutAndNothingWithAllOut) {
  Case tile = piped(3);
  tile.failures = {{.at_s = 0.0, .what = Failure::What::lost_pipes, .where = "loop", .value = 1.0}};
  const TileSystem one_out(tile);
  EXPECT_NEAR(conductance_of(one_out, "hot - loop.evaporator", "hot"), 24.0, 24.0 * round_off * 300.0);
  EXPECT_NEAR(flow_of(one_out, {350.0, 300.0, 350.0, 300.0}, "vapour: loop"), 25.0, round_off * 100.0);
  tile.failures[0].value = 7.0;
  const TileSystem all_out(tile);
  EXPECT_EQ(flow_of(all_out, {350.0, 300.0, 350.0, 300.0}, "vapour: loop"), 0.0);
  EXPECT_EQ(all_out.size(), one_out.size());
}

TEST(SwitchedJoin, FollowsTheTemperatureOfItsFirstNode) {
  Case plate = test::plate_in_the_sun();
  plate.parts.push_back({.name = "wall", .fixed_K = 280.0});
  plate.joins = {{.a = "plate", .b = "wall", .switched_W_per_K = PropertyTable({290.0, 310.0}, {0.5, 8.5})}};
  const TileSystem system(plate);
  EXPECT_NEAR(flow_of(system, {285.0}, "plate - wall"), 0.5 * 5.0, round_off * 100.0);
  EXPECT_NEAR(flow_of(system, {300.0}, "plate - wall"), 4.5 * 20.0, round_off * 100.0);
  EXPECT_NEAR(flow_of(system, {320.0}, "plate - wall"), 8.5 * 40.0, round_off * 1000.0);
}

TEST(TileBuild, RefusesNewThingsThatReferToNobody) {
  const auto with = [](auto&& change) {
    Case tile = test::everything_else();
    change(tile);
    return code_of(tile);
  };
  EXPECT_EQ(with([](Case& t) { t.stores[0].node = "nobody"; }), Code::name_unknown);
  EXPECT_EQ(with([](Case& t) { t.pipes[0].evaporators[0].node = "nobody"; }), Code::name_unknown);
  EXPECT_EQ(with([](Case& t) { t.heaters[1].sensor = "nobody"; }), Code::name_unknown);
  EXPECT_EQ(with([](Case& t) { t.battery->node = "nobody"; }), Code::name_unknown);
  EXPECT_EQ(with([](Case& t) { t.lasers[0].fibre = "nobody"; }), Code::name_unknown);
  EXPECT_EQ(with([](Case& t) { t.lasers[0].unabsorbed = "nobody"; }), Code::name_unknown);
  EXPECT_EQ(with([](Case& t) { t.lasers[0].driver = "nobody"; }), Code::name_unknown);
  EXPECT_EQ(with([](Case& t) { t.emitting_path = {"nobody"}; }), Code::name_unknown);
  EXPECT_EQ(with([](Case& t) { t.failures = {{.what = Failure::What::stuck_heater, .where = "nobody"}}; }), Code::name_unknown);
  EXPECT_EQ(with([](Case& t) { t.stack->zones.push_back({"outer", 0.1}); }), Code::name_taken);
  EXPECT_EQ(with([](Case& t) {
              t.stack->zones = {{"a", 0.2}, {"b", 0.2}, {"c", 0.2}, {"d", 0.2}, {"e", 0.2}};
            }),
            Code::count_out_of_bounds);
}

TEST(EmittingPath, IsTheFibresAndTheOpticsUnlessStated) {
  const auto names = [](const Case& tile) {
    const TileSystem system(tile);
    std::vector<std::string> found;
    for (const network::NodeId id : system.emitting_path()) found.push_back(system.network().node(id).name);
    return found;
  };
  Case tile = test::everything_else();
  EXPECT_EQ(names(tile), (std::vector<std::string>{"fibre", "glassware"}));
  tile.emitting_path = {"bench", "glassware", "bench"};
  EXPECT_EQ(names(tile), (std::vector<std::string>{"bench", "glassware"}));
}

}  // namespace tileflux::tile::tile_build_test
