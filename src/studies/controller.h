#pragma once
/// What is switched during a run: the commanded beam, patterned loads, trips; and what is reported as an event.

#include <optional>
#include <span>
#include <vector>

#include "tileflux/solvers/system.h"
#include "tileflux/studies/run.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::studies {

/// Sets the mode of a TileSystem over time. As a Watch it offers the zeros at which something may happen.
class Controller : public solvers::Watch {
 public:
  explicit Controller(tile::TileSystem& system);

  /// Sets the mode that schedules and trips ask for at this time.
  void set_commands(double time_s);

  /// The next time at which a schedule switches or a tripped beam may come back.
  double next_edge_s(double time_s) const;

  /// Handles an arrival at an edge, or at zeros. Returns whether the mode changed, so that the solver must restart.
  bool take_edge(double time_s, std::span<const double> x);
  bool take_roots(double time_s, std::span<const double> x, std::span<const int> signs);

  /// Trips the beam where a limit that trips is broken already, as after a switch that makes a massless node jump.
  bool trip_where_broken(double time_s, std::span<const double> x);

  /// Compares the conditions that are reported (limits, throttles, sun-limited) with before and notes what changed.
  void update_states(double time_s, std::span<const double> x);

  std::vector<RunEvent> take_events() { return std::exchange(events_, {}); }
  long trips() const { return trips_; }
  const std::optional<Diagnostic>& chatter() const { return chatter_; }

  // solvers::Watch
  int count() const override { return static_cast<int>(watched_.size()); }
  void evaluate(double time_s, std::span<const double> x, std::span<double> values) const override;

 private:
  enum class Kind { broken_above, broken_below, throttle, reset, sun_limit };
  /// A watched quantity: temperature minus a threshold, or (sun limit) the power asked for minus the power to be had.
  struct Watched {
    Kind kind;
    std::size_t limit;  ///< among the system's limits
    double threshold_K;
    bool active = false;
  };
  double value_of(const Watched& watched, std::span<const double> x) const;
  bool holds(const Watched& watched, double value) const;
  void set_active(Watched& watched, bool active, double time_s, std::span<const double> x);
  bool trip_if_due(double time_s, std::size_t limit, std::span<const double> x);
  bool reset_if_due(double time_s, std::span<const double> x);
  bool command_changed(double time_s);
  void note_chatter(double time_s, std::size_t limit);

  tile::TileSystem& system_;
  std::vector<Watched> watched_;
  std::vector<char> tripped_;         ///< per limit
  std::vector<double> may_return_s_;  ///< per limit
  std::vector<RunEvent> events_;
  std::vector<double> trip_times_s_;
  long trips_ = 0;
  bool beam_known_ = false;
  std::optional<Diagnostic> chatter_;
};

}  // namespace tileflux::studies
