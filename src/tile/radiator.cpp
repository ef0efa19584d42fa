#include "tileflux/tile/radiator.h"

#include <cmath>

#include "tileflux/base/constants.h"

namespace tileflux::tile {

RadiatorDesign design_of(const Surface& surface) {
  RadiatorDesign design{surface.area_m2 / surface.faces, surface.faces, 0.0, 0.0};
  if (surface.fin) {
    design.thickness_m = surface.fin->thickness_m;
    design.pitch_m = 2.0 * surface.fin->length_m;
  }
  return design;
}

Surface resized(Surface surface, const RadiatorDesign& design) {
  surface.faces = design.faces;
  surface.area_m2 = design.area_m2 * design.faces;
  if (surface.meets_sunlight() && design.faces == 2) surface.facing = Surface::Facing::both;
  if (surface.facing == Surface::Facing::both && design.faces == 1) surface.facing = Surface::Facing::front;
  if (!surface.fin) return surface;
  Fin& fin = *surface.fin;
  if (design.thickness_m != fin.thickness_m) {
    const double thicker = design.thickness_m / fin.thickness_m;
    fin.conductance_W_per_K = fin.conductance_W_per_K.scaled(thicker);
    fin.capacity_J_per_m2_K = fin.capacity_J_per_m2_K.scaled(thicker);
    fin.thickness_m = design.thickness_m;
  }
  fin.length_m = 0.5 * design.pitch_m;
  return surface;
}

double sink_temperature_K(const Case& description, const Surface& surface) {
  const double emitting_m2 = surface.emittance * surface.view_to_space * surface.area_m2;
  if (!(emitting_m2 > 0.0)) return 0.0;
  const environment::Sun& sun = description.sun;
  const double cosine = std::cos(sun.tilt_rad);
  const double lit_m2 = cosine > 0.0 ? cosine * surface.front_m2() : -cosine * surface.rear_m2();
  const double absorbed_W = surface.absorptance * sun.normal_irradiance_W_per_m2() * lit_m2;
  return std::sqrt(
      std::sqrt(absorbed_W / (emitting_m2 * stefan_boltzmann_W_per_m2_K4) + fourth_power(description.space_K)));
}

network::RadiatingFin fin_law(const Case& description, const Surface& surface) {
  const Fin& fin = *surface.fin;
  const double plan_m2 = surface.area_m2 / surface.faces;
  // The load along the fin as a temperature of its own faces: it would settle there with nothing from the root.
  return {plan_m2 / fin.length_m, fin.length_m, fin.conductance_W_per_K,
          surface.emittance * surface.view_to_space * surface.faces, sink_temperature_K(description, surface)};
}

}  // namespace tileflux::tile
