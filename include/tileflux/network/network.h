#pragma once
/// Nodes and the heat paths between them, compiled into contiguous arrays, one per kind of law.

#include <array>
#include <span>
#include <string>
#include <tuple>
#include <utility>
#include <vector>

#include "tileflux/base/property_table.h"
#include "tileflux/network/fin.h"
#include "tileflux/network/heat_pipe.h"
#include "tileflux/network/laws.h"
#include "tileflux/network/melting.h"
#include "tileflux/solvers/system.h"

namespace tileflux::network {

/// A node stores heat, stores none (its balance holds at every instant), is held at a temperature from outside, or
/// melts: then its unknown is the enthalpy u of MeltingLaw, and only melting laws may touch it.
enum class NodeKind { capacity, massless, fixed, melting };

struct Node {
  std::string name;
  NodeKind kind = NodeKind::capacity;
  PropertyTable capacity_J_per_K{0.0};  ///< of a node with capacity: C(T); of a melting one the network sets it to C_s
  double fixed_temperature_K = 0.0;     ///< of a fixed node
  MeltingLaw melting{};                 ///< of a melting node

  /// Whether its equation holds its rate, with `capacity_J_per_K` before it.
  bool differential() const { return kind == NodeKind::capacity || kind == NodeKind::melting; }
};

/// Handle of a node: the order of adding.
using NodeId = int;

/// One end-to-end heat flow at a given state: watts from `from` to `to`; `to` is -1 for space.
struct Flow {
  NodeId from = -1;
  NodeId to = -1;
  double power_W = 0.0;
  std::string_view path;
};

/// Unknowns are passed as the vector x, in the order of adding with fixed nodes left out: temperatures in K, of melting
/// nodes u. Heat into a node is positive.
class Network {
 public:
  /// Throws Error(value_out_of_range) if a melting law is not sound.
  NodeId add(Node node);

  /// A path from a to b. Throws Error(internal) if a melting node is where the law expects a temperature, or the other
  /// way.
  void connect(NodeId a, NodeId b, Conductance law, std::string path);
  void connect(NodeId a, NodeId b, Conduction law, std::string path);
  void connect(NodeId a, NodeId b, LayerConduction law, std::string path);
  void connect(NodeId a, NodeId b, RadiationExchange law, std::string path);
  void connect(NodeId a, NodeId b, SwitchedConductance law, std::string path);
  void connect(NodeId a, NodeId b, VapourTransport law, std::string path);
  void connect(NodeId a, NodeId store, MeltFront law, std::string path);
  void connect(NodeId a, NodeId slice, MeltFace law, std::string path);
  void connect(NodeId slice_a, NodeId slice_b, MeltLayer law, std::string path);
  void connect_to_space(NodeId a, RadiationToSpace law, std::string path);
  void connect_switched_surface(NodeId a, SwitchedRadiation law, std::string path);
  void connect_fin(NodeId a, RadiatingFin law, std::string path);

  int node_count() const { return static_cast<int>(nodes_.size()); }
  const Node& node(NodeId id) const { return nodes_[static_cast<std::size_t>(id)]; }
  /// The node of that name, or -1.
  NodeId find(std::string_view name) const;

  /// Number of unknowns, and the place of a node among them (-1 for a fixed node).
  int unknown_count() const { return unknown_count_; }
  int unknown_of(NodeId id) const { return place_[static_cast<std::size_t>(id)]; }
  NodeId node_of_unknown(int unknown) const { return node_of_unknown_[static_cast<std::size_t>(unknown)]; }
  double temperature_K(NodeId id, std::span<const double> x) const {
    const Node& at = node(id);
    if (at.kind == NodeKind::fixed) return at.fixed_temperature_K;
    const double unknown = x[static_cast<std::size_t>(unknown_of(id))];
    return at.kind == NodeKind::melting ? at.melting.temperature_K(unknown) : unknown;
  }
  /// Share of a melting node that is liquid; 0 for any other.
  double melted_share(NodeId id, std::span<const double> x) const {
    const Node& at = node(id);
    return at.kind == NodeKind::melting ? at.melting.melted_share(x[static_cast<std::size_t>(unknown_of(id))]) : 0.0;
  }
  /// What x holds for a node at a temperature.
  double unknown_at(NodeId id, double temperature_K) const {
    return node(id).kind == NodeKind::melting ? node(id).melting.unknown_of(temperature_K) : temperature_K;
  }

  /// Nodes from which no path leads to space or to a fixed node: without one there is no steady state.
  std::vector<NodeId> isolated() const;

  /// Rows and columns that the paths need in a Jacobian of unknowns.
  std::vector<std::pair<int, int>> positions() const;

  /// Looks up where each path's derivatives go. Call once after the last path, with a pattern that holds `positions()`.
  void bind(const solvers::Pattern& pattern);

  /// Adds each path's heat to `heat_W` (per unknown), and its exact derivatives to `values` (at the pattern's
  /// positions).
  void add_heat(std::span<const double> x, std::span<double> heat_W) const;
  void add_derivatives(std::span<const double> x, std::span<double> values) const;

  /// Every path's flow, each stated once: for the reader of results and for the balance that is independent of
  /// add_heat.
  std::vector<Flow> flows(std::span<const double> x) const;

  /// Infrared to space from all nodes, net of what comes from there, in watts.
  double heat_to_space_W(std::span<const double> x) const;

  /// Heat stored since `begin`: the sum of the integrals of C dT, and of the enthalpies of melting nodes, in joules.
  double stored_J(std::span<const double> begin, std::span<const double> end) const;

 private:
  /// A law between two nodes with the places of its four derivatives (-1: none).
  template <class Law>
  struct Link {
    NodeId a, b;
    int place_a, place_b;
    double fixed_a_K, fixed_b_K;
    Law law;
    std::string path;
    std::array<int, 4> position{-1, -1, -1, -1};  ///< aa, ab, ba, bb
  };
  template <class Law>
  struct SpaceLink {
    NodeId a;
    int place;
    Law law;
    std::string path;
    int position = -1;
  };
  using Links = std::tuple<std::vector<Link<Conductance>>, std::vector<Link<Conduction>>,
                           std::vector<Link<LayerConduction>>, std::vector<Link<RadiationExchange>>,
                           std::vector<Link<SwitchedConductance>>, std::vector<Link<VapourTransport>>,
                           std::vector<Link<MeltFront>>, std::vector<Link<MeltFace>>, std::vector<Link<MeltLayer>>>;

  using SpaceLinks = std::tuple<std::vector<SpaceLink<RadiationToSpace>>, std::vector<SpaceLink<SwitchedRadiation>>,
                                std::vector<SpaceLink<RadiatingFin>>>;

  template <class Law>
  void add_link(NodeId a, NodeId b, Law law, std::string path);
  template <class Law>
  void add_space_link(NodeId a, Law law, std::string path);

  std::vector<Node> nodes_;
  std::vector<int> place_;
  std::vector<NodeId> node_of_unknown_;
  int unknown_count_ = 0;
  Links links_;
  SpaceLinks space_links_;
};

}  // namespace tileflux::network
