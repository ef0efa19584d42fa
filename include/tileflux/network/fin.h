#pragma once
/// The radiating fin: a sheet that conducts from its base and radiates on the way to its insulated tip.
///
/// k t T'' = s sigma (T^4 - Ts^4) with T(0) = Tb and T'(L) = 0; s is the sum of the emittances of both faces, weighted
/// with their view to space, and s sigma Ts^4 the load that both faces absorb per area of the sheet. With theta = T/Tb
/// the problem has one parameter zeta = s sigma Tb^3 L^2/(k t) beside theta_s. The first integral of the equation
/// leaves one integral for the tip temperature (Sparrow & Cess 1978, Radiation Heat Transfer, chapter on fins; from
/// memory, checked against rows FIN-01 to FIN-08).

#include <Eigen/Core>
#include <array>
#include <cmath>

#include "tileflux/base/constants.h"
#include "tileflux/base/dual.h"
#include "tileflux/base/property_table.h"

namespace tileflux::network {

/// Nodes and weights of Gauss-Legendre quadrature on 0..1, 40 points.
struct FinQuadrature {
  static constexpr int points = 40;
  std::array<double, points> node;
  std::array<double, points> weight;
  static const FinQuadrature& instance();
};

/// The tip's temperature over the base's, from zeta and the sink's temperature over the base's to the fourth power.
/// Solved in doubles: the length, scaled, as a function of the tip. Of a fin too long for that it is the sink's.
double fin_tip_ratio(double zeta, double sink_fourth_ratio);

struct RadiatingFin {
  double width_m = 1.0;               ///< along the base
  double length_m = 0.1;              ///< from base to tip: half the pitch between two pipes
  PropertyTable conductance_W_per_K;  ///< k t: conductivity times thickness, taken at the base's temperature
  double emittance_sum = 0.0;         ///< of both faces, each times its view to space
  double sink_K = 0.0;                ///< Ts: what both faces absorb, as a temperature of their own emittances

  bool sees_space() const { return emittance_sum > 0.0; }

  template <class Scalar>
  Scalar zeta(const Scalar& base_K) const {
    const Scalar conductance = conductance_W_per_K.value(base_K);
    return Scalar(emittance_sum * stefan_boltzmann_W_per_m2_K4 * length_m * length_m / conductance *
                  (base_K * base_K * base_K));
  }

  /// Net heat from the base into the fin in watts: emission less what the faces absorb. With its exact derivative.
  template <class Scalar>
  Scalar flow(const Scalar& base_K) const;

  /// The share of the heat that an isothermal fin at the base's temperature would reject.
  double efficiency(double base_K) const {
    const double ideal_W = emittance_sum * stefan_boltzmann_W_per_m2_K4 *
                           (fourth_power(base_K) - fourth_power(sink_K)) * width_m * length_m;
    return flow(base_K) / ideal_W;
  }
  double tip_K(double base_K) const { return base_K * fin_tip_ratio(zeta(base_K), fourth_power(sink_K / base_K)); }
};

/// (theta^5 - tip^5)/(5 (theta - tip)) - sink: the first integral over theta - tip, free of cancellation.
template <class Scalar>
Scalar fin_first_integral(const Scalar& theta, const Scalar& tip, const Scalar& sink_fourth) {
  const Scalar sum = fourth_power(theta) + theta * theta * theta * tip + theta * theta * tip * tip +
                     theta * tip * tip * tip + fourth_power(tip);
  return Scalar(0.2 * sum - sink_fourth);
}

/// The scaled distance from base to tip, less one: zero at the right tip temperature.
template <class Scalar>
Scalar fin_length_defect(const Scalar& tip, const Scalar& zeta, const Scalar& sink_fourth) {
  using std::sqrt;
  const FinQuadrature& quadrature = FinQuadrature::instance();
  const Scalar drop = 1.0 - tip;
  Scalar sum(0.0);
  // theta = tip + drop u^2 takes the root singularity at the tip out of the integrand.
  for (int i = 0; i < FinQuadrature::points; ++i) {
    const double u = quadrature.node[static_cast<std::size_t>(i)];
    const Scalar theta = tip + drop * (u * u);
    const Scalar ratio = drop / fin_first_integral(theta, tip, sink_fourth);
    sum += quadrature.weight[static_cast<std::size_t>(i)] * sqrt(ratio);
  }
  return Scalar(2.0 * sum / sqrt(Scalar(2.0 * zeta)) - 1.0);
}

template <class Scalar>
Scalar RadiatingFin::flow(const Scalar& base_K) const {
  using std::sqrt;
  constexpr double same_temperature = 1e-7;  // relative; here the linear fin is right to the last digit of the heat
  if (std::abs(value_of(base_K) - sink_K) < same_temperature * sink_K) {
    const double coefficient_W_per_m2_K = 4.0 * emittance_sum * stefan_boltzmann_W_per_m2_K4 * sink_K * sink_K * sink_K;
    const double root = std::sqrt(coefficient_W_per_m2_K * conductance_W_per_K.value(sink_K));
    return Scalar(width_m * root * std::tanh(length_m * coefficient_W_per_m2_K / root) * (base_K - sink_K));
  }
  const Scalar z = zeta(base_K);
  const Scalar sink_fourth = (sink_K * sink_K) * (sink_K * sink_K) / fourth_power(base_K);
  // A fin this short is as warm as its base but for its last digits, in which the tip would be looked for in vain; what
  // it falls short is 4/3 zeta, and the next term is below round-off.
  constexpr double short_fin = 1e-6;
  if (value_of(z) * (1.0 + value_of(sink_fourth)) < short_fin) {
    const double plan_m2 = width_m * length_m;
    const Scalar isothermal_W =
        emittance_sum * stefan_boltzmann_W_per_m2_K4 * plan_m2 * (fourth_power(base_K) - fourth_power(Scalar(sink_K)));
    return Scalar(isothermal_W * (1.0 - (4.0 / 3.0) * z));
  }
  const double tip_value = fin_tip_ratio(value_of(z), value_of(sink_fourth));
  const Scalar one(1.0);
  const auto heat = [&](const Scalar& tip) {
    const Scalar gradient_squared = Scalar(2.0 * z * (1.0 - tip) * fin_first_integral(one, tip, sink_fourth));
    const double sign = tip_value < 1.0 ? 1.0 : -1.0;
    const Scalar conductance = conductance_W_per_K.value(base_K);
    return Scalar(sign * width_m / length_m * conductance * base_K * sqrt(gradient_squared));
  };
  const bool endless = tip_value == std::sqrt(std::sqrt(value_of(sink_fourth)));
  if (endless) return heat(Scalar(sink_K / base_K));
  // One Newton step in the scalar gives the tip its exact derivatives: the implicit function theorem.
  const Dual<1> slope =
      fin_length_defect(variable<1>(tip_value, 0), Dual<1>(value_of(z)), Dual<1>(value_of(sink_fourth)));
  return heat(Scalar(tip_value) - fin_length_defect(Scalar(tip_value), z, sink_fourth) / slope.derivatives()[0]);
}

}  // namespace tileflux::network
