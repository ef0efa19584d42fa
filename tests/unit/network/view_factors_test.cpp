/// View factors against published closed-form values, against each other, and against what must hold for any geometry.
/// Expected figures: Howell, A Catalog of Radiation Heat Transfer Configuration Factors, evaluated to 8 digits
/// (check rows VF-01, VF-09, VF-11, VF-21 to VF-25); tolerances are half a unit of the eighth digit, rounded up.

#include "tileflux/network/view_factors.h"

#include <gtest/gtest.h>

#include <numbers>

#include "tileflux/base/errors.h"

namespace tileflux::network::view_factors_test {

constexpr double eight_digits = 1e-7;      // relative, of the printed figures
constexpr double contour_accuracy = 1e-8;  // absolute, what the contour integral promises
constexpr double round_off = 1e-14;

void expect_digits(double got, double printed) { EXPECT_NEAR(got, printed, eight_digits * printed); }
double radians(double degrees) { return degrees * std::numbers::pi / 180.0; }

Polygon rectangle(const Eigen::Vector3d& corner, const Eigen::Vector3d& first, const Eigen::Vector3d& second) {
  return {corner, corner + first, corner + first + second, corner + second};
}

TEST(ViewFactors, OfParallelRectanglesMatchTheCatalogue) {
  expect_digits(parallel_rectangles_view_factor(1, 1, 1), 0.1998249);
  expect_digits(parallel_rectangles_view_factor(1, 2, 1), 0.28587538);
  expect_digits(parallel_rectangles_view_factor(10, 1, 1), 0.38638249);
  expect_digits(parallel_rectangles_view_factor(0.1, 0.1, 1), 0.0031620568);
}

TEST(ViewFactors, OfPerpendicularRectanglesMatchTheCatalogue) {
  expect_digits(perpendicular_rectangles_view_factor(1, 1, 1), 0.20004378);
  expect_digits(perpendicular_rectangles_view_factor(1, 2, 1), 0.2328526);
  expect_digits(perpendicular_rectangles_view_factor(0.2, 3, 1), 0.39918502);
}

TEST(ViewFactors, OfDiscsAndStripsMatchTheCatalogue) {
  expect_digits(coaxial_discs_view_factor(1, 0.5, 1), 0.11721778);
  expect_digits(coaxial_discs_view_factor(0.25, 0.5, 1), 0.19223594);
  expect_digits(parallel_strips_view_factor(1, 0.1), 0.90498756);
  expect_digits(hinged_strips_view_factor(1, 2, radians(90)), 0.38196601);
  expect_digits(hinged_strips_view_factor(1, 1, radians(30)), 0.74118095);
}

TEST(ViewFactors, InsideABoxAddUpToOne) {
  EXPECT_NEAR(parallel_rectangles_view_factor(1, 1, 1) + 4 * perpendicular_rectangles_view_factor(1, 1, 1), 1.0, round_off);
  EXPECT_NEAR(parallel_rectangles_view_factor(1, 2, 3) + 2 * perpendicular_rectangles_view_factor(1, 3, 2) + 2 * perpendicular_rectangles_view_factor(2, 3, 1), 1.0, round_off);
}

TEST(ViewFactors, OfPerpendicularRectanglesAreReciprocal) {
  EXPECT_NEAR(1.0 * perpendicular_rectangles_view_factor(1, 2, 1.7), 2.0 * perpendicular_rectangles_view_factor(2, 1, 1.7), round_off);
}

TEST(PolygonViewFactor, EqualsTheClosedFormsOfRectangles) {
  const Polygon floor = rectangle({0, 0, 0}, {1, 0, 0}, {0, 1, 0});
  const Polygon ceiling = rectangle({0, 0, 0.7}, {0, 1, 0}, {1, 0, 0});
  EXPECT_NEAR(polygon_view_factor(floor, ceiling), parallel_rectangles_view_factor(1, 1, 0.7), contour_accuracy);
  const Polygon wall = rectangle({0, 0, 0}, {0, 1, 0}, {0, 0, 2});
  EXPECT_NEAR(polygon_view_factor(floor, wall), perpendicular_rectangles_view_factor(1, 2, 1), contour_accuracy);
}

TEST(PolygonViewFactor, IsReciprocalForUnlikePolygons) {
  const Polygon triangle{{0, 0, 0}, {2, 0, 0}, {0, 1, 0}};
  const Polygon above{{0.2, 0.1, 1}, {0.3, 1.4, 1}, {1.5, 0.2, 1}};
  EXPECT_NEAR(polygon_area(triangle) * polygon_view_factor(triangle, above), polygon_area(above) * polygon_view_factor(above, triangle), contour_accuracy);
}

TEST(PolygonViewFactor, AddsUpWhenTheOtherSurfaceIsCutInTwo) {
  const Polygon floor = rectangle({0, 0, 0}, {1, 0, 0}, {0, 1, 0});
  const Polygon whole = rectangle({0, 0, 0}, {0, 1, 0}, {0, 0, 1});
  const Polygon left = rectangle({0, 0, 0}, {0, 0.3, 0}, {0, 0, 1});   // its corner touches the floor's side midway
  const Polygon right = rectangle({0, 0.3, 0}, {0, 0.7, 0}, {0, 0, 1});
  EXPECT_NEAR(polygon_view_factor(floor, left) + polygon_view_factor(floor, right), polygon_view_factor(floor, whole), contour_accuracy);
}

TEST(PolygonViewFactor, RefusesPolygonsThatTurnAwayOrAreNotFlat) {
  const Polygon floor = rectangle({0, 0, 0}, {1, 0, 0}, {0, 1, 0});
  const Polygon turned_away = rectangle({0, 0, 1}, {1, 0, 0}, {0, 1, 0});
  EXPECT_THROW(polygon_view_factor(floor, turned_away), Error);
  const Polygon warped{{0, 0, 1}, {0, 1, 1}, {1, 1, 1.2}, {1, 0, 1}};
  EXPECT_THROW(polygon_view_factor(floor, warped), Error);
}

}  // namespace tileflux::network::view_factors_test
