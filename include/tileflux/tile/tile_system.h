#pragma once
/// A case compiled for the solvers: nodes, heat paths and the power chain as one system of equations.

#include <array>
#include <map>
#include <span>
#include <string>
#include <variant>
#include <vector>

#include "tileflux/devices/power_chain.h"
#include "tileflux/devices/roll_over.h"
#include "tileflux/network/network.h"
#include "tileflux/solvers/system.h"
#include "tileflux/tile/sky.h"
#include "tileflux/tile/tile_state.h"

namespace tileflux::tile {

/// F_i = heat into node i in watts - C_i(T_i) dT_i/dt, for every node whose temperature is unknown (x in K; of a
/// melting node its enthalpy in kelvin, see network/melting.h). With a battery, one more unknown at the end: its charge
/// in percent, F = power into its store - (capacity / 100) dz/dt. Not thread-safe while its mode is being changed;
/// otherwise const calls may run side by side.
class TileSystem : public solvers::System {
 public:
  /// Compiles a case, with what broke at 0 s broken. Throws Error (name_unknown, name_taken, part_not_described, ...)
  /// if the description is not sound.
  explicit TileSystem(const Case& description) : TileSystem(description, nullptr) {}
  /// The same with the sky of another tile, where it is this case's too: it need not be compiled again.
  TileSystem(const Case& description, const TileSystem& like) : TileSystem(description, like.sky_) {}

  const Case& description() const { return case_; }
  const network::Network& network() const { return network_; }
  const std::vector<BoundLimit>& limits() const { return limits_; }
  const std::vector<BoundDifference>& differences() const { return differences_; }
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
  void rate_coefficients(double time_s, std::span<const double> x, std::span<double> coefficients) const override;
  bool varies_in_time() const override;
  std::string unknown_name(int index) const override;

  // What follows depends on the surroundings. Without a time they must be at rest: Error(internal) otherwise.

  /// The power chain at a state, under the present mode. All zero if the case has no chain.
  devices::ChainFlows<double> chain_flows(double time_s, std::span<const double> x) const;
  devices::ChainFlows<double> chain_flows(std::span<const double> x) const { return chain_flows(rest_s(), x); }

  /// d(light out)/dx of every unknown at a state, exact, under the present mode.
  std::vector<double> light_slopes(double time_s, std::span<const double> x) const;

  /// What arrives at the tile, turned as far as its law turns it at that state.
  SkyState sky(double time_s, std::span<const double> x) const;
  SkyState sky(std::span<const double> x) const { return sky(rest_s(), x); }

  /// The light that would leave the tile at a state if the bus gave all that is asked for, whatever the mode: for a
  /// share of rated drive, or for the light that is wanted with `drive` as the most.
  double unhindered_light_W(std::span<const double> x, double drive, std::optional<double> light_W) const;

  /// d(heat of the junction)/dT times its resistance to the mount, per bank: 1 or more is a thermal runaway.
  std::vector<double> loop_gains(std::span<const double> x) const;

  /// Where the light of one of a bank's modules ends to grow with its current, its mount held as warm as it is. None
  /// without a diode law or a module that works, or where it never comes.
  std::optional<devices::OperatingPoint> roll_over(std::size_t bank, std::span<const double> x) const;

  /// The books at a state and its rates (empty: steady), from boundary terms alone.
  Ledger ledger(double time_s, std::span<const double> x, std::span<const double> rate) const;
  Ledger ledger(std::span<const double> x, std::span<const double> rate = {}) const {
    return ledger(rest_s(), x, rate);
  }

