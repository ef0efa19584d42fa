#pragma once
/// A case: the pure description of one tile, its surroundings and what is asked of it. SI units; materials resolved.
/// It can be built in C++ without any file; `read_case` builds it from YAML.

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "tileflux/environment/sun.h"
#include "tileflux/tile/campaign.h"
#include "tileflux/tile/case_devices.h"
#include "tileflux/tile/case_sky.h"
#include "tileflux/tile/case_structure.h"
#include "tileflux/tile/size_settings.h"
#include "tileflux/tile/uncertainty.h"

namespace tileflux::tile {

/// When a load or the beam is on: `on_s` of every `every_s`, the first time at `first_s`.
struct TimePattern {
  double on_s = 0.0;
  double every_s = 0.0;
  double first_s = 0.0;
};

/// Heat put into a node from outside the chain. With `beam_on` the power is that at full drive and scales with the
/// drive.
struct Load {
  enum class When { always, beam_on, beam_off, pattern };
  std::string node;
  double power_W = 0.0;
  When when = When::always;
  TimePattern pattern;
};

/// Bounds on a node's temperature and on its rate, and what is done about them.
struct Limit {
  std::string node;
  std::optional<double> below_K;          ///< the node must stay below
  std::optional<double> above_K;          ///< the node must stay above
  std::optional<double> throttle_from_K;  ///< drive falls from full here to none at `below_K`
  std::optional<double> trip_reset_K;     ///< set: the beam trips at `below_K` and may come back below this
  double trip_min_off_s = 0.0;
  double trip_to = 0.0;                      ///< share of the commanded drive that is left while tripped
  std::optional<double> rate_below_K_per_s;  ///< fastest change of the temperature, either way; needs a heat capacity
  LimitLevel level = LimitLevel::design;     ///< of `below_K` and `above_K`
  double includes_margin_K = 0.0;            ///< that these two have been moved inward by already
};

/// A bound on |T_a - T_b| of two different nodes, or on that over their distance: exactly one of the two.
struct DifferenceLimit {
  std::string a, b;
  std::optional<double> below_K;
  double distance_m = 0.0;  ///< above zero with a gradient
  std::optional<double> gradient_below_K_per_m;

  /// The bound as a difference.
  double most_K() const { return below_K ? *below_K : *gradient_below_K_per_m * distance_m; }
};

/// The commanded beam: `drive` of rated, by a pattern, or without one all the time.
struct Beam {
  double drive = 1.0;
  std::optional<TimePattern> pattern;
  std::optional<double> light_W;  ///< wanted light out of the tile; `drive` is then the most that is given for it
};

/// Where a transient or a burst starts.
struct Start {
  enum class From { temperature, beam_off_balance, beam_on_balance };
  From from = From::temperature;
  double temperature_K = 293.15;
  bool everywhere = false;  ///< the stated temperature counts for nodes with a `start` of their own too
};

/// A series with more rows than this is refused: a slip, not a wish.
inline constexpr double most_series_rows = 5e6;

struct RunSettings {
  double duration_s = 86400.0;
  double output_every_s = 60.0;
};

struct DutySettings {
  double recovered_within_K = 0.5;       ///< above the starting temperature that counts as recovered
  double longest_wait_s = 30.0 * 86400;  ///< bursts and recoveries beyond this are called unlimited
  double charge_within_percent = 1.0;    ///< of capacity, below the starting charge, that counts as recovered
};

struct Accuracy {
  double relative = 1e-7;
  double absolute_K = 1e-5;
};

/// Something that breaks at a time and stays broken.
struct Failure {
  enum class What { dead_modules, lost_pipes, stuck_tilt, open_strings, stuck_heater, degraded_finish };
  double at_s = 0.0;
  What what = What::dead_modules;
  std::string where;   ///< bank, pipe, heater or surface; empty for tilt and cells
  double value = 0.0;  ///< modules or pipes lost, tilt in rad, share of cells lost, heater 1 on or 0 off
  std::optional<double> absorptance, emittance;  ///< of a degraded finish
};

struct Case {
  std::string title;
  bool end_of_life = false;
  environment::Sun sun;             ///< distance and tilt where nothing below says otherwise
  std::string irradiance_standard;  ///< name of the standard that the irradiance at 1 AU is from; empty: stated
  std::optional<environment::Ellipse> sun_ellipse;  ///< around the Sun, from the start of the case
  std::optional<Course> course;
  TiltLaw tilt_law = TiltLaw::fixed;
  std::optional<TiltHold> hold;
  std::vector<TimeWindow> stow;  ///< edge-on to the Sun in these, whatever the tilt law says
  std::optional<Orbit> orbit;
  std::optional<double> steady_at_s;  ///< instant of which steady answers take the surroundings; none: their mean
  double space_K = environment::deep_space_temperature_K;
  std::optional<Stack> stack;
  std::vector<Part> parts;
  std::vector<Join> joins;
  std::vector<RadiationLink> radiation;
  std::vector<Surface> surfaces;
  std::vector<Enclosure> enclosures;
  std::vector<HeatPipe> pipes;
  std::vector<Store> stores;
  std::vector<Load> loads;
  std::vector<Heater> heaters;
  std::optional<Cells> cells;
  std::optional<Conditioning> conditioning;
  std::optional<Housekeeping> housekeeping;
  std::optional<Battery> battery;
  std::array<devices::Consumer, devices::consumers> priorities = devices::PowerChain{}.priorities;
  std::vector<Bank> lasers;
  std::optional<Optics> optics;
  std::vector<Limit> limits;
  std::vector<DifferenceLimit> differences;
  std::optional<Beam> beam;
  std::optional<Campaign> campaign;  ///< who asks for light when; `beam` must stand and says the most drive only
  std::vector<std::string>
      emitting_path;              ///< nodes whose drift shifts the phase of the light; empty: chosen by the tile
  std::vector<Failure> failures;  ///< by rising time
  std::optional<Ageing> ageing;
  Start start;
  RunSettings run;
  DutySettings duty;
  std::optional<SizeSettings> size;
  std::vector<UncertainInput> uncertainty;  ///< as the case states it; without what the library says
  MarginSettings margins;
  Accuracy accuracy;
};

}  // namespace tileflux::tile
