#pragma once
/// Photovoltaic cells: electricity available from a sunlit face.

#include <cmath>

#include "tileflux/base/dual.h"

namespace tileflux::devices {

/// P = E A packing efficiency(T, E) remaining, with efficiency = efficiency_ref (1 + slope (T - T_ref)) (1 + m
/// ln(E/E_ref)), neither factor below zero: the linear temperature law in common use for space cells (check rows PV-10
/// and PV-20), and the logarithm that a diode's voltage gives to the dependence on intensity (check row PV-19).
struct CellLaw {
  double area_m2 = 0.0;
  double packing = 1.0;     ///< share of the face that is cell
  double efficiency = 0.0;  ///< at the reference temperature, 0..1
  double reference_K = 301.15;
  double slope_per_K = 0.0;                       ///< relative change of the efficiency per kelvin, normally negative
  double remaining = 1.0;                         ///< factor on power at the life that the case asks for
  double intensity_slope = 0.0;                   ///< m
  double reference_irradiance_W_per_m2 = 1361.0;  ///< E_ref

  /// Efficiency at the cells' temperature, packing and life not included.
  template <class Scalar>
  Scalar efficiency_at(const Scalar& temperature_K) const {
    const Scalar linear = efficiency * (1.0 + slope_per_K * (temperature_K - reference_K));
    return larger(linear, Scalar(0.0));
  }

  /// Factor on the efficiency by irradiance; 0 in the dark.
  template <class Scalar>
  Scalar intensity_factor(const Scalar& irradiance_W_per_m2) const {
    using std::log;
    if (!(value_of(irradiance_W_per_m2) > 0.0)) return Scalar(0.0);
    if (intensity_slope == 0.0) return Scalar(1.0);
    const Scalar ratio = irradiance_W_per_m2 / reference_irradiance_W_per_m2;
    return larger(Scalar(0.0), Scalar(1.0 + intensity_slope * log(ratio)));
  }

  /// Electricity at the maximum-power point, in watts, for irradiance on the face in W/m2.
  template <class Scalar>
  Scalar available_W(const Scalar& temperature_K, const Scalar& irradiance_W_per_m2) const {
    const Scalar factor = intensity_factor(irradiance_W_per_m2);
    return Scalar(irradiance_W_per_m2 * area_m2 * packing * remaining * factor * efficiency_at(temperature_K));
  }
};

}  // namespace tileflux::devices