  /// Heat left over at each unknown node in watts, put together path by path from `network().flows`, the chain and the
  /// sources: shares the laws with `residual` but none of its assembly.
  std::vector<double> node_balance(double time_s, std::span<const double> x, std::span<const double> rate) const;
  std::vector<double> node_balance(std::span<const double> x, std::span<const double> rate = {}) const {
    return node_balance(rest_s(), x, rate);
  }
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
  /// Whether the surroundings change with time, the time after which they repeat (see Sky::period_s), and when a
  /// transient must stop and begin again.
  bool sky_moves() const { return !sky_->constant(); }
  std::optional<double> sky_period_s() const { return sky_->period_s(); }
  double next_sky_edge_s(double time_s) const { return sky_->next_edge_s(time_s); }
  bool stowed_after(double time_s) const { return sky_->stowed_after(time_s); }
  const Sky& surroundings() const { return *sky_; }
  /// Whether the tile turns away from the Sun as a node warms.
  bool has_hold() const { return case_.tilt_law == TiltLaw::hold; }
  network::NodeId junction_of(std::size_t bank) const { return junction_[bank]; }
  /// The battery's charge in percent at a state; 0 without a battery.
  double charge_percent(std::span<const double> x) const { return case_.battery ? x.back() : 0.0; }
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
  TileSystem(const Case& description, std::shared_ptr<const Sky> sky);
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
  void add_differences();
  void bind_pattern();
  void note_steady_capacities();
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
  /// An unknown that the chain depends on: one of its inputs, or by way of a throttle, a thermostat or the tilt.
  struct ChainColumn {
    enum class Kind { input, throttle, heater, tilt };
    Kind kind;
    int index;  ///< the chain's input, the throttle or the heater; of the tilt 0
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
  devices::ChainFlows<Scalar> evaluate_chain(double time_s, std::span<const double> x) const;
  template <class Scalar>
  Scalar power_of(const ChainOutput& output, const devices::ChainFlows<Scalar>& flows, std::span<const double> x) const;
  template <class Power>
  struct ChainSlopes;
  template <class Visit>
  auto with_slopes(double time_s, std::span<const double> x, const Visit& visit) const;
  void add_chain_derivatives(double time_s, std::span<const double> x, std::span<double> values) const;
  devices::ChainCommand command(double irradiance_W_per_m2) const;
  /// Power that a load gives under the present mode.
  double load_W(std::size_t index) const;
  /// J per unit of an unknown, and 0 for an algebraic one.
  template <class Scalar>
  Scalar capacity(std::size_t unknown, const Scalar& x) const;
  std::size_t charge_place() const { return static_cast<std::size_t>(network_.unknown_count()); }
  /// Unknowns that go with the temperatures of all unknown nodes.
  std::vector<double> state_of(std::vector<double> temperature_K) const;
  /// Heat into every node, fixed ones included, put together path by path.
  std::vector<double> heat_by_node(double time_s, std::span<const double> x) const;
  /// 0 where the surroundings are at rest.
  double rest_s() const;
  SkyState untilted_sky(double time_s) const;
  Followed held_tilt(std::span<const double> x) const;
  void bind_hold();
  void bind_slots();
  template <class Visit>
  void for_each_sky_heat(const SkyState& sky, std::span<const double> x, const Visit& visit) const;
  void add_sky_heat(double time_s, std::span<const double> x, std::span<double> by_unknown) const;
  void add_sky_heat_by_node(double time_s, std::span<const double> x, std::vector<double>& by_node) const;
  void add_sky_derivatives(double time_s, std::span<const double> x, std::span<double> values) const;
  void add_sky_to_books(double time_s, std::span<const double> x, Ledger& books) const;
  /// What the tile takes of the mean surroundings at room temperature.
  double typical_sky_W() const;

  Case case_;
  network::Network network_;
  devices::PowerChain chain_;
  bool has_cells_ = false, has_chain_ = false;
  Mode mode_;
  std::vector<double> start_K_;  ///< per unknown; NaN: not stated
  std::shared_ptr<const Sky> sky_;
  std::optional<SkyState> rest_;  ///< the surroundings, if they are at rest under the present mode
  /// What a node takes of the sky, in m2: of sunlight and of albedo times absorptance, of infrared times emittance.
  struct Sunlit {
    network::NodeId node;
    int place;
    double front_sun_m2, rear_sun_m2, front_albedo_m2, rear_albedo_m2, front_infrared_m2, rear_infrared_m2;
  };
  /// A surface whose emittance follows its temperature takes a planet's infrared by the same emittance.
  struct LouvredFace {
    network::NodeId node;
    int place;
    PropertyTable emitting_m2;
    double front_share, rear_share;
  };
  std::vector<Sunlit> sunlit_;
  std::vector<LouvredFace> louvred_;
  std::optional<std::pair<network::NodeId, int>> held_;  ///< node that sets the tilt, and its place
  std::vector<int> held_position_;                       ///< per entry of `sunlit_`, in the Jacobian
  double met_front_m2_ = 0.0, met_rear_m2_ = 0.0;
  double fin_front_m2_ = 0.0, fin_rear_m2_ = 0.0;  ///< of exact fins: absorptance times area
  SkyState mean_;
  std::vector<double> source_heat_W_;                 ///< per unknown: loads under the present mode
  std::map<std::string, std::vector<Member>> zoned_;  ///< layers with zones
  std::vector<std::vector<Member>> load_node_;
  double loads_W_ = 0.0;
  /// What one surface sends to space: its path's flow, and what an exact fin absorbs of sunlight on the way (m2).
  struct Emitter {
    using Law = std::variant<network::RadiationToSpace, network::SwitchedRadiation, network::RadiatingFin>;
    std::vector<std::pair<network::NodeId, Law>> paths;  ///< one, or one per segment or zone
    double fin_front_m2 = 0.0, fin_rear_m2 = 0.0;
  };
  void add_emitter(const std::string& name, Emitter emitter);
  void add_fin(const Surface& surface, network::NodeId root);
  void add_sunlit(const Surface& surface, network::NodeId node, double absorbed_share, double emitted_share);
  std::vector<Emitter> emitters_;
  std::vector<std::string> infrared_names_;
  double emitting_m2_ = 0.0;
  std::vector<network::NodeId> junction_;
  std::vector<double> junction_resistance_K_per_W_;
  std::vector<network::NodeId> emitting_path_;
  std::vector<Throttle> throttles_;
  std::vector<BoundHeater> heaters_;
  std::vector<ChainOutput> outputs_;
  std::vector<ChainColumn> columns_;
  std::vector<int> chain_position_;  ///< outputs x columns
  std::array<int, devices::chain_inputs> chain_slot_{};  ///< of each input in the chain's dual numbers, or -1
  int chain_slots_ = 0;
  std::vector<BoundLimit> limits_;
  std::vector<BoundDifference> differences_;
  std::vector<UsedProperty> used_;
  solvers::Pattern pattern_;
  std::vector<std::uint8_t> differential_;
  std::vector<double> steady_capacity_;  ///< per unknown; NaN where it follows the temperature
  std::vector<int> diagonal_;
};

}  // namespace tileflux::tile
