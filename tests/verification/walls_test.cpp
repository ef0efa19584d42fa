/// Plane walls, cylinders and spheres that cool in a fluid (one-term solutions), and a wall with suddenly fixed faces.
/// Wall: zeta tan zeta = Bi, C1 = 4 sin zeta/(2 zeta + sin 2 zeta). Sphere: 1 - zeta cot zeta = Bi. Cylinder: zeta J1/J0 = Bi
/// (Heisler 1947; Incropera et al., chapter 5; Cengel, example 4.3). Fixed faces: 4/pi sum (-1)^n/(2n+1) exp(-((2n+1) pi/2)^2 Fo)
/// (Carslaw and Jaeger, section 3.4).
/// Bodies are chains of nodes, second order in the spacing; four grids and Richardson's extrapolation in even powers give
/// the eight digits that rows ask for, and the observed order is tested.

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

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
