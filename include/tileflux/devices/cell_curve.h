#pragma once
/// Current over voltage of a cell as one ideal diode under light, and its maximum-power point: what stands behind the
/// logarithm over intensity in CellLaw.

#include <cmath>

#include "tileflux/base/constants.h"
#include "tileflux/base/dual.h"

namespace tileflux::devices {

/// The share of short-circuit current times open-circuit voltage that a cell gives at its maximum-power point.
inline double fill_factor(double most_power_W, double short_circuit_A, double open_circuit_V) {
  return most_power_W / (short_circuit_A * open_circuit_V);
}

/// I = I_L - I_0 (exp(V / nV_t) - 1), with V_t = kT/q (textbook; check rows PV-11, PV-12, PV-19). No resistances: real
/// cells lie below by their fill factor.
struct CellCurve {
  double light_A = 0.0;       ///< I_L, the short-circuit current: proportional to the light
  double saturation_A = 0.0;  ///< I_0, above zero
  double ideality = 1.0;      ///< n; the number of junctions in series times theirs

  template <class Scalar>
  Scalar diode_V(const Scalar& temperature_K) const {
    return Scalar(ideality * boltzmann_eV_per_K * temperature_K);
  }

  template <class Scalar>
  Scalar current_A(const Scalar& voltage_V, const Scalar& temperature_K) const {
    using std::exp;
    return Scalar(light_A - saturation_A * (exp(Scalar(voltage_V / diode_V(temperature_K))) - 1.0));
  }

  /// nV_t ln(1 + I_L / I_0).
  template <class Scalar>
  Scalar open_circuit_V(const Scalar& temperature_K) const {
    return Scalar(std::log1p(light_A / saturation_A) * diode_V(temperature_K));
  }

  /// The voltage of most power: v + ln(1 + v) = v_oc in units of nV_t, by Newton's method, which on this concave
  /// function rises to the root from below.
  template <class Scalar>
  Scalar best_V(const Scalar& temperature_K) const {
    const double open = std::log1p(light_A / saturation_A);
    double v = 0.0;
    for (int step = 0; step < most_steps; ++step) {
      const double next = v + (open - v - std::log1p(v)) * (1.0 + v) / (2.0 + v);
      if (!(next > v)) break;
      v = next;
    }
    return Scalar(v * diode_V(temperature_K));
  }

  template <class Scalar>
  Scalar most_power_W(const Scalar& temperature_K) const {
    const Scalar voltage = best_V(temperature_K);
    return Scalar(voltage * current_A(voltage, temperature_K));
  }

  /// The power of a real cell with this light and diode whose fill factor is stated.
  template <class Scalar>
  Scalar power_W(double stated_fill_factor, const Scalar& temperature_K) const {
    return Scalar(stated_fill_factor * light_A * open_circuit_V(temperature_K));
  }

  /// The customary closed form for the fill factor without resistances, (v - ln(v + 0.72)) / (v + 1), v = V_oc / nV_t
  /// above 10 (M. A. Green 1981, from memory; check rows PV-18).
  static double fill_factor_estimate(double open_over_diode_V) {
    return (open_over_diode_V - std::log(open_over_diode_V + 0.72)) / (open_over_diode_V + 1.0);
  }

 private:
  /// Newton's method doubles its digits: from v = 0 to a root below 1000, ten are plenty.
  static constexpr int most_steps = 30;
};

}  // namespace tileflux::devices
