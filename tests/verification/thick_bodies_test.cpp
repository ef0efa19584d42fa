/// Bodies so thick that heat does not reach their far side, and a slab that radiates.
/// Step at the face: (T - Ts)/(Ti - Ts) = erf(x / (2 sqrt(a t))). Flux q at the face: T - Ti = (2 q sqrt(a t/pi)/k) exp(-x^2/(4 a t))
/// - (q x/k) erfc(x/(2 sqrt(a t))) (Carslaw and Jaeger, chapter 2; Holman, example 4.2; Incropera et al., examples 5.6 and 5.10).
/// Radiating slab of equal cells: reference by an independent stiff integration at 1e-10.
/// Chains of nodes as in walls_test.cpp, cut off where erfc is below 1e-11.

#include <gtest/gtest.h>

#include <array>
#include <cmath>

#include "verification/chain.h"
#include "verification/groups.h"

namespace tileflux::verification::thick_bodies_test {

const char* const extrapolated = "studies::run, final state; 4 grids extrapolated";
const char* const extrapolated_finely = "studies::run, final state; profile on 3 grids extrapolated";

/// A thick body, per square metre, cut into intervals.
struct ThickBody {
  double conductivity_W_per_m_K = 1.0;
  double diffusivity_m2_per_s = 1.0;
  double depth_m = 1.0;

  double spacing_m(int intervals) const { return depth_m / intervals; }

  /// Nodes 0 (face) .. intervals.
  Chain chain(int intervals) const {
    const double spacing = spacing_m(intervals);
    const double capacity = conductivity_W_per_m_K / diffusivity_m2_per_s * spacing;
    Chain chain{std::vector<double>(static_cast<std::size_t>(intervals) + 1, capacity),
                std::vector<double>(static_cast<std::size_t>(intervals), conductivity_W_per_m_K / spacing), 0.0};
    chain.capacity_J_per_K.front() = chain.capacity_J_per_K.back() = 0.5 * capacity;
    return chain;
  }

  Model heated(int intervals, double start_K, double flux_W_per_m2) const {
    return model_of(chain(intervals), start_K, start_K).heat(node_name(0), flux_W_per_m2);
  }

