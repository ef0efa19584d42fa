/// Negative controls of orbits, planets, cells, chain, lasers, battery, ageing and controls: each law passes its
/// check as it is, and the same check refuses it with a wrong sign, a dropped term or inputs swapped. Checks are rows, or closed
/// forms worked here (docs/theory.md has the equations).

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <stdexcept>

#include "tileflux/base/constants.h"
#include "tileflux/devices/ageing.h"
#include "tileflux/devices/cell_curve.h"
#include "tileflux/devices/power_chain.h"
#include "tileflux/devices/roll_over.h"
#include "tileflux/environment/planet.h"
#include "tileflux/environment/shadow.h"
#include "tileflux/environment/spectrum.h"
#include "tileflux/studies/run.h"
#include "verification/groups.h"
#include "verification/model.h"

namespace tileflux::verification::device_controls_test {

constexpr double pi = std::numbers::pi;
constexpr double degree = pi / 180.0;
constexpr double sun_W_per_m2 = 1361.0;

environment::OblatenessRates rates_of(double inclination_deg) {
  // Rows ENV-37 and ENV-38: gravity from the stated period, J2 from K1 = 1.5 J2 R^2.
  constexpr double axis_m = 7192.3e3, radius_m = 6378.137e3, day_s = 86400.0;
  const double motion = 2.0 * pi * 14.23304826 / day_s;
  const environment::Ellipse ellipse{motion * motion * std::pow(axis_m, 3), axis_m, 0.0011501, 0.0};
  return environment::oblateness_rates(ellipse, inclination_deg * degree, 66063.1704e6 / (1.5 * radius_m * radius_m), radius_m);
}

double deg_a_day(double rad_per_s) { return rad_per_s * 86400.0 / degree; }

Controls orbits() {
  using namespace environment;
  constexpr double gravity = 398600.4418e9, radius_m = 6378.137e3;
  const auto period_s = [](double mu, double body_m) { return circular_orbit(mu, body_m, 400e3, 0.0).ellipse.period_s(); };
  const double M = 1.0, e = 0.6, E = eccentric_anomaly_rad(M, e);
  const ShadowCaster caster{6378.137e3, astronomical_unit_m};
  const double half = std::asin(6378.137 / 42164.17);
  const auto minutes = [](double half_angle_rad) { return 1440.0 * half_angle_rad / pi; };
  const auto umbra = [&](ShadowEdge edge) { return 1440.0 * circular_shadow_share(caster, edge, 42164.17e3, 0.0); };
  const auto beta_deg = [](double node_deg, double declination_deg) {
    return beta_rad({28.5 * degree, node_deg * degree, 0.0}, {0.0, declination_deg * degree}) / degree;
  };
  return {by_row("period of an orbit", "ENV-35_400", period_s(gravity, radius_m),
                 {{"height for distance from the centre", 2.0 * pi * std::sqrt(std::pow(400e3, 3) / gravity)},
                  {"mean radius for that of the equator", period_s(gravity, 6371e3)}}),
          by_form("Kepler's equation", "E - e sin E = M", M, E - e * std::sin(E),
                  {{"wrong sign of e", E + e * std::sin(E)},
                   {"term with e dropped", E},
                   {"true anomaly for the eccentric one", Ellipse{1.0, 1.0, e, M}.true_anomaly_rad(0.0)}}),
          by_row("turning of the node", "ENV-37c", deg_a_day(rates_of(98.6328).ascending_node_rad_per_s),
                 {{"wrong sign of cos i", deg_a_day(rates_of(180.0 - 98.6328).ascending_node_rad_per_s)},
                  {"rates swapped", deg_a_day(rates_of(98.6328).periapsis_rad_per_s)}}),
          by_row("turning of the periapsis", "ENV-38c", deg_a_day(rates_of(98.6328).periapsis_rad_per_s),
                 {{"rates swapped", deg_a_day(rates_of(98.6328).ascending_node_rad_per_s)},
                  {"term of sin^2 i dropped", deg_a_day(rates_of(0.0).periapsis_rad_per_s)}}),
          by_row("height of the Sun above an orbit", "ENV-48e", beta_deg(200.0, 10.0),
                 {{"wrong sign of the node", beta_deg(-200.0, 10.0)},
                  {"wrong sign of the declination", beta_deg(200.0, -10.0)},
                  {"declination dropped", beta_deg(200.0, 0.0)}}),
          by_row("umbra", "ENV-44b", umbra(ShadowEdge::umbra),
                 {{"size of the Sun dropped", umbra(ShadowEdge::cylinder)},
                  {"wrong sign of the cone", umbra(ShadowEdge::penumbra)},
                  {"size of the planet dropped from the cone", minutes(half - solar_disc_rad(astronomical_unit_m))}})};
}

/// 2 times the integral of u (r u - 1)(r - u)/(1 + r^2 - 2 r u)^2 over u = cos z from 1/r to 1, by Simpson's rule.
double lit_by_hand(double r) {
  constexpr int intervals = 2000;
  const double width = (1.0 - 1.0 / r) / intervals;
  double sum = 0.0;
  for (int i = 0; i <= intervals; ++i) {
    const double u = 1.0 / r + i * width, apart = 1.0 + r * r - 2.0 * r * u;
    sum += (i == 0 || i == intervals ? 1.0 : i % 2 == 1 ? 4.0 : 2.0) * u * (r * u - 1.0) * (r - u) / (apart * apart);
  }
  return 2.0 * sum * width / 3.0;
}

Controls planets() {
  using namespace environment;
  constexpr double distance = 1.06271423772;
  const Planet earth{6378.137e3, 398600.4418e9, astronomical_unit_m, 0.0167, 0.298, UniformInfrared{238.0}};
  Planet mirror = earth, black = earth;
  mirror.albedo = 1.0;
  black.albedo = 1.0 - 0.298;
  const auto flux = [&](const Planet& planet, double nadir_deg) {
    return planet_flux(planet, {distance, nadir_deg * degree, 0.0, 0.0}, sun_W_per_m2, AlbedoMethod::zenith_cosine);
  };
  const auto view = [&](double angle_deg) { return plate_to_sphere_view_factor(distance, angle_deg * degree); };
  Planet airless = earth;
  airless.infrared = SubSolarInfrared{20.0};
  const double zenith = 60.0 * degree, absorbed = 0.702 * sun_W_per_m2;
  const double view_from_two = plate_to_sphere_view_factor(2.0, 0.0);
  return {by_row("view of a planet", "ENV-32c", view(60.0),
                 {{"wrong sign: the plate's other side", view(120.0)},
                  {"tilt dropped", view(0.0)},
                  {"height for distance", plate_to_sphere_view_factor(1.0 + distance, 60.0 * degree)}}),
          by_row("view of a planet from a sphere", "ENV-33a", small_sphere_to_sphere_view_factor(6778.137 / 6378.137),
                 {{"the plate's in its place", plate_to_sphere_view_factor(6778.137 / 6378.137, 0.0)},
                  {"the rest of the sky in its place", 1.0 - small_sphere_to_sphere_view_factor(6778.137 / 6378.137)}}),
          by_row("reflected sunlight", "ENV-33b", flux(earth, 0.0).albedo_W_per_m2,
                 {{"albedo dropped", flux(mirror, 0.0).albedo_W_per_m2}, {"what is absorbed for what is reflected", flux(black, 0.0).albedo_W_per_m2}}),
          by_row("a planet's infrared", "ENV-33c", flux(earth, 0.0).infrared_W_per_m2,
                 {{"view dropped", 238.0},
                  {"plate turned", flux(earth, 30.0).infrared_W_per_m2},
                  {"reflected sunlight swapped in", flux(earth, 0.0).albedo_W_per_m2}}),
          by_form("infrared that follows the Sun", "night + ((1 - a) S - 4 night) cos z", 20.0 + (absorbed - 80.0) * 0.5,
                  infrared_exitance_W_per_m2(airless, sun_W_per_m2, zenith),
                  {{"night's share not taken off", 20.0 + absorbed * 0.5},
                   {"wrong sign of the albedo", 20.0 + (1.298 * sun_W_per_m2 - 80.0) * 0.5},
                   {"behind the terminator", infrared_exitance_W_per_m2(airless, sun_W_per_m2, pi - zenith)}}),
          by_form("lit part of a planet", "cos z over the view factor at full phase, by quadrature", lit_by_hand(2.0), sunlit_view_factor({2.0, 0.0, 0.0, 0.0}),
                  {{"cosine of the zenith angle dropped", view_from_two}, {"wrong sign: new phase", sunlit_view_factor({2.0, 0.0, pi, 0.0})}}, 1e-7)};
}

Controls spectra() {
  using namespace environment;
  constexpr double um = 1e-6;
  const double below = black_body_share_below(um, 3000.0);
  const auto glass = [](double from_um, double to_um) { return spectral_mean(std::vector<SpectralBand>{{from_um * um, to_um * um, 0.9}}, 5800.0); };
  return {by_row("spectrum of a black body", "ENV-51_3000c", below,
                 {{"wrong side of the wavelength", 1.0 - below}, {"a tenth of the temperature", black_body_share_below(um, 300.0)}}),
          by_row("mean over a spectrum", "ENV-52c", glass(0.3, 2.5), {{"lower edge dropped", glass(0.0, 2.5)}, {"value dropped", glass(0.3, 2.5) / 0.9}})};
}

devices::CellLaw cells(double slope_per_K, double intensity_slope = 0.0) {
  devices::CellLaw law;
  law.area_m2 = 0.5;
  law.packing = 0.9;
  law.efficiency = 0.298;
  law.slope_per_K = slope_per_K;
  law.intensity_slope = intensity_slope;
  law.remaining = 0.95;
  return law;
}

double open_V(double share_of_light, double ideality) {
  const devices::CellCurve curve{.light_A = 0.5 * share_of_light, .saturation_A = 1e-15, .ideality = ideality};
  return curve.open_circuit_V(301.15);
}

/// What cells give at 50 deg, by a table of factors or by the cosine.
double pointed_W(double tilt_deg, bool table) {
  Model model;
  model.sun(sun_W_per_m2, tilt_deg * degree).massless("plate").sunlit("plate", 1.0, 0.9, 0.85);
  tile::Cells described;
  described.surface = model.description.surfaces.front().name;
  described.node = "plate";
  described.efficiency = 0.3;
  if (table) described.pointing = PropertyTable({0.0, 50.0 * degree, 85.0 * degree}, {1.0, 0.62, 0.0});
  model.description.cells = described;
  return Steady(model).point().chain.available;
}

Controls cell_laws() {
  const double kT_V = boltzmann_eV_per_K * 301.15, far = sun_W_per_m2 / 25.0;
  const auto dim = [&](double slope) { return cells(0.0, slope).available_W(301.15, far); };
  return {by_row("cells over temperature", "PV-10_3", cells(-0.002).efficiency_at(353.15),
                 {{"wrong sign of the slope", cells(0.002).efficiency_at(353.15)}, {"slope dropped", cells(0.0).efficiency_at(353.15)}}),
          by_row("cells over intensity, voltage", "PV-19", open_V(0.04, 1.0) - open_V(1.0, 1.0),
                 {{"wrong sign", open_V(1.0, 1.0) - open_V(0.04, 1.0)},
                  {"three junctions for one", open_V(0.04, 3.0) - open_V(1.0, 3.0)},
                  {"decimal logarithm", -kT_V * std::log10(25.0)}}),
          by_form("cells over intensity, power", "E A p eta D (1 + m ln(E/E_ref))", far * 0.5 * 0.9 * 0.298 * 0.95 * (1.0 - 0.03 * std::log(25.0)), dim(0.03),
                  {{"wrong sign of m", dim(-0.03)},
                   {"m dropped", dim(0.0)},
                   {"what the cells have lost dropped", dim(0.03) / 0.95},
                   {"packing dropped", dim(0.03) / 0.9}}),
          by_form("cells over tilt", "E A eta times the table's factor", sun_W_per_m2 * 0.3 * 0.62, pointed_W(50.0, true),
                  {{"table dropped: cosine", pointed_W(50.0, false)},
                   {"cosine on top of the table", pointed_W(50.0, true) * std::cos(50.0 * degree)},
                   {"tilt dropped", pointed_W(0.0, true)}})};
}

devices::DiodeLaw diode(double threshold_A = 0.5, double resistance_ohm = 0.02, double T0_K = 1e9, double T1_K = 1e9) {
  devices::DiodeLaw law;
  law.rated_current_A = 15.0;
  law.threshold_A = threshold_A;
  law.threshold_T0_K = T0_K;
  law.slope_W_per_A = 1.1;
  law.slope_T1_K = T1_K;
  law.turn_on_V = 1.35;
  law.series_resistance_ohm = resistance_ohm;
  return law;
}

double efficiency(const devices::DiodeLaw& law) { return law.light_W(5.0, law.reference_K) / law.electrical_W(5.0); }

devices::FibreAmplifierLaw fibre(double pump_nm, double signal_nm, double length_m = 5.0, double shift = 0.3) {
  devices::FibreAmplifierLaw law;
  law.pump_nm = pump_nm;
  law.signal_nm = signal_nm;
  law.shift_nm_per_K = shift;
  law.slope_efficiency = 1.0;
  law.absorption_per_m = PropertyTable({900.0, 1000.0}, {0.2, 0.6});
  law.length_m = length_m;
  return law;
}

Controls lasers() {
  const auto warm_W = [](const devices::DiodeLaw& law, double by_K) { return law.light_W(10.0, law.reference_K + by_K); };
  const devices::EfficiencyLaw sheet{80.0, {290.0, 320.0}, {0.5, 1.0}, {0.50, 0.46, 0.44, 0.40}};
  const devices::EfficiencyLaw swapped{80.0, {290.0, 320.0}, {0.5, 1.0}, {0.50, 0.44, 0.46, 0.40}};
  // At the roll-over the loop gain is what a current more gives over what it heats: g V_d = L_I.
  const devices::DiodeLaw hot = diode(0.5, 0.02, 100.0, 300.0);
  const auto balanced = [&](const devices::OperatingPoint& at, double sign) {
    const devices::SelfHeatedDiode on_mount(hot, 300.0, 4.0);
    return sign * on_mount.loop_gain(at.current_A, at.junction_K) * (hot.turn_on_V + 2.0 * hot.series_resistance_ohm * at.current_A) /
           hot.slope_at(at.junction_K);
  };
  const devices::SelfHeatedDiode heated(hot, 300.0, 4.0);
  const devices::OperatingPoint top = heated.roll_over().value();
  return {
      by_row("diode", "LAS-20_5", efficiency(diode()),
             {{"threshold dropped", efficiency(diode(0.0))},
              {"wrong sign of the threshold", efficiency(diode(-0.5))},
              {"resistance dropped", efficiency(diode(0.5, 0.0))},
              {"wrong sign of the resistance", efficiency(diode(0.5, -0.02))}}),
      by_row("diode over temperature", "LAS-22_20", warm_W(diode(0.5, 0.02, 140.0, 600.0), 20.0),
             {{"wrong sign: colder", warm_W(diode(0.5, 0.02, 140.0, 600.0), -20.0)},
              {"T0 dropped", warm_W(diode(0.5, 0.02, 1e9, 600.0), 20.0)},
              {"T1 dropped", warm_W(diode(0.5, 0.02, 140.0, 1e9), 20.0)},
              {"T0 and T1 swapped", warm_W(diode(0.5, 0.02, 600.0, 140.0), 20.0)}}),
      by_form("diode on its mount, roll-over", "g V_d = L_I", 1.0, balanced(top, 1.0),
              {{"wrong sign of the feedback", balanced(top, -1.0)}, {"half the current", balanced(heated.at_current(0.5 * top.current_A).value(), 1.0)}}, 1e-6),
      by_form("laser by a data sheet", "linear in junction temperature and drive", 0.465, sheet.efficiency_at(297.5, 0.75),
              {{"rows and columns swapped", swapped.efficiency_at(297.5, 0.75)},
               {"drive dropped", sheet.efficiency_at(297.5, 1.0)},
               {"temperature dropped", sheet.efficiency_at(290.0, 0.75)}})};
}

Controls amplifiers() {
  const auto signal = [](const devices::FibreAmplifierLaw& law) {
    const auto flows = law.flows(100.0, law.reference_K);
    return flows.signal / flows.absorbed;
  };
  const auto heat = [](const devices::FibreAmplifierLaw& law) {
    const auto flows = law.flows(100.0, law.reference_K);
    return flows.fibre_heat / flows.signal;
  };
  const auto left = [](const devices::FibreAmplifierLaw& law, double by_K) { return law.flows(100.0, law.reference_K + by_K).unabsorbed; };
  return {by_row("fibre amplifier, signal", "LAS-41", signal(fibre(915.0, 1064.0)),
                 {{"wavelengths swapped", signal(fibre(1064.0, 915.0))}, {"quantum limit dropped", 1.0}, {"the other pump", signal(fibre(976.0, 1064.0))}}),
          by_row("fibre amplifier, heat", "LAS-42", heat(fibre(976.0, 1064.0)),
                 {{"wrong sign", -heat(fibre(976.0, 1064.0))}, {"over the pump, not the signal", 1.0 - 976.0 / 1064.0}, {"quantum defect dropped", 0.0}}),
          by_form("fibre amplifier, absorption", "P exp(-a(lambda) L) is left, lambda with the junction", 100.0 * std::exp(-5.0 * (0.2 + 0.4 * 0.56)),
                  left(fibre(950.0, 1064.0), 20.0),
                  {{"wrong sign of the shift", left(fibre(950.0, 1064.0, 5.0, -0.3), 20.0)},
                   {"shift dropped", left(fibre(950.0, 1064.0, 5.0, 0.0), 20.0)},
                   {"absorbed for left", 100.0 - left(fibre(950.0, 1064.0), 20.0)},
                   {"length halved", left(fibre(950.0, 1064.0, 2.5), 20.0)}})};
}

/// A chain with too little sun: 400 W of the cells, conditioning of 5 %, housekeeping of 20 W, heaters of 50 W, drivers of 6 %,
/// lasers of 50 %, optics of 97 %. Its light.
double light_W(double conditioning = 0.05, double housekeeping_W = 20.0, double driver = 0.06, double transmission = 0.97, bool lasers_first = false) {
  devices::PowerChain chain;
  devices::CellLaw law;
  law.area_m2 = 1.0;
  law.efficiency = 0.4;
  chain.cells = {law};
  chain.conditioning.proportional = conditioning;
  chain.housekeeping_W = housekeeping_W;
  chain.optics_transmission = transmission;
  chain.banks.push_back({2, devices::EfficiencyLaw{400.0, {300.0}, {1.0}, {0.5}}, driver});
  if (lasers_first) std::swap(chain.priorities[1], chain.priorities[2]);
  devices::ChainState<double> state;
  state.cells_K.fill(300.0);
  state.junction_K.fill(300.0);
  state.heaters_W = 50.0;
  return devices::evaluate(chain, devices::ChainCommand{.irradiance_W_per_m2 = 1000.0, .beam = true}, state).light_out;
}

/// A bank of a data sheet at 100 W.
double bank_W(int modules, double remaining, double factor = 1.0) {
  devices::LaserBank bank{modules, devices::EfficiencyLaw{80.0, {290.0, 320.0}, {0.5, 1.0}, {0.50, 0.46, 0.44, 0.40}}};
  bank.remaining = remaining;
  bank.light_factor = factor;
  return bank.flows(100.0, 290.0).light;
}

Controls chain() {
  const devices::ConditioningLaw law{2.0, 0.015, 1e-4};
  const auto share = [](const devices::ConditioningLaw& conditioning, double delivered_W) {
    return delivered_W / (delivered_W + conditioning.loss_W(delivered_W));
  };
  return {by_row("conditioning, standby", "LAS-62_20", share(law, 20.0),
                 {{"standby dropped", share({0.0, 0.015, 1e-4}, 20.0)},
                  {"wrong sign of the standby", share({-2.0, 0.015, 1e-4}, 20.0)},
                  {"proportional term dropped", share({2.0, 0.0, 1e-4}, 20.0)}}),
          by_row("conditioning, full load", "LAS-62_200", share(law, 200.0),
                 {{"quadratic term dropped", share({2.0, 0.015, 0.0}, 200.0)},
                  {"wrong sign of the quadratic term", share({2.0, 0.015, -1e-4}, 200.0)},
                  {"of what goes in, not of what comes out", 1.0 - law.loss_W(200.0) / 200.0}}),
          by_form("bank of modules", "D N (P/N) eta(T, P/N)", 0.9 * 100.0 * 0.49, bank_W(2, 0.9),
                  {{"wear dropped", bank_W(2, 1.0)},
                   {"one module dropped", bank_W(1, 0.9)},
                   {"wrong sign of the wear", bank_W(2, 1.1)},
                   {"a better laser", bank_W(2, 0.9, 1.1)}}),
          by_form("chain from cells to light", "tau eta (P/(1 + k1) - housekeeping - heaters)/(1 + l)", 0.97 * 0.5 * (400.0 / 1.05 - 70.0) / 1.06, light_W(),
                  {{"conditioning dropped", light_W(0.0)},
                   {"housekeeping dropped", light_W(0.05, 0.0)},
                   {"wrong sign of housekeeping", light_W(0.05, -20.0)},
                   {"drivers dropped", light_W(0.05, 20.0, 0.0)},
                   {"optics dropped", light_W(0.05, 20.0, 0.06, 1.0)},
                   {"priorities of lasers and heaters swapped", light_W(0.05, 20.0, 0.06, 0.97, true)}})};
}

devices::BatteryLaw battery(double loss_per_W, double self_per_s = 0.0) {
  devices::BatteryLaw law;
  law.capacity_J = 3.6e5;
  law.resistance_loss_per_W = loss_per_W;
  law.self_discharge_per_s = self_per_s;
  law.most_charge_W = 100.0;
  law.taper_percent = 5.0;
  law.charge_window = {273.0, 318.0, 2.0};
  law.most_discharge_W = 60.0;
  law.least_percent = 20.0;
  law.derating_percent = 5.0;
  law.discharge_window = {253.0, 333.0, 2.0};
  return law;
}

Controls batteries() {
  const auto lost_J = [](double delivered_W, double sign) { return battery(sign * (1.0 / 0.95 - 1.0) / 500.0).loss_W(-delivered_W) * 2136.0; };
  const auto needed = [](double loss_per_W, double depth) {
    return devices::capacity_needed_J(battery(loss_per_W), 3600.0, 4320.0, depth) / (90.0 * 3600.0 * 1.3);
  };
  const double r = (1.0 / 0.95 - 1.0) / 3600.0, self = 1e-6, held_J = 3600.0 * 60.0;
  const auto stored = [&](double loss_per_W, double self_per_s, double bus_W) { return battery(loss_per_W, self_per_s).stored_W(bus_W, 60.0); };
  const auto taken = [](double charge_percent, double temperature_K) { return battery(1e-4).charging_W(200.0, charge_percent, temperature_K); };
  const auto given = [](double charge_percent, double temperature_K) { return battery(1e-4).largest_discharge_W(charge_percent, temperature_K); };
  const auto trip = [](double share) { return battery(devices::resistance_loss_for(share, 50.0)).round_trip_efficiency(50.0); };
  return {by_row("battery, loss", "LAS-76", lost_J(500.0, 1.0),
                 {{"wrong sign of the resistance", lost_J(500.0, -1.0)},
                  {"square of the power dropped", lost_J(500.0, 1.0) / 500.0},
                  {"another power", lost_J(400.0, 1.0)}}),
          by_row("battery, capacity", "LAS-70c", needed(r, 0.8),
                 {{"loss dropped", needed(0.0, 0.8)},
                  {"wrong sign of the loss", needed(-r, 0.8)},
                  {"depth and what stays swapped", needed(r, 0.2)},
                  {"depth dropped", needed(r, 1.0)}}),
          by_form("battery, what it keeps", "p - r p^2 - k C z/100", 80.0 - 1e-4 * 6400.0 - self * held_J, stored(1e-4, self, 80.0),
                  {{"loss dropped", stored(0.0, self, 80.0)},
                   {"wrong sign of the loss", stored(-1e-4, self, 80.0)},
                   {"self-discharge dropped", stored(1e-4, 0.0, 80.0)},
                   {"wrong sign of the power", stored(1e-4, self, -80.0)}}),
          by_form("battery, round trip", "(1 - r P)/(1 + r P) = eta at the stated power", 0.94, trip(0.94),
                  {{"one way only", std::sqrt(0.94)}, {"wrong sign of r", 1.0 / 0.94}}),
          by_form("battery, derating", "S(x) w(T) P with x = 0.4, w = 0.5", 60.0 * 0.16 * 2.2 * 0.5, given(22.0, 254.0),
                  {{"derating dropped", given(60.0, 254.0)}, {"window dropped", given(22.0, 290.0)}, {"depth that is allowed dropped", given(42.0, 254.0)}}),
          by_form("battery, taper and window", "S(x) w(T) P with x = 0.4, w = 0.5", 100.0 * 0.16 * 2.2 * 0.5, taken(98.0, 274.0),
                  {{"taper dropped", taken(90.0, 274.0)}, {"window dropped", taken(98.0, 290.0)}, {"distance from full turned round", taken(97.0, 274.0)}})};
}

Controls ageing() {
  devices::DiodeWear bar;
  constexpr double hour_s = 3600.0, worn = 0.2;
  bar.temperature = {0.5, 318.15};
  bar.rate_per_s = worn / (15000.0 * hour_s);
  const auto life_h = [&](double activation_eV, double from_K, double at_K) {
    devices::DiodeWear law = bar;
    law.temperature = {activation_eV, from_K};
    return law.life_s(worn, at_K, 1.0) / hour_s;
  };
  devices::DiodeWear driven = bar;
  driven.drive_exponent = 2.0;
  const devices::RadiationDamage damage{0.1, 1e18, 1e11};
  const auto faded = [](double share, double remaining) { return devices::CellFading{share, {0.3, 298.15}}.rate_per_s(remaining, 298.15); };
  const devices::AbsorptanceGrowth finish{0.94, 1e7};
  return {
      by_row("ageing, Arrhenius", "LAS-33_0.5", devices::ArrheniusLaw{0.5, 298.15}.factor(338.15),
             {{"wrong sign: temperatures swapped", devices::ArrheniusLaw{0.5, 338.15}.factor(298.15)},
              {"activation dropped", devices::ArrheniusLaw{0.0, 298.15}.factor(338.15)}}),
      by_row("ageing, life of a diode", "LAS-30c", life_h(0.5, 318.15, 298.15),
             {{"wrong sign: hotter for colder", life_h(0.5, 298.15, 318.15)}, {"activation dropped", life_h(0.0, 318.15, 298.15)}}),
      by_form("ageing, drive of a diode", "rate drive^n", bar.rate_per_s * 0.25, driven.wear_per_s(318.15, 0.5),
              {{"exponent dropped", bar.wear_per_s(318.15, 0.5)}, {"wrong sign of the exponent", bar.rate_per_s * 4.0}}),
      by_form("ageing, cells over time", "-rate D", -0.9e-9, faded(1e-9, 0.9), {{"wrong sign", faded(-1e-9, 0.9)}, {"what is left dropped", faded(1e-9, 1.0)}}),
      by_form("ageing, cells under particles", "1 - C log10(1 + F/Fx)", 1.0 - 0.1 * std::log10(11.0), damage.remaining_at(1e19),
              {{"natural logarithm", 1.0 - 0.1 * std::log(11.0)}, {"wrong sign", 1.0 + 0.1 * std::log10(11.0)}, {"1 beside F/Fx dropped", 0.9}}),
      by_form("ageing, cells under particles, rate", "-C/(Fx ln 10) flux 10^(-(1 - D)/C)", -0.1 * 1e-7 / std::log(10.0) / 11.0,
              damage.rate_per_s(damage.remaining_at(1e19)),
              {{"rate of new cells", damage.rate_per_s(1.0)},
               {"wrong sign", -damage.rate_per_s(damage.remaining_at(1e19))},
               {"ln 10 dropped", -0.1 * 1e-7 / 11.0}}),
      by_form("ageing, finish", "lit (end - alpha)/tau", 0.6 * 0.04 / 1e7, finish.rate_per_s(0.90, 0.6),
              {{"in the dark as well", finish.rate_per_s(0.90, 1.0)},
               {"wrong sign: past its end", finish.rate_per_s(0.98, 0.6)},
               {"dark for lit", finish.rate_per_s(0.90, 0.4)}})};
}

/// Notes when things happen.
class Times : public studies::RunSink {
 public:
  explicit Times(std::string_view what) : what_(what) {}
  void row(const studies::RunRow&) override {}
  void event(const studies::RunEvent& event) override {
    if (event.what == what_) at_s.push_back(event.time_s);
  }
  std::vector<double> at_s;

