#include "tileflux/network/heat_pipe.h"

#include <algorithm>
#include <cmath>

#include "tileflux/base/errors.h"

namespace tileflux::network {

VapourTransport vapour_transport(int pipes, const PropertyTable& capability_W_m, double effective_length_m,
                                 double axial_W_per_K) {
  if (capability_W_m.constant())
    throw Error(Code::table_shape, "the capability of a heat pipe is a table over temperature");
  const std::vector<double>& rows = capability_W_m.values();
  if (rows.front() != 0.0 || rows.back() != 0.0)
    throw Error(Code::value_out_of_range,
                "the capability of a heat pipe must be zero in its first and in its last row");
  if (*std::min_element(rows.begin(), rows.end()) < 0.0)
    throw Error(Code::value_out_of_range, "the capability of a heat pipe cannot be negative");
  if (pipes < 0 || !(effective_length_m > 0.0) || !(axial_W_per_K > 0.0))
    throw Error(
        Code::value_out_of_range,
        "a heat pipe needs an effective length and an axial conductance above zero, and no negative number of pipes");
  return {pipes * axial_W_per_K, capability_W_m.scaled(pipes / effective_length_m)};
}

double steepest_limit_W_per_K(const VapourTransport& law) {
  const std::vector<double>& at_K = law.greatest_W.temperatures_K();
  const std::vector<double>& limit_W = law.greatest_W.values();
  double steepest = 0.0;
  for (std::size_t i = 1; i < at_K.size(); ++i)
    steepest = std::max(steepest, std::abs((limit_W[i] - limit_W[i - 1]) / (at_K[i] - at_K[i - 1])));
  return steepest;
}

double liquid_merit_W_per_m2(const PipeLiquid& liquid) {
  return liquid.density_kg_per_m3 * liquid.latent_J_per_kg * liquid.surface_tension_N_per_m / liquid.viscosity_Pa_s;
}

double capillary_flow_kg_per_s(const PipeLiquid& liquid, const Wick& wick, double length_m,
                               double opposing_pressure_Pa) {
  const double suction_Pa = 2.0 * liquid.surface_tension_N_per_m / wick.pore_radius_m;
  const double flow_per_Pa =
      liquid.density_kg_per_m3 * wick.permeability_m2 * wick.area_m2 / (liquid.viscosity_Pa_s * length_m);
  return std::max(0.0, suction_Pa - opposing_pressure_Pa) * flow_per_Pa;
}

double capillary_limit_W(const PipeLiquid& liquid, const Wick& wick, double length_m, double opposing_pressure_Pa) {
  return liquid.latent_J_per_kg * capillary_flow_kg_per_s(liquid, wick, length_m, opposing_pressure_Pa);
}

}  // namespace tileflux::network
