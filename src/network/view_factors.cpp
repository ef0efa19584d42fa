#include "tileflux/network/view_factors.h"

#include <Eigen/Geometry>
#include <boost/math/quadrature/tanh_sinh.hpp>
#include <cmath>
#include <numbers>

#include "tileflux/base/errors.h"

namespace tileflux::network {

namespace {

using std::atan;
using std::log;
using std::sqrt;
constexpr double pi = std::numbers::pi;

double square(double x) { return x * x; }

/// A side of a polygon: where it begins, its unit direction and its length.
struct Side {
  Eigen::Vector3d begin;
  Eigen::Vector3d direction;
  double length = 0.0;
};

std::vector<Side> sides_of(const Polygon& polygon) {
  std::vector<Side> sides;
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const Eigen::Vector3d way = polygon[(i + 1) % polygon.size()] - polygon[i];
    const double length = way.norm();
    if (length > 0.0) sides.push_back({polygon[i], way / length, length});
  }
  return sides;
}

Eigen::Vector3d area_vector(const Polygon& polygon) {
  Eigen::Vector3d sum = Eigen::Vector3d::Zero();
  for (std::size_t i = 1; i + 1 < polygon.size(); ++i)
    sum += (polygon[i] - polygon[0]).cross(polygon[i + 1] - polygon[0]);
  return 0.5 * sum;
}

/// Integral of ln(distance from a point) along a side.
double log_distance_integral(const Eigen::Vector3d& point, const Side& side) {
  const Eigen::Vector3d way = point - side.begin;
  const double foot = way.dot(side.direction);
  const double height = (way - foot * side.direction).norm();
  const auto primitive = [&](double s) {
    const double along = s - foot;
    const double distance_squared = along * along + height * height;
    const double logarithm = distance_squared > 0.0 ? 0.5 * along * log(distance_squared) : 0.0;
    return logarithm - along + (height > 0.0 ? height * atan(along / height) : 0.0);
  };
  return primitive(side.length) - primitive(0.0);
}

/// Integral of the above along another side, cut where the ends of `inner` lie beside it: there its slope may be
/// endless.
double double_integral(const Side& outer, const Side& inner) {
  std::vector<double> cuts{0.0, outer.length};
  for (const double s : {0.0, inner.length}) {
    const double foot = (inner.begin + s * inner.direction - outer.begin).dot(outer.direction);
    if (foot > 0.0 && foot < outer.length) cuts.push_back(foot);
  }
  std::sort(cuts.begin(), cuts.end());
  boost::math::quadrature::tanh_sinh<double> quadrature;
  const auto integrand = [&](double s) { return log_distance_integral(outer.begin + s * outer.direction, inner); };
  double sum = 0.0;
  for (std::size_t i = 1; i < cuts.size(); ++i) {
    if (cuts[i] - cuts[i - 1] > 1e-14 * outer.length)
      sum += quadrature.integrate(integrand, cuts[i - 1], cuts[i], 1e-12);
  }
  return sum;
}

void require_flat(const Polygon& polygon) {
  const double size = sqrt(area_vector(polygon).norm());
  if (polygon.size() < 3 || !(size > 0.0))
    throw Error(Code::value_out_of_range, "a polygon needs three corners or more and an area");
  const Eigen::Vector3d normal = polygon_normal(polygon);
  for (const Eigen::Vector3d& corner : polygon) {
    if (std::abs(normal.dot(corner - polygon[0])) > 1e-9 * size)
      throw Error(Code::value_out_of_range, "the corners of a polygon do not lie in one plane");
  }
}

void require_in_front(const Polygon& polygon, const Polygon& other) {
  const Eigen::Vector3d normal = polygon_normal(polygon);
  const double size = sqrt(polygon_area(polygon));
  for (const Eigen::Vector3d& corner : other) {
    if (normal.dot(corner - polygon[0]) < -1e-9 * size)
      throw Error(Code::value_out_of_range,
                  "a polygon lies behind the plane of the other one: its corners run counter-clockwise as seen from "
                  "its radiating side");
  }
}

}  // namespace

double parallel_rectangles_view_factor(double width, double length, double distance) {
  const double x = width / distance;
  const double y = length / distance;
  const double rx = sqrt(1.0 + x * x);
  const double ry = sqrt(1.0 + y * y);
  const double sum = log(rx * ry / sqrt(1.0 + x * x + y * y)) + x * ry * atan(x / ry) + y * rx * atan(y / rx) -
                     x * atan(x) - y * atan(y);
  return 2.0 / (pi * x * y) * sum;
}

double perpendicular_rectangles_view_factor(double width1, double width2, double edge) {
  const double w = width1 / edge, h = width2 / edge;
  const double w2 = w * w, h2 = h * h, both = w2 + h2;
  const double logarithm = log((1.0 + w2) * (1.0 + h2) / (1.0 + both)) +
                           w2 * log(w2 * (1.0 + both) / ((1.0 + w2) * both)) +
                           h2 * log(h2 * (1.0 + both) / ((1.0 + h2) * both));
  return (w * atan(1.0 / w) + h * atan(1.0 / h) - sqrt(both) * atan(1.0 / sqrt(both)) + 0.25 * logarithm) / (pi * w);
}

double coaxial_discs_view_factor(double radius1, double radius2, double distance) {
  const double r1 = radius1 / distance, r2 = radius2 / distance;
  const double s = 1.0 + (1.0 + r2 * r2) / (r1 * r1);
  // The smaller root of F^2 - S F + (r2/r1)^2 = 0, in the form that does not cancel.
  const double ratio = square(r2 / r1);
  return 2.0 * ratio / (s + sqrt(s * s - 4.0 * ratio));
}

double parallel_strips_view_factor(double width, double distance) {
  const double ratio = distance / width;
  return 1.0 / (sqrt(1.0 + ratio * ratio) + ratio);
}

double hinged_strips_view_factor(double width1, double width2, double included_angle_rad) {
  const double string = sqrt(square(width1) + square(width2) - 2.0 * width1 * width2 * std::cos(included_angle_rad));
  return (width1 + width2 - string) / (2.0 * width1);
}

double polygon_area(const Polygon& polygon) { return area_vector(polygon).norm(); }

Eigen::Vector3d polygon_normal(const Polygon& polygon) { return area_vector(polygon).normalized(); }

double polygon_view_factor(const Polygon& from, const Polygon& to) {
  require_flat(from);
  require_flat(to);
  require_in_front(from, to);
  require_in_front(to, from);
  double sum = 0.0;
  for (const Side& outer : sides_of(from)) {
    for (const Side& inner : sides_of(to)) {
      const double cosine = outer.direction.dot(inner.direction);
      if (std::abs(cosine) > 1e-15) sum += cosine * double_integral(outer, inner);
    }
  }
  return sum / (2.0 * pi * polygon_area(from));
}

}  // namespace tileflux::network
