#include "tileflux/environment/planet_view.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "tileflux/base/errors.h"

namespace tileflux::environment {

namespace {

using std::numbers::pi;

void require_outside(double distance_over_radius) {
  if (!(distance_over_radius > 1.0)) throw Error(Code::value_out_of_range, "the plate must lie outside the sphere");
}

/// Half the arc of azimuth over which constant + amplitude cos(azimuth) is positive, amplitude >= 0.
double half_arc(double constant, double amplitude) {
  if (constant >= amplitude) return pi;
  if (constant <= -amplitude) return 0.0;
  return std::acos(-constant / amplitude);
}

/// max(0, a + b cos x) max(0, c + d cos(x - shift)) over a whole turn of x; b, d >= 0, shift in -pi..pi.
struct Ring {
  double a, b, c, d, shift;

  double antiderivative(double x) const {
    return a * c * x + b * c * std::sin(x) + a * d * std::sin(x - shift) +
           b * d * (0.5 * std::cos(shift) * x + 0.25 * std::sin(2.0 * x - shift));
  }
  double integral() const {
    const double first = half_arc(a, b), second = half_arc(c, d);
    double sum = 0.0;
    for (const double turn : {-2.0 * pi, 0.0, 2.0 * pi}) {
      const double from = std::max(-first, shift - second + turn), to = std::min(first, shift + second + turn);
      if (to > from) sum += antiderivative(to) - antiderivative(from);
    }
    return sum;
  }
};

/// Gauss-Legendre, 16 points: positive abscissae and weights (Abramowitz & Stegun, table 25.4).
constexpr std::array<double, 8> abscissae{0.0950125098376374, 0.2816035507792589, 0.4580167776572274,
                                          0.6178762444026438, 0.7554044083550030, 0.8656312023878318,
                                          0.9445750230732326, 0.9894009349916499};
constexpr std::array<double, 8> weights{0.1894506104550685, 0.1826034150449236, 0.1691565193950025, 0.1495959888165767,
                                        0.1246289712555339, 0.0951585116824928, 0.0622535239386479, 0.0271524594117541};

template <class Function>
double gauss(const Function& function, double from, double to) {
  const double middle = 0.5 * (from + to), half = 0.5 * (to - from);
  double sum = 0.0;
  for (std::size_t i = 0; i < abscissae.size(); ++i)
    sum += weights[i] * (function(middle - half * abscissae[i]) + function(middle + half * abscissae[i]));
  return sum * half;
}

/// Integrates a function with square-root edges at both ends: 3t^2 - 2t^3 runs into them at rest.
template <class Function>
double between_edges(const Function& function, double from, double to) {
  constexpr int panels = 4;
  const double width = to - from;
  const auto eased = [&](double t) {
    return function(from + width * t * t * (3.0 - 2.0 * t)) * 6.0 * t * (1.0 - t) * width;
  };
  double sum = 0.0;
  for (int i = 0; i < panels; ++i) sum += gauss(eased, i / double(panels), (i + 1) / double(panels));
  return sum;
}

}  // namespace

double plate_to_sphere_view_factor(double distance_over_radius, double angle_rad) {
  const double h = distance_over_radius;
  require_outside(h);
  const double horizon = std::acos(1.0 / h);
  const double cosine = std::cos(angle_rad);
  if (angle_rad <= horizon) return cosine / (h * h);
  if (angle_rad >= pi - horizon) return 0.0;
  const double sine = std::sin(angle_rad);
  const double tangent = std::sqrt(h * h - 1.0);
  const auto bounded = [](double x) { return std::clamp(x, -1.0, 1.0); };
  const double below = std::asin(bounded(tangent / (h * sine)));
  const double cap = cosine * std::acos(bounded(-tangent * cosine / sine)) -
                     tangent * std::sqrt(std::max(0.0, 1.0 - h * h * cosine * cosine));
  return 0.5 - below / pi + cap / (pi * h * h);
}

double small_sphere_to_sphere_view_factor(double distance_over_radius) {
  require_outside(distance_over_radius);
  // 1 - cos of the limb's angle, without losing digits far away.
  const double half_limb = 0.5 * std::asin(1.0 / distance_over_radius);
  return std::sin(half_limb) * std::sin(half_limb);
}

double PlateView::sun_cosine() const {
  return std::sin(nadir_angle_rad) * std::sin(sun_zenith_rad) * std::cos(sun_azimuth_rad) -
         std::cos(nadir_angle_rad) * std::cos(sun_zenith_rad);
}

double sunlit_view_factor(const PlateView& view) {
  const double h = view.distance_over_radius;
  require_outside(h);
  const double shift = std::remainder(view.sun_azimuth_rad, 2.0 * pi);
  const double sine_nadir = std::sin(view.nadir_angle_rad), cosine_nadir = std::cos(view.nadir_angle_rad);
  const double sine_sun = std::sin(view.sun_zenith_rad), cosine_sun = std::cos(view.sun_zenith_rad);
  // A ring of the planet at one angle from the plate's nadir: seen under it, and at this angle at the planet's centre.
  const auto ring = [&](double from_nadir) {
    const double sine = std::sin(from_nadir), cosine = std::cos(from_nadir);
    const double central = std::asin(std::min(1.0, h * sine)) - from_nadir;
    return sine * Ring{cosine_nadir * cosine, sine_nadir * sine, cosine_sun * std::cos(central),
                       sine_sun * std::sin(central), shift}
                      .integral();
  };
  const double limb = std::asin(1.0 / h);
  // Where the plate's horizon and the terminator begin to cut the rings.
  const double horizon = std::abs(0.5 * pi - view.nadir_angle_rad);
  const double terminator = std::abs(0.5 * pi - view.sun_zenith_rad);
  const double terminator_from_nadir = std::atan2(std::sin(terminator), h - std::cos(terminator));
  std::array<double, 4> edges{0.0, std::min(horizon, limb),
                              terminator < std::acos(1.0 / h) ? std::min(terminator_from_nadir, limb) : limb, limb};
  std::sort(edges.begin(), edges.end());
  double sum = 0.0;
  for (std::size_t i = 1; i < edges.size(); ++i)
    if (edges[i] > edges[i - 1]) sum += between_edges(ring, edges[i - 1], edges[i]);
  return sum / pi;
}

}  // namespace tileflux::environment
