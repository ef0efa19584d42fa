#pragma once
/// A case compiled for the solvers: nodes, heat paths and the power chain as one system of equations.

#include <map>
#include <span>
#include <string>
#include <variant>
#include <vector>

#include "tileflux/devices/power_chain.h"
#include "tileflux/devices/roll_over.h"
#include "tileflux/network/network.h"
#include "tileflux/solvers/system.h"
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
};

/// The books at one instant, in watts. Incoming: absorbed + loads + fed. Outgoing: light_out + to_space + to_fixed +
/// to_battery. What is left must be the rate of heat stored.
struct Ledger {
  double sunlight_met_W = 0.0;
  double reflected_W = 0.0;
  double absorbed_W = 0.0;
  double loads_W = 0.0;
  double fed_W = 0.0;  ///< electricity from outside, in a tile without cells
  double light_out_W = 0.0;
  double to_space_W = 0.0;    ///< infrared, net of what space sends
  double to_fixed_W = 0.0;    ///< heat carried off by whatever holds parts at fixed temperature
  double to_battery_W = 0.0;  ///< rate at which the battery's store grows; negative on discharge
  double stored_W = 0.0;      ///< rate of heat stored

  double incoming_W() const { return absorbed_W + loads_W + fed_W; }
  double residual_W() const { return incoming_W() - light_out_W - to_space_W - to_fixed_W - to_battery_W - stored_W; }
};

/// A limit with its node looked up.
struct BoundLimit {
  Limit limit;
  network::NodeId node = -1;
};

/// A property used at a node, to be checked against the range its source covers.
struct UsedProperty {
  network::NodeId node = -1;
  std::string material;
  std::string property;
  double valid_from_K = 0.0;
  double valid_to_K = 0.0;
  bool only_lit = false;  ///< counts only with the beam on: laws of lasers
};

/// F_i = heat into node i in watts - C_i(T_i) dT_i/dt, for every node whose temperature is unknown (x in K; of a
/// melting node its enthalpy in kelvin, see network/melting.h). With a battery, one more unknown at the end: its charge
/// in percent, F = power into its store - (capacity / 100) dz/dt. Not thread-safe while its mode is being changed;
/// otherwise const calls may run side by side.
class TileSystem : public solvers::System {
 public:
  /// Compiles a case, with what broke at 0 s broken. Throws Error (name_unknown, name_taken, part_not_described, ...)
  /// if the description is not sound.
  explicit TileSystem(const Case& description);

  const Case& description() const { return case_; }
  const network::Network& network() const { return network_; }
  const std::vector<BoundLimit>& limits() const { return limits_; }
  const std::vector<UsedProperty>& used_properties() const { return used_; }

  void set_mode(Mode mode);
  const Mode& mode() const { return mode_; }

  // solvers::System
  int size() const override { return network_.unknown_count() + (case_.battery ? 1 : 0); }
  const solvers::Pattern& pattern() const override { return pattern_; }
  std::span<const std::uint8_t> differential() const override { return differential_; }
  bool residual(double time_s, std::span<const double> x, std::span<const double> rate,
                std::span<double> residual) const override;
  void jacobian(double time_s, std::span<const double> x, std::span<const double> rate, double rate_factor,
                std::span<double> values) const override;
  std::string unknown_name(int index) const override;

  /// The power chain at a state, under the present mode. All zero if the case has no chain.
  devices::ChainFlows<double> chain_flows(std::span<const double> x) const;

  /// The light that would leave the tile at a state if the bus gave all that is asked for, whatever the mode: for a
  /// share of rated drive, or for the light that is wanted with `drive` as the most.
  double unhindered_light_W(std::span<const double> x, double drive, std::optional<double> light_W) const;

  /// d(heat of the junction)/dT times its resistance to the mount, per bank: 1 or more is a thermal runaway.
  std::vector<double> loop_gains(std::span<const double> x) const;

