#pragma once
/// What one would write without the library: the reference problem given to CVODE and KINSOL.

#include <vector>

#include "bench/problem.h"

namespace tileflux::bench {

enum class Linear { dense_differenced, sparse_exact };

/// One transient: the states at 0, sample_every_s, ... horizon_s, what it cost, and how often the throttle entered or left.
struct Trace {
  std::vector<double> samples;  ///< `nodes` temperatures per instant
  double seconds = 0.0;
  long steps = 0;
  long throttle_events = 0;
};

/// CVODE, BDF, stopped and begun again at every switch and at every throttle event (found by its root-finder).
Trace cvode_trace(const Throttle& throttle, Linear linear, double relative, double absolute);

/// Repeats one steady solve from 290 K, with every object of KINSOL kept, for lasers between 20 and 50 % of their rating.
/// Returns seconds per state; `last` is the last solution.
double kinsol_seconds_per_state(int count, std::vector<double>& last);

/// The share of the rating of the lasers in the k-th steady state.
inline double steady_share(int k) { return 0.2 + 0.3 * ((k * 37) % 101) / 100.0; }

double seconds_now();

}  // namespace tileflux::bench
