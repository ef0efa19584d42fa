#pragma once
/// Five tiles whose cycles repeat: fast modes, a throttle, a thermostat, a battery of days, a melting store of days.

#include "support/sample_lasers.h"
#include "tileflux/studies/periodic.h"
#include "tileflux/tile/case.h"

namespace tileflux::test {

struct CyclingTile {
  tile::Case description;
  studies::CycleSettings settings;
  std::vector<double> guess;  ///< empty: as the search finds it
};

/// Cells in the sun feed diodes on a bench that hangs on a radiating back.
inline tile::Case lit_bench() {
  tile::Case tile;
  tile.title = "lit tile";
  tile.parts = {{.name = "cells", .capacity_J_per_K = PropertyTable(900.0)},
                {.name = "back", .capacity_J_per_K = PropertyTable(1800.0)},
                {.name = "bench", .capacity_J_per_K = PropertyTable(600.0)}};
  tile.joins = {{.a = "cells", .b = "back", .conductance_W_per_K = 60.0}, {.a = "bench", .b = "back", .conductance_W_per_K = 12.0}};
  tile.surfaces = {{.name = "front", .node = "cells", .area_m2 = 1.0, .emittance = 0.85, .absorptance = 0.9, .facing = tile::Surface::Facing::front},
                   {.name = "rear", .node = "back", .area_m2 = 1.0, .emittance = 0.88}};
  tile.cells = tile::Cells{.surface = "front", .node = "cells", .efficiency = 0.3, .slope_per_K = -0.0008, .packing = 0.9};
  tile.conditioning = tile::Conditioning{"back", 2.0, 0.02, 1e-5};
  tile.housekeeping = tile::Housekeeping{"back", 10.0};
  tile.lasers = {{.name = "diode", .mount = "bench", .devices = {4, sample_diode()}, .resistance_K_per_W = 0.3}};
  tile.beam = tile::Beam{.drive = 0.8};
  tile.start.temperature_K = 290.0;
  return tile;
}

inline CyclingTile fast_tile() {
  CyclingTile tile{lit_bench(), {}, {}};
  tile.settings.period_s = 600.0;
  tile.settings.on_s = 200.0;
  return tile;
}

inline CyclingTile throttled_tile() {
  CyclingTile tile{lit_bench(), {}, {}};
  tile.description.lasers[0].resistance_K_per_W = 0.8;
  tile.description.limits = {{.node = "diode.junction", .below_K = 350.0, .throttle_from_K = 332.0}, {.node = "bench", .below_K = 345.0, .throttle_from_K = 329.0}};
  tile.settings.period_s = 900.0;
  tile.settings.on_s = 600.0;
  return tile;
}

/// In the dark, behind insulation, with a heater that cycles while the beam is off.
inline CyclingTile heated_tile() {
  CyclingTile tile;
  tile.description.title = "heated box";
  tile.description.parts = {{.name = "box", .capacity_J_per_K = PropertyTable(800.0)}, {.name = "inside", .capacity_J_per_K = PropertyTable(300.0)}};
  tile.description.joins = {{.a = "box", .b = "inside", .conductance_W_per_K = 2.0}};
  tile.description.surfaces = {{.name = "skin", .node = "box", .area_m2 = 0.3, .emittance = 0.8}};
  tile.description.loads = {{.node = "inside", .power_W = 220.0, .when = tile::Load::When::beam_on}};
  tile.description.heaters = {{.name = "heater", .node = "box", .sensor = "box", .power_W = 160.0, .on_below_K = 283.0, .off_above_K = 288.0}};
  tile.description.beam = tile::Beam{};
  tile.settings.period_s = 3600.0;
  tile.settings.on_s = 1000.0;
  return tile;
}

/// A small surplus fills a battery over days; the beam empties some of it in every cycle.
inline CyclingTile battery_tile() {
  CyclingTile tile{lit_bench(), {}, {}};
  tile.description.lasers[0].devices.modules = 12;
  tile.description.battery = tile::Battery{.node = "back",
                                           .law = {.capacity_J = 5e7, .resistance_loss_per_W = 1e-4, .most_charge_W = 60.0, .most_discharge_W = 400.0,
                                                   .taper_percent = 20.0, .least_percent = 20.0},
                                           .start_percent = 50.0, .least_percent = 20.0};
  tile.settings.period_s = 3600.0;
  tile.settings.on_s = 1200.0;
  return tile;
}

/// A heavy store behind a weak path melts partly in every cycle and takes days to settle.
inline CyclingTile melting_tile() {
  CyclingTile tile{lit_bench(), {}, {}};
  tile.description.parts.push_back({.name = "tank", .capacity_J_per_K = PropertyTable(3000.0)});
  tile.description.joins.push_back({.a = "tank", .b = "bench", .conductance_W_per_K = 1.5});
  tile.description.stores = {{.name = "wax", .node = "tank", .material = "wax", .mass_kg = 20.0, .area_m2 = 1.0, .thickness_m = 0.02, .contact_W_per_m2_K = 200.0,
                              .solid_J_per_kg_K = 2000.0, .liquid_J_per_kg_K = 2200.0, .latent_J_per_kg = 1.5e5, .melt_K = 329.0, .range_K = 4.0,
                              .solid_W_per_m_K = 0.4, .liquid_W_per_m_K = 0.2}};
  tile.settings.period_s = 7200.0;
  tile.settings.on_s = 3600.0;
  return tile;
}

}  // namespace tileflux::test
