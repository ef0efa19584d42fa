#pragma once
/// Where a diode laser's light ends to grow with current, and where no steady junction is left, because it heats
/// itself.

#include <cmath>
#include <optional>

#include "tileflux/base/dual.h"
#include "tileflux/devices/laser.h"

namespace tileflux::devices {

/// A junction hotter than this is not looked for: every law of this module has long lost its meaning there.
inline constexpr double hottest_junction_K = 2000.0;

/// One point of the curve of light over current of a module on its mount.
struct OperatingPoint {
  double current_A = 0.0;
  double light_W = 0.0;
  double junction_K = 0.0;
};

/// A diode module on a mount held at one temperature: T_j = T_mount + R_th Q, Q = V I - light(I, T_j). Along the curve
/// of steady states, with L_I, L_T the derivatives of the light and g = -R_th L_T the loop gain,
///   d(light)/dI = (L_I - g V_d) / (1 - g),   V_d = d(V I)/dI:
/// the light rolls over where g = L_I / V_d, below 1, and runs away where g = 1; so roll-over comes first. Current and
/// light are both closed forms of T_j (the waste heat rises with current as the slope stays below V0), so that both
/// points are maxima over T_j, found from exact derivatives. Needs R_th > 0 for either point to exist.
class SelfHeatedDiode {
 public:
  SelfHeatedDiode(const DiodeLaw& law, double mount_K, double resistance_K_per_W)
      : law_(law), mount_K_(mount_K), resistance_K_per_W_(resistance_K_per_W) {
    find_lasing();
    // A slope of all the voltage and no resistance: above threshold no current adds heat, and the curve has no end.
    const bool ends = law_.series_resistance_ohm > 0.0 || law_.slope_at(lasing_from_K_) < law_.turn_on_V;
    if (!lases_ || !ends || !(resistance_K_per_W_ > 0.0)) return;
    roll_over_K_ = first_fall(lasing_from_K_, lasing_to_K_, [this](const Dual<1>& T) { return light_at(T); });
    const double from_K = roll_over_K_.value_or(lasing_from_K_);
    runaway_K_ = first_fall(from_K, lasing_to_K_, [this](const Dual<1>& T) { return current_at(T); });
  }

  /// Whether there is a current with light at all.
  bool lases() const { return lases_; }

  /// The most light that any current gives. Nothing where it never lases or still grows at the hottest junction.
  std::optional<OperatingPoint> roll_over() const { return point(roll_over_K_); }

  /// The largest current with a steady junction that lases: the loop gain is 1 there. Nothing where light fades out
  /// without running away (or only beyond the hottest junction).
  std::optional<OperatingPoint> runaway() const { return point(runaway_K_); }

  /// The steady state at a current; nothing where that is beyond the runaway or the junction hotter than the hottest.
  std::optional<OperatingPoint> at_current(double current_A) const {
    if (!(resistance_K_per_W_ > 0.0)) return OperatingPoint{current_A, law_.light_W(current_A, mount_K_), mount_K_};
    double low = mount_K_, high = runaway_K_.value_or(hottest_junction_K);
    if (current_at(high) < current_A) return std::nullopt;
    for (int halving = 0; halving < halvings; ++halving) {
      const double middle = 0.5 * (low + high);
      (current_at(middle) < current_A ? low : high) = middle;
    }
    return OperatingPoint{current_A, law_.light_W(current_A, high), high};
  }

  /// dQ/dT_j R_th at a current and junction temperature; 0 without light.
  double loop_gain(double current_A, double junction_K) const {
    const Dual<1> light = law_.light_W(Dual<1>(current_A), variable<1>(junction_K, 0));
    return -resistance_K_per_W_ * light.derivatives()[0];
  }

  /// The current whose waste heat brings the junction to this temperature, at or above the mount's: the root of
  /// Rs I^2 + (V0 - slope) I + slope I_th = Q above threshold, of V I = Q below.
  template <class Scalar>
  Scalar current_at(const Scalar& junction_K) const {
    using std::sqrt;
    const Scalar waste_W = (junction_K - mount_K_) / resistance_K_per_W_;
    const Scalar threshold_A = law_.threshold_at(junction_K);
    if (value_of(waste_W) <= value_of(law_.electrical_W(threshold_A))) return law_.current_A(waste_W);
    const Scalar slope = law_.slope_at(junction_K);
    const Scalar linear_V = law_.turn_on_V - slope;
    const Scalar heat_W = waste_W - slope * threshold_A;
    const Scalar root = sqrt(Scalar(linear_V * linear_V + 4.0 * law_.series_resistance_ohm * heat_W));
    return Scalar(2.0 * heat_W / (linear_V + root));
  }

  template <class Scalar>
  Scalar light_at(const Scalar& junction_K) const {
    return law_.light_W(current_at(junction_K), junction_K);
  }

 private:
  /// Halvings of at most 2000 K down to the spacing of doubles.
  static constexpr int halvings = 60;
  /// Parts of the lasing range that are looked through for the first fall.
  static constexpr int parts = 200;

  /// Heat at the junction less what the power at threshold makes: above zero where it lases. Concave over T_j.
  double margin_W(double junction_K) const {
    return (junction_K - mount_K_) / resistance_K_per_W_ - law_.electrical_W(law_.threshold_at(junction_K));
  }
  double margin_slope(double junction_K) const {
    const double threshold_A = law_.threshold_at(junction_K);
    const double voltage = law_.turn_on_V + 2.0 * law_.series_resistance_ohm * threshold_A;
    return 1.0 / resistance_K_per_W_ - voltage * threshold_A / law_.threshold_T0_K;
  }

  /// The temperature at which a test that holds at `low` stops to hold; `high` where it holds there too.
  template <class Test>
  static double last(double low, double high, Test&& holds) {
    if (holds(high)) return high;
    for (int halving = 0; halving < halvings; ++halving) {
      const double middle = 0.5 * (low + high);
      (holds(middle) ? low : high) = middle;
    }
    return low;
  }

  void find_lasing() {
    if (!(resistance_K_per_W_ > 0.0)) {
      lases_ = law_.slope_W_per_A > 0.0;
      return;
    }
    const double best_K = last(mount_K_, hottest_junction_K, [this](double T) { return margin_slope(T) > 0.0; });
    lases_ = margin_W(best_K) > 0.0 && law_.slope_W_per_A > 0.0;
    lasing_from_K_ = last(mount_K_, best_K, [this](double T) { return margin_W(T) <= 0.0; });
    lasing_to_K_ = last(best_K, hottest_junction_K, [this](double T) { return margin_W(T) > 0.0; });
  }

  /// The first maximum of a function of the junction temperature inside a range.
  template <class Function>
  static std::optional<double> first_fall(double from_K, double to_K, Function&& f) {
    const auto rises = [&](double T) { return f(variable<1>(T, 0)).derivatives()[0] > 0.0; };
    double low = from_K;
    for (int part = 1; part <= parts; ++part) {
      const double high = from_K + (to_K - from_K) * part / parts;
      if (!rises(high)) return last(low, high, rises);
      low = high;
    }
    return std::nullopt;
  }

  std::optional<OperatingPoint> point(const std::optional<double>& junction_K) const {
    if (!junction_K) return std::nullopt;
    return OperatingPoint{current_at(*junction_K), light_at(*junction_K), *junction_K};
  }

  DiodeLaw law_;
  double mount_K_, resistance_K_per_W_;
  bool lases_ = false;
  double lasing_from_K_ = 0.0, lasing_to_K_ = 0.0;
  std::optional<double> roll_over_K_, runaway_K_;
};

}  // namespace tileflux::devices
