#pragma once
/// A fibre amplifier or laser pumped by diodes: signal light, and where the rest of the pump ends.

#include <cmath>

#include "tileflux/base/dual.h"
#include "tileflux/base/property_table.h"

namespace tileflux::devices {

/// Every power of the stage, in watts, none below zero. Identities: pump = absorbed + unabsorbed;
/// absorbed = signal + quantum_defect + other_heat, so that pump = signal + fibre_heat + unabsorbed.
template <class Scalar>
struct AmplifierFlows {
  Scalar pump{0.0}, absorbed{0.0}, unabsorbed{0.0}, signal{0.0};
  Scalar quantum_defect{
      0.0};                ///< what the signal's photons have less than the pump's that made them: heat in the fibre
  Scalar other_heat{0.0};  ///< the rest of what is absorbed: fluorescence taken up, threshold, background loss
  Scalar fibre_heat{0.0};  ///< quantum_defect + other_heat
  Scalar pump_nm{0.0};     ///< wavelength of the pump
};

/// The pump's wavelength follows its diodes' junctions, lambda = lambda_ref + shift (T_j - T_ref); the fibre absorbs
/// the share 1 - exp(-a(lambda) L) of it (Beer-Lambert), and of what it absorbs above a threshold a constant share
/// becomes signal. No pump photon gives more than one signal photon: that share is held at lambda_pump / lambda_signal
/// (check rows LAS-41, LAS-42).
struct FibreAmplifierLaw {
  double pump_nm = 976.0;  ///< at the reference junction temperature
  double reference_K = 298.15;
  double shift_nm_per_K = 0.3;
  /// a over the wavelength in nm, in 1/m. Its ends are held: whoever uses the law asks `covers` and tells.
  PropertyTable absorption_per_m;
  double length_m = 0.0;
  double signal_nm = 1064.0;
  double slope_efficiency = 0.0;  ///< signal over absorbed pump above threshold, 0 to 1
  double threshold_W = 0.0;       ///< absorbed pump without signal

  template <class Scalar>
  Scalar pump_wavelength_nm(const Scalar& junction_K) const {
    return Scalar(pump_nm + shift_nm_per_K * (junction_K - reference_K));
  }

  /// Whether the absorption is known at the wavelength that the pump has at this junction temperature.
  bool covers(double junction_K) const { return absorption_per_m.covers(pump_wavelength_nm(junction_K)); }

  /// The share of the pump that the fibre absorbs.
  template <class Scalar>
  Scalar absorbed_share(const Scalar& junction_K) const {
    using std::exp;
    return Scalar(1.0 - exp(Scalar(-length_m * absorption_per_m.value(pump_wavelength_nm(junction_K)))));
  }

  /// The most signal for a watt of absorbed pump: a photon for a photon, and never more than the watt.
  template <class Scalar>
  Scalar quantum_limit(const Scalar& junction_K) const {
    return smaller(Scalar(1.0), Scalar(pump_wavelength_nm(junction_K) / signal_nm));
  }

  /// The pump light that gives this signal: the inverse of `flows`. Endless where the fibre absorbs nothing.
  template <class Scalar>
  Scalar pump_for_signal_W(const Scalar& signal_W, const Scalar& junction_K) const {
    const Scalar efficiency = smaller(Scalar(slope_efficiency), quantum_limit(junction_K));
    return Scalar((signal_W / efficiency + threshold_W) / absorbed_share(junction_K));
  }

  /// The powers of the stage for pump light in watts from diodes with this junction temperature.
  template <class Scalar>
  AmplifierFlows<Scalar> flows(const Scalar& pump_W, const Scalar& junction_K) const {
    AmplifierFlows<Scalar> flows;
    flows.pump = pump_W;
    flows.pump_nm = pump_wavelength_nm(junction_K);
    flows.absorbed = pump_W * absorbed_share(junction_K);
    flows.unabsorbed = flows.pump - flows.absorbed;
    const Scalar limit = quantum_limit(junction_K);
    const Scalar efficiency = smaller(Scalar(slope_efficiency), limit);
    flows.signal = larger(Scalar(0.0), Scalar(efficiency * (flows.absorbed - threshold_W)));
    flows.quantum_defect = flows.signal * (1.0 / limit - 1.0);
    flows.fibre_heat = flows.absorbed - flows.signal;
    flows.other_heat = flows.fibre_heat - flows.quantum_defect;
    return flows;
  }
};

}  // namespace tileflux::devices
