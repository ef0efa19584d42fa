#pragma once
/// Tiles in C++ for tests: one plate, a burst plate, and two that between them use every feature of a case at once.

#include "support/sample_lasers.h"
#include "tileflux/tile/case.h"

namespace tileflux::test {

/// One node in the sun: absorptance 0.9, emittance 0.85 in front and 0.88 behind, space at 0 K.
inline tile::Case plate_in_the_sun() {
  tile::Case plate;
  plate.title = "plate";
  plate.space_K = 0.0;
  plate.parts.push_back({.name = "plate", .capacity_J_per_K = PropertyTable(2400.0)});
  plate.surfaces.push_back({.name = "front", .node = "plate", .area_m2 = 1.0, .emittance = 0.85, .absorptance = 0.9, .facing = tile::Surface::Facing::front});
  plate.surfaces.push_back({.name = "rear", .node = "plate", .area_m2 = 1.0, .emittance = 0.88});
  return plate;
}

/// One square metre of emittance 0.88 with 10 kJ/K, heated by `on_W` while the beam is on and `off_W` while it is off.
inline tile::Case burst_plate(double on_W, double off_W) {
  tile::Case plate;
  plate.title = "burst plate";
  plate.space_K = 0.0;
  plate.parts.push_back({.name = "plate", .capacity_J_per_K = PropertyTable(1e4)});
  plate.surfaces.push_back({.name = "face", .node = "plate", .area_m2 = 1.0, .emittance = 0.88});
  plate.loads.push_back({.node = "plate", .power_W = on_W, .when = tile::Load::When::beam_on});
  plate.loads.push_back({.node = "plate", .power_W = off_W, .when = tile::Load::When::beam_off});
  plate.limits.push_back({.node = "plate", .below_K = 313.0});
  plate.beam = tile::Beam{1.0, tile::TimePattern{30.0, 300.0, 0.0}};
  plate.start.temperature_K = 293.0;
  plate.duty.recovered_within_K = 0.0;
  return plate;
}

/// The same in the dark with a battery that nothing asks for.
inline tile::Case with_idle_battery(tile::Case plate) {
  plate.sun.tilt_rad = 2.0;
  plate.surfaces.push_back({.name = "cover", .node = "plate", .area_m2 = 1.0, .emittance = 0.0, .absorptance = 0.9, .facing = tile::Surface::Facing::front});
  plate.cells = tile::Cells{.surface = "cover", .node = "plate", .efficiency = 0.3};
  plate.battery = tile::Battery{.node = "plate", .law = {.capacity_J = 1e5, .resistance_loss_per_W = 1e-3, .most_charge_W = 50.0, .most_discharge_W = 50.0}, .start_percent = 60.0};
  return plate;
}

/// Stack with slices, contact, c(T) and k(T); parts that store, store c(T), store nothing, are held; conductances and a bar
/// k(T); infrared between nodes; surfaces on free and held nodes, sunlight in two places; loads of every kind, on a
/// held node too; a louvre, a fin in segments, an exact fin in the sun, an enclosure open to space; cells with shunt; conditioning, housekeeping, optics; a diode bank without and a table bank with capacity
/// at the junction; throttles on three nodes, a trip, lower bounds.
inline tile::Case everything() {
  tile::Case all;
  all.title = "everything";
  const tile::Material glass{"glass", 2600.0, PropertyTable(700.0), PropertyTable({150.0, 300.0, 450.0}, {0.9, 1.1, 1.2})};
  const tile::Material metal{"metal", 2700.0, PropertyTable({150.0, 300.0, 450.0}, {700.0, 890.0, 950.0}), PropertyTable({150.0, 450.0}, {140.0, 170.0})};
  all.stack = tile::Stack{0.8, {{.name = "cover", .material = glass, .thickness_m = 2e-3, .slices = 2, .contact_below_W_per_m2_K = 900.0},
                                {.name = "cells", .material = metal, .thickness_m = 1e-3},
                                {.name = "skin", .material = metal, .thickness_m = 2e-3}}};
  all.parts = {{.name = "back", .capacity_J_per_K = metal.heat_capacity_J_per_kg_K.scaled(2.0), .material = "metal", .mass_kg = 2.0},
               {.name = "bench", .capacity_J_per_K = PropertyTable(1500.0)},
               {.name = "spreader"},
               {.name = "converter", .capacity_J_per_K = PropertyTable(400.0)},
               {.name = "bus", .fixed_K = 285.0},
               {.name = "shunt", .capacity_J_per_K = PropertyTable(300.0)},
               {.name = "glassware", .capacity_J_per_K = PropertyTable(260.0)}};
  all.joins = {{.a = "skin", .b = "back", .conductance_W_per_K = 90.0},
               {.a = "back", .b = "bench", .bar_W_per_K = metal.conductivity_W_per_m_K.scaled(0.05), .material = "metal"},
               {.a = "bench", .b = "spreader", .conductance_W_per_K = 12.0},
               {.a = "spreader", .b = "back", .conductance_W_per_K = 4.0},
               {.a = "converter", .b = "back", .conductance_W_per_K = 8.0},
               {.a = "bus", .b = "bench", .conductance_W_per_K = 0.7},
               {.a = "shunt", .b = "bus", .bar_W_per_K = metal.conductivity_W_per_m_K.scaled(0.01), .material = "metal"},
               {.a = "glassware", .b = "bench", .conductance_W_per_K = 0.6}};
  all.radiation = {{"back", "bench", 0.3}, {"bus", "shunt", 0.05}, {"spreader", "glassware", 0.02}};
  all.surfaces = {{.name = "front", .node = "cover.1", .area_m2 = 0.8, .emittance = 0.84, .absorptance = 0.9, .facing = tile::Surface::Facing::front,
                   .deposits = {{"cells", 0.9}, {"cover.1", 0.07}, {"bus", 0.03}}},
                  {.name = "rear", .node = "back", .area_m2 = 0.8, .emittance = 0.88, .view_to_space = 0.9},
                  {.name = "dump", .node = "shunt", .area_m2 = 0.2, .emittance = 0.9},
                  {.name = "bus_side", .node = "bus", .area_m2 = 0.1, .emittance = 0.5},
                  {.name = "aperture", .node = "glassware", .area_m2 = 0.02, .emittance = 0.8},
                  {.name = "louvre", .node = "back", .area_m2 = 0.1, .emittance_over_K = PropertyTable({280.0, 320.0}, {0.12, 0.7})},
                  {.name = "wing", .node = "bench", .area_m2 = 0.2, .faces = 2, .emittance = 0.85,
                   .fin = tile::Fin{0.1, PropertyTable({150.0, 450.0}, {0.14, 0.17}), PropertyTable(2400.0), "metal", 3}, .view_to_space = 0.9},
                  {.name = "sail", .node = "spreader", .area_m2 = 0.05, .emittance = 0.85,
                   .fin = tile::Fin{0.12, PropertyTable({150.0, 450.0}, {0.14, 0.17}), PropertyTable(2400.0), "metal", 0}, .absorptance = 0.2, .facing = tile::Surface::Facing::front}};
  all.enclosures = {{"bay", {{"floor", "back", 0.2, 0.6}, {"box", "converter", 0.1, 0.3}, {"wall", "bus", 0.2, 0.8}},
                     {{0.0, 0.2, 0.7}, {0.4, 0.0, 0.5}, {0.7, 0.25, 0.0}}}};
  all.loads = {{.node = "bench", .power_W = 5.0}, {.node = "converter", .power_W = 3.0, .when = tile::Load::When::beam_on},
               {.node = "back", .power_W = -2.0, .when = tile::Load::When::beam_off},
               {.node = "spreader", .power_W = 8.0, .when = tile::Load::When::pattern, .pattern = {20.0, 70.0, 5.0}},
               {.node = "bus", .power_W = 11.0}};
  all.cells = tile::Cells{.surface = "front", .node = "cells", .efficiency = 0.31, .slope_per_K = -0.0022, .packing = 0.92, .remaining = 0.97, .shunt_node = "shunt"};
  all.conditioning = tile::Conditioning{"converter", 3.0, 0.02, 4e-5};
  all.housekeeping = tile::Housekeeping{"bench", 6.0};
  all.lasers = {{.name = "east", .mount = "bench", .devices = {3, sample_diode()}, .resistance_K_per_W = 0.5},
                {.name = "west", .mount = "spreader",
                 .devices = {2, devices::EfficiencyLaw{35.0, {280.0, 320.0, 360.0}, {0.1, 0.5, 1.0}, {0.3, 0.5, 0.48, 0.28, 0.46, 0.42, 0.2, 0.36, 0.3}}},
                 .resistance_K_per_W = 0.4, .capacity_J_per_K = 15.0}};
  all.optics = tile::Optics{"glassware", 0.96};
  all.limits = {{.node = "east.junction", .below_K = 345.0, .throttle_from_K = 325.0},
                {.node = "west.junction", .below_K = 350.0, .throttle_from_K = 330.0},
                {.node = "back", .below_K = 360.0, .above_K = 200.0, .throttle_from_K = 335.0},
                {.node = "converter", .below_K = 370.0, .trip_reset_K = 350.0, .trip_min_off_s = 30.0}};
  all.beam = tile::Beam{0.9, tile::TimePattern{60.0, 200.0, 10.0}};
  all.run = {.duration_s = 2000.0, .output_every_s = 20.0};
  return all;
}

/// What `everything` leaves out: a stack in two zones with cells on a zoned layer, their intensity slope and pointing
/// table; dead modules, driver losses, an amplifier, drive by light; battery and heaters, one with a sensor elsewhere;
/// two heat pipes, a store as a lump and one in slices, a switched join; a trip that leaves half of the drive.
inline tile::Case everything_else() {
  tile::Case all;
  all.title = "everything else";
  const tile::Material glass{"glass", 2600.0, PropertyTable(700.0), PropertyTable({150.0, 300.0, 450.0}, {0.9, 1.1, 1.2})};
  const tile::Material metal{"metal", 2700.0, PropertyTable({150.0, 300.0, 450.0}, {700.0, 890.0, 950.0}), PropertyTable({150.0, 450.0}, {140.0, 170.0})};
  all.stack = tile::Stack{.area_m2 = 0.8,
                          .layers = {{.name = "cover", .material = glass, .thickness_m = 1e-3, .contact_below_W_per_m2_K = 900.0},
                                     {.name = "cells", .material = metal, .thickness_m = 1e-3},
                                     {.name = "skin", .material = metal, .thickness_m = 2e-3, .slices = 2}},
                          .zones = {{"inner", 0.6}, {"outer", 0.4}}, .border_m = 0.8, .distance_m = 0.5};
  all.parts = {{.name = "back", .capacity_J_per_K = PropertyTable(1800.0)},
               {.name = "bench", .capacity_J_per_K = PropertyTable(1500.0)},
               {.name = "radiator", .capacity_J_per_K = metal.heat_capacity_J_per_kg_K.scaled(1.5), .material = "metal", .mass_kg = 1.5},
               {.name = "converter", .capacity_J_per_K = PropertyTable(400.0)},
               {.name = "driver_box"},
               {.name = "cold_box", .capacity_J_per_K = PropertyTable(900.0)},
               {.name = "fibre", .capacity_J_per_K = PropertyTable(80.0)},
               {.name = "dump", .capacity_J_per_K = PropertyTable(120.0)},
               {.name = "glassware", .capacity_J_per_K = PropertyTable(260.0)},
               {.name = "bus", .fixed_K = 285.0}};
  all.joins = {{.a = "skin.2", .b = "back", .conductance_W_per_K = 60.0},
               {.a = "back", .b = "bench", .conductance_W_per_K = 3.0},
               {.a = "converter", .b = "back", .conductance_W_per_K = 8.0},
               {.a = "driver_box", .b = "bench", .conductance_W_per_K = 5.0},
               {.a = "fibre", .b = "bench", .conductance_W_per_K = 2.5},
               {.a = "dump", .b = "radiator", .conductance_W_per_K = 1.5},
               {.a = "bench", .b = "radiator", .switched_W_per_K = PropertyTable({285.0, 300.0}, {0.05, 2.0})},
               {.a = "cold_box", .b = "radiator", .conductance_W_per_K = 0.4},
               {.a = "bus", .b = "cold_box", .conductance_W_per_K = 0.2},
               {.a = "glassware", .b = "bench", .conductance_W_per_K = 0.6}};
  all.radiation = {{"skin.2", "bench", 0.1}, {"cold_box", "bench", 0.03}};
  all.pipes = {{.name = "loop", .pipes = 2, .evaporators = {{"bench", 15.0}, {"skin.2", 6.0}}, .condensers = {{"radiator", 20.0}},
                .transport_W_m = PropertyTable({200.0, 260.0, 320.0, 400.0}, {0.0, 90.0, 120.0, 0.0}), .effective_length_m = 0.8, .vapour_W_per_K = 300.0}};
  all.stores = {{.name = "lump", .node = "bench", .material = "wax", .mass_kg = 0.4, .area_m2 = 0.3, .thickness_m = 2e-3, .contact_W_per_m2_K = 400.0,
                 .solid_J_per_kg_K = 2000.0, .liquid_J_per_kg_K = 2300.0, .latent_J_per_kg = 2e5, .melt_K = 301.0, .range_K = 1.5,
                 .solid_W_per_m_K = 0.35, .liquid_W_per_m_K = 0.15},
                {.name = "sliced", .node = "radiator", .material = "wax", .mass_kg = 0.6, .area_m2 = 0.2, .thickness_m = 4e-3, .contact_W_per_m2_K = 500.0,
                 .slices = 3, .solid_J_per_kg_K = 2000.0, .liquid_J_per_kg_K = 2300.0, .latent_J_per_kg = 1.8e5, .melt_K = 288.0, .range_K = 1.0,
                 .solid_W_per_m_K = 0.35, .liquid_W_per_m_K = 0.15, .start_K = 286.0}};
  all.surfaces = {{.name = "front", .node = "cover", .area_m2 = 0.8, .emittance = 0.84, .absorptance = 0.9, .facing = tile::Surface::Facing::front,
                   .deposits = {{"cells", 0.9}, {"cover", 0.1}}},
                  {.name = "rear", .node = "back", .area_m2 = 0.5, .emittance = 0.88, .view_to_space = 0.9},
                  {.name = "radiator_face", .node = "radiator", .area_m2 = 0.7, .emittance = 0.86},
                  {.name = "box_face", .node = "cold_box", .area_m2 = 0.05, .emittance = 0.3},
                  {.name = "bus_side", .node = "bus", .area_m2 = 0.1, .emittance = 0.5},
                  {.name = "aperture", .node = "glassware", .area_m2 = 0.02, .emittance = 0.8}};
  // Opposite squares of 0.3 m, 0.3 m apart: F = 0.1998; the rest is space.
  all.enclosures = {{"bay", {{"floor", "back", 0.09, 0.6}, {"roof", "cold_box", 0.09, 0.3}}, {{0.0, 0.1998}, {0.1998, 0.0}}}};
  all.loads = {{.node = "bench", .power_W = 4.0}, {.node = "skin.2", .power_W = 3.0, .when = tile::Load::When::beam_on},
               {.node = "dump", .power_W = 6.0, .when = tile::Load::When::pattern, .pattern = {20.0, 70.0, 5.0}}};
  all.cells = tile::Cells{.surface = "front", .node = "cells", .efficiency = 0.3, .slope_per_K = -0.0022, .packing = 0.92, .remaining = 0.97,
                          .intensity_slope = 0.04, .pointing = PropertyTable({0.0, 0.5, 1.0, 1.6}, {1.0, 0.86, 0.5, 0.0})};
  all.conditioning = tile::Conditioning{"converter", 3.0, 0.02, 4e-5};
  all.housekeeping = tile::Housekeeping{"bench", 9.0};
  all.battery = tile::Battery{.node = "cold_box",
                              .law = {.capacity_J = 4e5, .resistance_loss_per_W = 6e-4, .self_discharge_per_s = 1e-8, .most_charge_W = 70.0, .most_discharge_W = 90.0,
                                      .taper_percent = 30.0, .least_percent = 20.0, .derating_percent = 30.0, .charge_window = {270.0, 320.0, 5.0},
                                      .discharge_window = {255.0, 335.0, 5.0}},
                              .start_percent = 75.0, .least_percent = 20.0};
  all.heaters = {{.name = "keeper", .node = "cold_box", .sensor = "cold_box", .power_W = 12.0, .on_below_K = 282.0, .off_above_K = 292.0},
                 {.name = "warmer", .node = "bench", .sensor = "fibre", .power_W = 18.0, .on_below_K = 296.0, .off_above_K = 306.0}};
  all.lasers = {{.name = "pump", .mount = "bench",
                 .devices = {.modules = 2, .law = sample_diode(), .driver_loss = 0.06,
                             .amplifier = devices::FibreAmplifierLaw{976.0, 298.15, 0.3, PropertyTable({955.0, 968.0, 976.0, 985.0, 1000.0}, {0.3, 0.8, 1.4, 0.7, 0.2}),
                                                                     2.5, 1064.0, 0.78, 1.2}},
                 .mounted = 3, .resistance_K_per_W = 0.5, .driver = "driver_box", .fibre = "fibre", .unabsorbed = "dump"},
                {.name = "west", .mount = "radiator",
                 .devices = {.modules = 2, .law = devices::EfficiencyLaw{35.0, {280.0, 320.0, 360.0}, {0.1, 0.5, 1.0}, {0.3, 0.5, 0.48, 0.28, 0.46, 0.42, 0.2, 0.36, 0.3}},
                             .driver_loss = 0.04},
                 .mounted = 2, .resistance_K_per_W = 0.4, .capacity_J_per_K = 15.0}};
  all.optics = tile::Optics{"glassware", 0.96};
  all.limits = {{.node = "pump.junction", .below_K = 350.0, .throttle_from_K = 330.0},
                {.node = "cells", .below_K = 400.0, .above_K = 150.0, .throttle_from_K = 370.0},
                {.node = "fibre", .below_K = 330.0, .trip_reset_K = 322.0, .trip_min_off_s = 30.0, .trip_to = 0.5}};
  all.beam = tile::Beam{.drive = 0.9, .pattern = tile::TimePattern{60.0, 200.0, 10.0}, .light_W = 40.0};
  all.run = {.duration_s = 2000.0, .output_every_s = 20.0};
  return all;
}

/// Any tile around a planet on an ellipse, every outer surface facing somewhere.
inline tile::Case in_orbit(tile::Case description) {
  using Facing = tile::Surface::Facing;
  for (tile::Surface& surface : description.surfaces) {
    if (surface.facing == Facing::not_stated) surface.facing = surface.faces == 2 ? Facing::both : Facing::rear;
    if (surface.fin && surface.fin->segments == 0) surface.facing = Facing::shielded;
    if (surface.absorptance == 0.0) surface.absorptance = 0.2;
  }
  tile::Orbit orbit;
  orbit.body = "somewhere";
  orbit.planet = {6.4e6, 4e14, 1.5e11, 0.02, 0.3, environment::UniformInfrared{240.0}};
  orbit.path.ellipse = environment::ellipse_between(4e14, 6.4e6, 5e5, 3e6);
  orbit.path.beta_rad = 0.3;
  orbit.path.periapsis_from_noon_rad = 1.0;
  description.orbit = orbit;
  description.sun.tilt_rad = 0.2;
  return description;
}

}  // namespace tileflux::test
