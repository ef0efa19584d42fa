#pragma once
/// Tiles whose radiator is to be sized, with answers that can be worked on paper.

#include "support/sample_tiles.h"

namespace tileflux::test {

/// One part that gives off 400 W and must stay below 300 K, with a plain face of emittance 0.88 towards space at 0 K. No
/// margins.
inline tile::Case plain_radiator() {
  tile::Case made;
  made.title = "plain radiator";
  made.space_K = 0.0;
  made.parts.push_back({.name = "plate", .capacity_J_per_K = PropertyTable(2000.0)});
  made.surfaces.push_back({.name = "panel", .node = "plate", .area_m2 = 1.0, .emittance = 0.88});
  made.loads.push_back({.node = "plate", .power_W = 400.0});
  made.limits.push_back({.node = "plate", .below_K = 300.0, .above_K = 260.0});
  tile::SizeSettings size;
  size.surface = "panel";
  size.area_m2 = {0.01, 20.0};
  size.margin_K = 0.0;
  size.area_margin = 0.0;
  size.hot = {false, made.sun};
  made.size = size;
  return made;
}

/// The same with a finned panel on pipes: faces of 1.7 together, aluminium of 167 W/(m K) and 2700 kg/m3, pipes of
/// 0.3 kg/m; thickness and pitch free.
inline tile::Case finned_radiator() {
  tile::Case made = plain_radiator();
  tile::Surface& panel = made.surfaces.front();
  panel.faces = 2;
  panel.area_m2 = 2.0;
  panel.emittance = 0.85;
  panel.fin = tile::Fin{0.1, PropertyTable(0.167), PropertyTable(2430.0), "aluminium", 0, 1e-3, 2700.0};
  made.size->thickness_m = tile::Bounds{1e-5, 1e-2};
  made.size->pitch_m = tile::Bounds{0.01, 2.0};
  made.size->pipe_kg_per_m = 0.3;
  return made;
}

/// A panel with cells in the sun, a radiator behind it that carries converter and four lasers, as in cases/tile_steady.
inline tile::Case lit_tile() {
  tile::Case made;
  made.title = "lit tile";
  made.space_K = 0.0;
  made.parts.push_back({.name = "panel", .capacity_J_per_K = PropertyTable(3000.0)});
  made.parts.push_back({.name = "back", .capacity_J_per_K = PropertyTable(2000.0)});
  made.joins.push_back({.a = "panel", .b = "back", .conductance_W_per_K = 20.0});
  made.surfaces.push_back({.name = "front", .node = "panel", .area_m2 = 1.0, .emittance = 0.85, .absorptance = 0.9, .facing = tile::Surface::Facing::front});
  made.surfaces.push_back({.name = "rear", .node = "back", .area_m2 = 1.0, .emittance = 0.88});
  made.cells = tile::Cells{.surface = "front", .node = "panel", .efficiency = 0.32, .slope_per_K = -0.0022, .packing = 0.92};
  made.conditioning = tile::Conditioning{"back", 2.0, 0.04, 0.0};
  made.lasers = {{.name = "main", .mount = "back",
                  .devices = {4, devices::EfficiencyLaw{80.0, {293.15, 353.15}, {1.0}, {0.50, 0.44}}},
                  .resistance_K_per_W = 0.5}};
  made.limits.push_back({.node = "panel", .below_K = 383.15});
  made.beam = tile::Beam{};
  tile::SizeSettings size;
  size.surface = "rear";
  size.area_m2 = {0.05, 20.0};
  size.margin_K = 0.0;
  size.area_margin = 0.0;
  size.light_W = 146.0;
  size.hot = {false, made.sun};
  made.size = size;
  return made;
}

}  // namespace tileflux::test
