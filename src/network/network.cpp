#include "tileflux/network/network.h"

#include <queue>
#include <type_traits>

#include "tileflux/base/errors.h"

namespace tileflux::network {

namespace {

/// What an end of a link is evaluated at: its unknown (of a melting end u) or the temperature of a fixed node.
double end_value(int place, double fixed_K, std::span<const double> x) {
  return place >= 0 ? x[static_cast<std::size_t>(place)] : fixed_K;
}

/// Visits every link of every kind of law; the kind is known at compile time, so nothing is virtual.
template <class Links, class Visit>
void for_each_link(Links& all, Visit&& visit) {
  std::apply(
      [&](auto&... kinds) {
        const auto visit_kind = [&](auto& kind) {
          for (auto& link : kind) visit(link);
        };
        (..., visit_kind(kinds));
      },
      all);
}

/// Which ends of a law are the unknowns of melting nodes.
template <class Law>
constexpr bool melting_a = std::is_same_v<Law, MeltLayer>;
template <class Law>
constexpr bool melting_b =
    std::is_same_v<Law, MeltLayer> || std::is_same_v<Law, MeltFront> || std::is_same_v<Law, MeltFace>;

void require_kind(const Node& node, bool melting) {
  if ((node.kind == NodeKind::melting) == melting) return;
  throw Error(Code::internal, node.name + (melting ? " does not melt, but a path to it is one of melting"
                                                   : " melts: heat reaches it through its front only"));
}

}  // namespace

NodeId Network::add(Node node) {
  if (node.kind == NodeKind::melting) {
    node.melting.check();
    node.capacity_J_per_K = PropertyTable(node.melting.solid_J_per_K);
  }
  const NodeId id = node_count();
  const bool unknown = node.kind != NodeKind::fixed;
  place_.push_back(unknown ? unknown_count_++ : -1);
  if (unknown) node_of_unknown_.push_back(id);
  nodes_.push_back(std::move(node));
  return id;
}

template <class Law>
void Network::add_link(NodeId a, NodeId b, Law law, std::string path) {
  require_kind(node(a), melting_a<Law>);
  require_kind(node(b), melting_b<Law>);
  std::get<std::vector<Link<Law>>>(links_).push_back({a,
                                                      b,
                                                      unknown_of(a),
                                                      unknown_of(b),
                                                      node(a).fixed_temperature_K,
                                                      node(b).fixed_temperature_K,
                                                      std::move(law),
                                                      std::move(path),
                                                      {}});
}

void Network::connect(NodeId a, NodeId b, Conductance law, std::string path) { add_link(a, b, law, std::move(path)); }
void Network::connect(NodeId a, NodeId b, Conduction law, std::string path) {
  add_link(a, b, std::move(law), std::move(path));
}
void Network::connect(NodeId a, NodeId b, LayerConduction law, std::string path) {
  add_link(a, b, std::move(law), std::move(path));
}
void Network::connect(NodeId a, NodeId b, RadiationExchange law, std::string path) {
  add_link(a, b, law, std::move(path));
}

void Network::connect(NodeId a, NodeId b, SwitchedConductance law, std::string path) {
  add_link(a, b, std::move(law), std::move(path));
}
void Network::connect(NodeId a, NodeId b, VapourTransport law, std::string path) {
  add_link(a, b, std::move(law), std::move(path));
}
void Network::connect(NodeId a, NodeId store, MeltFront law, std::string path) {
  law.store = node(store).melting;
  add_link(a, store, law, std::move(path));
}
void Network::connect(NodeId a, NodeId slice, MeltFace law, std::string path) {
  law.store = node(slice).melting;
  add_link(a, slice, law, std::move(path));
}
void Network::connect(NodeId slice_a, NodeId slice_b, MeltLayer law, std::string path) {
  law.store_a = node(slice_a).melting;
  law.store_b = node(slice_b).melting;
  if (law.store_a.melt_K != law.store_b.melt_K)
    throw Error(Code::internal, node(slice_a).name + " and " + node(slice_b).name + " are not slices of one store");
  add_link(slice_a, slice_b, law, std::move(path));
}

template <class Law>
void Network::add_space_link(NodeId a, Law law, std::string path) {
  require_kind(node(a), false);
  std::get<std::vector<SpaceLink<Law>>>(space_links_).push_back({a, unknown_of(a), std::move(law), std::move(path)});
}

void Network::connect_to_space(NodeId a, RadiationToSpace law, std::string path) {
  add_space_link(a, law, std::move(path));
}
void Network::connect_switched_surface(NodeId a, SwitchedRadiation law, std::string path) {
  add_space_link(a, std::move(law), std::move(path));
}
void Network::connect_fin(NodeId a, RadiatingFin law, std::string path) {
  add_space_link(a, std::move(law), std::move(path));
}

NodeId Network::find(std::string_view name) const {
  for (std::size_t i = 0; i < nodes_.size(); ++i) {
    if (nodes_[i].name == name) return static_cast<NodeId>(i);
  }
  return -1;
}

std::vector<NodeId> Network::isolated() const {
  std::vector<std::vector<NodeId>> neighbours(nodes_.size());
  for_each_link(links_, [&](const auto& link) {
    neighbours[static_cast<std::size_t>(link.a)].push_back(link.b);
    neighbours[static_cast<std::size_t>(link.b)].push_back(link.a);
  });
  std::vector<bool> reached(nodes_.size(), false);
  std::queue<NodeId> front;
  const auto reach = [&](NodeId id) {
    if (reached[static_cast<std::size_t>(id)]) return;
    reached[static_cast<std::size_t>(id)] = true;
    front.push(id);
  };
  for_each_link(space_links_, [&](const auto& link) {
    if (link.law.sees_space()) reach(link.a);  // a surface that sees no space is no way out
  });
  for (NodeId id = 0; id < node_count(); ++id) {
    if (node(id).kind == NodeKind::fixed) reach(id);
  }
  while (!front.empty()) {
    const NodeId id = front.front();
    front.pop();
    for (const NodeId neighbour : neighbours[static_cast<std::size_t>(id)]) reach(neighbour);
  }
  std::vector<NodeId> left;
  for (NodeId id = 0; id < node_count(); ++id) {
    if (!reached[static_cast<std::size_t>(id)]) left.push_back(id);
  }
  return left;
}

std::vector<std::pair<int, int>> Network::positions() const {
  std::vector<std::pair<int, int>> positions;
  for_each_link(links_, [&](const auto& link) {
    if (link.place_a >= 0 && link.place_b >= 0) {
      positions.emplace_back(link.place_a, link.place_b);
      positions.emplace_back(link.place_b, link.place_a);
    }
  });
  return positions;
}

void Network::bind(const solvers::Pattern& pattern) {
  const auto position = [&](int row, int column) {
    return row >= 0 && column >= 0 ? pattern.position(row, column) : -1;
  };
  for_each_link(links_, [&](auto& link) {
    link.position = {position(link.place_a, link.place_a), position(link.place_a, link.place_b),
                     position(link.place_b, link.place_a), position(link.place_b, link.place_b)};
  });
  for_each_link(space_links_, [&](auto& link) { link.position = position(link.place, link.place); });
}

void Network::add_heat(std::span<const double> x, std::span<double> heat_W) const {
  for_each_link(links_, [&](const auto& link) {
    const double q =
        link.law.flow(end_value(link.place_a, link.fixed_a_K, x), end_value(link.place_b, link.fixed_b_K, x));
    if (link.place_a >= 0) heat_W[static_cast<std::size_t>(link.place_a)] -= q;
    if (link.place_b >= 0) heat_W[static_cast<std::size_t>(link.place_b)] += q;
  });
  for_each_link(space_links_, [&](const auto& link) {
    if (link.place < 0) return;
    heat_W[static_cast<std::size_t>(link.place)] -= link.law.flow(x[static_cast<std::size_t>(link.place)]);
  });
}

void Network::add_derivatives(std::span<const double> x, std::span<double> values) const {
  const auto add = [&](int position, double value) {
    if (position >= 0) values[static_cast<std::size_t>(position)] += value;
  };
  for_each_link(links_, [&](const auto& link) {
    const Dual<2> a = variable<2>(end_value(link.place_a, link.fixed_a_K, x), 0);
    const Dual<2> b = variable<2>(end_value(link.place_b, link.fixed_b_K, x), 1);
    const Dual<2> q = link.law.flow(a, b);
    add(link.position[0], -q.derivatives()[0]);
    add(link.position[1], -q.derivatives()[1]);
    add(link.position[2], q.derivatives()[0]);
    add(link.position[3], q.derivatives()[1]);
  });
  for_each_link(space_links_, [&](const auto& link) {
    if (link.place < 0) return;
    const Dual<1> q = link.law.flow(variable<1>(x[static_cast<std::size_t>(link.place)], 0));
    add(link.position, -q.derivatives()[0]);
  });
}

std::vector<Flow> Network::flows(std::span<const double> x) const {
  std::vector<Flow> flows;
  for_each_link(links_, [&](const auto& link) {
    const double power_W =
        link.law.flow(end_value(link.place_a, link.fixed_a_K, x), end_value(link.place_b, link.fixed_b_K, x));
    flows.push_back({link.a, link.b, power_W, link.path});
  });
  for_each_link(space_links_, [&](const auto& link) {
    flows.push_back({link.a, -1, link.law.flow(temperature_K(link.a, x)), link.path});
  });
  return flows;
}

double Network::heat_to_space_W(std::span<const double> x) const {
  double sum = 0.0;
  for_each_link(space_links_, [&](const auto& link) { sum += link.law.flow(temperature_K(link.a, x)); });
  return sum;
}

double Network::stored_J(std::span<const double> begin, std::span<const double> end) const {
  double sum = 0.0;
  for (int i = 0; i < unknown_count_; ++i) {
    const Node& stored = node(node_of_unknown(i));
    if (!stored.differential()) continue;
    const auto k = static_cast<std::size_t>(i);
    const PropertyTable& capacity = stored.capacity_J_per_K;
    // For a constant, the difference first: it keeps the digits that the integrals from 0 K would lose.
    sum += capacity.constant() ? capacity.values()[0] * (end[k] - begin[k])
                               : capacity.integral(end[k]) - capacity.integral(begin[k]);
  }
  return sum;
}

}  // namespace tileflux::network
