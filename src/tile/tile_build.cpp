/// Building a TileSystem from a Case: nodes, paths, sources, chain, limits.

#include <algorithm>
#include <cmath>
#include <limits>

#include "tileflux/network/enclosure.h"
#include "tileflux/tile/radiator.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::tile {

using network::Network;
using network::Node;
using network::NodeId;
using network::NodeKind;

namespace {

/// Name of slice `i` (from 0) of a layer.
std::string slice_name(const Layer& layer, int i) {
  return layer.slices == 1 ? layer.name : layer.name + '.' + std::to_string(i + 1);
}

constexpr double not_stated = std::numeric_limits<double>::quiet_NaN();

}  // namespace

NodeId TileSystem::add_node(Node node, std::optional<double> start_K) {
  if (network_.find(node.name) >= 0) throw Error(Code::name_taken, "there are two parts named '" + node.name + "'");
  const bool unknown = node.kind != NodeKind::fixed;
  if (unknown) {
    differential_.push_back(node.kind == NodeKind::capacity ? 1 : 0);
    start_K_.push_back(start_K.value_or(not_stated));
  }
  sun_heat_W_.push_back(0.0);
  return network_.add(std::move(node));
}

NodeId TileSystem::require(const std::string& name, const std::string& where) const {
  const NodeId id = network_.find(name);
  if (id < 0) throw Error(Code::name_unknown, where + " refers to '" + name + "', which is no part of the tile");
  return id;
}

