#pragma once
/// Motion on an ellipse about a body that is much heavier than what moves.
/// Equations: Murray & Dermott, Solar System Dynamics, chapter 2 (Kepler's equation, anomalies).

namespace tileflux::environment {

/// The Sun's gravitational parameter. IAU 2015 Resolution B3 (nominal).
inline constexpr double sun_gravitational_parameter_m3_per_s2 = 1.3271244e20;

/// The eccentric anomaly E of E - e sin E = M, for any M, 0 <= e < 1. The residual is at most 1e-14 for M within one
/// turn, beyond it the round-off of M. Throws Error(value_out_of_range) for another e.
double eccentric_anomaly_rad(double mean_anomaly_rad, double eccentricity);

/// An ellipse with its period. Times count from `mean_anomaly_at_start_rad`; periapsis is where the mean anomaly is 0.
struct Ellipse {
  double gravitational_parameter_m3_per_s2 = sun_gravitational_parameter_m3_per_s2;
  double semi_major_axis_m = 0.0;
  double eccentricity = 0.0;
  double mean_anomaly_at_start_rad = 0.0;

  double mean_motion_rad_per_s() const;  ///< sqrt(mu / a^3)
  double period_s() const;
  double periapsis_m() const { return semi_major_axis_m * (1.0 - eccentricity); }
  double apoapsis_m() const { return semi_major_axis_m * (1.0 + eccentricity); }

  /// Angle at the focus from periapsis along the motion, in whole turns with the time.
  double true_anomaly_rad(double time_s) const;
  double distance_m(double time_s) const;
  double distance_at_m(double true_anomaly_rad) const;

  /// The time at which a true anomaly is reached: in closed form, the inverse of `true_anomaly_rad`.
  double time_at_s(double true_anomaly_rad) const;

  /// Throws Error(value_out_of_range) unless mu and a are positive and 0 <= e < 1.
  void require_sound() const;

  bool operator==(const Ellipse&) const = default;
};

}  // namespace tileflux::environment
