#pragma once
/// The transient of a case: series, events, extremes and the energy books over the whole time.

#include <functional>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "tileflux/solvers/transient.h"
#include "tileflux/studies/limits.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::studies {

/// One of the scalar series that go with the temperatures.
struct SeriesColumn {
  std::string_view name;  ///< with its unit: `light_out_W`
  std::string_view unit;  ///< SI, as in the CF conventions
  std::string_view meaning;
};

/// The scalar series of every run, in the order of RunRow::scalars.
std::span<const SeriesColumn> series_columns();

/// The state at one output time; at a switch, just after it.
struct RunRow {
  double time_s = 0.0;
  std::span<const double> temperature_K;  ///< per node of the network, fixed ones included
  std::span<const double> scalars;        ///< per series_columns()
};

/// Something that happened at a located time.
struct RunEvent {
  double time_s = 0.0;
  std::string_view what;  ///< beam_on, beam_off, limit_broken, limit_met, throttle_begins, throttle_ends, trip,
                          ///< trip_reset, sun_limited_begins, sun_limited_ends, heater_on, heater_off,
                          ///< battery_low, battery_recovers, charging_barred,
                          ///< charging_allowed, discharging_barred, discharging_allowed, bus_short_begins,
                          ///< bus_short_ends, failure
  std::string where;      ///< node, `rate of NODE`, `difference of NODE - NODE`, heater, what failed, `beam`, `battery`
  double temperature_K = 0.0;  ///< of the node; 0 where there is none
};

/// Takes rows and events as they come. Exceptions it throws end the run.
class RunSink {
 public:
  virtual ~RunSink() = default;
  virtual void row(const RunRow& row) = 0;
  virtual void event(const RunEvent& event) = 0;
};

struct RunOptions {
  /// Asked after every step; true ends the run there with what is complete.
  std::function<bool()> stop_requested;
  /// Told now and then how far the run is, 0..1.
  std::function<void(double)> progress;
  /// Shown every step, with the system in the mode of the step.
  std::function<void(const solvers::Step&)> observer;
};

/// Energies over the run, in joules: incoming = light + to_space + to_fixed + to_battery + stored + residual.
struct EnergyBooks {
  double incoming_J = 0.0;
  double light_J = 0.0;
  double to_space_J = 0.0;
  double to_fixed_J = 0.0;
  double stored_J = 0.0;
  double to_battery_J = 0.0;  ///< negative: the battery ends with less than it began with
  double drawn_J = 0.0;       ///< electricity taken from the cells
  double available_J = 0.0;   ///< electricity that could have been taken

  double residual_J() const { return incoming_J - light_J - to_space_J - to_fixed_J - to_battery_J - stored_J; }
  /// |residual| over the largest of the terms.
  double relative() const;
};

/// A transient must close to this share of what passed through.
inline constexpr double transient_ledger_bound = 1e-6;

/// What a heater did over the run.
struct HeaterUse {
  std::string name;
  double duty = 0.0;  ///< share of the time that it was on
  long switched_on = 0;
  double power_W = 0.0;  ///< while on
};

/// What the battery did over the run, in percent of its capacity.
struct BatteryUse {
  double begin_percent = 0.0, end_percent = 0.0;
  double least_percent = 0.0, most_percent = 0.0;
};

/// How much a node of the emitting path moves while the beam is on: what shifts the phase of the light.
struct EmittingNode {
  std::string node;
  double lowest_K = 0.0, highest_K = 0.0;
  double fastest_K_per_s = 0.0;
};

/// What a state of ageing did over the run.
struct AgeState {
  std::string name;  ///< as in tile/ageing.h
  double begin = 0.0, end = 0.0;
};

enum class RunOutcome { complete, interrupted };

struct RunResult {
  RunOutcome outcome = RunOutcome::complete;
  double end_s = 0.0;
  std::vector<double> final_x;
  EnergyBooks books;
  double error_K = 0.0;                            ///< the books' residual spread over the tile's heat capacity
  double beam_s = 0.0;                             ///< time with the beam on
  double mean_light_W = 0.0;                       ///< over the whole time
  double most_light_W = 0.0, least_light_W = 0.0;  ///< while the beam was on, at rows and switches
  std::vector<TemperatureRange> ranges;            ///< per node of the network
  std::vector<Margin> margins;                     ///< over the run, the battery's charge last
  std::optional<Margin> binding, next;
  std::vector<RunEvent> events;  ///< at most `most_kept_events`; the sink gets all
  long event_count = 0;
  std::map<std::string_view, long> event_counts;  ///< by what happened
  long trips = 0;
  double heaters_J = 0.0;
  std::vector<HeaterUse> heaters;
  std::optional<BatteryUse> battery;
  std::vector<AgeState> ageing;
  std::vector<EmittingNode> emitting_path;  ///< empty if the beam was never on
  solvers::TransientCounts counts;
  tile::Accuracy accuracy;       ///< as the case asks for
  tile::Accuracy used_accuracy;  ///< as the solver was told
  std::vector<Diagnostic> warnings;

  bool limits_met() const { return !binding || binding->margin >= 0.0; }
};

inline constexpr std::size_t most_kept_events = 10'000;

/// The state at which the case says a transient starts (consistent with the beam off). Throws Error.
std::vector<double> starting_state(tile::TileSystem& system);

/// Integrates the case over its duration. Throws Error: value_out_of_range for more than a million switches,
/// transient_failed, ledger_open, and what starting_state throws.
RunResult run(tile::TileSystem& system, RunSink* sink, const RunOptions& options = {});

}  // namespace tileflux::studies
