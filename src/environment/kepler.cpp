#include "tileflux/environment/kepler.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "tileflux/base/errors.h"

namespace tileflux::environment {

namespace {

constexpr double turn = 2.0 * std::numbers::pi;

/// The angle in -pi..pi and the whole turns that were taken off.
struct Reduced {
  double angle_rad, turns_rad;
};
Reduced reduced(double angle_rad) {
  const double angle = std::remainder(angle_rad, turn);
  return {angle, angle_rad - angle};
}

/// For 0 <= mean anomaly <= pi. The left side rises with E, so the root stays between its bounds whatever Newton's
/// method proposes.
double solve_half_turn(double mean, double eccentricity) {
  double low = mean, high = std::min(mean + eccentricity, std::numbers::pi);
  double anomaly = std::clamp(mean + 0.85 * eccentricity, low, high);
  constexpr double round_off = 1e-16;
  constexpr int plenty = 100;  // bisection alone needs 53
  for (int i = 0; i < plenty; ++i) {
    const double residual = anomaly - eccentricity * std::sin(anomaly) - mean;
    (residual > 0.0 ? high : low) = anomaly;
    if (std::abs(residual) <= round_off * std::max(1.0, mean) || high - low <= round_off * anomaly) break;
    const double proposed = anomaly - residual / (1.0 - eccentricity * std::cos(anomaly));
    const double next = proposed > low && proposed < high ? proposed : 0.5 * (low + high);
    if (next == anomaly) break;
    anomaly = next;
  }
  return anomaly;
}

void require_eccentricity(double eccentricity) {
  if (!(eccentricity >= 0.0 && eccentricity < 1.0))
    throw Error(Code::value_out_of_range, "the eccentricity of an ellipse is at least 0 and below 1");
}

}  // namespace

double eccentric_anomaly_rad(double mean_anomaly_rad, double eccentricity) {
  require_eccentricity(eccentricity);
  const Reduced mean = reduced(mean_anomaly_rad);
  return mean.turns_rad + std::copysign(solve_half_turn(std::abs(mean.angle_rad), eccentricity), mean.angle_rad);
}

void Ellipse::require_sound() const {
  require_eccentricity(eccentricity);
  if (!(gravitational_parameter_m3_per_s2 > 0.0 && semi_major_axis_m > 0.0))
    throw Error(Code::value_out_of_range, "gravitational parameter and semi-major axis of an orbit must be positive");
}

double Ellipse::mean_motion_rad_per_s() const {
  return std::sqrt(gravitational_parameter_m3_per_s2 / semi_major_axis_m) / semi_major_axis_m;
}

double Ellipse::period_s() const { return turn / mean_motion_rad_per_s(); }

double Ellipse::true_anomaly_rad(double time_s) const {
  const Reduced eccentric =
      reduced(eccentric_anomaly_rad(mean_anomaly_at_start_rad + mean_motion_rad_per_s() * time_s, eccentricity));
  const double half = 0.5 * eccentric.angle_rad;
  return eccentric.turns_rad + 2.0 * std::atan2(std::sqrt(1.0 + eccentricity) * std::sin(half),
                                                std::sqrt(1.0 - eccentricity) * std::cos(half));
}

double Ellipse::distance_m(double time_s) const {
  const double eccentric =
      eccentric_anomaly_rad(mean_anomaly_at_start_rad + mean_motion_rad_per_s() * time_s, eccentricity);
  return semi_major_axis_m * (1.0 - eccentricity * std::cos(eccentric));
}

double Ellipse::distance_at_m(double true_anomaly_rad) const {
  return semi_major_axis_m * (1.0 - eccentricity * eccentricity) / (1.0 + eccentricity * std::cos(true_anomaly_rad));
}

double Ellipse::time_at_s(double true_anomaly_rad) const {
  const Reduced anomaly = reduced(true_anomaly_rad);
  const double half = 0.5 * anomaly.angle_rad;
  const double eccentric =
      2.0 * std::atan2(std::sqrt(1.0 - eccentricity) * std::sin(half), std::sqrt(1.0 + eccentricity) * std::cos(half));
  const double mean = anomaly.turns_rad + eccentric - eccentricity * std::sin(eccentric);
  return (mean - mean_anomaly_at_start_rad) / mean_motion_rad_per_s();
}

}  // namespace tileflux::environment
