#pragma once
/// Power conditioning between cells and loads: a loss curve, never a flat efficiency.

#include <cmath>

#include "tileflux/base/dual.h"

namespace tileflux::devices {

/// loss(P) = standby + proportional P + quadratic P^2, with P the power delivered (check rows LAS-62).
struct ConditioningLaw {
  double standby_W = 0.0;
  double proportional = 0.0;
  double quadratic_per_W = 0.0;

  /// The loss in watts for a delivered power in watts.
  template <class Scalar>
  Scalar loss_W(const Scalar& delivered_W) const {
    return Scalar(standby_W + delivered_W * (proportional + quadratic_per_W * delivered_W));
  }

  /// The largest power that can be delivered from what is available: the root of P + loss(P) = available, or 0 where
  /// the standby loss alone eats it up.
  template <class Scalar>
  Scalar largest_delivered_W(const Scalar& available_W) const {
    using std::sqrt;
    const Scalar surplus = available_W - standby_W;
    if (value_of(surplus) <= 0.0) return Scalar(0.0);
    const double linear = 1.0 + proportional;
    // The form with the root below the line keeps its digits when the quadratic term is small or absent.
    const Scalar root = sqrt(Scalar(linear * linear + 4.0 * quadratic_per_W * surplus));
    return Scalar(2.0 * surplus / (linear + root));
  }
};

}  // namespace tileflux::devices
