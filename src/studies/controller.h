#pragma once
/// What is switched during a run: the commanded beam, patterned loads, trips, thermostats; and what is reported as an
/// event.

#include <map>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "tileflux/solvers/system.h"
#include "tileflux/studies/run.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::studies {

/// What acts on the tile besides its own laws. As it stands: everything, as in a run.
struct ControlSettings {
  std::optional<tile::TimePattern> beam;  ///< none: as the case commands
  bool throttled = true;
  bool trips = true;
  bool thermostats = true;              ///< they switch; false: each heater is on for its mean share of the time
  bool battery = true;                  ///< it gives and takes; false: it rests
  std::vector<double> mean_load_share;  ///< per load the share of its power; negative or none: as its pattern says
  tile::Mode::Surroundings surroundings = tile::Mode::Surroundings::moving;
  double instant_s = 0.0;  ///< of surroundings that are held at one
  bool reports = true;     ///< whether what is only told is watched too
};

/// What controls remember: whether heaters are on, which limits have tripped and when they may come back.
struct ControlState {
  std::vector<double> heater_on;     ///< per heater 1 or 0
  std::vector<char> tripped;         ///< per limit
  std::vector<double> may_return_s;  ///< per limit
};

/// Sets the mode of a TileSystem over time. As a Watch it offers the zeros at which something may happen.
class Controller : public solvers::Watch {
 public:
  explicit Controller(tile::TileSystem& system, ControlSettings settings = {});

  /// Goes on with what controls remember from before. Call it before `set_commands`.
  void remember(ControlState state);
  ControlState state() const { return {heater_on_, tripped_, may_return_s_}; }

  /// Sets the mode that schedules, trips and thermostats ask for at this time. A thermostat that finds its sensor
  /// inside the dead band begins off.
  void set_commands(double time_s, std::span<const double> x);

  /// The next time at which a schedule switches or a tripped beam may come back.
  double next_edge_s(double time_s) const;

  /// Handles an arrival at an edge, or at zeros. Returns whether the mode changed, so that the solver must restart.
  bool take_edge(double time_s, std::span<const double> x);
  bool take_roots(double time_s, std::span<const double> x, std::span<const int> signs);

  /// Trips and switches thermostats where a threshold lies behind already, as after a switch that makes a massless node
  /// jump. Returns whether the mode changed.
  bool switch_where_due(double time_s, std::span<const double> x);

  /// Compares the conditions that are reported (limits, throttles, sun-limited) with before and notes what changed.
  void update_states(double time_s, std::span<const double> x);

  /// The node whose temperature decides a switch at a zero with these signs, or -1 where none of them switches.
  network::NodeId switching_node(std::span<const int> signs) const;

  std::vector<RunEvent> take_events() { return std::exchange(events_, {}); }
  long trips() const { return trips_; }
  /// The limit that is tripped and leaves the least of the drive, and what it leaves; 1 where none is.
  std::optional<std::size_t> hardest_trip() const;
  double trip_left() const;
  /// The timetable that commands the beam, if the case has a campaign.
  const std::optional<tile::Timetable>& timetable() const { return timetable_; }
  const std::optional<Diagnostic>& chatter() const { return chatter_; }

  // solvers::Watch
  int count() const override { return static_cast<int>(watched_.size()); }
  void evaluate(double time_s, std::span<const double> x, std::span<double> values) const override;

 private:
  enum class Kind {
    broken_above,
    broken_below,
    too_fast,
    too_far_apart,
    throttle,
    reset,
    sun_limit,
    heater_on,
    heater_off,
    battery_low,
    charging_window,
    discharging_window,
    needs_short
  };
  /// A watched quantity: temperature (or charge, or difference of two nodes) minus a threshold, a rate as a share of
  /// its limit less one, how far the battery is inside a window, or the power asked for minus the power to be had.
  struct Watched {
    Kind kind;
    std::size_t index;  ///< of a limit, difference, heater; of a battery's window its node
    double threshold;
    bool active = false;
  };
  /// A state with what watched quantities are made of: rates of the unknowns where a limit on a rate asks for them, the
  /// power chain where something on the bus is watched.
  struct Seen {
    std::span<const double> x;
    std::vector<double> rate;
    devices::ChainFlows<double> chain;
  };
  Seen see(double time_s, std::span<const double> x) const;
  double value_of(const Watched& watched, const Seen& seen) const;
  bool holds(const Watched& watched, double value) const;
  void set_active(Watched& watched, bool active, double time_s, std::span<const double> x);
  bool trip_if_due(double time_s, std::size_t limit, std::span<const double> x);
  bool reset_if_due(double time_s, std::span<const double> x);
  bool thermostat_switched(double time_s, std::size_t heater, bool on, std::span<const double> x);
  bool command_changed(double time_s);
  /// Sets drive and light as the open requests ask; returns whether there is to be a beam.
  bool command_by_timetable(double time_s, tile::Mode& mode) const;
  void note_chatter(double time_s, const std::string& who);

  void watch_for_report();
  std::optional<tile::TimePattern> beam_pattern() const;
  double next_sky_edge_s(double time_s) const;
  bool load_follows_pattern(std::size_t load) const;
  /// Whether a campaign commands the beam; not where a cycle of its own was asked for.
  bool follows_timetable() const;

  tile::TileSystem& system_;
  ControlSettings settings_;
  std::optional<tile::Timetable> timetable_;
  std::vector<Watched> watched_;
  std::vector<char> tripped_;         ///< per limit
  std::vector<double> may_return_s_;  ///< per limit
  std::vector<RunEvent> events_;
  std::vector<double> heater_on_;  ///< per heater 1 or 0
  std::map<std::string, std::vector<double>> switch_times_s_;
  double sky_edge_s_ = system_.next_sky_edge_s(0.0);
  long trips_ = 0;
  bool beam_known_ = false;
  std::optional<Diagnostic> chatter_;
};

}  // namespace tileflux::studies
