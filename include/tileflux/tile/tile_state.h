#pragma once
/// What a compiled tile is told and what it tells: its mode, its books, its limits.

#include <optional>
#include <string>
#include <vector>

#include "tileflux/network/network.h"
#include "tileflux/tile/case.h"

namespace tileflux::tile {

/// What is switched at one instant. Changes only at scheduled edges and located events.
struct Mode {
  bool beam = false;
  double drive = 1.0;             ///< commanded share of rated drive
  bool throttled = true;          ///< whether throttle limits act
  std::optional<double> light_W;  ///< light wanted out of the tile, in place of that of the case's beam
  /// Per load of the case: 1 or 0 for a patterned load that is on or off; its mean in an average.
  std::vector<double> pattern_share;
  /// Per heater 1 or 0, as its thermostat has switched. Empty: thermostats are averaged, each heater on for that share
  /// of the time by which its sensor lies between the two temperatures of the dead band.
  std::vector<double> heater_on;
  bool battery = true;  ///< false: it rests at the charge of the start, as in a steady state
  /// The surroundings: as they move with time, at rest as at one instant, or at rest in their mean.
  enum class Surroundings { moving, instant, mean };
  Surroundings surroundings = Surroundings::moving;
  double instant_s = 0.0;
  bool stowed = false;  ///< edge-on to the Sun

  bool operator==(const Mode&) const = default;
};

/// The books at one instant, in watts. Incoming: absorbed + planet + loads + fed. Outgoing: light_out + to_space +
/// to_fixed + to_battery. What is left must be the rate of heat stored.
struct Ledger {
  double sunlight_met_W = 0.0;  ///< straight from the Sun
  double reflected_W = 0.0;
  double absorbed_W = 0.0;
  double planet_W = 0.0;  ///< reflected sunlight and infrared of a planet that the tile absorbs
  double loads_W = 0.0;
  double fed_W = 0.0;  ///< electricity from outside, in a tile without cells
  double light_out_W = 0.0;
  double to_space_W = 0.0;    ///< infrared, net of what space sends
  double to_fixed_W = 0.0;    ///< heat carried off by whatever holds parts at fixed temperature
  double to_battery_W = 0.0;  ///< rate at which the battery's store grows; negative on discharge
  double stored_W = 0.0;      ///< rate of heat stored

  double incoming_W() const { return absorbed_W + planet_W + loads_W + fed_W; }
  double residual_W() const { return incoming_W() - light_out_W - to_space_W - to_fixed_W - to_battery_W - stored_W; }
};

/// A limit with its node looked up.
struct BoundLimit {
  Limit limit;
  network::NodeId node = -1;
};

/// A limit on a difference with its nodes looked up; of layers with zones one per zone.
struct BoundDifference {
  DifferenceLimit limit;
  network::NodeId a = -1, b = -1;
};

/// A property used at a node, to be checked against the range its source covers.
struct UsedProperty {
  network::NodeId node = -1;
  std::string material;
  std::string property;
  double valid_from_K = 0.0;
  double valid_to_K = 0.0;
  bool only_lit = false;  ///< counts only with the beam on: laws of lasers
  bool held = true;       ///< beyond the range the value at its end counts; otherwise the law goes on
};

}  // namespace tileflux::tile
