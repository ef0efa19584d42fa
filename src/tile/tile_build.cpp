/// Building a TileSystem from a Case: nodes and conduction paths.

#include <algorithm>
#include <cmath>
#include <limits>

#include "tileflux/tile/failure.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::tile {

using network::Network;
using network::NodeId;
using network::NodeKind;

namespace {

/// Name of slice `i` (from 0) of a layer.
std::string slice_name(const Layer& layer, int i) {
  return layer.slices == 1 ? layer.name : layer.name + '.' + std::to_string(i + 1);
}

constexpr double not_stated = std::numeric_limits<double>::quiet_NaN();

}  // namespace

NodeId TileSystem::add_node(network::Node node, std::optional<double> start_K) {
  if (network_.find(node.name) >= 0) throw Error(Code::name_taken, "there are two parts named '" + node.name + "'");
  const bool unknown = node.kind != NodeKind::fixed;
  if (unknown) {
    differential_.push_back(node.differential() ? 1 : 0);
    start_K_.push_back(start_K.value_or(not_stated));
  }
  return network_.add(std::move(node));
}

NodeId TileSystem::require(const std::string& name, const std::string& where) const {
  const NodeId id = network_.find(name);
  if (id >= 0) return id;
  const auto zoned = zoned_.find(name);
  if (zoned == zoned_.end())
    throw Error(Code::name_unknown, where + " refers to '" + name + "', which is no part of the tile");
  throw Error(Code::name_unknown, where + " refers to '" + name + "', which has zones: say which one, as in '" +
                                      network_.node(zoned->second.front().node).name + "'");
}

std::vector<TileSystem::Member> TileSystem::members(const std::string& name, const std::string& where) const {
  const auto zoned = zoned_.find(name);
  if (zoned != zoned_.end()) return zoned->second;
  return {{require(name, where), 1.0}};
}

template <class Visit>
void TileSystem::for_each_pair(const std::string& a, const std::string& b, const std::string& where,
                               const Visit& visit) const {
  const std::vector<Member> from = members(a, where), to = members(b, where);
  if (from.size() == to.size()) {  // zone by zone; a single pair likewise
    for (std::size_t i = 0; i < from.size(); ++i) visit(from[i].node, to[i].node, from[i].share);
    return;
  }
  for (const Member& one : from) {
    for (const Member& other : to) visit(one.node, other.node, one.share * other.share);
  }
}

/// One column of layers over a share of the area, from the sun side down.
void TileSystem::add_zone(const Stack& stack, const Zone& zone) {
  const double area_m2 = stack.area_m2 * zone.share;
  struct Half {
    NodeId node;
    PropertyTable conductance_W_per_K;
    double resistance_below_K_per_W;
  };
  std::optional<Half> above;
  for (const Layer& layer : stack.layers) {
    const double slice_m = layer.thickness_m / layer.slices;
    const PropertyTable capacity =
        layer.material.heat_capacity_J_per_kg_K.scaled(layer.material.density_kg_per_m3 * slice_m * area_m2);
    const PropertyTable half = layer.material.conductivity_W_per_m_K.scaled(area_m2 / (0.5 * slice_m));
    for (int i = 0; i < layer.slices; ++i) {
      const std::string bare = slice_name(layer, i);
      const std::string name = zone.name.empty() ? bare : bare + '.' + zone.name;
      const NodeId node = add_node({name, NodeKind::capacity, capacity, 0.0}, layer.start_K);
      if (!zone.name.empty()) zoned_[bare].push_back({node, zone.share});
      const auto use = [&](const char* property, const PropertyTable& table) {
        used_.push_back({node, layer.material.name, property, table.valid_from_K(), table.valid_to_K()});
      };
      use("heat_capacity", layer.material.heat_capacity_J_per_kg_K);
      use("conductivity", layer.material.conductivity_W_per_m_K);
      if (above) {
        network_.connect(above->node, node,
                         network::LayerConduction{above->conductance_W_per_K, half, above->resistance_below_K_per_W},
                         "stack: " + network_.node(above->node).name + " - " + network_.node(node).name);
      }
      above = Half{node, half, 0.0};
    }
    if (layer.contact_below_W_per_m2_K)
      above->resistance_below_K_per_W = 1.0 / (*layer.contact_below_W_per_m2_K * area_m2);
  }
}

