#pragma once
/// Ageing as rates of states: what cells keep, what finishes take up, what laser diodes lose over years.

#include <cmath>

#include "tileflux/base/constants.h"
#include "tileflux/base/dual.h"

namespace tileflux::devices {

/// How much faster a process runs at a temperature than at the reference: exp(E_a/k (1/T_ref - 1/T)) (Arrhenius; check
/// rows LAS-30 and LAS-33). An activation energy of 0 switches the dependence off.
struct ArrheniusLaw {
  double activation_eV = 0.0;
  double reference_K = 298.15;

  template <class Scalar>
  Scalar factor(const Scalar& temperature_K) const {
    using std::exp;
    return Scalar(exp(Scalar(activation_eV / boltzmann_eV_per_K * (1.0 / reference_K - 1.0 / temperature_K))));
  }
};

/// Remaining factor D of the cells' power, falling by a constant share per time: dD/dt = -rate D factor(T).
struct CellFading {
  double share_per_s = 0.0;  ///< at the reference temperature
  ArrheniusLaw temperature;

  template <class Scalar>
  Scalar rate_per_s(const Scalar& remaining, const Scalar& cells_K) const {
    return Scalar(-share_per_s * temperature.factor(cells_K) * remaining);
  }
};

/// Remaining factor D over the fluence of damaging particles F: D = 1 - C log10(1 + F/F_x), the customary fit to
/// radiation tests of cells (no source seen; C and F_x are fitted to two published points or more). Written as a rate
/// of D alone, so that the state needs no second unknown: dD/dt = -C / (F_x ln 10) flux 10^(-(1 - D)/C).
struct RadiationDamage {
  double share_per_decade = 0.1;  ///< C, above zero
  double knee_per_m2 = 1.0;       ///< F_x, above zero
  double flux_per_m2_s = 0.0;     ///< mean flux of equivalent particles

  double remaining_at(double fluence_per_m2) const {
    return 1.0 - share_per_decade / std::log(10.0) * std::log1p(fluence_per_m2 / knee_per_m2);
  }

  template <class Scalar>
  Scalar rate_per_s(const Scalar& remaining) const {
    using std::exp;
    const double scale = share_per_decade / std::log(10.0);
    return Scalar(-scale * flux_per_m2_s / knee_per_m2 * exp(Scalar((remaining - 1.0) / scale)));
  }
};

/// Solar absorptance on its way to an end value, under light only: d(alpha)/dt = lit (end - alpha)/tau, so that alpha =
/// end - (end - start) exp(-t_lit/tau).
struct AbsorptanceGrowth {
  double end = 0.0;
  double time_constant_s = 1.0;

  /// `lit` is the share of sunlight met, 0 (dark) to 1.
  template <class Scalar>
  Scalar rate_per_s(const Scalar& absorptance, double lit) const {
    return Scalar(lit * (end - absorptance) / time_constant_s);
  }
};

/// Wear of laser diodes: d(wear)/dt = rate exp(E_a/k (1/T_ref - 1/T_j)) drive^n; the light is (1 - wear) times that of
/// new ones, never below zero. Nothing wears at rest.
struct DiodeWear {
  double rate_per_s = 0.0;  ///< at the reference temperature and full drive
  ArrheniusLaw temperature;
  double drive_exponent = 0.0;

  template <class Scalar>
  Scalar wear_per_s(const Scalar& junction_K, const Scalar& drive) const {
    using std::pow;
    if (!(value_of(drive) > 0.0)) return Scalar(0.0);
    return Scalar(rate_per_s * temperature.factor(junction_K) * Scalar(pow(drive, drive_exponent)));
  }

  template <class Scalar>
  static Scalar light_factor(const Scalar& wear) {
    return larger(Scalar(0.0), Scalar(1.0 - wear));
  }

  /// Time of steady use to a wear, at a junction temperature and drive above zero.
  double life_s(double wear, double junction_K, double drive) const { return wear / wear_per_s(junction_K, drive); }
};

}  // namespace tileflux::devices
