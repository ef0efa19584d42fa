#include "tileflux/tile/sky.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <array>
#include <boost/math/interpolators/cardinal_cubic_b_spline.hpp>
#include <cmath>
#include <numbers>

#include "tile/instant.h"
#include "tileflux/base/errors.h"
#include "tileflux/tile/case.h"
#include "tileflux/tile/schedule.h"

namespace tileflux::tile {

namespace {

constexpr double pi = std::numbers::pi;
constexpr double edge_on_rad = 0.5 * pi;

/// Straight between rows that rise; `row` is where to look first. Throws outside.
double value_at(const std::vector<double>& times_s, const std::vector<double>& values, double time_s) {
  if (!(time_s >= times_s.front() && time_s <= times_s.back())) {
    char text[128];
    std::snprintf(text, sizeof text, "the course covers %.6g s to %.6g s, and %.6g s is asked for", times_s.front(),
                  times_s.back(), time_s);
    throw Error(Code::value_out_of_range, text);
  }
  const auto above = std::upper_bound(times_s.begin() + 1, times_s.end() - 1, time_s);
  const auto i = static_cast<std::size_t>(above - times_s.begin());
  const double share = (time_s - times_s[i - 1]) / (times_s[i] - times_s[i - 1]);
  return values[i - 1] + share * (values[i] - values[i - 1]);
}

void require_course(const Course& course) {
  const std::size_t rows = course.time_s.size();
  const bool both = (course.distance_m.empty() || course.distance_m.size() == rows) &&
                    (course.tilt_rad.empty() || course.tilt_rad.size() == rows);
  if (rows < 2 || !both) throw Error(Code::table_shape, "a course needs two rows or more, each with every column");
  for (std::size_t i = 1; i < rows; ++i) {
    if (!(course.time_s[i] > course.time_s[i - 1]))
      throw Error(Code::table_not_rising,
                  "row " + std::to_string(i + 1) + " of the course is not later than the one before");
  }
}

/// The tile beside its planet, with the directions in the frame of the orbit: x to noon in its plane, y a quarter turn
/// along the motion, z the orbit's north.
struct Pose {
  Eigen::Vector3d sun, up, front;
};

Pose pose_at(const Orbit& orbit, const environment::OrbitPoint& point, double sun_tilt_rad, bool stowed) {
  const double beta = orbit.path.beta_rad;
  Pose pose;
  pose.sun = {std::cos(beta), 0.0, std::sin(beta)};
  pose.up = {std::cos(point.from_noon_rad), std::sin(point.from_noon_rad), 0.0};
  const double tilt = stowed ? edge_on_rad : sun_tilt_rad;
  const Eigen::Vector3d north{-std::sin(beta), 0.0, std::cos(beta)};
  pose.front = std::cos(tilt) * pose.sun + std::sin(tilt) * north;
  if (!stowed && orbit.attitude == Orbit::Attitude::away_from_planet) pose.front = pose.up;
  if (!stowed && orbit.attitude == Orbit::Attitude::to_planet) pose.front = -pose.up;
  return pose;
}

double angle_between(const Eigen::Vector3d& a, const Eigen::Vector3d& b) {
  return std::atan2(a.cross(b).norm(), a.dot(b));
}

/// How a face with that normal looks at the planet.
environment::PlateView view_of(const Orbit& orbit, const environment::OrbitPoint& point, const Pose& pose,
                               const Eigen::Vector3d& normal) {
  environment::PlateView view;
  view.distance_over_radius = point.distance_m / orbit.planet.radius_m;
  view.nadir_angle_rad = angle_between(normal, Eigen::Vector3d(-pose.up));
  view.sun_zenith_rad = point.sun_zenith_rad;
  const Eigen::Vector3d level_normal = normal - normal.dot(pose.up) * pose.up;
  const Eigen::Vector3d level_sun = pose.sun - pose.sun.dot(pose.up) * pose.up;
  constexpr double upright = 1e-12;  // no azimuth of its own
  if (level_normal.norm() > upright && level_sun.norm() > upright)
    view.sun_azimuth_rad = angle_between(level_normal, level_sun);
  return view;
}

double on_front(double tilt_rad) { return std::max(0.0, std::cos(tilt_rad)); }
double on_rear(double tilt_rad) { return std::max(0.0, -std::cos(tilt_rad)); }

}  // namespace

/// Albedo and infrared on both faces over the true anomaly: cubic splines through values that are exact. Between two of
/// them a limb or terminator that comes into sight leaves 1e-4 of the flux at most.
struct Sky::Fluxes {
  static constexpr int steps = 360, overlap = 4;
  using Spline = boost::math::interpolators::cardinal_cubic_b_spline<double>;
  std::array<Spline, 4> over_anomaly;  ///< front albedo, rear albedo, front infrared, rear infrared