void TileSystem::add_stack() {
  if (!case_.stack) return;
  const Stack& stack = *case_.stack;
  if (stack.zones.empty()) return add_zone(stack, {});
  for (const Zone& zone : stack.zones) add_zone(stack, zone);
  for (const Layer& layer : stack.layers) {
    const double slice_m = layer.thickness_m / layer.slices;
    const PropertyTable sideways =
        layer.material.conductivity_W_per_m_K.scaled(slice_m * stack.border_m / stack.distance_m);
    for (int i = 0; i < layer.slices; ++i) {
      const std::vector<Member>& row = zoned_.at(slice_name(layer, i));
      for (std::size_t z = 1; z < row.size(); ++z) {
        network_.connect(row[z - 1].node, row[z].node, network::Conduction{sideways},
                         "sideways: " + network_.node(row[z - 1].node).name + " - " + network_.node(row[z].node).name);
      }
    }
  }
}

void TileSystem::add_parts() {
  for (const Part& part : case_.parts) {
    network::Node node{part.name, NodeKind::massless, PropertyTable(0.0), 0.0};
    if (part.fixed_K) {
      node.kind = NodeKind::fixed;
      node.fixed_temperature_K = *part.fixed_K;
    } else if (part.capacity_J_per_K) {
      node.kind = NodeKind::capacity;
      node.capacity_J_per_K = *part.capacity_J_per_K;
    }
    const NodeId id = add_node(std::move(node), part.start_K);
    if (part.capacity_J_per_K && !part.material.empty()) {
      used_.push_back({id, part.material, "heat_capacity", part.capacity_J_per_K->valid_from_K(),
                       part.capacity_J_per_K->valid_to_K()});
    }
  }
  for (const Surface& surface : case_.surfaces) {
    for (int i = 0; surface.fin && i < surface.fin->segments; ++i) {
      const PropertyTable capacity =
          surface.fin->capacity_J_per_m2_K.scaled(surface.area_m2 / surface.faces / surface.fin->segments);
      const NodeId id =
          add_node({surface.name + '.' + std::to_string(i + 1), NodeKind::capacity, capacity, 0.0}, std::nullopt);
      used_.push_back({id, surface.fin->material, "heat_capacity", capacity.valid_from_K(), capacity.valid_to_K()});
    }
  }
}

void TileSystem::add_stores() {
  for (const Store& store : case_.stores) {
    const double slice_kg = store.mass_kg / store.slices;
    const network::MeltingLaw law{store.solid_J_per_kg_K * slice_kg, store.liquid_J_per_kg_K * slice_kg,
                                  store.latent_J_per_kg * slice_kg, store.melt_K, store.range_K};
    const double contact_K_per_W = 1.0 / (store.contact_W_per_m2_K * store.area_m2);
    const double solid_K_per_W = store.thickness_m / (store.solid_W_per_m_K * store.area_m2);
    const double liquid_K_per_W = store.thickness_m / (store.liquid_W_per_m_K * store.area_m2);
    const NodeId wall = require(store.node, "store " + store.name);
    const network::PhaseConduction slice{solid_K_per_W / store.slices, liquid_K_per_W / store.slices};
    const network::PhaseConduction half{0.5 * slice.solid_K_per_W, 0.5 * slice.liquid_K_per_W};
    NodeId before = -1;
    for (int i = 0; i < store.slices; ++i) {
      const std::string name = store.slices == 1 ? store.name : store.name + '.' + std::to_string(i + 1);
      const NodeId node = add_node({name, NodeKind::melting, PropertyTable(0.0), 0.0, law}, store.start_K);
      if (store.slices == 1) {
        network_.connect(wall, node, network::MeltFront{contact_K_per_W, liquid_K_per_W, solid_K_per_W},
                         store.node + " - " + name);
      } else if (i == 0) {
        network_.connect(wall, node, network::MeltFace{contact_K_per_W, half}, store.node + " - " + name);
      } else {
        network_.connect(before, node, network::MeltLayer{slice}, network_.node(before).name + " - " + name);
      }
      before = node;
    }
  }
}

void TileSystem::add_pipes() {
  for (const HeatPipe& pipe : case_.pipes) {
    const NodeKind kind = pipe.capacity_J_per_K ? NodeKind::capacity : NodeKind::massless;
    const PropertyTable half(0.5 * pipe.capacity_J_per_K.value_or(0.0) * std::max({1, pipe.mounted, pipe.pipes}));
    const NodeId evaporator = add_node({pipe.name + ".evaporator", kind, half, 0.0}, {});
    const NodeId condenser = add_node({pipe.name + ".condenser", kind, half, 0.0}, {});
    // Without a working pipe the vapour is of no consequence, but its temperature must still be one.
    const double working = std::max(1e-6, static_cast<double>(pipe.pipes));
    const auto connect = [&](const std::vector<PipeEnd>& ends, NodeId vapour) {
      for (const PipeEnd& end : ends) {
        for (const Member& member : members(end.node, "heat pipe " + pipe.name)) {
          network_.connect(member.node, vapour, network::Conductance{working * member.share * end.conductance_W_per_K},
                           network_.node(member.node).name + " - " + network_.node(vapour).name);
        }
      }
    };
    connect(pipe.evaporators, evaporator);
    connect(pipe.condensers, condenser);
    network_.connect(
        evaporator, condenser,
        network::vapour_transport(pipe.pipes, pipe.transport_W_m, pipe.effective_length_m, pipe.vapour_W_per_K),
        "vapour: " + pipe.name);
  }
}

