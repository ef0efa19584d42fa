/// Stores that melt and freeze, as slices and as lumps.
/// Neumann's solution for a half space whose face is held at Tw (Carslaw and Jaeger, section 11.2; Crank, Free and Moving
/// Boundary Problems, equation 3.14): front X = 2 lambda sqrt(a t). Equal slices of enthalpy reach it as they become thinner. Lambda
/// comes from the time at which n slices are through: its error begins with n^(-3/2) and n^-2 (the first power is seen, and
/// tested), and three grids extrapolate it to eight digits.
/// Quasi-steady front (no sensible heat): X = sqrt(2 k dT t/(rho L)). Lump: latent heat over power.

#include <gtest/gtest.h>

#include <cmath>
#include <map>
#include <stdexcept>
#include <string>
#include <tuple>
#include <vector>

#include "support/network_system.h"
#include "tileflux/solvers/transient.h"
#include "verification/groups.h"

namespace tileflux::verification::melting_test {

using network::MeltingLaw;
using network::NodeKind;

const char* const sliced = "network::MeltLayer, solvers::Transient; time of the last slice on 3 grids extrapolated";

/// So narrow that its share of the temperature difference is a hundredth of what the rows ask for.
constexpr double melting_range_K = 1e-7;
constexpr solvers::TransientOptions tight{.relative_tolerance = 1e-9, .absolute_tolerance = 1e-7};

/// Waits until one unknown passes a level.
struct Passing : solvers::Watch {
  int unknown = 0;
  double level = 0.0;
  int count() const override { return 1; }
  void evaluate(double, std::span<const double> x, std::span<double> values) const override { values[0] = x[static_cast<std::size_t>(unknown)] - level; }
};

/// A half space at rest, per square metre.
struct Substance {
  double density_kg_per_m3 = 1000.0;
  double solid_W_per_m_K = 1.0, liquid_W_per_m_K = 1.0;
  double solid_J_per_kg_K = 2000.0, liquid_J_per_kg_K = 2000.0;
  double latent_J_per_kg = 1e5;
  double melt_K = 273.15;
  double wall_K = 263.15;
  double start_K = 273.15;

