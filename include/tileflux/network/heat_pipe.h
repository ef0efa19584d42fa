#pragma once
/// Heat pipes: what the vapour carries from evaporator to condenser, and what it can carry at most.
///
/// A pipe is two massless vapour nodes. Evaporator and condenser are conductances h A from the walls to them; between
/// them VapourTransport. One pipe out is one pipe fewer, in the transport and in both conductances.

#include "tileflux/base/dual.h"
#include "tileflux/base/property_table.h"

namespace tileflux::network {

/// q = G (Ta - Tb), held between -Qmax and +Qmax, with Qmax the smaller one of the capability at Ta and at Tb, over the
/// effective length.
///
/// Why the smaller one and not that at a mean temperature: liquid and vapour pass through every section of the pipe,
/// and the weakest section bounds the loop. A condenser below freezing keeps the liquid, however warm the evaporator;
/// an evaporator above the critical point has no liquid, however cold the condenser. In a pipe that works the two ends
/// are within tenths of a kelvin and the choice does not matter. In one that is overloaded Ta climbs alone, the
/// capability falls with it, and the evaporator runs away (dry-out) until the load is taken off: the known behaviour.
struct VapourTransport {
  double axial_W_per_K = 0.0;  ///< of all working pipes together: vapour flow without limit
  PropertyTable greatest_W;    ///< of all working pipes together, over temperature; zero at both its ends and beyond

  template <class Scalar>
  Scalar limit_W(const Scalar& a_K, const Scalar& b_K) const {
    return smaller(greatest_W.value(a_K), greatest_W.value(b_K));
  }

  template <class Scalar>
  Scalar flow(const Scalar& a_K, const Scalar& b_K) const {
    const Scalar wanted_W = axial_W_per_K * (a_K - b_K);
    const Scalar most_W = limit_W(a_K, b_K);
    if (value_of(wanted_W) > value_of(most_W)) return most_W;
    if (value_of(wanted_W) < -value_of(most_W)) return Scalar(-most_W);
    return wanted_W;
  }
};

/// `pipes` equal pipes that work (0: none, nothing is carried), each with `axial_W_per_K` and with the capability
/// Q L in W m over the vapour's temperature, linear between rows: 0 in the first row (frozen below it) and in the last
/// (none above it). Throws Error(value_out_of_range) if it is not, if a row is negative, or a length or conductance is
/// not above zero; Error(table_shape) if it is not a table.
VapourTransport vapour_transport(int pipes, const PropertyTable& capability_W_m, double effective_length_m,
                                 double axial_W_per_K);

/// The steepest slope of Qmax in W/K. Massless vapour nodes have one balance only while the conductances of evaporator
/// and condenser are each above it.
double steepest_limit_W_per_K(const VapourTransport& law);

/// Length that the heat travels: half the evaporator, the adiabatic part, half the condenser (check row HP-10).
inline double effective_length_m(double evaporator_m, double adiabatic_m, double condenser_m) {
  return 0.5 * evaporator_m + adiabatic_m + 0.5 * condenser_m;
}

/// The working fluid's liquid at one temperature.
struct PipeLiquid {
  double density_kg_per_m3 = 0.0;
  double viscosity_Pa_s = 0.0;
  double surface_tension_N_per_m = 0.0;
  double latent_J_per_kg = 0.0;
};

struct Wick {
  double area_m2 = 0.0;  ///< cross-section for the liquid
  double permeability_m2 = 0.0;
  double pore_radius_m = 0.0;  ///< effective radius that holds the meniscus
};

/// Liquid figure of merit N = rho h sigma / mu (Chi 1976, Heat Pipe Theory and Practice; check row HP-06).
double liquid_merit_W_per_m2(const PipeLiquid& liquid);

/// Liquid that the wick's suction moves over a length, in kg/s, against a pressure (gravity: rho g times the rise from
/// condenser to evaporator; 0 in orbit). Wetting liquid, Darcy's flow in the wick, no pressure drop of the vapour:
/// m = (2 sigma/r - p) rho K A / (mu L), never below zero (Chi 1976; check row HP-01b).
double capillary_flow_kg_per_s(const PipeLiquid& liquid, const Wick& wick, double length_m,
                               double opposing_pressure_Pa = 0.0);

/// Heat that this flow carries (check rows HP-01, HP-01c, HP-01d). Times the length: a row of the capability table.
double capillary_limit_W(const PipeLiquid& liquid, const Wick& wick, double length_m,
                         double opposing_pressure_Pa = 0.0);

}  // namespace tileflux::network
