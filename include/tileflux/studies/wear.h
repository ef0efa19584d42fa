#pragma once
/// Years of use in a few cycles: the states of ageing carried forward by what one repeating cycle does to them.

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "tileflux/studies/limits.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::studies {

/// The tile at one time of its life.
struct WearRow {
  double time_s = 0.0;
  std::vector<double> age;        ///< in the order of WearResult::names
  double mean_light_W = 0.0;      ///< over a cycle with the tile as it is then
  double light_J = 0.0;           ///< delivered up to this time
  std::optional<Margin> binding;  ///< over that cycle
};

struct WearResult {
  std::vector<std::string> names;
  std::vector<WearRow> rows;   ///< the beginning, and after every step
  double light_J = 0.0;        ///< over the whole time
  double light_error_J = 0.0;  ///< estimated from the two orders of each step
  int cycles = 0;              ///< cycle evaluations
  bool interrupted = false;
  std::vector<Diagnostic> warnings;

  bool limits_met() const;
};

/// Averaging over the fast cycle (Sanders, Verhulst & Murdock 2007, Averaging Methods in Nonlinear Dynamical Systems):
/// within a step the states of ageing follow their mean rates over the periodic state, throttle included, by Heun's
/// rule. Without a beam pattern the mean is that of the steady state, in which the battery rests. Trips are left out,
/// thermostats are averaged. Failures count from the beginning of the step after them.
/// Throws Error: key_missing without `ageing`, and what the cycles throw.
WearResult wear(const tile::Case& description, double duration_s, double step_s,
                const std::function<bool(double share)>& go_on = {});

}  // namespace tileflux::studies
