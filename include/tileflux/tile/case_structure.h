#pragma once
/// What a tile is built of, as far as heat is concerned: stack, parts, paths, surfaces, pipes, stores.

#include <optional>
#include <string>
#include <vector>

#include "tileflux/base/property_table.h"

namespace tileflux::tile {

/// Density in kg/m3, heat capacity in J/(kg K) and conductivity in W/(m K) over temperature.
struct Material {
  std::string name;
  double density_kg_per_m3 = 0.0;
  PropertyTable heat_capacity_J_per_kg_K;
  PropertyTable conductivity_W_per_m_K;
};

/// One layer of the stack; it becomes one node, or `slices` nodes `name.1` ... from the sun side down.
struct Layer {
  std::string name;
  Material material;
  double thickness_m = 0.0;
  int slices = 1;
  /// Contact between this layer and the next one, in W/(m2 K); none: perfect contact.
  std::optional<double> contact_below_W_per_m2_K;
  std::optional<double> start_K;
};

/// A part of the stack's area with temperatures of its own: node `layer.zone` for every layer.
struct Zone {
  std::string name;
  double share = 1.0;  ///< of the stack's area; all together 1
};

/// Layers on top of each other, sun side first, all of one area. Conduction through it follows from the materials. With
/// zones, the bare name of a layer stands for all its zones together, by their share of the area.
struct Stack {
  double area_m2 = 0.0;
  std::vector<Layer> layers;
  std::vector<Zone> zones;  ///< in a row: each conducts sideways to the next one; empty: one zone without a name
  double border_m = 0.0;    ///< length of the border between two neighbours
  double distance_m = 0.0;  ///< between the middles of two neighbours
};

/// How a part answers to heat: it stores it, passes it on at once, or is held at a temperature from outside.
struct Part {
  std::string name;
  /// Heat capacity in J/K over temperature; empty for a massless or fixed part.
  std::optional<PropertyTable> capacity_J_per_K;
  std::optional<double> fixed_K;
  std::string material;  ///< for messages on validity; may be empty
  double mass_kg = 0.0;  ///< 0 where not stated
  std::optional<double> start_K;
};

/// A conduction path between two nodes: a conductance, a bar with k(T), or a switched link.
struct Join {
  std::string a, b;
  std::optional<double> conductance_W_per_K;
  std::optional<PropertyTable> bar_W_per_K;       ///< k(T) A / L
  std::string material;                           ///< of the bar
  std::optional<PropertyTable> switched_W_per_K;  ///< conductance over the temperature of `a`
};

/// A stretch of a heat pipe that exchanges heat with a node.
struct PipeEnd {
  std::string node;
  double conductance_W_per_K = 0.0;  ///< of one pipe
};

/// Equal heat pipes side by side. Their vapour is the nodes `name.evaporator` and `name.condenser`.
struct HeatPipe {
  std::string name;
  int pipes = 1;                           ///< those that work
  int mounted = 0;                         ///< those that are there, lost ones included: they store heat
  std::optional<double> capacity_J_per_K;  ///< of one pipe with its fluid, half at each end; none: massless
  std::vector<PipeEnd> evaporators, condensers;
  PropertyTable transport_W_m;  ///< heat times length that one pipe carries, over vapour temperature; 0 at both ends
  double effective_length_m = 1.0;
  double vapour_W_per_K = 1e3;  ///< along one pipe's vapour: large
};

/// A store of phase-change material in a part. Its melting nodes are `name`, or `name.1` ... from the wall inwards.
struct Store {
  std::string name;
  std::string node;  ///< the part that holds it
  std::string material;
  double mass_kg = 0.0;
  double area_m2 = 0.0;      ///< over which the material touches the wall or its fins
  double thickness_m = 0.0;  ///< of the material, from the wall inwards
  double contact_W_per_m2_K = 0.0;
  int slices = 1;
  double solid_J_per_kg_K = 0.0, liquid_J_per_kg_K = 0.0;
  double latent_J_per_kg = 0.0;
  double melt_K = 0.0, range_K = 0.1;
  double solid_W_per_m_K = 0.0, liquid_W_per_m_K = 0.0;
  std::optional<double> start_K;
};

/// Infrared between two nodes.
struct RadiationLink {
  std::string a, b;
  double exchange_area_m2 = 0.0;
};

/// A share of a surface's absorbed sunlight that is deposited in a node.
struct SunShare {
  std::string node;
  double share = 1.0;
};

/// A sheet that carries a surface and conducts from its root to an insulated tip: the radiating fin between two pipes.
struct Fin {
  double length_m = 0.0;              ///< from root to tip: half the pitch between two pipes
  PropertyTable conductance_W_per_K;  ///< k t: conductivity times thickness
  PropertyTable capacity_J_per_m2_K;  ///< density times heat capacity times thickness
  std::string material;
  int segments = 0;                ///< 0: one exact fin without heat capacity; else nodes `name.1` ... from the root
  double thickness_m = 0.0;        ///< of the sheet; only sizing asks for it
  double density_kg_per_m3 = 0.0;  ///< of the sheet; only sizing asks for it
};

/// An outer surface: it radiates to space and, if sunlit, absorbs sunlight.
struct Surface {
  std::string name;
  std::string node;      ///< whose temperature it radiates at
  double area_m2 = 0.0;  ///< of all its faces together
  int faces = 1;
  double emittance = 0.0;
  std::optional<PropertyTable> emittance_over_K;  ///< of a louvre or switched surface: stands for `emittance`
  std::optional<Fin> fin;  ///< set: the surface is a fin rooted in `node`; sunlight is absorbed along it
  double absorptance = 0.0;
  double view_to_space = 1.0;
  /// Where its faces look. `front` is the face that the tilt speaks of. `both`: half of the area each way. `shielded`:
  /// neither Sun nor planet ever reach it. Not stated: no sunlight, and nobody knows about planets.
  enum class Facing { not_stated, front, rear, both, shielded };
  Facing facing = Facing::not_stated;
  std::vector<SunShare> deposits;  ///< shares add up to 1; empty: all in `node`
  std::string finish;

  /// Area that looks the one way and the other.
  double front_m2() const { return facing == Facing::front ? area_m2 : facing == Facing::both ? 0.5 * area_m2 : 0.0; }
  double rear_m2() const { return facing == Facing::rear ? area_m2 : facing == Facing::both ? 0.5 * area_m2 : 0.0; }
  bool meets_sunlight() const { return front_m2() + rear_m2() > 0.0; }
};

/// A face of an enclosure.
struct EnclosureFace {
  std::string name;
  std::string node;
  double area_m2 = 0.0;
  double emittance = 0.0;
};

/// Grey-diffuse faces that see each other; what their view factors leave open is space.
struct Enclosure {
  std::string name;
  std::vector<EnclosureFace> faces;
  std::vector<std::vector<double>> view_factors;  ///< row: from, column: to; reciprocal
};

}  // namespace tileflux::tile