  Fluxes(const Orbit& orbit, const environment::Sun& sun, bool stowed) {
    const double step = 2.0 * pi / steps;
    std::array<std::vector<double>, 4> values;
    for (auto& column : values) column.resize(steps + 2 * overlap + 1);
    for (int i = 0; i < steps; ++i) {
      const environment::OrbitPoint point = orbit.path.at_true_anomaly(i * step);
      const Pose pose = pose_at(orbit, point, sun.tilt_rad, stowed);
      const double irradiance = sun.normal_irradiance_W_per_m2();
      const auto front =
          environment::planet_flux(orbit.planet, view_of(orbit, point, pose, pose.front), irradiance, orbit.albedo);
      const auto rear =
          environment::planet_flux(orbit.planet, view_of(orbit, point, pose, -pose.front), irradiance, orbit.albedo);
      const std::array<double, 4> row{front.albedo_W_per_m2, rear.albedo_W_per_m2, front.infrared_W_per_m2,
                                      rear.infrared_W_per_m2};
      for (std::size_t k = 0; k < row.size(); ++k) values[k][static_cast<std::size_t>(i + overlap)] = row[k];
    }
    for (std::size_t k = 0; k < values.size(); ++k) {
      auto& column = values[k];
      for (int i = 0; i <= overlap; ++i) {
        if (i < overlap) column[static_cast<std::size_t>(i)] = column[static_cast<std::size_t>(i + steps)];
        column[static_cast<std::size_t>(overlap + steps + i)] = column[static_cast<std::size_t>(overlap + i)];
      }
      over_anomaly[k] = Spline(column.begin(), column.end(), -overlap * step, step);
    }
  }