void TileSystem::add_junctions() {
  for (std::size_t b = 0; b < case_.lasers.size(); ++b) {
    const Bank& bank = case_.lasers[b];
    network::Node node{bank.name + ".junction", NodeKind::massless, PropertyTable(0.0), 0.0};
    if (bank.capacity_J_per_K) {
      node.kind = NodeKind::capacity;
      const int mounted = std::max({1, bank.mounted, bank.devices.modules});
      node.capacity_J_per_K = PropertyTable(*bank.capacity_J_per_K * mounted);
    }
    junction_.push_back(add_node(std::move(node), std::nullopt));
    const bool table = std::holds_alternative<devices::EfficiencyLaw>(bank.devices.law);
    used_.push_back({junction_.back(), "laser " + bank.name, table ? "the efficiency table" : "the laser law",
                     bank.valid_from_K, bank.valid_to_K, true, table});
    junction_resistance_K_per_W_.push_back(bank.resistance_K_per_W / std::max(1, bank.devices.modules));
  }
}

void TileSystem::add_paths() {
  for (const Join& join : case_.joins) {
    for_each_pair(join.a, join.b, "a join", [&](NodeId a, NodeId b, double share) {
      const std::string path = network_.node(a).name + " - " + network_.node(b).name;
      if (join.conductance_W_per_K)
        network_.connect(a, b, network::Conductance{share * *join.conductance_W_per_K}, path);
      if (join.switched_W_per_K)
        network_.connect(a, b, network::SwitchedConductance{join.switched_W_per_K->scaled(share)}, path);
      if (!join.bar_W_per_K) return;
      network_.connect(a, b, network::Conduction{join.bar_W_per_K->scaled(share)}, path);
      for (const NodeId end : {a, b}) {
        used_.push_back(
            {end, join.material, "conductivity", join.bar_W_per_K->valid_from_K(), join.bar_W_per_K->valid_to_K()});
      }
    });
  }
  for (const RadiationLink& link : case_.radiation) {
    for_each_pair(link.a, link.b, "a radiation path", [&](NodeId a, NodeId b, double share) {
      network_.connect(a, b, network::RadiationExchange{share * link.exchange_area_m2},
                       "infrared: " + network_.node(a).name + " - " + network_.node(b).name);
    });
  }
  for (std::size_t b = 0; b < case_.lasers.size(); ++b) {
    const Bank& bank = case_.lasers[b];
    network_.connect(junction_[b], require(bank.mount, "laser " + bank.name),
                     network::Conductance{1.0 / junction_resistance_K_per_W_[b]},
                     bank.name + ".junction - " + bank.mount);
  }
}

void TileSystem::add_differences() {
  for (const DifferenceLimit& limit : case_.differences) {
    if (limit.below_K.has_value() == limit.gradient_below_K_per_m.has_value() ||
        (limit.gradient_below_K_per_m && limit.distance_m <= 0.0))
      throw Error(Code::limits_contradict, "a limit on a difference needs a difference, or a gradient and a distance");
    for_each_pair(limit.a, limit.b, "a limit on a difference", [&](NodeId a, NodeId b, double) {
      if (a == b)
        throw Error(Code::name_taken, "a limit on a difference needs two nodes, and names '" + limit.a + "' twice");
      DifferenceLimit one = limit;
      one.a = network_.node(a).name;
      one.b = network_.node(b).name;
      differences_.push_back({one, a, b});
    });
  }
}

TileSystem::TileSystem(const Case& description, std::shared_ptr<const Sky> sky)
    : case_(after_failures(description, 0.0)) {
  const bool known = sky && sky->same_as(case_);
  sky_ = known ? std::move(sky) : std::make_shared<const Sky>(case_);
  mean_ = sky_->mean(case_.run.duration_s);
  add_stack();
  add_parts();
  add_stores();
  add_pipes();
  add_junctions();
  if (network_.unknown_count() == 0)
    throw Error(Code::part_not_described, "the tile has no part whose temperature is to be found");
  if (case_.battery) differential_.push_back(1);
  add_paths();
  add_surfaces();
  add_enclosures();
  add_chain();
  add_heaters();
  add_limits();
  add_differences();
  for (const Load& load : case_.loads) load_node_.push_back(members(load.node, "a load"));
  bind_hold();
  bind_pattern();
  set_mode({});
}

}  // namespace tileflux::tile
