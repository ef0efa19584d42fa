#pragma once
/// Heat paths. Each law is one function: the heat that flows out of its first end, in watts; what leaves one end
/// arrives at the other, so no law can make or lose energy by itself.

#include "tileflux/base/constants.h"
#include "tileflux/base/dual.h"
#include "tileflux/base/property_table.h"

namespace tileflux::network {

/// q = G (Ta - Tb). For contacts (G = h A), given conductances, junction-to-mount resistances.
struct Conductance {
  double conductance_W_per_K = 0.0;

  template <class Scalar>
  Scalar flow(const Scalar& a_K, const Scalar& b_K) const {
    return Scalar(conductance_W_per_K * (a_K - b_K));
  }
};

/// Conduction through a length with k(T): q = (A/L) times the integral of k dT from Tb to Ta, exact for any k
/// (Carslaw & Jaeger 1959, Conduction of Heat in Solids, section 1.6; check row TR-38).
struct Conduction {
  PropertyTable conductance_W_per_K;  ///< k(T) A / L

  template <class Scalar>
  Scalar flow(const Scalar& a_K, const Scalar& b_K) const {
    if (conductance_W_per_K.constant()) return Scalar(conductance_W_per_K.values()[0] * (a_K - b_K));
    return Scalar(conductance_W_per_K.integral(a_K) - conductance_W_per_K.integral(b_K));
  }
};

/// q = G(Ta) (Ta - Tb): a thermal switch whose sensor sits at its first end. G over temperature as a table, normally a
/// ramp from open to closed. Not what its mirror image carries: the first end decides.
struct SwitchedConductance {
  PropertyTable conductance_W_per_K;

  template <class Scalar>
  Scalar flow(const Scalar& a_K, const Scalar& b_K) const {
    return Scalar(conductance_W_per_K.value(a_K) * (a_K - b_K));
  }
};

/// Two half layers and the contact between them in series, each half with the conductivity at its own node:
/// q = (Ta - Tb) / (1/ga(Ta) + 1/gb(Tb) + resistance). Exact for constant k; for k(T) it leaves out the change of k
/// over half a layer.
struct LayerConduction {
  PropertyTable half_a_W_per_K;
  PropertyTable half_b_W_per_K;
  double resistance_K_per_W = 0.0;

  template <class Scalar>
  Scalar flow(const Scalar& a_K, const Scalar& b_K) const {
    const Scalar resistance = 1.0 / half_a_W_per_K.value(a_K) + 1.0 / half_b_W_per_K.value(b_K) + resistance_K_per_W;
    return Scalar((a_K - b_K) / resistance);
  }
};

/// q = sigma R (Ta^4 - Tb^4), with R the exchange area: A F for black surfaces, A / (1/ea + 1/eb - 1) for wide parallel
/// grey ones (Incropera et al., Fundamentals of Heat and Mass Transfer, chapter 13).
struct RadiationExchange {
  double exchange_area_m2 = 0.0;

  template <class Scalar>
  Scalar flow(const Scalar& a_K, const Scalar& b_K) const {
    return Scalar(stefan_boltzmann_W_per_m2_K4 * exchange_area_m2 * (fourth_power(a_K) - fourth_power(b_K)));
  }
};

/// q = sigma e A F (T^4 - Ts^4) from a grey surface to space at Ts.
struct RadiationToSpace {
  double emitting_area_m2 = 0.0;  ///< emittance x area x view factor to space
  double space_K = 0.0;

  bool sees_space() const { return emitting_area_m2 > 0.0; }

  template <class Scalar>
  Scalar flow(const Scalar& a_K) const {
    return Scalar(stefan_boltzmann_W_per_m2_K4 * emitting_area_m2 *
                  (fourth_power(a_K) - fourth_power(Scalar(space_K))));
  }
};

/// q = sigma e(T) A F (T^4 - Ts^4) from a louvre or a surface whose emittance changes with its temperature.
struct SwitchedRadiation {
  PropertyTable emitting_area_m2;  ///< emittance over temperature, times area and view factor to space
  double space_K = 0.0;

  bool sees_space() const {
    const std::vector<double>& areas = emitting_area_m2.values();
    return *std::max_element(areas.begin(), areas.end()) > 0.0;
  }

  template <class Scalar>
  Scalar flow(const Scalar& a_K) const {
    return Scalar(stefan_boltzmann_W_per_m2_K4 * emitting_area_m2.value(a_K) *
                  (fourth_power(a_K) - fourth_power(Scalar(space_K))));
  }
};

/// Exchange area of two wide parallel grey surfaces (check row VF-40).
inline double parallel_exchange_area_m2(double area_m2, double emittance_a, double emittance_b) {
  return area_m2 / (1.0 / emittance_a + 1.0 / emittance_b - 1.0);
}

}  // namespace tileflux::network