  /// Where the light of one of a bank's modules ends to grow with its current, its mount held as warm as it is. None
  /// without a diode law or a module that works, or where it never comes.
  std::optional<devices::OperatingPoint> roll_over(std::size_t bank, std::span<const double> x) const;

  /// The books at a state and its rates (empty: steady), from boundary terms alone.
  Ledger ledger(std::span<const double> x, std::span<const double> rate = {}) const;

  /// Heat left over at each unknown node in watts, put together path by path from `network().flows`, the chain and the
  /// sources: shares the laws with `residual` but none of its assembly.
  std::vector<double> node_balance(std::span<const double> x, std::span<const double> rate = {}) const;

  /// Infrared to space, net of what space sends, of each surface of the case and each face of an enclosure that sees
  /// space, in watts, and their names.
  std::vector<double> infrared_by_surface_W(std::span<const double> x) const;
  const std::vector<std::string>& infrared_names() const { return infrared_names_; }

  /// A uniform temperature near the steady state, and the power that flows through the tile (never zero).
  double uniform_guess_K() const;
  double power_scale_W() const;

  /// The state with every part at one temperature and the battery at the charge of the start.
  std::vector<double> uniform_state(double temperature_K) const;

  /// The state in which a transient starts if it starts from stated temperatures.
  std::vector<double> stated_start() const;

  bool has_cells() const { return has_cells_; }
  bool has_lasers() const { return !chain_.banks.empty(); }
  double irradiance_W_per_m2() const { return case_.sun.irradiance_W_per_m2(); }
  network::NodeId junction_of(std::size_t bank) const { return junction_[bank]; }
  /// The battery's charge in percent at a state; 0 without a battery.
  double charge_percent(std::span<const double> x) const { return case_.battery ? x[x.size() - 1] : 0.0; }
  /// What the battery's store holds, in joules.
  double battery_energy_J(std::span<const double> x) const {
    return case_.battery ? case_.battery->law.capacity_J / 100.0 * charge_percent(x) : 0.0;
  }
  /// Share of all phase-change material that is liquid, by heat of fusion; 0 without any.
  double melted_share(std::span<const double> x) const;
  /// The nodes that a name stands for: one, or the zones of a layer with their shares. Throws Error(name_unknown).
  struct Member {
    network::NodeId node;
    double share;
  };
  std::vector<Member> members(const std::string& name, const std::string& where) const;
  /// The sensor's node of a heater, and the nodes whose drift shifts the phase of the light.
  network::NodeId sensor_of(std::size_t heater) const { return heaters_[heater].sensor; }
  const std::vector<network::NodeId>& emitting_path() const { return emitting_path_; }
  /// What each heater gives at a state, in watts.
  std::vector<double> heater_powers_W(std::span<const double> x) const;

 private:
  void add_stack();
  void add_zone(const Stack& stack, const Zone& zone);
  void add_parts();
  void add_stores();
  void add_pipes();
  void add_junctions();
  void add_paths();
  void add_surfaces();
  void add_enclosures();
  void add_chain();
  void add_cells();
  void add_heaters();
  void add_limits();
  void bind_pattern();
  network::NodeId add_node(network::Node node, std::optional<double> start_K);
  /// The one node of a name. Throws Error(name_unknown), also where it stands for several zones.
  network::NodeId require(const std::string& name, const std::string& where) const;
  /// Calls visit(a, b, share) for the pairs of nodes that a path between two names stands for.
  template <class Visit>
  void for_each_pair(const std::string& a, const std::string& b, const std::string& where, const Visit& visit) const;

