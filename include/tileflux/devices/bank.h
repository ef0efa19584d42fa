#pragma once
/// A bank of lasers: equal modules on one mount, their driver, and the fibre amplifier that they may pump.

#include <optional>
#include <variant>

#include "tileflux/devices/amplifier.h"
#include "tileflux/devices/laser.h"

namespace tileflux::devices {

/// Where the power of one bank goes, in watts. input + driver_loss comes from the bus; input = light + junction_heat +
/// fibre_heat + unabsorbed.
template <class Scalar>
struct BankFlows {
  Scalar input{0.0};  ///< into the lasers
  Scalar driver_loss{0.0};
  Scalar diode_light{0.0};  ///< light of the lasers themselves; with an amplifier the pump
  Scalar light{0.0};        ///< what leaves the bank towards the optics
  Scalar junction_heat{0.0};
  Scalar fibre_heat{0.0};      ///< in the amplifier's fibre
  Scalar quantum_defect{0.0};  ///< the part of fibre_heat that no amplifier can avoid
  Scalar unabsorbed{0.0};      ///< pump light that the fibre does not take
};

/// Equal modules that share one mount and one junction temperature.
struct LaserBank {
  int modules = 1;  ///< those that work; 0: the bank is dead
  std::variant<DiodeLaw, EfficiencyLaw> law;
  double driver_loss = 0.0;  ///< as a share of the lasers' electrical input
  std::optional<FibreAmplifierLaw> amplifier;
  double remaining = 1.0;  ///< factor on the light by wear; 0..1
  /// Factor on the light of a laser that is better or worse than its law; no laser gives more than it takes. >= 0
  double light_factor = 1.0;

  /// Electrical input of the whole bank at a drive share (of rated current, or of rated input for a table).
  template <class Scalar>
  Scalar demand_W(const Scalar& drive_share) const {
    if (const auto* diode = std::get_if<DiodeLaw>(&law)) {
      return Scalar(double(modules) * diode->electrical_W(Scalar(drive_share * diode->rated_current_A)));
    }
    return Scalar(double(modules) * std::get<EfficiencyLaw>(law).rated_input_W * drive_share);
  }

  /// Light of the lasers for the bank's electrical input.
  template <class Scalar>
  Scalar light_W(const Scalar& input_W, const Scalar& junction_K) const {
    if (modules == 0) return Scalar(0.0);
    const Scalar one_W = input_W / double(modules);
    Scalar light(0.0);
    if (const auto* diode = std::get_if<DiodeLaw>(&law)) {
      light = double(modules) * remaining * diode->light_W(diode->current_A(one_W), junction_K);
    } else {
      light = double(modules) * remaining * std::get<EfficiencyLaw>(law).light_W(one_W, junction_K);
    }
    return light_factor == 1.0 ? light : smaller(Scalar(light_factor * light), input_W);
  }

  /// The drive share at which the bank gives this light at its junction temperature, 1 where that is more than the
  /// rating allows: the inverse of what `flows` gives for demand_W(drive).
  template <class Scalar>
  Scalar drive_for_light(const Scalar& wanted_W, const Scalar& junction_K) const {
    const double factor = modules * remaining * light_factor;
    if (factor <= 0.0) return Scalar(1.0);
    Scalar one_W = wanted_W / factor;
    if (amplifier) {
      const Scalar pump_W = amplifier->pump_for_signal_W(wanted_W, junction_K);
      one_W = pump_W / factor;
    }
    if (const auto* diode = std::get_if<DiodeLaw>(&law)) {
      return smaller(Scalar(1.0), Scalar(diode->current_for_light_A(one_W, junction_K) / diode->rated_current_A));
    }
    return std::get<EfficiencyLaw>(law).drive_for_light(one_W, junction_K);
  }

  template <class Scalar>
  BankFlows<Scalar> flows(const Scalar& input_W, const Scalar& junction_K) const {
    BankFlows<Scalar> flows;
    flows.input = input_W;
    flows.driver_loss = driver_loss * input_W;
    flows.diode_light = light_W(input_W, junction_K);
    flows.junction_heat = input_W - flows.diode_light;
    flows.light = flows.diode_light;
    if (!amplifier) return flows;
    const AmplifierFlows<Scalar> stage = amplifier->flows(flows.diode_light, junction_K);
    flows.light = stage.signal;
    flows.fibre_heat = stage.fibre_heat;
    flows.quantum_defect = stage.quantum_defect;
    flows.unabsorbed = stage.unabsorbed;
    return flows;
  }
};

}  // namespace tileflux::devices
