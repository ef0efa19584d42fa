#pragma once
/// A battery at its bus: what it takes, what it gives, what it keeps and what it turns to heat.

#include <cmath>
#include <optional>

#include "tileflux/base/dual.h"

namespace tileflux::devices {

/// 0 below zero, 1 above one, x^2 (3 - 2x) between: continuous with its first derivative.
template <class Scalar>
Scalar smooth_step(const Scalar& x) {
  const Scalar held = larger(Scalar(0.0), smaller(Scalar(1.0), x));
  return Scalar(held * held * (3.0 - 2.0 * held));
}

/// Temperatures between which something is allowed. Nothing outside, all of it at least `ramp_K` inside, linear
/// between, so that it never jumps.
struct TemperatureWindow {
  double from_K = 0.0;
  double to_K = 1e9;
  double ramp_K = 2.0;  ///< above zero

  template <class Scalar>
  Scalar factor(const Scalar& temperature_K) const {
    const Scalar inside = smaller(Scalar(temperature_K - from_K), Scalar(to_K - temperature_K));
    return larger(Scalar(0.0), smaller(Scalar(1.0), Scalar(inside / ramp_K)));
  }
};

/// A battery of constant voltage V and resistance R between its terminals and its store. `bus_W` is the power at its
/// terminals, positive into the battery; `charge_percent` is what the store holds, of capacity_J. Current = bus / V, so
/// the loss is I^2 R = (R/V^2) bus^2 either way, and
///   bus = stored rate + ohmic loss + self-discharge:
/// a charge keeps less than it takes, and a discharge takes more from the store than arrives at the bus. The state's
/// equation is capacity_J / 100 d(charge)/dt = stored_W, the heat of its node is heat_W.
/// Acceptance and derating are smooth in charge and continuous in temperature: no event is needed at full or at empty.
struct BatteryLaw {
  double capacity_J = 0.0;
  double resistance_loss_per_W = 0.0;  ///< R/V^2
  double self_discharge_per_s = 0.0;   ///< share of the charge that turns to heat in a second, always
  double most_charge_W = 0.0;          ///< at the bus; below peak_charge_W
  double most_discharge_W = 0.0;       ///< at the bus, a positive number
  double full_percent = 100.0;         ///< nothing is accepted from here on
  double taper_percent = 5.0;          ///< acceptance falls over this width below full; above zero
  double least_percent = 0.0;          ///< 100 - allowed depth of discharge: nothing is given from here down
  double derating_percent = 5.0;       ///< what is given falls over this width above the least; above zero
  TemperatureWindow charge_window;     ///< of the battery's own temperature
  TemperatureWindow discharge_window;

  /// Heat of the resistance.
  template <class Scalar>
  Scalar loss_W(const Scalar& bus_W) const {
    return Scalar(resistance_loss_per_W * bus_W * bus_W);
  }

  template <class Scalar>
  Scalar self_discharge_W(const Scalar& charge_percent) const {
    return Scalar(self_discharge_per_s * capacity_J / 100.0 * charge_percent);
  }

  template <class Scalar>
  Scalar heat_W(const Scalar& bus_W, const Scalar& charge_percent) const {
    return Scalar(loss_W(bus_W) + self_discharge_W(charge_percent));
  }

  /// Rate at which the store fills, negative where it empties. bus = stored + heat.
  template <class Scalar>
  Scalar stored_W(const Scalar& bus_W, const Scalar& charge_percent) const {
    return Scalar(bus_W - heat_W(bus_W, charge_percent));
  }

  /// The largest power that the battery takes from the bus, zero or more.
  template <class Scalar>
  Scalar largest_charge_W(const Scalar& charge_percent, const Scalar& temperature_K) const {
    const Scalar taper = smooth_step(Scalar((full_percent - charge_percent) / taper_percent));
    return Scalar(most_charge_W * taper * charge_window.factor(temperature_K));
  }

  /// What the battery takes of a surplus on the bus: near full a falling share of it.
  template <class Scalar>
  Scalar charging_W(const Scalar& surplus_W, const Scalar& charge_percent, const Scalar& temperature_K) const {
    const Scalar taper = smooth_step(Scalar((full_percent - charge_percent) / taper_percent));
    return Scalar(smaller(surplus_W, Scalar(most_charge_W)) * taper * charge_window.factor(temperature_K));
  }

  /// The largest power that the battery gives to the bus, zero or more: bus_W lies between minus this and the above.
  template <class Scalar>
  Scalar largest_discharge_W(const Scalar& charge_percent, const Scalar& temperature_K) const {
    const Scalar derating = smooth_step(Scalar((charge_percent - least_percent) / derating_percent));
    return Scalar(most_discharge_W * derating * discharge_window.factor(temperature_K));
  }

  /// The charge power above which more power stores less, 1 / (2 R/V^2): the model ends well below it.
  double peak_charge_W() const { return 0.5 / resistance_loss_per_W; }

  /// Energy out over energy in, both at the bus with the same power, self-discharge not counted:
  /// (1 - (R/V^2) P) / (1 + (R/V^2) P).
  double round_trip_efficiency(double power_W) const {
    const double share = resistance_loss_per_W * std::abs(power_W);
    return (1.0 - share) / (1.0 + share);
  }
};

/// The resistance_loss_per_W of a battery whose round trip at this power has this efficiency (0 to 1).
inline double resistance_loss_for(double round_trip_efficiency, double power_W) {
  return (1.0 - round_trip_efficiency) / (1.0 + round_trip_efficiency) / power_W;
}

/// The capacity that gives `delivered_W` to the bus for a time and loses no more than a depth of discharge (0 to 1) by
/// it (check row LAS-70).
inline double capacity_needed_J(const BatteryLaw& law, double delivered_W, double duration_s, double depth) {
  return (delivered_W + law.loss_W(delivered_W)) * duration_s / depth;
}

/// The steady bus power that in `sunlit_s` puts back what `delivered_W` over `dark_s` took from the store: the lower
/// root of P - (R/V^2) P^2 = taken / sunlit_s (check row LAS-75). Nothing where that is more than any power can store.
inline std::optional<double> recharge_W(const BatteryLaw& law, double delivered_W, double dark_s, double sunlit_s) {
  const double wanted_W = (delivered_W + law.loss_W(delivered_W)) * dark_s / sunlit_s;
  const double under_root = 1.0 - 4.0 * law.resistance_loss_per_W * wanted_W;
  if (under_root < 0.0) return std::nullopt;
  return 2.0 * wanted_W / (1.0 + std::sqrt(under_root));
}

}  // namespace tileflux::devices