  void at(double true_anomaly_rad, SkyState& state) const {
    const double turn = true_anomaly_rad - 2.0 * pi * std::floor(true_anomaly_rad / (2.0 * pi));
    // Beside the edge of a lit stretch a spline swings a little below zero.
    const auto value = [&](std::size_t k) { return std::max(0.0, over_anomaly[k](turn)); };
    state.front_albedo_W_per_m2 = value(0);
    state.rear_albedo_W_per_m2 = value(1);
    state.front_infrared_W_per_m2 = value(2);
    state.rear_infrared_W_per_m2 = value(3);
  }
};

Sky::Description Sky::described(const Case& description) {
  return {description.sun,      description.sun_ellipse, description.course,
          description.tilt_law, description.stow,        description.orbit};
}

bool Sky::same_as(const Case& description) const {
  const bool pointed = description.cells && description.cells->pointing;
  return case_ == described(description) && pointing_.has_value() == pointed;
}

Sky::Sky(const Case& description) : case_(described(description)) {
  if (description.cells) pointing_ = description.cells->pointing;
  const int ways = (case_.ellipse ? 1 : 0) + (case_.course ? 1 : 0) + (case_.orbit ? 1 : 0);
  if (ways > 1) throw Error(Code::key_conflict, "an ellipse around the Sun, a course and an orbit exclude each other");
  for (const TimeWindow& window : case_.stow) {
    if (!(window.to_s > window.from_s)) throw Error(Code::value_out_of_range, "a stow window must end after it begins");
  }
  moves_ = ways > 0 || !case_.stow.empty();
  if (case_.course) require_course(*case_.course);
  if (case_.ellipse) case_.ellipse->require_sound();
  if (case_.ellipse && case_.stow.empty()) period_s_ = case_.ellipse->period_s();
  note_edge_on();
  if (!case_.orbit) return;
  const Orbit& orbit = *case_.orbit;
  orbit.planet.require_sound();
  orbit.path.ellipse.require_sound();
  if (!(orbit.path.ellipse.periapsis_m() > orbit.planet.radius_m))
    throw Error(Code::value_out_of_range, "an orbit must lie above the surface");
  if (case_.tilt_law != TiltLaw::fixed)
    throw Error(Code::key_conflict, "around a planet the tilt is fixed, or the attitude follows the planet");
  const double revolution_s = orbit.path.ellipse.period_s();
  if (case_.stow.empty()) period_s_ = revolution_s;
  repeat_s_ = revolution_s;
  passes_ = environment::shadow_passes(orbit.path, {orbit.planet.radius_m, case_.sun.distance_m});
  for (const environment::ShadowPass& pass : passes_) {
    for (const auto& interval : {std::optional(pass.penumbra), pass.umbra}) {
      if (!interval) continue;
      edges_s_.push_back(std::fmod(interval->entry_s, revolution_s));
      edges_s_.push_back(std::fmod(interval->exit_s, revolution_s));
    }
  }
  std::sort(edges_s_.begin(), edges_s_.end());
  fluxes_ = std::make_shared<const Fluxes>(orbit, case_.sun, false);
  if (!case_.stow.empty()) stowed_fluxes_ = std::make_shared<const Fluxes>(orbit, case_.sun, true);
}

void Sky::note_edge_on() {
  if (!case_.ellipse || case_.tilt_law != TiltLaw::fixed_in_space) return;
  const environment::Ellipse& ellipse = *case_.ellipse;
  repeat_s_ = ellipse.period_s();
  for (const double quarter : {-edge_on_rad, edge_on_rad}) {
    const double anomaly = ellipse.true_anomaly_rad(0.0) + case_.sun.tilt_rad + quarter;
    const double time_s = ellipse.time_at_s(anomaly);
    edges_s_.push_back(time_s - repeat_s_ * std::floor(time_s / repeat_s_));
  }
  std::sort(edges_s_.begin(), edges_s_.end());
}

double Sky::seen_at(double time_s) const {
  const environment::PlanetOrbit& path = case_.orbit->path;
  const double revolution_s = path.ellipse.period_s();
  const double phase_s = time_s - revolution_s * std::floor(time_s / revolution_s);
  const auto within = [](const environment::Interval& interval, double at_s) {
    return at_s > interval.entry_s && at_s < interval.exit_s;
  };
  for (const environment::ShadowPass& pass : passes_) {
    for (const double at_s : {phase_s, phase_s + revolution_s}) {
      if (!within(pass.penumbra, at_s)) continue;
      if (pass.umbra && within(*pass.umbra, at_s)) return 0.0;
      return environment::solar_disc_seen({case_.orbit->planet.radius_m, case_.sun.distance_m}, path.at(at_s));
    }
  }
  return 1.0;
}

void Sky::place_by_orbit(double time_s, bool stowed, SkyState& state) const {
  const Orbit& orbit = *case_.orbit;
  const double anomaly = orbit.path.ellipse.true_anomaly_rad(time_s);
  const Pose pose = pose_at(orbit, orbit.path.at_true_anomaly(anomaly), case_.sun.tilt_rad, stowed);
  state.tilt_rad = angle_between(pose.front, pose.sun);
  state.seen = seen_at(time_s);
  (stowed ? *stowed_fluxes_ : *fluxes_).at(anomaly, state);
}

SkyState Sky::at(double time_s, bool stowed) const {
  SkyState state;
  environment::Sun sun = case_.sun;
  if (case_.ellipse) {
    sun.distance_m = case_.ellipse->distance_m(time_s);
    if (case_.tilt_law == TiltLaw::fixed_in_space) {
      const double turned = case_.ellipse->true_anomaly_rad(time_s) - case_.ellipse->true_anomaly_rad(0.0);
      sun.tilt_rad = std::abs(std::remainder(sun.tilt_rad - turned, 2.0 * pi));
    }
  }
  if (case_.course) {
    const Course& course = *case_.course;
    if (!course.distance_m.empty()) sun.distance_m = value_at(course.time_s, course.distance_m, time_s);
    if (!course.tilt_rad.empty()) sun.tilt_rad = value_at(course.time_s, course.tilt_rad, time_s);
  }
  state.sun_distance_m = sun.distance_m;
  state.tilt_rad = stowed ? edge_on_rad : sun.tilt_rad;
  if (case_.orbit) place_by_orbit(time_s, stowed, state);
  state.normal_W_per_m2 = sun.normal_irradiance_W_per_m2() * state.seen;
  state.front_sun_W_per_m2 = state.normal_W_per_m2 * (stowed ? 0.0 : on_front(state.tilt_rad));
  state.rear_sun_W_per_m2 = state.normal_W_per_m2 * (stowed ? 0.0 : on_rear(state.tilt_rad));
  state.cells_W_per_m2 = state.normal_W_per_m2 * cells_share(state.tilt_rad);
  return state;
}

bool Sky::stowed_after(double time_s) const {
  const double later_s = time_s + instant_s(time_s);
  return std::any_of(case_.stow.begin(), case_.stow.end(),
                     [&](const TimeWindow& window) { return later_s >= window.from_s && later_s < window.to_s; });
}

double Sky::next_edge_s(double time_s) const {
  double next_s = never_s;
  const double later_s = time_s + instant_s(time_s);
  for (const TimeWindow& window : case_.stow) {
    for (const double edge_s : {window.from_s, window.to_s}) {
      if (edge_s > later_s) next_s = std::min(next_s, edge_s);
    }
  }
  if (case_.course) {
    const auto row = std::upper_bound(case_.course->time_s.begin(), case_.course->time_s.end(), later_s);
    if (row != case_.course->time_s.end()) next_s = std::min(next_s, *row);
  }
  if (edges_s_.empty()) return next_s;
  const double begun = std::floor(time_s / repeat_s_);
  for (const double turns : {begun, begun + 1.0}) {
    for (const double edge_s : edges_s_) {
      if (edge_s + turns * repeat_s_ > later_s) return std::min(next_s, edge_s + turns * repeat_s_);
    }
  }
  return next_s;
}

SkyState Sky::mean(double span_s) const {
  if (constant()) return at(0.0, false);
  const double whole_s = period_s_.value_or(span_s);
  SkyState sum;
  // Simpson's rule on pieces between edges, of a size at which fluxes hardly bend.
  constexpr int least_pieces = 256;
  double from_s = 0.0;
  while (from_s < whole_s) {
    const double to_s = std::min({whole_s, next_edge_s(from_s), from_s + whole_s / least_pieces});
    const bool stowed = stowed_after(from_s);
    const auto add = [&](double at_s, double weight) {
      const SkyState state = at(at_s, stowed);
      const double share = weight * (to_s - from_s) / whole_s;
      sum.sun_distance_m += share * state.sun_distance_m;
      sum.seen += share * state.seen;
      sum.normal_W_per_m2 += share * state.normal_W_per_m2;
      sum.tilt_rad += share * state.tilt_rad;
      sum.front_sun_W_per_m2 += share * state.front_sun_W_per_m2;
      sum.rear_sun_W_per_m2 += share * state.rear_sun_W_per_m2;
      sum.cells_W_per_m2 += share * state.cells_W_per_m2;
      sum.front_albedo_W_per_m2 += share * state.front_albedo_W_per_m2;
      sum.rear_albedo_W_per_m2 += share * state.rear_albedo_W_per_m2;
      sum.front_infrared_W_per_m2 += share * state.front_infrared_W_per_m2;
      sum.rear_infrared_W_per_m2 += share * state.rear_infrared_W_per_m2;
    };
    if (from_s == 0.0) sum.seen = 0.0;
    add(from_s, 1.0 / 6.0);
    add(0.5 * (from_s + to_s), 4.0 / 6.0);
    add(to_s, 1.0 / 6.0);
    from_s = to_s;
  }
  return sum;
}

double Sky::shadow_s() const {
  double sum_s = 0.0;
  for (const environment::ShadowPass& pass : passes_) sum_s += pass.penumbra.duration_s();
  return sum_s;
}

}  // namespace tileflux::tile
