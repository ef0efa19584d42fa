#pragma once
/// Lasers: light from electricity at a junction temperature.

#include <algorithm>
#include <cmath>
#include <vector>

#include "tileflux/base/dual.h"

namespace tileflux::devices {

/// Diode laser of one module. threshold = I0 exp((T - Tr)/T0), slope = s0 exp(-(T - Tr)/T1), light = slope (I -
/// threshold) and never below zero, voltage = V0 + I Rs. The slope is held at V0 in the cold: no electron gives more
/// than its energy, and without that bound a cold junction would give more light than it takes. Textbook L-I and V-I
/// laws (check rows LAS-13, LAS-20 to LAS-22); T0 and T1 are the characteristic temperatures of threshold and slope.
struct DiodeLaw {
  double rated_current_A = 0.0;  ///< at 100 % drive
  double threshold_A = 0.0;      ///< at the reference temperature
  double threshold_T0_K = 1e9;
  double slope_W_per_A = 0.0;  ///< at the reference temperature
  double slope_T1_K = 1e9;
  double reference_K = 298.15;
  double turn_on_V = 0.0;
  double series_resistance_ohm = 0.0;

  template <class Scalar>
  Scalar electrical_W(const Scalar& current_A) const {
    return Scalar(current_A * (turn_on_V + series_resistance_ohm * current_A));
  }

  /// The current at which the module takes this power.
  template <class Scalar>
  Scalar current_A(const Scalar& electrical_W) const {
    using std::sqrt;
    const Scalar root = sqrt(Scalar(turn_on_V * turn_on_V + 4.0 * series_resistance_ohm * electrical_W));
    return Scalar(2.0 * electrical_W / (turn_on_V + root));
  }

  template <class Scalar>
  Scalar threshold_at(const Scalar& junction_K) const {
    using std::exp;
    return Scalar(threshold_A * exp(Scalar((junction_K - reference_K) / threshold_T0_K)));
  }

  template <class Scalar>
  Scalar slope_at(const Scalar& junction_K) const {
    using std::exp;
    const Scalar stated = slope_W_per_A * exp(Scalar((reference_K - junction_K) / slope_T1_K));
    return smaller(stated, Scalar(turn_on_V));
  }

  template <class Scalar>
  Scalar light_W(const Scalar& current, const Scalar& junction_K) const {
    const Scalar above = current - threshold_at(junction_K);
    return larger(Scalar(slope_at(junction_K) * above), Scalar(0.0));
  }

  /// The current at which the module gives this light at a junction temperature, whatever its rating: threshold + light
  /// / slope, and none for no light.
  template <class Scalar>
  Scalar current_for_light_A(const Scalar& wanted_W, const Scalar& junction_K) const {
    if (!(value_of(wanted_W) > 0.0)) return Scalar(0.0);
    return Scalar(threshold_at(junction_K) + wanted_W / slope_at(junction_K));
  }

  double rated_electrical_W() const { return electrical_W(rated_current_A); }
};

/// Efficiency of one module from a data sheet: bilinear in junction temperature and drive, end values held outside.
struct EfficiencyLaw {
  double rated_input_W = 0.0;      ///< electrical input at 100 % drive
  std::vector<double> junction_K;  ///< rising; one entry or more
  std::vector<double> drive;       ///< rising, 0..1; one entry or more
  std::vector<double> efficiency;  ///< row by row: one row per temperature, one column per drive

  template <class Scalar>
  Scalar efficiency_at(const Scalar& temperature_K, const Scalar& drive_share) const {
    const Weight<Scalar> t = weight(junction_K, temperature_K);
    const Weight<Scalar> d = weight(drive, drive_share);
    const Scalar low = entry(t.low, d.low) + d.share * (entry(t.low, d.high) - entry(t.low, d.low));
    const Scalar high = entry(t.high, d.low) + d.share * (entry(t.high, d.high) - entry(t.high, d.low));
    return Scalar(low + t.share * (high - low));
  }

  template <class Scalar>
  Scalar light_W(const Scalar& electrical_W, const Scalar& junction_temperature_K) const {
    return Scalar(electrical_W * efficiency_at(junction_temperature_K, Scalar(electrical_W / rated_input_W)));
  }

  /// The least drive at which the module gives this light, 1 where none does. Between two columns the light is
  /// quadratic in the drive; its lower root is taken.
  template <class Scalar>
  Scalar drive_for_light(const Scalar& wanted_W, const Scalar& junction_temperature_K) const {
    using std::sqrt;
    if (!(value_of(wanted_W) > 0.0)) return Scalar(0.0);
    const Scalar wanted = wanted_W / rated_input_W;
    double from = 0.0;
    for (std::size_t i = 0; i <= drive.size() && from < 1.0; ++i) {
      const double to = i < drive.size() ? std::min(drive[i], 1.0) : 1.0;
      const Scalar low = efficiency_at(junction_temperature_K, Scalar(from));
      const Scalar high = efficiency_at(junction_temperature_K, Scalar(to));
      if (to > from) {
        const Scalar rise = (high - low) / (to - from);
        const Scalar constant = low - rise * from;
        const Scalar under_root = constant * constant + 4.0 * rise * wanted;
        if (value_of(under_root) > 0.0) {
          const Scalar below = constant + sqrt(under_root);
          if (value_of(below) * to >= 2.0 * value_of(wanted) && value_of(below) > 0.0)
            return Scalar(2.0 * wanted / below);
        }
      }
      from = to;
    }
    return Scalar(1.0);
  }

 private:
  template <class Scalar>
  struct Weight {
    std::size_t low, high;
    Scalar share;
  };

  double entry(std::size_t row, std::size_t column) const { return efficiency[row * drive.size() + column]; }

  template <class Scalar>
  static Weight<Scalar> weight(const std::vector<double>& axis, const Scalar& x) {
    if (value_of(x) <= axis.front()) return {0, 0, Scalar(0.0)};
    if (value_of(x) >= axis.back()) return {axis.size() - 1, axis.size() - 1, Scalar(0.0)};
    const auto above = std::upper_bound(axis.begin(), axis.end(), value_of(x));
    const auto i = static_cast<std::size_t>(above - axis.begin()) - 1;
    return {i, i + 1, Scalar((x - axis[i]) / (axis[i + 1] - axis[i]))};
  }
};

/// Throttle with temperature: full drive up to `from`, none at `to`, linear between.
struct ThrottleLaw {
  double from_K = 0.0;
  double to_K = 1.0;

  template <class Scalar>
  Scalar factor(const Scalar& temperature_K) const {
    const Scalar linear = (to_K - temperature_K) / (to_K - from_K);
    return larger(Scalar(0.0), smaller(Scalar(1.0), linear));
  }
};

}  // namespace tileflux::devices
