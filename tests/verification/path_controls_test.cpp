/// Negative controls of heat paths, surfaces, stores, pipes, sunlight and what is asked of a tile: each law passes its check as it is, and the same check
/// refuses it with a wrong sign, a dropped term or a swapped area. Faults are put into what the law is given, or into a copy of
/// its formula; checks are rows, or closed forms worked here (docs/theory.md has the equations).

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "support/sized_tiles.h"
#include "tileflux/base/constants.h"
#include "tileflux/environment/irradiance.h"
#include "tileflux/environment/kepler.h"
#include "tileflux/network/enclosure.h"
#include "tileflux/network/fin.h"
#include "tileflux/network/heat_pipe.h"
#include "tileflux/network/honeycomb.h"
#include "tileflux/network/laws.h"
#include "tileflux/network/melting.h"
#include "tileflux/network/view_factors.h"
#include "tileflux/studies/margins.h"
#include "tileflux/studies/size.h"
#include "verification/groups.h"
#include "verification/model.h"
#include "verification/plain_spread.h"

namespace tileflux::verification::path_controls_test {

using namespace network;
constexpr double pi = std::numbers::pi;
constexpr double sigma = stefan_boltzmann_W_per_m2_K4;
constexpr double sigma_of_books = 5.67e-8;
constexpr double degree = pi / 180.0, sun_W_per_m2 = 1361.0;

double fourth(double temperature_K) { return std::pow(temperature_K, 4); }

/// Row TR-30c: the first of two joined nodes after 100 s.
double joined_K(double first_J_per_K, double second_J_per_K, double conductance_W_per_K) {
  Model model;
  model.store("first", first_J_per_K, 350.0).store("second", second_J_per_K, 280.0).join("first", "second", conductance_W_per_K);
  return After(model, 100.0).temperature_K("first");
}

/// Row TR-38: k = 150 (1 + b (T - 300)) as the bar's table, times A/L.
PropertyTable bar_W_per_K(double b_per_K, double area_over_length_m) {
  return PropertyTable({200.0, 500.0}, {150.0 * (1.0 - 100.0 * b_per_K), 150.0 * (1.0 + 200.0 * b_per_K)}).scaled(area_over_length_m);
}

Control bar() {
  constexpr double b_per_K = 5e-4, area_m2 = 1e-4, length_m = 0.2;
  const Conduction law{bar_W_per_K(b_per_K, area_m2 / length_m)};
  return by_row("bar with k(T)", "TR-38", law.flow(400.0, 300.0),
                {{"wrong sign: ends exchanged", law.flow(300.0, 400.0)},
                 {"wrong sign of the slope of k", Conduction{bar_W_per_K(-b_per_K, area_m2 / length_m)}.flow(400.0, 300.0)},
                 {"slope of k dropped", Conduction{bar_W_per_K(0.0, area_m2 / length_m)}.flow(400.0, 300.0)},
                 {"area and length swapped", Conduction{bar_W_per_K(b_per_K, length_m / area_m2)}.flow(400.0, 300.0)}});
}

/// Row TR-52: two bars of 0.1 m with a contact between them.
Control layers() {
  const double area_m2 = pi * 0.03 * 0.03 / 4.0, bar = 16.3 * area_m2 / 0.1, contact = 1893.93 * area_m2;
  const auto flow = [](double half_W_per_K, double resistance_K_per_W) {
    return LayerConduction{PropertyTable(half_W_per_K), PropertyTable(half_W_per_K), resistance_K_per_W}.flow(400.0, 300.0);
  };
  return by_row("two half layers and a contact", "TR-52c", flow(bar, 1.0 / contact),
                {{"contact dropped", flow(bar, 0.0)},
                 {"wrong sign of the contact's resistance", flow(bar, -1.0 / contact)},
                 {"whole layers for half ones", flow(0.5 * bar, 1.0 / contact)},
                 {"area of the diameter swapped for that of the radius", 4.0 * flow(bar, 1.0 / contact)}});
}

Control thermal_switch() {
  const PropertyTable ramp({280.0, 300.0}, {0.05, 2.0}), reversed({280.0, 300.0}, {2.0, 0.05});
  const SwitchedConductance law{ramp};
  return by_form("thermal switch", "G(Ta)(Ta - Tb) three quarters up the ramp", (0.05 + 0.75 * 1.95) * 25.0, law.flow(295.0, 270.0),
                 {{"wrong sign: ends exchanged", law.flow(270.0, 295.0)},
                  {"sensor at the other end", -law.flow(270.0, 295.0)},
                  {"ramp turned round", SwitchedConductance{reversed}.flow(295.0, 270.0)},
                  {"ramp dropped: closed", 2.0 * 25.0}});
}

Control radiation() {
  const auto flow = [](double area_m2, double a_K, double b_K) { return RadiationExchange{area_m2}.flow(a_K, b_K); };
  const double ratio = sigma_ratio(sigma_of_books), area_m2 = ratio * parallel_exchange_area_m2(1.0, 0.2, 0.7);
  return by_row("infrared between wide parallel grey surfaces", "VF-40c", flow(area_m2, 800.0, 500.0),
                {{"wrong sign: ends exchanged", flow(area_m2, 500.0, 800.0)},
                 {"the colder one's emission dropped", flow(area_m2, 800.0, 0.0)},
                 {"wrong sign of the colder one's emission", sigma * area_m2 * (fourth(800.0) + fourth(500.0))},
                 {"1/ea + 1/eb without the - 1", flow(ratio / (1.0 / 0.2 + 1.0 / 0.7), 800.0, 500.0)},
                 {"one surface's emittance dropped", flow(ratio * 0.2, 800.0, 500.0)},
                 {"both areas added", flow(2.0 * area_m2, 800.0, 500.0)}});
}

/// Row TR-02a: when a plate of two faces passes 320 K.
double plate_s(double area_m2, double emittance, double around_K) {
  Model model;
  model.space(around_K).store("plate", 2770.0 * 0.003 * 875.0, 400.0).radiate("plate", area_m2, emittance);
  return crossing_s(model, "plate", 320.0, 1e5);
}

Control to_space() {
  return by_row("infrared to space", "TR-02a", plate_s(2.0, 0.8, 300.0),
                {{"one of two faces dropped", plate_s(1.0, 0.8, 300.0)},
                 {"surroundings dropped", plate_s(2.0, 0.8, 0.0)},
                 {"emittance dropped", plate_s(2.0, 1.0, 300.0)},
                 {"reflectance for emittance", plate_s(2.0, 0.2, 300.0)}});
}

/// What a surface of 2 m2 held at 320 K gives to space at 200 K.
double given_off_W(double view_to_space, const std::optional<PropertyTable>& louvre = {}, double space_K = 200.0) {
  Model model;
  model.space(space_K).fixed("plate", 320.0).massless("witness").join("plate", "witness", 1.0).radiate("plate", 2.0, 0.8);
  model.description.surfaces.back().view_to_space = view_to_space;
  model.description.surfaces.back().emittance_over_K = louvre;
  return Steady(model).ledger().to_space_W;
}

Control view_to_space() {
  return by_form("view to space of a surface", "sigma epsilon A F (T^4 - Ts^4)", sigma * 0.8 * 2.0 * 0.6 * (fourth(320.0) - fourth(200.0)), given_off_W(0.6),
                 {{"view dropped", given_off_W(1.0)}, {"what it does not see swapped in", given_off_W(0.4)}, {"space dropped", given_off_W(0.6, {}, 0.0)}});
}

Control louvre() {
  const PropertyTable ramp({310.0, 350.0}, {0.12, 0.72}), reversed({310.0, 350.0}, {0.72, 0.12});
  const double open = 0.12 + 0.25 * 0.6;
  return by_form("louvre", "sigma epsilon(T) A (T^4 - Ts^4) a quarter up the ramp", sigma * open * 2.0 * (fourth(320.0) - fourth(200.0)),
                 given_off_W(1.0, ramp),
                 {{"ramp turned round", given_off_W(1.0, reversed)},
                  {"ramp dropped: shut", given_off_W(1.0, PropertyTable({310.0, 350.0}, {0.12, 0.12}))},
                  {"space dropped", given_off_W(1.0, ramp, 0.0)}});
}

/// Heat through N shields between walls of 0.8, over that of black walls.
double through_shields(int shields, double wall, double shield) {
  double resistance = 1.0 / parallel_exchange_area_m2(1.0, wall, shields > 0 ? shield : wall);
  for (int i = 1; i < shields; ++i) resistance += 1.0 / parallel_exchange_area_m2(1.0, shield, shield);
  if (shields > 0) resistance += 1.0 / parallel_exchange_area_m2(1.0, shield, wall);
  Model model;
  model.fixed("hot", 400.0).fixed("cold", 200.0).massless("witness").join("witness", "hot", 1.0).infrared("hot", "cold", 1.0 / resistance);
  return Steady(model).flow_W("hot", "cold") / (sigma * (fourth(400.0) - fourth(200.0)));
}

Control insulation() {
  return by_row("insulation as an effective emittance", "VF-59_5", through_shields(5, 0.8, 0.03),
                {{"one shield dropped", through_shields(4, 0.8, 0.03)},
                 {"emittances of walls and shields swapped", through_shields(5, 0.03, 0.8)},
                 {"all shields dropped", through_shields(0, 0.8, 0.03)}});
}

/// Row VF-45a: tubes within each other, per metre, by absorption factors.
double tubes_W(double inner_m2, double outer_m2, double inner_emittance, double outer_emittance, double reflected = 1.0) {
  Eigen::MatrixXd views(2, 2);
  views << 0.0, 1.0, inner_m2 / outer_m2, 1.0 - inner_m2 / outer_m2;
  // Without reflections the factors are F epsilon.
  const ExchangeAreas areas = exchange_areas(views, {inner_m2, outer_m2}, {inner_emittance, outer_emittance});
  const double area_m2 = reflected > 0.0 ? areas.between_m2(0, 1) : inner_emittance * outer_emittance * inner_m2;
  return RadiationExchange{sigma_ratio(sigma_of_books) * area_m2}.flow(77.0, 300.0);
}

/// Row VF-49b: land of 5, grooves of 60 behind an opening of 10; emission over that of a black face.
double grooved(double groove_m2, double opening_m2, double emittance) {
  Eigen::MatrixXd views(1, 1);
  views << 1.0 - opening_m2 / groove_m2;
  return (exchange_areas(views, {groove_m2}, {emittance}).to_space_m2(0) + 5.0 * emittance) / (5.0 + opening_m2);
}

Controls enclosures() {
  const double inner_m2 = pi * 0.02, outer_m2 = pi * 0.05;
  return {by_row("enclosure of grey faces", "VF-45ac", tubes_W(inner_m2, outer_m2, 0.02, 0.05),
                 {{"wrong sign", -tubes_W(inner_m2, outer_m2, 0.02, 0.05)},
                  {"emittances of the faces swapped", tubes_W(inner_m2, outer_m2, 0.05, 0.02)},
                  {"area of the other face", tubes_W(inner_m2, outer_m2, 0.02, 0.05) * outer_m2 / inner_m2},
                  {"reflections dropped", tubes_W(inner_m2, outer_m2, 0.02, 0.05, 0.0)}}),
          by_row("open enclosure", "VF-49bc", grooved(60.0, 10.0, 0.5),
                 {{"reflections dropped", 0.5},
                  {"area of the groove for that of its opening", (60.0 * 0.5 + 5.0 * 0.5) / 15.0},
                  {"land dropped", grooved(60.0, 10.0, 0.5) - 5.0 * 0.5 / 15.0}})};
}

Polygon square(double height, bool upward) {
  Polygon corners{{0, 0, height}, {1, 0, height}, {1, 1, height}, {0, 1, height}};
  if (!upward) std::reverse(corners.begin(), corners.end());
  return corners;
}

Controls views() {
  return {
      by_row("view factor of parallel rectangles", "VF-01_1_2", parallel_rectangles_view_factor(1.0, 2.0, 1.0),
             {{"a side and the distance swapped", parallel_rectangles_view_factor(1.0, 1.0, 2.0)}, {"what a known table misprints", 0.2353}}),
      by_row("view factor of perpendicular rectangles", "VF-09_2_1", perpendicular_rectangles_view_factor(1.0, 2.0, 1.0),
             {{"areas swapped", perpendicular_rectangles_view_factor(2.0, 1.0, 1.0)}}),
      by_row("view factor of discs", "VF-11_1_0.5", coaxial_discs_view_factor(1.0, 0.5, 1.0), {{"areas swapped", coaxial_discs_view_factor(0.5, 1.0, 1.0)}}),
      by_row("view factor of strips", "VF-23_2", parallel_strips_view_factor(1.0, 2.0),
             {{"width and distance swapped", parallel_strips_view_factor(2.0, 1.0)}}),
      by_row("view factor of hinged strips", "VF-25_60", hinged_strips_view_factor(1.0, 1.0, pi / 3.0),
             {{"supplementary angle: wrong sign of its cosine", hinged_strips_view_factor(1.0, 1.0, 2.0 * pi / 3.0)}}),
      by_row("view factor of polygons", "VF-01_1_1", polygon_view_factor(square(0.0, true), square(1.0, false)),
             {{"pi dropped", pi * polygon_view_factor(square(0.0, true), square(1.0, false))},
              {"twice the distance", polygon_view_factor(square(0.0, true), square(2.0, false))}})};
}

Controls honeycombs() {
  constexpr double foil_m = 25e-6, cell_m = 6e-3, height_m = 15e-3, emittance = 0.85, h = height_m / cell_m;
  const auto effective = [](double ratio, double power) {
    return 0.664 * std::pow(ratio + 0.3, -0.69) * std::pow(emittance, 1.63 * std::pow(ratio + 1.0, power));
  };
  return {by_form("honeycomb, foil", "8 t/(3 s)", 8.0 * foil_m / (3.0 * cell_m), honeycomb_solid_share(foil_m, cell_m),
                  {{"doubled walls dropped", 2.0 * foil_m / cell_m},
                   {"cell counted to its corners", honeycomb_solid_share(foil_m, 2.0 / std::sqrt(3.0) * cell_m)}}),
          by_form("honeycomb, cells", "0.664 (h + 0.3)^-0.69 eps^(1.63 (h + 1)^-0.89)", effective(h, -0.89),
                  honeycomb_effective_emittance(emittance, height_m, cell_m),
                  {{"wrong sign of a power", effective(h, 0.89)},
                   {"emittance of the foil dropped", honeycomb_effective_emittance(1.0, height_m, cell_m)},
                   {"half the height", honeycomb_effective_emittance(emittance, 0.5 * height_m, cell_m)}})};
}

RadiatingFin fin(double length_m, double conductance, double emittance_sum, double absorbed_W_per_m2 = 0.0) {
  return {1.0, length_m, PropertyTable(conductance), emittance_sum, std::pow(absorbed_W_per_m2 / (emittance_sum * sigma), 0.25)};
}

Controls fins() {
  constexpr double sun_W_per_m2 = 0.15 * 1361.0, base_K = 300.0;
  const double dark_W = fin(0.1, 0.167, 1.7).flow(base_K);
  return {by_row("radiating fin", "FIN-07d", dark_W,
                 {{"wrong sign", -dark_W},
                  {"one face dropped", fin(0.1, 0.167, 0.85).flow(base_K)},
                  {"resistance of the sheet dropped", fin(0.1, 1e6, 1.7).flow(base_K)},
                  {"from pipe to pipe for half of it", fin(0.2, 0.167, 1.7).flow(base_K)}}),
          by_row("radiating fin in the sun", "FIN-08a", fin(0.1, 0.167, 1.7, sun_W_per_m2).flow(base_K),
                 {{"sun dropped", dark_W},
                  {"sun taken off at the root", dark_W - 0.1 * sun_W_per_m2},
                  {"wrong sign of the sun", dark_W + 0.1 * sun_W_per_m2},
                  {"sun on both faces", fin(0.1, 0.167, 1.7, 2.0 * sun_W_per_m2).flow(base_K)}})};
}

constexpr PipeLiquid water{958.0, 279e-6, 58.9e-3, 2.26e6};
constexpr Wick mesh{pi * 0.010 * 4 * 45e-6, 0.3e-10, 20e-6};

/// Two walls with a massless vapour between them: evaporator above condenser under 60 W.
double pipe_drop_K(double evaporator_W_per_K, double condenser_W_per_K) {
  Model pipe;
  pipe.massless("evaporator").massless("vapour").fixed("condenser", 300.0).heat("evaporator", 60.0);
  pipe.join("evaporator", "vapour", evaporator_W_per_K).join("vapour", "condenser", condenser_W_per_K);
  return Steady(pipe).temperature_K("evaporator") - 300.0;
}

Controls pipes() {
  constexpr double length_m = 0.3, gravity_Pa = 958.0 * 9.81 * length_m * 0.5, open = 1e9;
  constexpr double evaporator = 8000.0 * 0.4 * 0.012, condenser = 10000.0 * 0.8 * 0.012;
  const auto limit = [&](double pressure_Pa, const PipeLiquid& liquid = water, const Wick& wick = mesh) {
    return capillary_limit_W(liquid, wick, length_m, pressure_Pa);
  };
  PipeLiquid half = water;
  half.surface_tension_N_per_m *= 0.5;
  const PropertyTable carries_W_m({200.0, 300.0, 400.0}, {0.0, 80.0, 0.0});
  const VapourTransport two = vapour_transport(2, carries_W_m, 0.8, 1000.0);
  return {
      by_row("heat pipe, suction of its wick", "HP-01c", limit(gravity_Pa),
             {{"wrong sign of gravity", limit(-gravity_Pa)}, {"gravity dropped", limit(0.0)}, {"factor 2 of the suction dropped", limit(gravity_Pa, half)}}),
      by_row("heat pipe, flow in its wick", "HP-01d", limit(0.0),
             {{"area of the tube for that of the wick", limit(0.0, water, {pi * 0.005 * 0.005, mesh.permeability_m2, mesh.pore_radius_m})},
              {"pore's diameter for its radius", limit(0.0, water, {mesh.area_m2, mesh.permeability_m2, 2.0 * mesh.pore_radius_m})}}),
      by_row("heat pipe, effective length", "HP-10", effective_length_m(0.4, 0.6, 0.8),
             {{"whole lengths", 0.4 + 0.6 + 0.8},
              {"condenser dropped", effective_length_m(0.4, 0.6, 0.0)},
              {"adiabatic part swapped with an end", effective_length_m(0.6, 0.4, 0.8)}}),
      by_row("heat pipe, merit of its liquid", "HP-06", liquid_merit_W_per_m2(water),
             {{"viscosity multiplied", liquid_merit_W_per_m2(water) * water.viscosity_Pa_s * water.viscosity_Pa_s},
              {"half the surface tension", liquid_merit_W_per_m2(half)}}),
      by_row("heat pipe, evaporator and condenser", "HP-11", pipe_drop_K(evaporator, condenser),
             {{"condenser dropped", pipe_drop_K(evaporator, open)}, {"areas swapped", pipe_drop_K(2.0 * evaporator, 0.5 * condenser)}}),
      by_form("heat pipe, what its vapour carries", "N min(Pi(Ta), Pi(Tb))/L, both ends off the peak", 2.0 * 56.0 / 0.8, two.flow(330.0, 310.0),
              {{"wrong sign: ends exchanged", two.flow(310.0, 330.0)},
               {"weaker end dropped", 2.0 * 72.0 / 0.8},
               {"one pipe dropped", vapour_transport(1, carries_W_m, 0.8, 1000.0).flow(330.0, 310.0)},
               {"limit dropped", 2.0 * 1000.0 * 20.0}})};
}

constexpr MeltingLaw wax{2.0 * 1900.0, 2.0 * 2200.0, 2.0 * 225e3, 301.0, 0.1};

double heated_J(const MeltingLaw& law, double from_K, double to_K) { return law.solid_J_per_K * (law.unknown_of(to_K) - law.unknown_of(from_K)); }

Control melting() {
  MeltingLaw without = wax, one_phase = wax, swapped = wax;
  without.latent_J = 1.0;
  one_phase.liquid_J_per_K = one_phase.solid_J_per_K;
  std::swap(swapped.solid_J_per_K, swapped.liquid_J_per_K);
  // The row melts at a point, the law over 0.1 K: the sensible heat of that tenth is not in it.
  MeltingLaw point = wax;
  point.range_K = 1e-7;
  return by_row("melting, enthalpy", "PCM-05c", heated_J(point, 280.0, 310.0),
                {{"wrong sign", heated_J(point, 310.0, 280.0)},
                 {"latent heat dropped", heated_J(without, 280.0, 310.0)},
                 {"heat capacity of the liquid dropped", heated_J(one_phase, 280.0, 310.0)},
                 {"phases swapped", heated_J(swapped, 280.0, 310.0)}});
}

Controls melting_paths() {
  const double quarter = wax.solidus_K() + 0.25 * wax.latent_J / wax.solid_J_per_K;
  const double store_K = wax.temperature_K(quarter), wall_K = store_K + 20.0;
  const auto front = [&](double contact, double liquid, double solid) { return MeltFront{contact, liquid, solid, wax}.flow(wall_K, quarter); };
  const double warm = wax.unknown_of(wax.melt_K + 5.0), cold = wax.unknown_of(wax.melt_K - 3.0);
  const auto layer = [&](double solid, double liquid, double a, double b) { return MeltLayer{{solid, liquid}, wax, wax}.flow(a, b); };
  const auto face = [&](double contact, double solid, double liquid) { return MeltFace{contact, {solid, liquid}, wax}.flow(wax.melt_K + 10.0, cold); };
  return {
      by_form("melting, front in a whole store", "dT/(Rc + R phi), a quarter molten", 20.0 / (0.01 + 0.25 * 0.1), front(0.01, 0.1, 0.3),
              {{"contact dropped", front(0.0, 0.1, 0.3)},
               {"phases swapped", front(0.01, 0.3, 0.1)},
               {"front counted from the far side", 20.0 / (0.01 + 0.75 * 0.1)},
               {"wrong sign", -front(0.01, 0.1, 0.3)}}),
      by_form("melting, slice to slice", "P(Ta) - P(Tb) across the melting point", 5.0 / 0.4 + 3.0 / 0.1, layer(0.1, 0.4, warm, cold),
              {{"wrong sign: ends exchanged", layer(0.1, 0.4, cold, warm)},
               {"phases swapped", layer(0.4, 0.1, warm, cold)},
               {"the colder one's term dropped", 5.0 / 0.4}}),
      by_form(
          "melting, wall to slice", "(Ta - Tm - R P(Tb))/(R + Rc)", (10.0 + 0.4 * 3.0 / 0.1) / (0.4 + 0.02), face(0.02, 0.1, 0.4),
          {{"contact dropped", face(0.0, 0.1, 0.4)}, {"phases swapped", face(0.02, 0.4, 0.1)}, {"wrong sign of P", (10.0 - 0.4 * 3.0 / 0.1) / (0.4 + 0.02)}})};
}

/// Heat that crosses the border of two zones of a layer 2 mm thick, 0.5 m long: zones 0.3 m apart, held 40 K apart.
double across_zones_W(double border_m, double distance_m) {
  Model model;
  tile::Layer layer;
  layer.name = "sheet";
  layer.material = {"sheet", 2700.0, PropertyTable(900.0), PropertyTable(160.0)};
  layer.thickness_m = 2e-3;
  model.description.stack = tile::Stack{0.3, {layer}, {{"left", 0.5}, {"right", 0.5}}, border_m, distance_m};
  constexpr double tight_W_per_K = 1e6;
  model.fixed("hot", 340.0).fixed("cold", 300.0).join("hot", "sheet.left", tight_W_per_K).join("sheet.right", "cold", tight_W_per_K);
  return Steady(model).flow_W("sheet.left", "sheet.right");
}

Control zones() {
  // 1e6 W/K on either side is 2e-6 of the resistance between the zones.
  const double bar = 160.0 * 2e-3 * 0.5 / 0.3, expected_W = 40.0 / (1.0 / bar + 2e-6);
  return by_form("zones of a layer", "k t b/l (Ta - Tb)", expected_W, across_zones_W(0.5, 0.3),
                 {{"border and distance swapped", across_zones_W(0.3, 0.5)}, {"area of the face for that of the border", expected_W * 0.3 / (2e-3 * 0.5)}});
}

/// A plate of two faces in the sun; emittances 0.85 and 0.88, absorptance 0.9.
Model plate_in_the_sun(double irradiance_W_per_m2, double tilt_rad = 0.0) {
  Model model;
  model.sun(irradiance_W_per_m2, tilt_rad).massless("plate").sunlit("plate", 1.0, 0.9, 0.85).radiate("plate", 1.0, 0.88);
  return model;
}

/// Row ENV-13c on an ellipse: what a plate meets at one place of it.
double met_on_ellipse_W(double eccentricity, double mean_anomaly_rad) {
  Model model = plate_in_the_sun(1366.1);
  model.description.sun_ellipse = environment::Ellipse{environment::sun_gravitational_parameter_m3_per_s2, astronomical_unit_m, eccentricity, mean_anomaly_rad};
  model.description.steady_at_s = 0.0;
  return Steady(model).ledger().sunlight_met_W;
}

double met_at_W(double distance_AU) {
  Model model = plate_in_the_sun(1366.1);
  model.description.sun.distance_m = distance_AU * astronomical_unit_m;
  return Steady(model).ledger().sunlight_met_W;
}

/// Temperature of a plate that turns by itself: from facing the Sun below the band to `most` at its upper end.
double held_plate_K(double most_rad, double band_K, double below_K = 330.0) {
  Model model = plate_in_the_sun(sun_W_per_m2);
  model.description.tilt_law = tile::TiltLaw::hold;
  model.description.hold = tile::TiltHold{"plate", below_K, band_K, most_rad};
  return Steady(model).temperature_K("plate");
}

/// The root of 0.9 S cos(most (1 - (330 - T)/40)) = 1.73 sigma T^4 by halving.
double held_by_hand_K() {
  double low = 290.0, high = 330.0;
  for (int i = 0; i < 60; ++i) {
    const double T = 0.5 * (low + high), tilt = 0.5 * pi * (1.0 - (330.0 - T) / 40.0);
    (0.9 * sun_W_per_m2 * std::cos(tilt) > 1.73 * sigma * std::pow(T, 4) ? low : high) = T;
  }
  return low;
}

Controls sunlight() {
  constexpr double e = 0.01671;
  const auto lit_K = [](double tilt_rad) { return Steady(plate_in_the_sun(sun_W_per_m2, tilt_rad)).temperature_K("plate"); };
  const double edge = 60.0 * degree;
  const environment::TimeTable course({0.0, 100.0}, {1.0, 2.0});
  return {by_row("sunlight over distance", "ENV-13c", met_at_W(1.0 - e),
                 {{"wrong sign: aphelion", met_at_W(1.0 + e)},
                  {"square dropped", 1366.1 / (1.0 - e)},
                  {"distance dropped", met_at_W(1.0)},
                  {"inverse dropped", 1366.1 * (1.0 - e) * (1.0 - e)}}),
          by_row("ellipse around the Sun", "ENV-13c", met_on_ellipse_W(e, 0.0),
                 {{"wrong sign: begins at aphelion", met_on_ellipse_W(e, pi)}, {"eccentricity dropped", met_on_ellipse_W(0.0, 0.0)}}),
          by_form("tilt", "alpha S cos(tilt) = sigma (ef + eb) T^4", std::pow(0.9 * sun_W_per_m2 * std::cos(edge) / (1.73 * sigma), 0.25), lit_K(edge),
                  {{"angle from the plane for that from its normal", lit_K(0.5 * pi - edge)},
                   {"tilt dropped", lit_K(0.0)},
                   {"one face dropped", lit_K(edge) * std::pow(1.73 / 0.85, 0.25)}}),
          by_form("tilt that holds a temperature", "the root of the plate's balance, by halving", held_by_hand_K(), held_plate_K(0.5 * pi, 40.0),
                  {{"wrong sign of the band: above the limit", held_plate_K(0.5 * pi, 40.0, 370.0)},
                   {"band halved", held_plate_K(0.5 * pi, 20.0)},
                   {"law dropped", lit_K(0.0)}},
                  1e-8),
          by_form("table over time", "straight between rows", 1.25, course.at(25.0),
                  {{"rows swapped", course.at(75.0)}, {"held from the row before", course.at(0.0)}})};
}

double sized_m2(double absorptance, double heat_W) {
  tile::Case radiator = test::plain_radiator();
  radiator.surfaces[0].facing = tile::Surface::Facing::front;
  radiator.surfaces[0].absorptance = absorptance;
  radiator.loads[0].power_W = heat_W;
  return studies::size(radiator).best.needed_m2;
}

Controls asked() {
  const double black = sigma * std::pow(300.0, 4);
  return {by_row("spread of uncertain inputs", "MRG-32", standard_deviation_of_sum({3.0, 2.0, 4.0}),
                 {{"added, not in squares", 9.0}, {"one dropped", standard_deviation_of_sum({3.0, 2.0})}, {"wrong sign of one square", std::sqrt(9.0 + 16.0 - 4.0)}}),
          by_form("sized radiator", "heat/(epsilon sigma T^4 - alpha S)", 400.0 / (0.88 * black - 0.15 * 1361.0), sized_m2(0.15, 400.0),
                  {{"sun dropped", sized_m2(0.0, 400.0)},
                   {"wrong sign of the sun", 400.0 / (0.88 * black + 0.15 * 1361.0)},
                   {"part of the heat dropped", sized_m2(0.15, 390.0)}},
                  1e-8)};
}

Controls controls() {
  Controls all{
      by_row("conductance and heat capacity", "TR-30c", joined_K(800.0, 300.0, 2.5),
             {{"wrong sign of the conductance", joined_K(800.0, 300.0, -2.5)}, {"capacities swapped", joined_K(300.0, 800.0, 2.5)}, {"path dropped", 350.0}}),
      bar(),
      layers(),
      thermal_switch(),
      radiation(),
      to_space(),
      view_to_space(),
      louvre(),
      insulation(),
      melting(),
      zones()};
  for (const Controls& more : {sunlight(), enclosures(), views(), honeycombs(), fins(), pipes(), melting_paths(), asked()})
    all.insert(all.end(), more.begin(), more.end());
  return all;
}

TEST(PathControls, PassAsTheyAreAndAreRefusedWithAFault) { check_all(controls()); }

}  // namespace tileflux::verification::path_controls_test