  /// Its face is a part held at a temperature in place of node 0.
  Model held(int intervals, double start_K, double face_K) const {
    Model model = model_of(chain(intervals), start_K, start_K);
    tile::Part& face = model.description.parts.front();
    face.capacity_J_per_K.reset();
    face.start_K.reset();
    face.fixed_K = face_K;
    return model;
  }
};

/// Limit at the node `index_on_coarsest` of the coarsest grid.
template <class MakeModel>
double at_node(const MakeModel& make, int coarsest, int index_on_coarsest, double time_s) {
  return limit_of([&](int n) { return After(make(n), time_s).temperature_K(node_name(static_cast<std::size_t>(n / coarsest * index_on_coarsest))); },
                  coarsest).value;
}

constexpr double zero_C_in_K = 273.15;

constexpr ThickBody steel{45.0, 1.4e-5, 0.25};
constexpr ThickBody copper{401.0, 117e-6, 1.8};

/// Incropera 5.6: depth of the 0 degC isotherm in soil after 60 days with its face at -15 degC.
double frozen_depth_m() {
  const ThickBody soil{0.52, 0.52 / (2050.0 * 1840.0), 8.0};
  constexpr int coarsest = 160, grids = 3, points = 7, first = 11;  // nodes every 50 mm, from 0.55 m to 0.85 m
  std::vector<After> after;
  for (int g = 0; g < grids; ++g) {
    after.emplace_back(soil.held(coarsest << g, 20.0 + zero_C_in_K, -15.0 + zero_C_in_K), 60.0 * 86400.0);
  }
  std::array<double, points> column{}, excess_K{};
  for (int i = 0; i < points; ++i) {
    const auto at = static_cast<std::size_t>(i);
    column[at] = soil.spacing_m(coarsest) * (first + i);
    int grid = 0;
    excess_K[at] = limit_of([&](int n) { return after[static_cast<std::size_t>(grid++)].temperature_K(node_name(static_cast<std::size_t>(n / coarsest * (first + i)))); },
                            coarsest, grids).value - zero_C_in_K;
  }
  // Depth as a polynomial of temperature through all points (Neville's scheme), at 0 degC.
  for (std::size_t level = 1; level < points; ++level) {
    for (std::size_t i = 0; i + level < points; ++i) {
      column[i] = (excess_K[i + level] * column[i] - excess_K[i] * column[i + 1]) / (excess_K[i + level] - excess_K[i]);
    }
  }
  return column[0];
}

Reproductions thick_bodies() {
  Reproductions rows;
  const double start_K = 35.0 + zero_C_in_K;
  const auto stepped = [&](int n) { return steel.held(n, start_K, 250.0 + zero_C_in_K); };
  const auto heated = [&](int n) { return steel.heated(n, start_K, 3.2e5); };
  const double step_C = at_node(stepped, 40, 4, 30.0) - zero_C_in_K;
  const double flux_C = at_node(heated, 40, 4, 30.0) - zero_C_in_K;
  const double face_C = at_node(heated, 40, 0, 30.0) - zero_C_in_K;
  const auto copper_heated = [&](int n) { return copper.heated(n, 20.0 + zero_C_in_K, 3e5); };
  const double inside_C = at_node(copper_heated, 36, 3, 120.0) - zero_C_in_K;
  for (const char* end : {"", "c"}) {
    rows.emplace_back(std::string("TR-20a") + end, step_C, extrapolated);
    rows.emplace_back(std::string("TR-20b") + end, flux_C, extrapolated);
    rows.emplace_back(std::string("TR-20d") + end, face_C, extrapolated);
    rows.emplace_back(std::string("TR-22") + end, inside_C, extrapolated);
  }
  rows.emplace_back("TR-22b", at_node(copper_heated, 36, 0, 120.0) - zero_C_in_K, extrapolated);

  rows.emplace_back("TR-23", frozen_depth_m(), extrapolated_finely);
  return rows;
}

Reproductions error_function() {
  // 2 sqrt(a t) = 1: the share that is left of a step at depth x is erfc(x).
  const ThickBody unit{1.0, 1.0, 6.0};
  const auto stepped = [&](int n) { return unit.held(n, 1.0, 1001.0); };
  const auto share = [&](int index) { return (at_node(stepped, 60, index, 0.25) - 1.0) / 1000.0; };
  return {{"TR-25a", share(1), extrapolated}, {"TR-25b", share(5), extrapolated}, {"TR-25c", share(10), extrapolated}, {"TR-25d", share(15), extrapolated}};
}

/// Row TR-41: a slab of equal cells as a sliced layer of a stack; the face behind its last half slice radiates.
struct RadiatingSlab {
  double innermost_K, outermost_K, face_K;
};

RadiatingSlab radiating_slab_after_an_hour(int slices) {
  Model model;
  tile::Layer layer;
  layer.name = "slab";
  layer.material = {"slab", 1400.0, PropertyTable(1000.0), PropertyTable(0.2)};
  layer.thickness_m = 0.05;
  layer.slices = slices;
  layer.start_K = 300.0;
  model.description.stack = tile::Stack{1.0, {layer}};
  const std::string last = "slab." + std::to_string(slices);
  const double half_slice_m = 0.5 * layer.thickness_m / slices;
  model.massless("face").join("face", last, 0.2 / half_slice_m).radiate("face", 1.0, 0.9);
  model.description.parts.back().start_K = 300.0;
  const After after(model, 3600.0);
  return {after.temperature_K("slab.1"), after.temperature_K(last), after.temperature_K("face")};
}

Reproductions radiating_slab() {
  const RadiatingSlab twenty = radiating_slab_after_an_hour(20);
  const char* stack = "studies::run of a stack of 20 slices";
  const double coarse_K = radiating_slab_after_an_hour(40).face_K;
  const double fine_K = radiating_slab_after_an_hour(80).face_K;
  return {
      {"TR-41a", twenty.innermost_K, stack},
      {"TR-41b", twenty.outermost_K, stack},
      {"TR-41c", twenty.face_K, stack},
      {"TR-41d", fine_K + (fine_K - coarse_K) / 3.0, "studies::run of a stack of 40 and 80 slices, extrapolated"},
  };
}

TEST(ThickBody, WarmsAsThePublishedExamplesSay) { check_all(thick_bodies()); }

TEST(ThickBody, IsRefusedIfCutTooThin) {
  constexpr ThickBody thin{45.0, 1.4e-5, 0.05};
  expect_refused("TR-20b", After(thin.heated(40, 35.0 + zero_C_in_K, 3.2e5), 30.0).temperature_K(node_name(20)) - zero_C_in_K);
}

TEST(ThickBody, ConvergesWithTheSquareOfTheSpacing) {
  const Limit limit = limit_of([](int n) { return After(steel.heated(n, 300.0, 3.2e5), 30.0).temperature_K(node_name(static_cast<std::size_t>(n) / 10)); }, 40);
  EXPECT_NEAR(limit.observed_order, expected_order, order_within);
}

TEST(ErrorFunction, IsWhatAStepLeavesInAThickBody) { check_all(error_function()); }

TEST(ErrorFunction, IsRefusedForAFluxInPlaceOfAStep) {
  const ThickBody unit{1.0, 1.0, 6.0};
  expect_refused("TR-25b", (After(unit.heated(60, 1.0, 1000.0), 0.25).temperature_K(node_name(5)) - 1.0) / 1000.0);
}

TEST(RadiatingSlab, CoolsAsAnIndependentIntegrationSays) { check_all(radiating_slab()); }

TEST(RadiatingSlab, IsRefusedOnAnotherGrid) { expect_refused("TR-41c", radiating_slab_after_an_hour(10).face_K); }

Convergences slices_of_a_radiating_slab() {
  const double expected_K = row("TR-41d").values().at(0);
  Convergence series{"transient of a layer that radiates from its face, temperature of the face", "TR-41d", "studies::run of a stack", {}, expected_order, order_within,
                     "values in the middle of slices"};
  for (const int slices : {10, 20, 40})
    series.refinements.push_back({std::to_string(slices) + " slices", 1.0 / slices, std::abs(radiating_slab_after_an_hour(slices).face_K - expected_K) / expected_K});
  return {series};
}

TEST(RadiatingSlab, ConvergesWithTheSquareOfItsSlices) { check_all(slices_of_a_radiating_slab()); }

}  // namespace tileflux::verification::thick_bodies_test
