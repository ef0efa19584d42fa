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

void TileSystem::add_sunlit(const Surface& surface, NodeId node, double absorbed_share, double emitted_share) {
  const double front_m2 = surface.front_m2(), rear_m2 = surface.rear_m2();
  const double sun = absorbed_share * surface.absorptance, infrared = emitted_share * surface.emittance;
  const double seen = surface.view_to_space;
  sunlit_.push_back({node, network_.unknown_of(node), sun * front_m2, sun * rear_m2, sun * seen * front_m2,
                     sun * seen * rear_m2, infrared * seen * front_m2, infrared * seen * rear_m2});
}

void TileSystem::add_fin(const Surface& surface, NodeId root) {
  const Fin& fin = *surface.fin;
  const double plan_m2 = surface.area_m2 / surface.faces;
  const double width_m = plan_m2 / fin.length_m;
  const double emittance_sum = surface.emittance * surface.view_to_space * surface.faces;
  if (fin.segments == 0) {
    const double front_m2 = surface.absorptance * surface.front_m2(), rear_m2 = surface.absorptance * surface.rear_m2();
    if (surface.meets_sunlight() && (sky_moves() || case_.orbit || has_hold())) {
      throw Error(Code::key_conflict, "the fin of surface '" + surface.name +
                                          "' needs `segments`: what arrives along it changes with time");
    }
    fin_front_m2_ += front_m2;
    fin_rear_m2_ += rear_m2;
    used_.push_back({root, fin.material, "conductivity", fin.conductance_W_per_K.valid_from_K(),
                     fin.conductance_W_per_K.valid_to_K()});
    add_emitter(surface.name, {{{root, fin_law(case_, surface)}}, front_m2, rear_m2});
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
    if (surface.meets_sunlight()) add_sunlit(surface, node, 1.0 / fin.segments, 1.0 / fin.segments);
    emitter.paths.emplace_back(node, law);
    before = node;
  }
  add_emitter(surface.name, std::move(emitter));
}

void TileSystem::add_surfaces() {
  for (const Surface& surface : case_.surfaces) {
    const std::string where = "surface " + surface.name;
    met_front_m2_ += surface.front_m2();
    met_rear_m2_ += surface.rear_m2();
    if (surface.fin) {
      add_fin(surface, require(surface.node, where));
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
    if (!surface.meets_sunlight()) continue;
    // Sunlight goes where the surface lets it through to; infrared is taken by the node that radiates.
    const std::vector<SunShare> whole{{surface.node, 1.0}};
    for (const SunShare& deposit : surface.deposits.empty() ? whole : surface.deposits) {
      for (const Member& member : members(deposit.node, where))
        add_sunlit(surface, member.node, deposit.share * member.share, 0.0);
    }
    for (const Member& member : members(surface.node, where)) {
      if (!surface.emittance_over_K) {
        add_sunlit(surface, member.node, 0.0, member.share);
        continue;
      }
      const double seen_m2 = surface.view_to_space * member.share;
      louvred_.push_back({member.node, network_.unknown_of(member.node), surface.emittance_over_K->scaled(seen_m2),
                          surface.front_m2(), surface.rear_m2()});
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
        add_emitter(name, {{{nodes[a], network::RadiationToSpace{exchange.to_space_m2[i], case_.space_K}}}});
    }
  }
}

}  // namespace tileflux::tile
