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
#include "tileflux/network/laws.h"
#include "tileflux/solvers/system.h"

namespace tileflux::network {

/// A node stores heat, stores none (its balance holds at every instant), or is held at a temperature from outside.
enum class NodeKind { capacity, massless, fixed };

struct Node {
  std::string name;
  NodeKind kind = NodeKind::capacity;
  PropertyTable capacity_J_per_K;    ///< of a node with capacity: C(T)
  double fixed_temperature_K = 0.0;  ///< of a fixed node
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

/// Temperatures are passed as the vector x of the unknown nodes (K), in the order of adding with fixed nodes left out.
/// Heat into a node is positive.
class Network {
 public:
  NodeId add(Node node);

  void connect(NodeId a, NodeId b, Conductance law, std::string path);
  void connect(NodeId a, NodeId b, Conduction law, std::string path);
  void connect(NodeId a, NodeId b, LayerConduction law, std::string path);
  void connect(NodeId a, NodeId b, RadiationExchange law, std::string path);
  void connect_to_space(NodeId a, RadiationToSpace law, std::string path);
  void connect_switched_surface(NodeId a, SwitchedRadiation law, std::string path);
  void connect_fin(NodeId a, RadiatingFin law, std::string path);

  int node_count() const { return static_cast<int>(nodes_.size()); }
  const Node& node(NodeId id) const { return nodes_[static_cast<std::size_t>(id)]; }
  /// The node of that name, or -1.
  NodeId find(std::string_view name) const;

  /// Number of unknown temperatures, and the place of a node among them (-1 for a fixed node).
  int unknown_count() const { return unknown_count_; }
  int unknown_of(NodeId id) const { return place_[static_cast<std::size_t>(id)]; }
  NodeId node_of_unknown(int unknown) const { return node_of_unknown_[static_cast<std::size_t>(unknown)]; }
  double temperature_K(NodeId id, std::span<const double> x) const {
    const int place = unknown_of(id);
    return place >= 0 ? x[static_cast<std::size_t>(place)] : node(id).fixed_temperature_K;
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

  /// Heat stored since `begin`: the sum of the integrals of C dT, in joules.
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
                           std::vector<Link<LayerConduction>>, std::vector<Link<RadiationExchange>>>;

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