 private:
  std::string_view what_;
};

/// A node of 1000 J/K with 1 W/K to 250 K.
Model room(double conductance_W_per_K = 1.0) {
  Model model;
  model.fixed("outside", 250.0).store("room", 1000.0, 300.0).join("room", "outside", conductance_W_per_K);
  return model;
}

std::vector<double> times_of(tile::Case description, std::string_view what) {
  description.run = {4000.0, 4000.0};
  tile::TileSystem system(description);
  Times times(what);
  studies::run(system, &times);
  return times.at_s;
}

/// Period of a heater with a thermostat; endless if it never goes off.
double heater_period_s(double power_W, double conductance_W_per_K, double on_below_K, double off_above_K) {
  Model model = room(conductance_W_per_K);
  model.description.heaters.push_back({"warmer", "room", "room", power_W, on_below_K, off_above_K, {}});
  const std::vector<double> on_s = times_of(model.description, "heater_on");
  return on_s.size() > 1 ? on_s[1] - on_s[0] : HUGE_VAL;
}

/// When a beam that heats trips; endless if it never does.
double trip_s(double power_W, double limit_K) {
  Model model = room();
  model.heat("room", power_W);
  model.description.loads.back().when = tile::Load::When::beam_on;
  model.description.beam = tile::Beam{1.0, tile::TimePattern{1e5, 1e6, 0.0}};
  tile::Limit limit;
  limit.node = "room";
  limit.below_K = limit_K;
  limit.trip_reset_K = 290.0;
  model.description.limits.push_back(limit);
  const std::vector<double> trips_s = times_of(model.description, "trip");
  return trips_s.empty() ? HUGE_VAL : trips_s.front();
}

Controls watched() {
  const devices::ThrottleLaw throttle{320.0, 340.0}, turned{340.0, 320.0};
  // Off: C/G ln(40/30). On towards 300 K: C/G ln(20/10).
  const double period_s = 1000.0 * (std::log(40.0 / 30.0) + std::log(20.0 / 10.0));
  constexpr double transient = 1e-7;
  return {
      by_form("throttle", "(T_to - T)/(T_to - T_from)", 0.25, throttle.factor(335.0),
              {{"ends swapped: opens as it warms", turned.factor(335.0)}, {"throttle dropped", 1.0}, {"all or nothing at the limit", throttle.factor(320.0)}}),
      by_form("heater with a thermostat", "C/G (ln of what it cools by + ln of what it warms by)", period_s, heater_period_s(50.0, 1.0, 280.0, 290.0),
              {{"power halved and never warm", heater_period_s(25.0, 1.0, 280.0, 290.0)},
               {"half the band", heater_period_s(50.0, 1.0, 285.0, 290.0)},
               {"path outside swapped for a better one", heater_period_s(50.0, 1.1, 280.0, 290.0)}},
              transient),
      by_form("trip", "C/G ln of what is left before and after", 1000.0 * std::log(50.0 / 40.0), trip_s(100.0, 310.0),
              {{"wrong sign of the heat: never", trip_s(-100.0, 310.0)},
               {"another limit", trip_s(100.0, 309.0)},
               {"part of the heat dropped", trip_s(90.0, 310.0)}},
              transient)};
}

Controls controls() {
  Controls all = orbits();
  for (const Controls& more : {planets(), spectra(), cell_laws(), lasers(), amplifiers(), chain(), batteries(), ageing(), watched()})
    all.insert(all.end(), more.begin(), more.end());
  return all;
}

TEST(DeviceControls, PassAsTheyAreAndAreRefusedWithAFault) { check_all(controls()); }

}  // namespace tileflux::verification::device_controls_test