  /// Power that the chain puts somewhere: heat into a node, or into the battery's store.
  struct ChainOutput {
    enum class Kind {
      cells,
      shunt,
      conditioning,
      housekeeping,
      optics,
      driver,
      junction,
      fibre,
      unabsorbed,
      heater,
      battery,
      store
    };
    Kind kind;
    int index;             ///< cell group, bank or heater
    network::NodeId node;  ///< -1: the battery's store
    int place;             ///< among the unknowns, or -1
  };
  /// An unknown that the chain depends on: one of its inputs, or by way of a throttle or a thermostat.
  struct ChainColumn {
    enum class Kind { input, throttle, heater };
    Kind kind;
    int index;  ///< the chain's input, the throttle or the heater
    network::NodeId node;
    int place;
  };
  struct Throttle {
    devices::ThrottleLaw law;
    network::NodeId node;
  };
  struct BoundHeater {
    network::NodeId node, sensor;
  };
  /// A factor or a power that follows one temperature, and its slope over it.
  struct Followed {
    double value = 0.0, slope_per_K = 0.0;
    int index = -1;
  };
  Followed throttle_at(std::span<const double> x) const;
  Followed heater_demand(std::size_t heater, std::span<const double> x) const;
  void add_output(ChainOutput::Kind kind, int index, network::NodeId node);

  template <class Scalar>
  devices::ChainFlows<Scalar> evaluate_chain(std::span<const double> x) const;
  template <class Scalar>
  Scalar power_of(const ChainOutput& output, const devices::ChainFlows<Scalar>& flows, std::span<const double> x) const;
  void add_chain_derivatives(std::span<const double> x, std::span<double> values) const;
  devices::ChainCommand command() const;
  /// Power that a load gives under the present mode.
  double load_W(std::size_t index) const;
  /// J per unit of an unknown, and 0 for an algebraic one.
  template <class Scalar>
  Scalar capacity(std::size_t unknown, const Scalar& x) const;
  std::size_t charge_place() const { return static_cast<std::size_t>(network_.unknown_count()); }
  /// Unknowns that go with the temperatures of all unknown nodes.
  std::vector<double> state_of(std::vector<double> temperature_K) const;
  /// Heat into every node, fixed ones included, put together path by path.
  std::vector<double> heat_by_node(std::span<const double> x) const;

  Case case_;
  network::Network network_;
  devices::PowerChain chain_;
  double cell_irradiance_W_per_m2_ = 0.0;  ///< what the cells make use of
  bool has_cells_ = false;
  bool has_chain_ = false;
  Mode mode_;
  std::vector<double> start_K_;                       ///< per unknown; NaN: not stated
  std::vector<double> sun_heat_W_;                    ///< per node
  std::vector<double> source_heat_W_;                 ///< per unknown: sun and loads under the present mode
  std::map<std::string, std::vector<Member>> zoned_;  ///< layers with zones
  std::vector<std::vector<Member>> load_node_;
  double absorbed_W_ = 0.0, met_W_ = 0.0, loads_W_ = 0.0;
  /// What one surface sends to space: its path's flow, and what a fin absorbs of sunlight on the way.
  struct Emitter {
    using Law = std::variant<network::RadiationToSpace, network::SwitchedRadiation, network::RadiatingFin>;
    std::vector<std::pair<network::NodeId, Law>> paths;  ///< one, or one per segment or zone
    double absorbed_W = 0.0;
  };
  void add_emitter(const std::string& name, Emitter emitter);
  void add_fin(const Surface& surface, network::NodeId root, double absorbed_W);

  std::vector<Emitter> emitters_;
  std::vector<std::string> infrared_names_;
  double emitting_m2_ = 0.0;
  double absorbed_along_fins_W_ = 0.0;
  std::vector<network::NodeId> junction_;
  std::vector<double> junction_resistance_K_per_W_;
  std::vector<network::NodeId> emitting_path_;
  std::vector<Throttle> throttles_;
  std::vector<BoundHeater> heaters_;
  std::vector<ChainOutput> outputs_;
  std::vector<ChainColumn> columns_;
  std::vector<int> chain_position_;  ///< outputs x columns
  std::vector<BoundLimit> limits_;
  std::vector<UsedProperty> used_;
  solvers::Pattern pattern_;
  std::vector<std::uint8_t> differential_;
  std::vector<int> diagonal_;
};

}  // namespace tileflux::tile
