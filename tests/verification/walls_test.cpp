/// Plane walls, cylinders and spheres that cool in a fluid (one-term solutions), and a wall with suddenly fixed faces.
/// Wall: zeta tan zeta = Bi, C1 = 4 sin zeta/(2 zeta + sin 2 zeta). Sphere: 1 - zeta cot zeta = Bi. Cylinder: zeta J1/J0 = Bi
/// (Heisler 1947; Incropera et al., chapter 5; Cengel, example 4.3). Fixed faces: 4/pi sum (-1)^n/(2n+1) exp(-((2n+1) pi/2)^2 Fo)
/// (Carslaw and Jaeger, section 3.4).
/// Bodies are chains of nodes, second order in the spacing; four grids and Richardson's extrapolation in even powers give
/// the eight digits that rows ask for, and the observed order is tested.

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "tileflux/base/constants.h"
#include "verification/chain.h"
#include "verification/groups.h"

namespace tileflux::verification::walls_test {

const char* const eigenvalue = "studies::balance, slowest time constant; 4 grids extrapolated";
const char* const amplitude = "studies::run, final state; 4 grids extrapolated";
constexpr int coarsest = 8;

double zeta_of(Shape shape, double biot) {
  return limit_of([&](int n) { return first_eigenvalue(shape, n, biot); }, coarsest).value;
}
double amplitude_of(Shape shape, double biot) {
  return limit_of([&](int n) { return first_amplitude(shape, n, biot); }, coarsest).value;
}

Reproductions plane_walls() {
  Reproductions rows;
  for (const char* number : {"0.01", "0.1", "0.3", "0.5", "1", "2", "5", "10", "50", "100"}) {
    const double biot = std::stod(number);
    rows.emplace_back(std::string("TR-10_") + number, zeta_of(Shape::wall, biot), eigenvalue);
    rows.emplace_back(std::string("TR-11_") + number, amplitude_of(Shape::wall, biot), amplitude);
  }
  return rows;
}

Reproductions cylinders() {
  Reproductions rows;
  for (const char* number : {"0.1", "1", "10"}) {
    constexpr int finer = 16;  // the middle is read by a polynomial through three nodes
    const double biot = std::stod(number);
    rows.emplace_back(std::string("TR-13_") + number, limit_of([&](int n) { return first_amplitude(Shape::cylinder, n, biot); }, finer).value, amplitude);
  }
  return rows;
}

Reproductions spheres_that_cool() {
  Reproductions rows;
  for (const char* number : {"0.1", "1", "10"}) {
    rows.emplace_back(std::string("TR-14_") + number, zeta_of(Shape::sphere, std::stod(number)), eigenvalue);
    rows.emplace_back(std::string("TR-15_") + number, amplitude_of(Shape::sphere, std::stod(number)), amplitude);
  }
  // Cengel 4.3: an egg of 50 mm from 5 degC in water of 95 degC until its middle has 70 degC.
  const double biot = 1200.0 * 0.025 / 0.627;
  const double zeta = zeta_of(Shape::sphere, biot);
  const double first = amplitude_of(Shape::sphere, biot);
  const double fourier = std::log(first / ((70.0 - 95.0) / (5.0 - 95.0))) / (zeta * zeta);
  const double minutes = fourier * 0.025 * 0.025 / 0.151e-6 / 60.0;
  const char* one_term = "first mode from studies::balance and studies::run";
  const char* note = "the row keeps the first mode only, so does the check: rate and amplitude are the product's";
  for (const char* end : {"", "c"}) {
    rows.emplace_back(std::string("TR-17a") + end, zeta, eigenvalue);
    rows.emplace_back(std::string("TR-17b") + end, first, amplitude);
    rows.emplace_back(std::string("TR-17d") + end, fourier, one_term, note);
    rows.emplace_back(std::string("TR-17e") + end, minutes, one_term, note);
  }
  return rows;
}

/// Share left in the middle of a wall whose face is held at its final temperature from the start.
double middle_with_fixed_face(int intervals, double fourier) {
  Chain chain = half_wall(intervals, 0.0);
  chain.capacity_J_per_K.pop_back();
  chain.outside_W_per_K = chain.link_W_per_K.back();
  chain.link_W_per_K.pop_back();
  return (After(model_of(chain, 1001.0, 1.0), fourier).temperature_K(node_name(0)) - 1.0) / 1000.0;
}

Reproductions fixed_faces() {
  Reproductions rows;
  for (const char* number : {"0.05", "0.1", "0.2", "0.5", "1"}) {
    const double fourier = std::stod(number);
    constexpr int coarsest_with_steep_start = 16;
    rows.emplace_back(std::string("TR-19_") + number,
                      limit_of([&](int n) { return middle_with_fixed_face(n, fourier); }, coarsest_with_steep_start).value, amplitude);
  }
  return rows;
}

/// One layer of a stack, cut into slices, 1 m2.
Model layer_of(int slices, double thickness_m, const PropertyTable& conductivity_W_per_m_K, double start_K = 293.15) {
  Model model;
  tile::Layer layer;
  layer.name = "slab";
  layer.material = {"unit", 1.0, PropertyTable(1.0), conductivity_W_per_m_K};
  layer.thickness_m = thickness_m;
  layer.slices = slices;
  layer.start_K = start_K;
  model.description.stack = tile::Stack{1.0, {layer}};
  return model;
}

std::string slice(int number) { return "slab." + std::to_string(number); }

/// A slab of thickness 2 whose faces are held from the start; share left in its middle slice.
double middle_of_slices(int slices, double fourier) {
  const double half_slice_W_per_K = slices;
  Model model = layer_of(slices, 2.0, PropertyTable(1.0), 1001.0);
  model.fixed("faces", 1.0).join("faces", slice(1), half_slice_W_per_K).join(slice(slices), "faces", half_slice_W_per_K);
  return (After(model, fourier).temperature_K(slice((slices + 1) / 2)) - 1.0) / 1000.0;
}

/// Row TR-38 as a layer: 0.2 m with k(T) between 400 and 300 K, for the row's 1e-4 m2. The last half slices are bars.
double heat_through_slices_W(int slices) {
  const PropertyTable conductivity({200.0, 500.0}, {150.0 * (1.0 - 0.05), 150.0 * (1.0 + 0.1)});
  constexpr double thickness_m = 0.2, area_m2 = 1e-4;
  Model model = layer_of(slices, thickness_m, conductivity);
  model.fixed("hot", 400.0).fixed("cold", 300.0);
  for (const auto& [a, b] : {std::pair<std::string, std::string>{"hot", slice(1)}, {slice(slices), "cold"}}) {
    tile::Join half;
    half.a = a;
    half.b = b;
    half.bar_W_per_K = conductivity.scaled(1.0 / (0.5 * thickness_m / slices));
    model.description.joins.push_back(half);
  }
  return area_m2 * Steady(model).flow_W("hot", slice(1));
}

/// A layer of 0.1 m and 1 W/(m K) that is heated evenly with 1000 W, one face held at 300 K: its mean temperature.
double mean_of_heated_slices_K(int slices) {
  constexpr double thickness_m = 0.1, heat_W = 1000.0;
  Model model = layer_of(slices, thickness_m, PropertyTable(1.0));
  for (int i = 1; i <= slices; ++i) model.heat(slice(i), heat_W / slices);
  model.fixed("face", 300.0).join("face", slice(slices), 1.0 / (0.5 * thickness_m / slices));
  const Steady steady(model);
  double sum_K = 0.0;
  for (int i = 1; i <= slices; ++i) sum_K += steady.temperature_K(slice(i));
  return sum_K / slices;
}

/// A layer in the sun that radiates from its rear. Surfaces stand in the middle of the outermost slices.
double sunlit_slice_K(int slices) {
  Model model = layer_of(slices, 0.02, PropertyTable(0.2));
  model.sun(1000.0).sunlit(slice(1), 1.0, 1.0, 0.0).radiate(slice(slices), 1.0);
  return Steady(model).temperature_K(slice(1));
}

Convergence by_slices(const char* what, const std::string& reference, const char* through, double expected, const std::function<double(int)>& on_slices,
                      std::initializer_list<int> numbers) {
  Convergence series{what, reference, through, {}, expected_order, order_within, "values in the middle of slices"};
  for (const int slices : numbers)
    series.refinements.push_back({std::to_string(slices) + " slices", 1.0 / slices, std::abs(on_slices(slices) - expected) / std::abs(expected)});
  return series;
}

Convergences slices_of_layers() {
  const char* const steady = "studies::balance of a stack";
  const double rear_K = std::pow(1000.0 / stefan_boltzmann_W_per_m2_K4, 0.25);
  Convergences all{
      by_slices("transient of a layer with held faces, temperature of its middle", "TR-19_0.2", "studies::run of a stack", row("TR-19_0.2").values().at(0),
                [](int n) { return middle_of_slices(n, 0.2); }, {11, 33, 99}),
      by_slices("layer with k(T), heat", "TR-38", steady, row("TR-38").values().at(0), heat_through_slices_W, {10, 20, 40}),
      by_slices("layer heated from within, mean temperature", "300 K + q L^2/(3 k), Fourier's law by hand", steady, 300.0 + 1000.0 * 0.1 / 3.0,
                mean_of_heated_slices_K, {5, 10, 20}),
      by_slices("layer in the sun that radiates from its rear, lit face", "(E/sigma)^(1/4) + E L/k by hand", steady, rear_K + 1000.0 * 0.02 / 0.2, sunlit_slice_K, {5, 10, 20})};
  all.back().expected_order = 1.0;
  all.back().why = "surfaces stand in the middle of the outermost slices";
  return all;
}

TEST(SlicesOfLayers, ConvergeAsExpected) { check_all(slices_of_layers()); }

TEST(PlaneWall, CoolsWithThePublishedFirstMode) { check_all(plane_walls()); }

TEST(PlaneWall, IsRefusedOnOneCoarseGridOrWithBothFacesInsulated) {
  expect_refused("TR-10_1", first_eigenvalue(Shape::wall, coarsest, 1.0));
  expect_refused("TR-10_1", first_eigenvalue(Shape::wall, coarsest, 1e-6));
}

TEST(Cylinder, CoolsWithThePublishedFirstMode) { check_all(cylinders()); }

TEST(Cylinder, IsRefusedWhereASphereIsMeant) { expect_refused("TR-15_1", amplitude_of(Shape::cylinder, 1.0)); }

TEST(CoolingSphere, CoolsWithThePublishedFirstMode) { check_all(spheres_that_cool()); }

TEST(CoolingSphere, IsRefusedWhereACylinderIsMeant) { expect_refused("TR-13_1", amplitude_of(Shape::sphere, 1.0)); }

TEST(FixedFaces, DrawTheMiddleDownAsTheSeriesSays) { check_all(fixed_faces()); }

TEST(FixedFaces, AreRefusedAtTwiceTheTime) { expect_refused("TR-19_0.1", middle_with_fixed_face(64, 0.2)); }

TEST(Chains, ConvergeWithTheSquareOfTheSpacing) {
  for (const Shape shape : {Shape::wall, Shape::cylinder, Shape::sphere}) {
    EXPECT_NEAR(limit_of([&](int n) { return first_eigenvalue(shape, n, 1.0); }, coarsest).observed_order, expected_order, order_within);
  }
  EXPECT_NEAR(limit_of([](int n) { return middle_with_fixed_face(n, 0.2); }, coarsest).observed_order, expected_order, order_within);
}

}  // namespace tileflux::verification::walls_test
