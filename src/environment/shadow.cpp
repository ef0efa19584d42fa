#include "tileflux/environment/shadow.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <numbers>

#include "tileflux/base/errors.h"

namespace tileflux::environment {

namespace {

using std::numbers::pi;

double half_angle_of(const ShadowCaster& caster, ShadowEdge edge, double distance_m) {
  const double limb = std::asin(std::min(1.0, caster.planet_radius_m / distance_m));
  switch (edge) {
    case ShadowEdge::umbra:
      return limb - std::asin((sun_radius_m - caster.planet_radius_m) / caster.sun_distance_m);
    case ShadowEdge::penumbra:
      return limb + std::asin((sun_radius_m + caster.planet_radius_m) / caster.sun_distance_m);
    case ShadowEdge::cylinder:
      break;
  }
  return limb;
}

/// Common area of two circles of radii a and b that cross, with their centres c apart.
double lens(double a, double b, double c) {
  const auto angle = [](double cosine) { return std::acos(std::clamp(cosine, -1.0, 1.0)); };
  // Each circle's part beyond the common chord.
  const double to_chord_a = (c * c + a * a - b * b) / (2.0 * c), to_chord_b = c - to_chord_a;
  const auto segment = [&](double radius, double to_chord) {
    const double half = angle(to_chord / radius);
    return radius * radius * (half - std::sin(half) * std::cos(half));
  };
  return segment(a, to_chord_a) + segment(b, to_chord_b);
}

}  // namespace

double solar_disc_rad(double sun_distance_m) { return std::asin(sun_radius_m / sun_distance_m); }

double shadow_half_angle_rad(const ShadowCaster& caster, ShadowEdge edge, double distance_m) {
  if (!(distance_m > caster.planet_radius_m))
    throw Error(Code::value_out_of_range, "a shadow is asked for inside the planet");
  return half_angle_of(caster, edge, distance_m);
}

double circular_shadow_share(const ShadowCaster& caster, ShadowEdge edge, double distance_m, double beta_rad) {
  const double half_angle = shadow_half_angle_rad(caster, edge, distance_m);
  if (half_angle <= std::abs(beta_rad)) return 0.0;
  return std::acos(std::min(1.0, std::cos(half_angle) / std::cos(beta_rad))) / pi;
}

double solar_disc_seen(const ShadowCaster& caster, const OrbitPoint& point) {
  const double r = point.distance_m, d = caster.sun_distance_m;
  // From the plate: the Sun's centre lies at d along the axis less r, the planet's centre at -r.
  const double along = r * std::cos(point.sun_zenith_rad), across = r * std::sin(point.sun_zenith_rad);
  const double sun_m = std::hypot(d - along, across);
  const double apart = std::atan2(d * across, r * r - d * along);
  const double sun = std::asin(sun_radius_m / sun_m);
  const double planet = std::asin(std::min(1.0, caster.planet_radius_m / r));
  if (apart >= planet + sun) return 1.0;
  if (planet >= apart + sun) return 0.0;
  const auto pictured = [](double angle) { return 2.0 * std::tan(0.5 * angle); };
  const double a = pictured(sun);
  const double near = pictured(apart - planet), far = pictured(std::min(apart + planet, pi - 1e-9));
  const double b = 0.5 * (far - near), c = 0.5 * std::abs(far + near);
  const double sun_area = pi * a * a;
  if (a >= b + c) return 1.0 - pi * b * b / sun_area;
  return std::clamp(1.0 - lens(a, b, c) / sun_area, 0.0, 1.0);
}

namespace {

/// Angle from the shadow's axis less the shadow's half angle: negative inside.
using Outside = std::function<double(double true_anomaly_rad)>;

/// The sign change between two anomalies, to a time far below 1e-6 s.
double crossing(const Outside& outside, double low, double high, double tolerance_rad) {
  const bool inside_at_low = outside(low) < 0.0;
  while (high - low > tolerance_rad) {
    const double middle = 0.5 * (low + high);
    if (middle == low || middle == high) break;
    ((outside(middle) < 0.0) == inside_at_low ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

/// Where the function is least between two anomalies, by golden sections: for orbits that graze the shadow.
double least_between(const Outside& outside, double low, double high) {
  const double golden = 0.5 * (std::sqrt(5.0) - 1.0);
  constexpr int sections = 60;  // 0.618^60 = 3e-13
  for (int i = 0; i < sections; ++i) {
    const double left = high - golden * (high - low), right = low + golden * (high - low);
    (outside(left) < outside(right) ? high : low) = outside(left) < outside(right) ? right : left;
  }
  return 0.5 * (low + high);
}

struct Arc {
  double entry_rad, exit_rad;
};

/// The arcs inside the shadow, each with its entry in [from, from + 2 pi).
std::vector<Arc> arcs_inside(const Outside& outside, double from_rad, double tolerance_rad) {
  constexpr int samples = 720;
  constexpr double step = 2.0 * pi / samples;
  std::vector<double> entries, exits;
  const auto change = [&](double low, double high) {
    const bool inside_at_low = outside(low) < 0.0, inside_at_high = outside(high) < 0.0;
    if (inside_at_low == inside_at_high) return;
    (inside_at_low ? exits : entries).push_back(crossing(outside, low, high, tolerance_rad));
  };
  for (int i = 0; i < samples; ++i) {
    const double low = from_rad + i * step, high = low + step;
    const double before = outside(low - step), at_low = outside(low), at_high = outside(high);
    // A dip between samples may hide two crossings: look at its bottom.
    if (at_low > 0.0 && before >= at_low && at_high >= at_low) {
      const double bottom = least_between(outside, low - step, high);
      if (outside(bottom) < 0.0) {
        if (bottom < low) {
          const double later = i == 0 ? 2.0 * pi : 0.0;  // the last step of the revolution
          entries.push_back(crossing(outside, low - step, bottom, tolerance_rad) + later);
          exits.push_back(crossing(outside, bottom, low, tolerance_rad) + later);
        } else {
          change(low, bottom);
          change(bottom, high);
          continue;
        }
      }
    }
    change(low, high);
  }
  std::sort(entries.begin(), entries.end());
  std::sort(exits.begin(), exits.end());
  std::vector<Arc> arcs;
  for (const double entry : entries) {
    const auto next = std::upper_bound(exits.begin(), exits.end(), entry);
    if (next != exits.end()) {
      arcs.push_back({entry, *next});
    } else if (!exits.empty()) {
      arcs.push_back({entry, exits.front() + 2.0 * pi});
    }
  }
  return arcs;
}

}  // namespace

std::vector<ShadowPass> shadow_passes(const PlanetOrbit& orbit, const ShadowCaster& caster) {
  orbit.ellipse.require_sound();
  if (!(orbit.ellipse.periapsis_m() > caster.planet_radius_m))
    throw Error(Code::value_out_of_range, "the orbit's lowest point must lie above the planet's surface");
  const auto outside_of = [&](ShadowEdge edge) {
    return [&orbit, &caster, edge](double true_anomaly_rad) {
      const OrbitPoint point = orbit.at_true_anomaly(true_anomaly_rad);
      return (pi - point.sun_zenith_rad) - half_angle_of(caster, edge, point.distance_m);
    };
  };
  // The fastest change of time with the anomaly is at apoapsis; a crossing there must still be good to the tolerance.
  constexpr double tolerance_s = 1e-8;
  const double apoapsis = orbit.ellipse.apoapsis_m() / orbit.ellipse.semi_major_axis_m;
  const double slowest_rad_per_s = orbit.ellipse.mean_motion_rad_per_s() *
                                   std::sqrt(1.0 - orbit.ellipse.eccentricity * orbit.ellipse.eccentricity) /
                                   (apoapsis * apoapsis);
  const double tolerance_rad = std::max(tolerance_s * slowest_rad_per_s, 1e-15);
  const double start_rad = orbit.ellipse.true_anomaly_rad(0.0);
  const auto interval = [&](const Arc& arc) {
    return Interval{orbit.ellipse.time_at_s(arc.entry_rad), orbit.ellipse.time_at_s(arc.exit_rad)};
  };
  std::vector<ShadowPass> passes;
  const Outside umbra = outside_of(ShadowEdge::umbra);
  for (const Arc& arc : arcs_inside(outside_of(ShadowEdge::penumbra), start_rad, tolerance_rad)) {
    ShadowPass pass;
    pass.penumbra = interval(arc);
    for (const Arc& core : arcs_inside(umbra, arc.entry_rad, tolerance_rad))
      if (core.exit_rad <= arc.exit_rad) pass.umbra = interval(core);
    passes.push_back(pass);
  }
  return passes;
}

}  // namespace tileflux::environment
