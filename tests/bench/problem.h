#pragma once
/// The reference problem of the benchmark as plain numbers: 24 thermal nodes and a battery's charge as ordinary differential equations, with the sun, the
/// beam and a throttle that switch. It is what an engineer would write by hand for a general solver, and shares no code with the
/// library. reference_tile.yaml is the same problem as a case, scipy_solvers.py the same for SciPy.

#include <array>
#include <vector>

namespace tileflux::bench {

inline constexpr int nodes = 24;
inline constexpr int states = nodes + 1;  ///< the last one is the charge in percent
inline constexpr double horizon_s = 86'400.0;
inline constexpr double sample_every_s = 100.0;

enum Node { cover_a, cover_b, cells_a, cells_b, front_a, front_b, core_a, core_b, back_a, back_b, converter, battery, junction_1, mount_1,
            junction_2, mount_2, plate, vapour, segment_1 };

/// What switches from outside and by the throttle.
struct Commands {
  bool sun = true;
  bool beam = true;
  bool throttled = false;
};

/// The three variants differ in what the throttle does: enters above `high_K` of the warmer junction, leaves below `low_K`.
struct Throttle {
  double high_K = 333.15;
  double low_K = 321.15;
};
inline constexpr Throttle hysteresis_R{333.15, 321.15}, never_R0{400.0, 321.15}, chatter_Rc{333.15, 328.15};

/// Laser power of one module in watts under the commands.
inline double laser_W(const Commands& commands) { return commands.beam ? (commands.throttled ? 100.0 : 200.0) : 0.0; }

/// dy/dt in K/s and %/s; y holds `states` entries.
void rates(const Commands& commands, const double* y, double* out);

/// Compressed columns of d(rates)/dy; the diagonal is always there.
struct Sparsity {
  std::vector<int> column_start, row;
};
const Sparsity& sparsity();

/// d(rates)/dy at the positions of sparsity().
void jacobian(const Commands& commands, const double* y, double* values);

/// max(T of both junctions) - threshold: what is watched, above zero where the throttle enters or (`throttled`) stays.
double above_threshold_K(const Throttle& throttle, const Commands& commands, const double* y);

/// The next instant after `time_s` at which sun or beam switch, and the commands that hold from an instant on.
double next_switch_s(double time_s);
Commands commanded_at(double time_s, bool throttled);

std::array<double, states> start_state();

/// Heat left over per node with the lasers at `share` of 200 W each, sun on and the battery at rest (full and not needed): the
/// steady problem. T holds `nodes` entries.
void steady_heat(double share, const double* T, double* out_W);
void steady_jacobian(double share, const double* T, double* values);  ///< at the positions of steady_sparsity()
const Sparsity& steady_sparsity();

}  // namespace tileflux::bench
