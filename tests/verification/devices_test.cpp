/// Batteries, fibre amplifiers, ageing, current-voltage curve of cells: the laws by themselves.
/// Battery: bus = stored + (R/V^2) bus^2; a published path efficiency X sets R at the row's power. Amplifier: signal over absorbed
/// pump up to lambda_pump / lambda_signal. Arrhenius: exp(Ea/k (1/T1 - 1/T2)). Cell: I = I_L - I_0 (exp(V q/nkT) - 1). All are
/// closed forms, exact to round-off; the rows' eight digits bound the comparison.

#include "tileflux/devices/ageing.h"

#include <gtest/gtest.h>

#include <cmath>

#include "tileflux/base/constants.h"
#include "tileflux/devices/amplifier.h"
#include "tileflux/devices/battery.h"
#include "tileflux/devices/cell_curve.h"
#include "tileflux/devices/conditioning.h"
#include "verification/groups.h"

namespace tileflux::verification::devices_test {

/// A battery that delivers this power at this efficiency one way, from store to bus: delivered / (delivered + loss).
devices::BatteryLaw one_way(double efficiency, double delivered_W) {
  devices::BatteryLaw law;
  law.resistance_loss_per_W = (1.0 / efficiency - 1.0) / delivered_W;
  return law;
}

/// Maini & Agrawal 4.6: cells of 90 Ah at 1.3 V for 3600 W over 1.2 h, four fifths discharged, 95 % to the load.
double cells_needed(double depth) {
  constexpr double hour_s = 3600.0, cell_J = 90.0 * hour_s * 1.3;
  return devices::capacity_needed_J(one_way(0.95, 3600.0), 3600.0, 1.2 * hour_s, depth) / cell_J;
}

/// Row LAS-75: loads of 500 W in light and dark; from the array to the load 0.85 in the light, 0.65 through the battery.
/// The conditioning loses the 0.85, in front of loads and battery alike; the battery loses the rest, there and back.
double array_power_W(double through_battery) {
  constexpr double load_W = 500.0, dark_s = 2136.0, sunlit_s = 3592.0, direct = 0.85;
  const devices::ConditioningLaw conditioning{0.0, 1.0 / direct - 1.0, 0.0};
  const double charge_W = load_W * dark_s / sunlit_s * direct / through_battery;  // at the battery, by the row's efficiency
  // charge - r charge^2 = (load + r load^2) dark / sunlit gives the resistance of that round trip.
  const double share = dark_s / sunlit_s;
  devices::BatteryLaw law;
  law.resistance_loss_per_W = (charge_W - load_W * share) / (charge_W * charge_W + load_W * load_W * share);
  const double delivered_W = load_W + devices::recharge_W(law, load_W, dark_s, sunlit_s).value();
  return delivered_W + conditioning.loss_W(delivered_W);
}

Reproductions batteries() {
  const char* sizing = "devices::BatteryLaw, capacity_needed_J";
  const char* note = "the battery's resistance is set by the row's efficiency";
  Reproductions rows;
  // The print rounds up to whole cells.
  rows.emplace_back("LAS-70", std::ceil(cells_needed(0.8)), sizing, note);
  rows.emplace_back("LAS-70c", cells_needed(0.8), sizing, note);
  rows.emplace_back("LAS-75", array_power_W(0.65), "devices::recharge_W, ConditioningLaw", note);
  rows.emplace_back("LAS-76", one_way(0.95, 500.0).loss_W(-500.0) * 2136.0, "devices::BatteryLaw", note);
  return rows;
}

/// A stage without losses but those of the photons, pumped at its reference temperature.
devices::AmplifierFlows<double> ideal_stage(double pump_nm) {
  devices::FibreAmplifierLaw law;
  law.pump_nm = pump_nm;
  law.signal_nm = 1064.0;
  law.slope_efficiency = 1.0;
  law.absorption_per_m = PropertyTable(1.0);
  law.length_m = 5.0;
  return law.flows(100.0, law.reference_K);
}

Reproductions amplifiers() {
  const char* through = "devices::FibreAmplifierLaw, slope held at the quantum limit";
  const auto low = ideal_stage(915.0), high = ideal_stage(976.0);
  return {{"LAS-41", low.signal / low.absorbed, through}, {"LAS-42", high.fibre_heat / high.signal, through}};
}

Reproductions ageing() {
  Reproductions rows;
  devices::DiodeWear bar;  // worn out after 15 000 h at 45 degC, with 0.5 eV
  constexpr double hour_s = 3600.0, worn = 0.2;
  bar.temperature = {0.5, 318.15};
  bar.rate_per_s = worn / (15000.0 * hour_s);
  for (const char* end : {"", "c"}) rows.emplace_back(std::string("LAS-30") + end, bar.life_s(worn, 298.15, 1.0) / hour_s, "devices::DiodeWear");
  const char* through = "devices::ArrheniusLaw";
  rows.emplace_back("LAS-33_0.4", devices::ArrheniusLaw{0.4, 298.15}.factor(308.15), through);
  rows.emplace_back("LAS-33_0.5", devices::ArrheniusLaw{0.5, 298.15}.factor(338.15), through);
  rows.emplace_back("LAS-33_0.7", devices::ArrheniusLaw{0.7, 313.15}.factor(373.15), through);
  return rows;
}

constexpr double row_K = 301.15;

/// Singh 11.6: 25 mA of light, 3.66e-11 A of saturation, kT/q = 0.026 V.
const devices::CellCurve singh{.light_A = 25e-3, .saturation_A = 3.66e-11};
constexpr double singh_K = 0.026 / boltzmann_eV_per_K;

double estimate(double open_V, double ideality) {
  devices::CellCurve curve;
  curve.ideality = ideality;
  return devices::CellCurve::fill_factor_estimate(open_V / curve.diode_V(row_K));
}

/// Change of the open-circuit voltage from full light to a share of it.
double dimming_V(double share) {
  const devices::CellCurve full{.light_A = 0.5, .saturation_A = 1e-15};
  devices::CellCurve dim = full;
  dim.light_A = share * full.light_A;
  return dim.open_circuit_V(row_K) - full.open_circuit_V(row_K);
}

Reproductions cell_curves() {
  const char* through = "devices::CellCurve";
  Reproductions rows;
  for (const char* end : {"", "c"}) {
    rows.emplace_back(std::string("PV-11") + end, singh.open_circuit_V(singh_K), through, "at the temperature where kT/q is 0.026 V");
    rows.emplace_back(std::string("PV-12") + end, singh.power_W(0.8, singh_K), through, "at the temperature where kT/q is 0.026 V");
    rows.emplace_back(std::string("PV-13") + end, devices::fill_factor(21e-3, 100e-3, 0.5), "devices::fill_factor");
  }
  const char* closed = "devices::CellCurve, closed form of the row";
  const char* note = "the product's own fill factor is exact; the closed form is kept beside it and lies within 2e-4";
  rows.emplace_back("PV-18_0", estimate(0.6, 1.0), closed, note);
  rows.emplace_back("PV-18_1", estimate(0.7, 1.0), closed, note);
  rows.emplace_back("PV-18_2", estimate(2.7, 3.0), closed, note);
  rows.emplace_back("PV-19", dimming_V(1.0 / 25.0), through);
  return rows;
}

TEST(BatteryRows, AgreeWithThePublishedSizing) { check_all(batteries()); }

TEST(BatteryRows, AreRefusedWithAnotherDepthOrEfficiency) {
  expect_refused("LAS-70c", cells_needed(0.95));
  expect_refused("LAS-75", array_power_W(0.7));
  expect_refused("LAS-76", one_way(0.95, 400.0).loss_W(-500.0) * 2136.0);
}

TEST(AmplifierRows, AgreeWithTheQuantumLimit) { check_all(amplifiers()); }

TEST(AmplifierRows, AreRefusedWithPumpsExchanged) {
  const auto wrong = ideal_stage(976.0);
  expect_refused("LAS-41", wrong.signal / wrong.absorbed);
  expect_refused("LAS-42", ideal_stage(915.0).fibre_heat / ideal_stage(915.0).signal);
}

TEST(AgeingRows, AgreeWithArrhenius) { check_all(ageing()); }

TEST(AgeingRows, AreRefusedWithTemperaturesTurnedRound) {
  expect_refused("LAS-33_0.5", devices::ArrheniusLaw{0.5, 338.15}.factor(298.15));
  expect_refused("LAS-33_0.7", devices::ArrheniusLaw{0.5, 313.15}.factor(373.15));
}

TEST(CellCurveRows, AgreeWithThePublishedExamples) { check_all(cell_curves()); }

TEST(CellCurveRows, AreRefusedForAnotherDiode) {
  devices::CellCurve wrong = singh;
  wrong.ideality = 1.1;
  expect_refused("PV-11c", wrong.open_circuit_V(singh_K));
  expect_refused("PV-19", dimming_V(1.0 / 20.0));
  expect_refused("PV-18_2", estimate(2.7, 1.0));
}

}  // namespace tileflux::verification::devices_test