  bool freezes() const { return wall_K < melt_K; }
  MeltingLaw slice(double thickness_m) const {
    const double kg = density_kg_per_m3 * thickness_m;
    return {kg * solid_J_per_kg_K, kg * liquid_J_per_kg_K, kg * latent_J_per_kg, melt_K, melting_range_K};
  }
  network::PhaseConduction over(double length_m) const { return {length_m / solid_W_per_m_K, length_m / liquid_W_per_m_K}; }
  /// Of the phase behind the front.
  double diffusivity_m2_per_s() const {
    return freezes() ? solid_W_per_m_K / (density_kg_per_m3 * solid_J_per_kg_K) : liquid_W_per_m_K / (density_kg_per_m3 * liquid_J_per_kg_K);
  }
};

/// What is read off when n slices, together 1 m thick, are through.
struct Front {
  double lambda = 0.0;
  double half_way_K = 0.0;  ///< at half the depth of the front
};

/// Slices beyond the front: none needed where the other phase stands at the melting temperature; else out to where the
/// disturbance is below 1e-9, each wider than the one before by a smooth map that scales with n.
std::vector<double> thicknesses_m(const Substance& substance, int n) {
  std::vector<double> thickness(static_cast<std::size_t>(n), 1.0 / n);
  if (substance.start_K == substance.melt_K) return thickness;
  constexpr double growth = 3.0;
  for (int i = 0; i < 6 * n / 5; ++i) thickness.push_back((std::exp(growth * (i + 1) / n) - std::exp(growth * i / n)) / growth);
  return thickness;
}

Front run(const Substance& substance, int n) {
  network::Network network;
  const auto wall = network.add({.name = "wall", .kind = NodeKind::fixed, .fixed_temperature_K = substance.wall_K});
  std::vector<double> x;
  double before_m = 0.0;
  for (const double thickness_m : thicknesses_m(substance, n)) {
    const MeltingLaw law = substance.slice(thickness_m);
    const auto slice = network.add({.name = "slice " + std::to_string(x.size()), .kind = NodeKind::melting, .melting = law});
    if (x.empty()) network.connect(wall, slice, network::MeltFace{.half = substance.over(0.5 * thickness_m)}, "face");
    else network.connect(slice - 1, slice, network::MeltLayer{.between = substance.over(0.5 * (before_m + thickness_m))}, "layer");
    before_m = thickness_m;
    const double at_melting_point = substance.freezes() ? law.molten_unknown() : law.solidus_K();
    x.push_back(substance.start_K == substance.melt_K ? at_melting_point : law.unknown_of(substance.start_K));
  }
  const test::NetworkSystem system(std::move(network));
  Passing passing;
  const MeltingLaw law = substance.slice(1.0 / n);
  passing.level = substance.freezes() ? law.solidus_K() : law.molten_unknown();
  solvers::Transient transient(system, &passing, nullptr, tight);
  passing.unknown = n - 1;
  const double longest_s = 100.0 * substance.latent_J_per_kg * substance.density_kg_per_m3 / (substance.solid_W_per_m_K * std::abs(substance.wall_K - substance.melt_K));
  transient.start(0.0, x);
  if (transient.advance(longest_s) != solvers::Arrival::root) throw std::runtime_error("the front does not arrive");
  x.assign(transient.state().begin(), transient.state().end());
  const auto temperature_K = [&](int slice) { return system.network().temperature_K(slice + 1, x); };
  return {1.0 / (2.0 * std::sqrt(substance.diffusivity_m2_per_s() * transient.time_s())), 0.5 * (temperature_K(n / 2 - 1) + temperature_K(n / 2))};
}

/// Three grids, each twice as fine, and the limit under errors of the powers 3/2 and 2 of the spacing.
struct Limits {
  double lambda = 0.0;
  double observed_order = 0.0;
  int coarsest = 0;
  std::vector<double> on_grids{};
};
constexpr double first_order = 1.5, second_order = 2.0, order_within_of_fronts = 0.2;

Limits limits_of(const Substance& substance, int coarsest) {
  const Front a = run(substance, coarsest), b = run(substance, 2 * coarsest), c = run(substance, 4 * coarsest);
  const double w = std::exp2(first_order) - 1.0;
  const double ab = b.lambda + (b.lambda - a.lambda) / w, bc = c.lambda + (c.lambda - b.lambda) / w;
  return {bc + (bc - ab) / (std::exp2(second_order) - 1.0), std::log2(std::abs((b.lambda - a.lambda) / (c.lambda - b.lambda))), coarsest, {a.lambda, b.lambda, c.lambda}};
}

constexpr double zero_C_in_K = 273.15;
constexpr Substance still_water{917.0, 2.22, 2.22, 2100.0, 2100.0, 333550.0, zero_C_in_K, zero_C_in_K - 10.0, zero_C_in_K};
constexpr Substance warm_water{1000.0, 2.22, 0.556, 2100.0, 4200.0, 333550.0, zero_C_in_K, zero_C_in_K - 10.0, zero_C_in_K + 10.0};
constexpr Substance paraffin{780.0, 0.15, 0.15, 2000.0, 2000.0, 225e3, 300.0, 315.0, 300.0};
constexpr int coarsest = 64;

/// Each is run once; page and rows share it.
const Limits& still_water_limits() {
  static const Limits limits = limits_of(still_water, 48);
  return limits;
}
const Limits& warm_water_limits() {
  static const Limits limits = limits_of(warm_water, coarsest);
  return limits;
}
const Limits& paraffin_limits() {
  static const Limits limits = limits_of(paraffin, 48);
  return limits;
}

double depth_m(const Substance& substance, double lambda, double time_s) { return 2.0 * lambda * std::sqrt(substance.diffusivity_m2_per_s() * time_s); }

/// A store behind a front, from a wall that is held; the share that is through after a time. 1 m of layer, 1 m2.
double frozen_m(double time_s, double contact_share, const Substance& water = still_water) {
  const double layer_K_per_W = 1.0 / water.solid_W_per_m_K;
  network::Network network;
  const auto wall = network.add({.name = "wall", .kind = NodeKind::fixed, .fixed_temperature_K = water.wall_K});
  const MeltingLaw law = water.slice(1.0);
  const auto store = network.add({.name = "store", .kind = NodeKind::melting, .melting = law});
  network.connect(wall, store, network::MeltFront{contact_share * layer_K_per_W, layer_K_per_W, layer_K_per_W}, "front");
  const test::NetworkSystem system(std::move(network));
  constexpr solvers::TransientOptions tighter{.relative_tolerance = 1e-11, .absolute_tolerance = 1e-9};  // 10 K in eight digits
  solvers::Transient transient(system, nullptr, nullptr, tighter);
  transient.start(0.0, std::vector<double>{law.molten_unknown()});
  transient.advance(time_s);
  return 1.0 - system.network().melted_share(store, transient.state());
}

MeltingLaw two_kilograms(double latent_J_per_kg = 225e3) {
  return {.solid_J_per_K = 2.0 * 1900.0, .liquid_J_per_K = 2.0 * 2200.0, .latent_J = 2.0 * latent_J_per_kg, .melt_K = 301.0, .range_K = melting_range_K};
}

/// Time until a store that stood at its solidus is molten, with heat into its massless wall or the wall held (power 0).
double molten_s(network::Node wall, double power_W, const MeltingLaw& law, network::MeltFront front) {
  network::Network network;
  const auto from = network.add(std::move(wall)), store = network.add({.name = "store", .kind = NodeKind::melting, .melting = law});
  network.connect(from, store, front, "front");
  test::NetworkSystem system(std::move(network));
  Passing passing;
  passing.unknown = system.network().unknown_of(store);
  passing.level = law.molten_unknown();
  if (power_W > 0.0) system.heat_W[0] = power_W;
  solvers::Transient transient(system, &passing, nullptr, tight);
  std::vector<double> x(static_cast<std::size_t>(system.size()), law.melt_K);
  x[static_cast<std::size_t>(passing.unknown)] = law.solidus_K();
  transient.start(0.0, x);
  constexpr double longest_s = 1e9;
  transient.advance(longest_s);
  return transient.time_s();
}

/// Time that a lump holds its temperature under a steady load.
double hold_s(const MeltingLaw& law, double power_W) { return molten_s({.name = "wall", .kind = NodeKind::massless}, power_W, law, {0.01, 0.1, 0.1}); }

/// Time to melt from a wall that is held above the melting point.
double melt_s(const MeltingLaw& law, double contact_K_per_W, double layer_K_per_W, double apart_K) {
  const network::Node wall{.name = "wall", .kind = NodeKind::fixed, .fixed_temperature_K = law.melt_K + apart_K};
  return molten_s(wall, 0.0, law, {contact_K_per_W, layer_K_per_W, layer_K_per_W});
}

/// Heat from one temperature to another.
double enthalpy_J(const MeltingLaw& law, double from_K, double to_K) {
  network::Network network;
  const auto store = network.add({.name = "store", .kind = NodeKind::melting, .melting = law});
  return network.stored_J(std::vector<double>{network.unknown_at(store, from_K)}, std::vector<double>{network.unknown_at(store, to_K)});
}

/// A contact of this share of the layer's resistance shifts the front by as much of the layer: 1e-11 m of 23 mm.
constexpr double no_contact = 1e-11;

Reproductions melting_fronts() {
  const MeltingLaw ice = still_water.slice(1.0);
  const double latent_in_K = ice.molten_unknown() - ice.solidus_K();
  const double still = still_water_limits().lambda, warm = warm_water_limits().lambda, wax = paraffin_limits().lambda;
  return {
      {"PCM-02a", (still_water.melt_K - still_water.wall_K) / latent_in_K, "network::MeltingLaw", "latent heat in kelvin of the solid"},
      {"PCM-02b", still, sliced},
      {"PCM-02c", depth_m(still_water, still, 3600.0), sliced},
      {"PCM-02d", frozen_m(3600.0, no_contact), "network::MeltFront, solvers::Transient"},
      {"PCM-03a", warm, sliced},
      {"PCM-03b", depth_m(warm_water, warm, 3600.0), sliced},
      {"PCM-04a", wax, sliced},
      {"PCM-04b", depth_m(paraffin, wax, 1800.0), sliced},
  };
}

Reproductions melting_lumps() {
  return {
      {"PCM-05a", hold_s(two_kilograms(), 50.0), "network::MeltFront, solvers::Transient"},
      {"PCM-05c", enthalpy_J(two_kilograms(), 280.0, 310.0), "network::Network::stored_J"},
  };
}

ClosedForms melting_references() {
  // Row PCM-03c asks for more than slices give: the profile of one grid lies up to half a slice of its slope off.
  const double half_a_slice_K = 0.5 * 10.0 / coarsest;
  const double contact_K_per_W = 0.01, layer_K_per_W = 0.1, apart_K = 20.0;
  const double melted_s = two_kilograms().latent_J * (contact_K_per_W + 0.5 * layer_K_per_W) / apart_K;
  constexpr double tolerance_of_solver = 1e-6;
  return {
      {"solid at half the depth of the front of warm water (PCM-03c), degC", std::stod(row("PCM-03c").expected), half_a_slice_K,
       "half a slice of the mean slope", run(warm_water, coarsest).half_way_K - zero_C_in_K, "network::MeltLayer, 64 slices to the front", row("PCM-03c").source},
      {"2 kg at 225 kJ/kg behind 0.01 K/W and a layer of 0.1 K/W, wall 20 K above: time to melt L (Rc + R/2)/dT, s", melted_s,
       tolerance_of_solver * melted_s, "tolerance of the transient", melt_s(two_kilograms(), contact_K_per_W, layer_K_per_W, apart_K), "network::MeltFront, solvers::Transient",
       "L (Rc + R/2)/dT: Stefan's quasi-steady front behind a contact (Carslaw and Jaeger, Conduction of Heat in Solids, section 11.2), by hand"},
  };
}

Convergences slices_of_stores() {
  Convergences all;
  const auto add = [&all](const char* what, const char* id, const Limits& limits) {
    Convergence series{what, id, "network::MeltLayer, solvers::Transient", {}, first_order, order_within_of_fronts, "a front that moves slice by slice"};
    int slices = limits.coarsest;
    for (const double lambda : limits.on_grids) {
      series.refinements.push_back({std::to_string(slices) + " slices", 1.0 / slices, std::abs(lambda / row(id).values().at(0) - 1.0)});
      slices *= 2;
    }
    all.push_back(series);
  };
  add("front in freezing water, lambda", "PCM-02b", still_water_limits());
  add("front in warm water, lambda", "PCM-03a", warm_water_limits());
  add("front in melting paraffin, lambda", "PCM-04a", paraffin_limits());
  return all;
}

TEST(MeltingReferences, AreMet) { check_all(melting_references()); }

TEST(MeltingFront, MovesAsNeumannsSolutionWithTheOrderThatIsExtrapolated) {
  check_all(melting_fronts());
  check_all(slices_of_stores());
  EXPECT_NEAR(still_water_limits().observed_order, first_order, order_within_of_fronts);
  EXPECT_NEAR(warm_water_limits().observed_order, first_order, order_within_of_fronts);
  EXPECT_NEAR(paraffin_limits().observed_order, first_order, order_within_of_fronts);
}

TEST(MeltingFront, IsRefusedOnOneGridWithoutSensibleHeatOrWithoutTheWarmthOfTheLiquid) {
  expect_refused("PCM-02b", run(still_water, coarsest).lambda);
  expect_refused("PCM-02c", frozen_m(3600.0, no_contact));
  expect_refused("PCM-02d", frozen_m(3600.0, 1e-4));
  Substance at_rest = warm_water;
  at_rest.start_K = at_rest.melt_K;
  expect_refused("PCM-03a", run(at_rest, coarsest).lambda);
}

TEST(MeltingFront, DoesNotFreezeFromAWarmWall) {
  Substance reversed = still_water;
  reversed.wall_K = reversed.melt_K + 10.0;
  EXPECT_EQ(frozen_m(3600.0, no_contact, reversed), 0.0);
  expect_refused("PCM-02d", frozen_m(3600.0, no_contact, reversed));
}

TEST(MeltingLump, HoldsAndStoresThePublishedHeat) { check_all(melting_lumps()); }

TEST(MeltingLump, IsRefusedWithoutItsLatentHeat) {
  constexpr double next_to_none_J_per_kg = 1.0;
  expect_refused("PCM-05a", hold_s(two_kilograms(next_to_none_J_per_kg), 50.0));
  expect_refused("PCM-05c", enthalpy_J(two_kilograms(next_to_none_J_per_kg), 280.0, 310.0));
  expect_refused("PCM-05c", enthalpy_J(two_kilograms(), 310.0, 280.0));  // the wrong sign
}

}  // namespace tileflux::verification::melting_test
