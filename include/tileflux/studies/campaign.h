#pragma once
/// What a campaign delivers: every request of the case's timetable against what the tile gave, and why it did not give
/// the rest.

#include <array>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "tileflux/studies/run.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::studies {

/// Why light that was asked for was not given, in the order in which light is taken off.
enum class Refusal {
  keep_out,         ///< nothing may be emitted
  beyond_lasers,    ///< more than the lasers give at the most drive of the case
  trip,             ///< a limit has tripped the beam
  heat,             ///< a limit throttles the drive
  energy,           ///< cells and battery do not give what the lasers ask for
  higher_priority,  ///< others were served first
};
inline constexpr std::size_t refusals = 6;
std::string_view name_of(Refusal refusal);

/// A light counts as given if it is short by no more than this share: a wanted light is met to the tolerance of the
/// solver.
inline constexpr double light_tolerance = 1e-6;

/// Energies of light out of the tile, in joules: asked = delivered + the sum of refused. A request for a share of drive
/// asks for the light that this share would give at the temperatures of the moment with nothing in its way. Where
/// several are open and less is given than they ask for, a wanted light is served in the order of the timetable, and a
/// drive lights everybody in proportion to the share that was granted.
struct Served {
  double asked_J = 0.0;
  double delivered_J = 0.0;
  std::array<double, refusals> refused_J{};
  double asked_s = 0.0;  ///< time for which the windows were open
  double met_s = 0.0;    ///< of it, with all the light that was asked for

  double share() const { return asked_J > 0.0 ? delivered_J / asked_J : 1.0; }
  void add(const Served& other, double times = 1.0);
};

/// One request with all its repeats, or all requests of one name.
struct RequestAnswer {
  std::string name;
  double at_s = 0.0;     ///< of the first window
  long windows = 0;      ///< that opened before the end
  long met_windows = 0;  ///< of them, with all the light that was asked for all the time
  Served served;
  std::string throttled_by, tripped_by;  ///< the limit that took most; empty if none did
  double worst_at_s = 0.0;               ///< the window of which the least share was delivered, and that share
  double worst_share = 1.0;
};

/// How much of the campaign was integrated, and how much was taken over from a cycle that repeats.
struct CycleCounts {
  long evaluated = 0;     ///< cycles that were integrated one by one to see whether they repeat
  long taken_over = 0;    ///< cycles that were not integrated
  double period_s = 0.0;  ///< of the longest stretch of them; 0 if there was none
  double taken_over_s = 0.0;
  double error_K = 0.0;  ///< the most that a state which was taken over may be from that of the next cycles
};

struct CampaignOptions {
  RunOptions run;
  bool every_cycle = false;  ///< integrates every cycle, however equal they are
};

struct CampaignResult {
  RunOutcome outcome = RunOutcome::complete;
  double end_s = 0.0;
  std::vector<RequestAnswer> requests;  ///< in the order of the case
  std::vector<RequestAnswer> names;     ///< summed by name, in the order in which they first ask
  Served all;
  std::optional<double> needed_light_W;
  double available_s = 0.0;  ///< time with at least the light that is needed
  double beam_s = 0.0;
  std::vector<double> final_x;
  EnergyBooks books;
  double error_K = 0.0;  ///< the books' residual spread over the tile's heat capacity
  std::vector<TemperatureRange> ranges;
  std::vector<Margin> margins;
  std::optional<Margin> binding, next;
  std::map<std::string_view, long> event_counts;  ///< of all cycles, also of those taken over
  long trips = 0;
  std::optional<BatteryUse> battery;
  double heaters_J = 0.0;
  CycleCounts cycles;
  solvers::TransientCounts counts;
  std::vector<Diagnostic> warnings;

  bool limits_met() const { return !binding || binding->margin >= 0.0; }
  /// Share of the time that needed light was there; of the time asked for, that what was asked for was.
  double availability() const { return end_s > 0.0 ? available_s / end_s : 0.0; }
  double met_share() const { return all.asked_s > 0.0 ? all.met_s / all.asked_s : 1.0; }
};

/// What those who ask for light at once get of it: `asked` in the order in which they are served, and what the tile
/// could give after each thing that stands in its way (the lasers' most, trips, heat, energy; not rising). Pure.
struct LightStages {
  double lasers_W = 0.0, after_trip_W = 0.0, after_heat_W = 0.0, after_energy_W = 0.0;
};
/// Per request, in watts: delivered_J and refused_J stand for powers here.
std::vector<Served> shared_light(std::span<const double> asked_W, const LightStages& stages);
/// The same for shares of drive: `most` is the most drive; the stages are of the light that is given for the drive that
/// is granted to all, min(sum of asked, most).
std::vector<Served> shared_drive(std::span<const double> asked_drive, double most, const LightStages& stages);

/// Carries the campaign of the case over the duration of its run. Cycles that repeat are integrated only until the
/// state repeats to within the tolerance; the sink gets rows and events of what is integrated. Throws Error:
/// key_missing without campaign or beam, key_conflict with ageing (`run` carries that), and what `run` throws.
CampaignResult campaign(tile::TileSystem& system, RunSink* sink, const CampaignOptions& options = {});

}  // namespace tileflux::studies