void TileSystem::add_stack() {
  if (!case_.stack) return;
  const double area_m2 = case_.stack->area_m2;
  struct Half {
    NodeId node;
    PropertyTable conductance_W_per_K;
    double resistance_below_K_per_W;
  };
  std::optional<Half> above;
  for (const Layer& layer : case_.stack->layers) {
    const double slice_m = layer.thickness_m / layer.slices;
    const PropertyTable capacity =
        layer.material.heat_capacity_J_per_kg_K.scaled(layer.material.density_kg_per_m3 * slice_m * area_m2);
    const PropertyTable half = layer.material.conductivity_W_per_m_K.scaled(area_m2 / (0.5 * slice_m));
    for (int i = 0; i < layer.slices; ++i) {
      const NodeId node = add_node({slice_name(layer, i), NodeKind::capacity, capacity, 0.0}, layer.start_K);
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

void TileSystem::add_parts() {
  for (const Part& part : case_.parts) {
    Node node{part.name, NodeKind::massless, PropertyTable(0.0), 0.0};
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
  for (std::size_t b = 0; b < case_.lasers.size(); ++b) {
    const Bank& bank = case_.lasers[b];
    Node node{bank.name + ".junction", NodeKind::massless, PropertyTable(0.0), 0.0};
    if (bank.capacity_J_per_K) {
      node.kind = NodeKind::capacity;
      node.capacity_J_per_K = PropertyTable(*bank.capacity_J_per_K * std::max(1, bank.devices.modules));
    }
    junction_.push_back(add_node(std::move(node), std::nullopt));
    used_.push_back(
        {junction_.back(), "laser " + bank.name, "the laser law", bank.valid_from_K, bank.valid_to_K, true});
    junction_resistance_K_per_W_.push_back(bank.resistance_K_per_W / std::max(1, bank.devices.modules));
  }
}

void TileSystem::add_paths() {
  for (const Join& join : case_.joins) {
    const NodeId a = require(join.a, "a join");
    const NodeId b = require(join.b, "a join");
    const std::string path = join.a + " - " + join.b;
    if (join.conductance_W_per_K) network_.connect(a, b, network::Conductance{*join.conductance_W_per_K}, path);
    if (!join.bar_W_per_K) continue;
    network_.connect(a, b, network::Conduction{*join.bar_W_per_K}, path);
    for (const NodeId end : {a, b}) {
      used_.push_back(
          {end, join.material, "conductivity", join.bar_W_per_K->valid_from_K(), join.bar_W_per_K->valid_to_K()});
    }
  }
  for (const RadiationLink& link : case_.radiation) {
    network_.connect(require(link.a, "a radiation path"), require(link.b, "a radiation path"),
                     network::RadiationExchange{link.exchange_area_m2}, "infrared: " + link.a + " - " + link.b);
  }
  for (std::size_t b = 0; b < case_.lasers.size(); ++b) {
    const Bank& bank = case_.lasers[b];
    network_.connect(junction_[b], require(bank.mount, "laser " + bank.name),
                     network::Conductance{1.0 / junction_resistance_K_per_W_[b]},
                     bank.name + ".junction - " + bank.mount);
  }
}

void TileSystem::add_emitter(const std::string& name, Emitter emitter) {
  const std::string path = "infrared: " + name;
  for (const NodeId node : emitter.nodes) {
    if (const auto* fin = std::get_if<network::RadiatingFin>(&emitter.law)) {
      network_.connect_fin(node, *fin, path);
      emitting_m2_ += fin->emittance_sum * fin->width_m * fin->length_m;
    } else if (const auto* switched = std::get_if<network::SwitchedRadiation>(&emitter.law)) {
      network_.connect_switched_surface(node, *switched, path);
      emitting_m2_ += switched->emitting_area_m2.values().back();
    } else {
      const auto& plain = std::get<network::RadiationToSpace>(emitter.law);
      network_.connect_to_space(node, plain, path);
      emitting_m2_ += plain.emitting_area_m2;
    }
  }
  emitters_.push_back(std::move(emitter));
  infrared_names_.push_back(name);
}

void TileSystem::add_fin(const Surface& surface, NodeId root, double absorbed_W) {
  const Fin& fin = *surface.fin;
  const double plan_m2 = surface.area_m2 / surface.faces;
  const double width_m = plan_m2 / fin.length_m;
  const double emittance_sum = surface.emittance * surface.view_to_space * surface.faces;
  if (fin.segments == 0) {
    absorbed_along_fins_W_ += absorbed_W;
    used_.push_back({root, fin.material, "conductivity", fin.conductance_W_per_K.valid_from_K(),
                     fin.conductance_W_per_K.valid_to_K()});
    add_emitter(surface.name, {{root}, fin_law(case_, surface), absorbed_W});
    return;
  }
  const double segment_m = fin.length_m / fin.segments;
  const double segment_m2 = plan_m2 / fin.segments;
  Emitter emitter{{}, network::RadiationToSpace{emittance_sum * segment_m2, case_.space_K}, 0.0};
  NodeId before = root;
  for (int i = 0; i < fin.segments; ++i) {
    const NodeId node = require(surface.name + '.' + std::to_string(i + 1), "surface " + surface.name);
    const double length_m = i == 0 ? 0.5 * segment_m : segment_m;
    network_.connect(before, node, network::Conduction{fin.conductance_W_per_K.scaled(width_m / length_m)},
                     network_.node(before).name + " - " + network_.node(node).name);
    used_.push_back({node, fin.material, "conductivity", fin.conductance_W_per_K.valid_from_K(),
                     fin.conductance_W_per_K.valid_to_K()});
    sun_heat_W_[static_cast<std::size_t>(node)] += absorbed_W / fin.segments;
    emitter.nodes.push_back(node);
    before = node;
  }
  add_emitter(surface.name, std::move(emitter));
}

void TileSystem::add_surfaces() {
  for (const Surface& surface : case_.surfaces) {
    const NodeId node = require(surface.node, "surface " + surface.name);
    const double met_W = surface.sunlit ? case_.sun.irradiance_W_per_m2() * surface.area_m2 : 0.0;
    const double absorbed_W = surface.absorptance * met_W;
    met_W_ += met_W;
    absorbed_W_ += absorbed_W;
    if (surface.fin) {
      add_fin(surface, node, absorbed_W);
      continue;
    }
    const double seen_m2 = surface.area_m2 * surface.view_to_space;
    if (surface.emittance_over_K) {
      add_emitter(surface.name,
                  {{node}, network::SwitchedRadiation{surface.emittance_over_K->scaled(seen_m2), case_.space_K}, 0.0});
    } else {
      add_emitter(surface.name, {{node}, network::RadiationToSpace{surface.emittance * seen_m2, case_.space_K}, 0.0});
    }
    if (surface.deposits.empty()) sun_heat_W_[static_cast<std::size_t>(node)] += absorbed_W;
    for (const SunShare& deposit : surface.deposits) {
      sun_heat_W_[static_cast<std::size_t>(require(deposit.node, "surface " + surface.name))] +=
          deposit.share * absorbed_W;
    }
  }
}

void TileSystem::add_enclosures() {
  for (const Enclosure& enclosure : case_.enclosures) {
    const auto size = static_cast<Eigen::Index>(enclosure.faces.size());
    Eigen::MatrixXd factors(size, size);
    std::vector<double> areas, emittances;
    std::vector<NodeId> nodes;
    for (Eigen::Index i = 0; i < size; ++i) {
      const EnclosureFace& face = enclosure.faces[static_cast<std::size_t>(i)];
      nodes.push_back(require(face.node, "enclosure " + enclosure.name));
      areas.push_back(face.area_m2);
      emittances.push_back(face.emittance);
      for (Eigen::Index j = 0; j < size; ++j)
        factors(i, j) = enclosure.view_factors[static_cast<std::size_t>(i)][static_cast<std::size_t>(j)];
    }
    const network::ExchangeAreas exchange = network::exchange_areas(factors, areas, emittances);
    // Exchange areas smaller than this share of a face are round-off of the elimination.
    constexpr double round_off = 1e-13;
    for (Eigen::Index i = 0; i < size; ++i) {
      const auto a = static_cast<std::size_t>(i);
      const std::string name = enclosure.name + '.' + enclosure.faces[a].name;
      for (Eigen::Index j = 0; j < i; ++j) {
        const auto b = static_cast<std::size_t>(j);
        if (nodes[a] == nodes[b] || exchange.between_m2(i, j) <= round_off * areas[a]) continue;
        network_.connect(nodes[a], nodes[b], network::RadiationExchange{exchange.between_m2(i, j)},
                         "infrared: " + name + " - " + enclosure.faces[b].name);
      }
      if (exchange.to_space_m2[i] > round_off * areas[a])
        add_emitter(name, {{nodes[a]}, network::RadiationToSpace{exchange.to_space_m2[i], case_.space_K}, 0.0});
    }
  }
}

void TileSystem::add_chain() {
  output_node_.fill(-1);
  input_node_.fill(-1);
  if (!case_.cells) {
    if (!case_.lasers.empty()) throw Error(Code::key_conflict, "lasers need cells to feed them");
    return;
  }
  has_chain_ = has_cells_ = true;
  const Cells& cells = *case_.cells;
  const auto surface = std::find_if(case_.surfaces.begin(), case_.surfaces.end(),
                                    [&](const Surface& s) { return s.name == cells.surface; });
  if (surface == case_.surfaces.end())
    throw Error(Code::name_unknown, "the cells refer to the surface '" + cells.surface + "', which is not described");
  chain_.cells =
      devices::CellLaw{surface->area_m2,  cells.packing,   cells.efficiency,      cells.reference_K,
                       cells.slope_per_K, cells.remaining, cells.intensity_slope, cells.reference_irradiance_W_per_m2};
  cell_irradiance_W_per_m2_ = case_.sun.irradiance_W_per_m2();
  if (cells.pointing)
    cell_irradiance_W_per_m2_ = case_.sun.normal_irradiance_W_per_m2() * cells.pointing->value(case_.sun.tilt_rad);
  input_node_[0] = output_node_[0] = require(cells.node, "cells");
  if (cells.shunt_node) output_node_[1] = require(*cells.shunt_node, "cells");
  output_node_[2] = output_node_[0];
  if (case_.conditioning) {
    chain_.conditioning = {case_.conditioning->standby_W, case_.conditioning->proportional,
                           case_.conditioning->quadratic_per_W};
    output_node_[2] = require(case_.conditioning->node, "conditioning");
  }
  if (case_.housekeeping) {
    chain_.housekeeping_W = case_.housekeeping->power_W;
    output_node_[3] = require(case_.housekeeping->node, "housekeeping");
  }
  if (case_.optics) {
    chain_.optics_transmission = case_.optics->transmission;
    output_node_[4] = require(case_.optics->node, "optics");
  }
  if (case_.lasers.size() > static_cast<std::size_t>(devices::most_banks)) {
    throw Error(Code::count_out_of_bounds, "at most " + std::to_string(devices::most_banks) + " laser banks");
  }
  for (std::size_t b = 0; b < case_.lasers.size(); ++b) {
    chain_.banks.push_back(case_.lasers[b].devices);
    output_node_[5 + b] = junction_[b];
    input_node_[1 + b] = junction_[b];
  }
}

void TileSystem::add_limits() {
  for (const Limit& limit : case_.limits) {
    const NodeId node = require(limit.node, "a limit");
    limits_.push_back({limit, node});
    if (!limit.throttle_from_K || !limit.below_K) continue;
    if (chain_.throttles.size() >= static_cast<std::size_t>(devices::most_throttles)) {
      throw Error(Code::count_out_of_bounds,
                  "at most " + std::to_string(devices::most_throttles) + " limits that throttle");
    }
    input_node_[1 + devices::most_banks + chain_.throttles.size()] = node;
    chain_.throttles.push_back({*limit.throttle_from_K, *limit.below_K});
  }
}

void TileSystem::bind_pattern() {
  std::vector<std::pair<int, int>> positions = network_.positions();
  const auto place = [&](NodeId id) { return id >= 0 ? network_.unknown_of(id) : -1; };
  const auto for_each_chain_pair = [&](auto&& visit) {
    if (!has_chain_) return;
    for (const NodeId output : output_node_) {
      for (const NodeId input : input_node_) visit(place(output), place(input));
    }
  };
  for_each_chain_pair([&](int row, int column) {
    if (row >= 0 && column >= 0) positions.emplace_back(row, column);
  });
  pattern_ = solvers::Pattern::from_positions(size(), positions);
  network_.bind(pattern_);
  for_each_chain_pair([&](int row, int column) {
    chain_position_.push_back(row >= 0 && column >= 0 ? pattern_.position(row, column) : -1);
  });
  for (int i = 0; i < size(); ++i) diagonal_.push_back(pattern_.position(i, i));
}

TileSystem::TileSystem(const Case& description) : case_(description) {
  add_stack();
  add_parts();
  if (size() == 0) throw Error(Code::part_not_described, "the tile has no part whose temperature is to be found");
  add_paths();
  add_surfaces();
  add_enclosures();
  add_chain();
  add_limits();
  for (const Load& load : case_.loads) load_node_.push_back(require(load.node, "a load"));
  bind_pattern();
  set_mode({});
}

}  // namespace tileflux::tile
