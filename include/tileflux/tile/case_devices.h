#pragma once
/// The devices of a tile and where their heat goes: cells, battery, conditioning, heaters, lasers, optics, and how they
/// wear.

#include <optional>
#include <string>
#include <vector>

#include "tileflux/base/property_table.h"
#include "tileflux/devices/ageing.h"
#include "tileflux/devices/power_chain.h"

namespace tileflux::tile {

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
  devices::LoadSharing load_sharing = devices::LoadSharing::proportional;  ///< between the zones of the stack
};

/// What stores electricity on the bus. Its charge is an unknown of the tile, in percent.
struct Battery {
  std::string node;
  devices::BatteryLaw law;
  double start_percent = 100.0;
  double least_percent = 0.0;  ///< what the depth-of-discharge rule leaves
  bool feeds_lasers = true;
};

/// A heater with a thermostat: on below `on_below_K` of its sensor, off above `off_above_K`.
struct Heater {
  std::string name;
  std::string node;
  std::string sensor;
  double power_W = 0.0;  ///< at the lowest bus voltage
  double on_below_K = 0.0;
  double off_above_K = 0.0;
  std::optional<bool> stuck;  ///< stuck on or off, whatever the thermostat says
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
  devices::LaserBank devices;              ///< of the modules that work
  int mounted = 0;                         ///< modules that are there, dead ones included: their junctions store heat
  int in_series = 1;                       ///< modules of one string: one that dies takes its string along
  double resistance_K_per_W = 0.0;         ///< junction to mount, of one module; > 0
  std::optional<double> capacity_J_per_K;  ///< of one module's junction side; none: massless
  double valid_from_K = 0.0;               ///< junction temperatures over which the laser law was measured
  double valid_to_K = 1e9;
  std::string driver;      ///< node that the driver's loss heats; empty: where the conditioning is
  std::string fibre;       ///< of an amplifier: node that the fibre's heat goes to
  std::string unabsorbed;  ///< of an amplifier: node that takes pump light which the fibre leaves
};

/// Share of the lasers' light that leaves the tile; the rest heats `node`.
struct Optics {
  std::string node;
  double transmission = 1.0;
};

/// How the tile wears. Each law that is set has a state that `run` carries: what the cells keep, the absorptance of a
/// surface, what the diodes of a bank have lost.
struct Ageing {
  std::optional<devices::CellFading> cells;
  std::optional<devices::RadiationDamage> radiation;  ///< of the cells, on top of `cells`
  struct Finish {
    std::string surface;
    devices::AbsorptanceGrowth law;
  };
  std::vector<Finish> finishes;
  struct Diodes {
    std::string bank;
    devices::DiodeWear law;
  };
  std::vector<Diodes> diodes;
  double update_s = 86400.0;       ///< wear takes effect on the tile after every such time
  double step_s = 30.0 * 86400.0;  ///< of an accelerated run
};

}  // namespace tileflux::tile
