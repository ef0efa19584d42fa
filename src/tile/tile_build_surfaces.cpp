/// Building a TileSystem from a Case: surfaces, fins, enclosures.

#include <cmath>

#include "tileflux/network/enclosure.h"
#include "tileflux/tile/radiator.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::tile {

using network::NodeId;

void TileSystem::add_emitter(const std::string& name, Emitter emitter) {
  const std::string path = "infrared: " + name;
  for (const auto& [node, law] : emitter.paths) {
    if (const auto* fin = std::get_if<network::RadiatingFin>(&law)) {
      network_.connect_fin(node, *fin, path);
      emitting_m2_ += fin->emittance_sum * fin->width_m * fin->length_m;
    } else if (const auto* switched = std::get_if<network::SwitchedRadiation>(&law)) {
      network_.connect_switched_surface(node, *switched, path);
      emitting_m2_ += switched->emitting_area_m2.values().back();
    } else {
      const auto& plain = std::get<network::RadiationToSpace>(law);
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
    add_emitter(surface.name, {{{root, fin_law(case_, surface)}}, absorbed_W});
    return;
  }
  const double segment_m = fin.length_m / fin.segments;
  const double segment_m2 = plan_m2 / fin.segments;
  const network::RadiationToSpace law{emittance_sum * segment_m2, case_.space_K};
  Emitter emitter;
  NodeId before = root;
  for (int i = 0; i < fin.segments; ++i) {
    const NodeId node = require(surface.name + '.' + std::to_string(i + 1), "surface " + surface.name);
    const double length_m = i == 0 ? 0.5 * segment_m : segment_m;
    network_.connect(before, node, network::Conduction{fin.conductance_W_per_K.scaled(width_m / length_m)},
                     network_.node(before).name + " - " + network_.node(node).name);
    used_.push_back({node, fin.material, "conductivity", fin.conductance_W_per_K.valid_from_K(),
                     fin.conductance_W_per_K.valid_to_K()});
    sun_heat_W_[static_cast<std::size_t>(node)] += absorbed_W / fin.segments;
    emitter.paths.emplace_back(node, law);
    before = node;
  }
  add_emitter(surface.name, std::move(emitter));
}

void TileSystem::add_surfaces() {
  for (const Surface& surface : case_.surfaces) {
    const std::string where = "surface " + surface.name;
    const double met_W = case_.sun.irradiance_W_per_m2() * surface.sunlit_m2();
    const double absorbed_W = surface.absorptance * met_W;
    met_W_ += met_W;
    absorbed_W_ += absorbed_W;
    if (surface.fin) {
      add_fin(surface, require(surface.node, where), absorbed_W);
      continue;
    }
    Emitter emitter;
    for (const Member& member : members(surface.node, where)) {
      const double seen_m2 = surface.area_m2 * surface.view_to_space * member.share;
      if (surface.emittance_over_K) {
        emitter.paths.emplace_back(
            member.node, network::SwitchedRadiation{surface.emittance_over_K->scaled(seen_m2), case_.space_K});
      } else {
        emitter.paths.emplace_back(member.node, network::RadiationToSpace{surface.emittance * seen_m2, case_.space_K});
      }
    }
    add_emitter(surface.name, std::move(emitter));
    const std::vector<SunShare> whole{{surface.node, 1.0}};
    for (const SunShare& deposit : surface.deposits.empty() ? whole : surface.deposits) {
      for (const Member& member : members(deposit.node, where))
        sun_heat_W_[static_cast<std::size_t>(member.node)] += deposit.share * member.share * absorbed_W;
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
        add_emitter(name, {{{nodes[a], network::RadiationToSpace{exchange.to_space_m2[i], case_.space_K}}}, 0.0});
    }
  }
}

}  // namespace tileflux::tile
