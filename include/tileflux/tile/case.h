#pragma once
/// A case: the pure description of one tile, its surroundings and what is asked of it. SI units; materials resolved.
/// It can be built in C++ without any file; `read_case` builds it from YAML.

#include <optional>
#include <string>
#include <vector>

#include "tileflux/base/property_table.h"
#include "tileflux/devices/laser.h"
#include "tileflux/environment/sun.h"
#include "tileflux/tile/size_settings.h"

namespace tileflux::tile {

/// Density in kg/m3, heat capacity in J/(kg K) and conductivity in W/(m K) over temperature.
struct Material {
  std::string name;
  double density_kg_per_m3 = 0.0;
  PropertyTable heat_capacity_J_per_kg_K;
  PropertyTable conductivity_W_per_m_K;
};

/// One layer of the stack; it becomes one node, or `slices` nodes `name.1` ... from the sun side down.
struct Layer {
  std::string name;
  Material material;
  double thickness_m = 0.0;
  int slices = 1;
  /// Contact between this layer and the next one, in W/(m2 K); none: perfect contact.
  std::optional<double> contact_below_W_per_m2_K;
  std::optional<double> start_K;
};

/// Layers on top of each other, sun side first, all of one area. Conduction through it follows from the materials.
struct Stack {
  double area_m2 = 0.0;
  std::vector<Layer> layers;
};

/// How a part answers to heat: it stores it, passes it on at once, or is held at a temperature from outside.
struct Part {
  std::string name;
  /// Heat capacity in J/K over temperature; empty for a massless or fixed part.
  std::optional<PropertyTable> capacity_J_per_K;
  std::optional<double> fixed_K;
  std::string material;  ///< for messages on validity; may be empty
  double mass_kg = 0.0;  ///< 0 where not stated
  std::optional<double> start_K;
};

/// A conduction path between two nodes: a conductance, or a bar with k(T).
struct Join {
  std::string a, b;
  std::optional<double> conductance_W_per_K;
  std::optional<PropertyTable> bar_W_per_K;  ///< k(T) A / L
  std::string material;                      ///< of the bar
};

/// Infrared between two nodes.
struct RadiationLink {
  std::string a, b;
  double exchange_area_m2 = 0.0;
};

/// A share of a surface's absorbed sunlight that is deposited in a node.
struct SunShare {
  std::string node;
  double share = 1.0;
};

/// A sheet that carries a surface and conducts from its root to an insulated tip: the radiating fin between two pipes.
struct Fin {
  double length_m = 0.0;              ///< from root to tip: half the pitch between two pipes
  PropertyTable conductance_W_per_K;  ///< k t: conductivity times thickness
  PropertyTable capacity_J_per_m2_K;  ///< density times heat capacity times thickness
  std::string material;
  int segments = 0;                ///< 0: one exact fin without heat capacity; else nodes `name.1` ... from the root
  double thickness_m = 0.0;        ///< of the sheet; only sizing asks for it
  double density_kg_per_m3 = 0.0;  ///< of the sheet; only sizing asks for it
};

/// An outer surface: it radiates to space and, if sunlit, absorbs sunlight.
struct Surface {
  std::string name;
  std::string node;      ///< whose temperature it radiates at
  double area_m2 = 0.0;  ///< of all its faces together
  int faces = 1;
  double emittance = 0.0;
  std::optional<PropertyTable> emittance_over_K;  ///< of a louvre or switched surface: stands for `emittance`
  std::optional<Fin> fin;  ///< set: the surface is a fin rooted in `node`; sunlight is absorbed along it
  double absorptance = 0.0;
  double view_to_space = 1.0;
  bool sunlit = false;
  std::vector<SunShare> deposits;  ///< shares add up to 1; empty: all in `node`
  std::string finish;
};

/// A face of an enclosure.
struct EnclosureFace {
  std::string name;
  std::string node;
  double area_m2 = 0.0;
  double emittance = 0.0;
};

/// Grey-diffuse faces that see each other; what their view factors leave open is space.
struct Enclosure {
  std::string name;
  std::vector<EnclosureFace> faces;
  std::vector<std::vector<double>> view_factors;  ///< row: from, column: to; reciprocal
};

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

/// Cells on a sunlit surface. What they could give but is not drawn stays in them as heat, or goes to a shunt node.
struct Cells {
  std::string surface;
  std::string node;
  double efficiency = 0.0;
  double reference_K = 301.15;
  double slope_per_K = 0.0;
  double packing = 1.0;
  double remaining = 1.0;
  double intensity_slope = 0.0;                   ///< m of 1 + m ln(E/E_ref)
  double reference_irradiance_W_per_m2 = 1361.0;  ///< E_ref
  std::optional<PropertyTable> pointing;          ///< factor over the tilt in radians that stands for its cosine
  std::optional<std::string> shunt_node;
};

struct Conditioning {
  std::string node;
  double standby_W = 0.0;
  double proportional = 0.0;
  double quadratic_per_W = 0.0;
};

/// Electricity that the tile itself needs all the time; it ends as heat in `node`.
struct Housekeeping {
  std::string node;
  double power_W = 0.0;
};

/// Equal laser modules on one mount. Its junction is the node `name.junction`.
struct Bank {
  std::string name;
  std::string mount;
  devices::LaserBank devices;
  double resistance_K_per_W = 0.0;         ///< junction to mount, of one module; > 0
  std::optional<double> capacity_J_per_K;  ///< of one module's junction side; none: massless
  double valid_from_K = 0.0;               ///< junction temperatures over which the laser law was measured
  double valid_to_K = 1e9;
};

/// Share of the lasers' light that leaves the tile; the rest heats `node`.
struct Optics {
  std::string node;
  double transmission = 1.0;
};

/// Bounds on a node's temperature and what is done about them.
struct Limit {
  std::string node;
  std::optional<double> below_K;          ///< the node must stay below
  std::optional<double> above_K;          ///< the node must stay above
  std::optional<double> throttle_from_K;  ///< drive falls from full here to none at `below_K`
  std::optional<double> trip_reset_K;     ///< set: the beam trips at `below_K` and may come back below this
  double trip_min_off_s = 0.0;
};

/// The commanded beam: `drive` of rated, by a pattern, or without one all the time.
struct Beam {
  double drive = 1.0;
  std::optional<TimePattern> pattern;
};

/// Where a transient or a burst starts.
struct Start {
  enum class From { temperature, beam_off_balance, beam_on_balance };
  From from = From::temperature;
  double temperature_K = 293.15;
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
};

struct Accuracy {
  double relative = 1e-7;
  double absolute_K = 1e-5;
};

struct Case {
  std::string title;
  bool end_of_life = false;
  environment::Sun sun;
  double space_K = environment::deep_space_temperature_K;
  std::optional<Stack> stack;
  std::vector<Part> parts;
  std::vector<Join> joins;
  std::vector<RadiationLink> radiation;
  std::vector<Surface> surfaces;
  std::vector<Enclosure> enclosures;
  std::vector<Load> loads;
  std::optional<Cells> cells;
  std::optional<Conditioning> conditioning;
  std::optional<Housekeeping> housekeeping;
  std::vector<Bank> lasers;
  std::optional<Optics> optics;
  std::vector<Limit> limits;
  std::optional<Beam> beam;
  Start start;
  RunSettings run;
  DutySettings duty;
  std::optional<SizeSettings> size;
  Accuracy accuracy;
};

}  // namespace tileflux::tile
