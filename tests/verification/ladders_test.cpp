/// Two nodes and ladders of equal nodes.
/// Two nodes: tau = C1 C2/(G (C1 + C2)). Ladders: decay rates over G/C are 4 sin^2(k pi/(2(N+1))) with both ends held and
/// 4 sin^2(k pi/(2N)) with both ends free (eigenvalues of tridiagonal Toeplitz matrices). Rates are eigenvalues of the
/// system's own exact Jacobian over its heat capacities, or the balance's slowest time constant: exact to round-off.

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "verification/chain.h"
#include "verification/groups.h"
#include "verification/ode.h"

namespace tileflux::verification::ladders_test {

const char* const end_of_run = "studies::run, final state";
const char* const rates_of_system = "tile::TileSystem, Jacobian over heat capacities";

Model pair_of_nodes() {
  Model model;
  model.store("first", 800.0, 350.0).store("second", 300.0, 280.0).join("first", "second", 2.5);
  return model;
}

Model pair_with_sink() { return pair_of_nodes().fixed("sink", 250.0).join("second", "sink", 1.2); }

Reproductions two_nodes() {
  const After later(pair_of_nodes(), 100.0);
  const After settled(pair_of_nodes(), 5000.0);
  const std::vector<double> rates = decay_rates(pair_with_sink());
  const After sunk(pair_with_sink(), 200.0);
  return {
      {"TR-30a", 1.0 / decay_rates(pair_of_nodes())[1], rates_of_system},
      {"TR-30b", settled.temperature_K("first"), end_of_run},
      {"TR-30c", later.temperature_K("first"), end_of_run},
      {"TR-30d", later.temperature_K("second"), end_of_run},
      {"TR-30e", 800.0 * (350.0 - later.temperature_K("first")), end_of_run},
      {"TR-31a", 1.0 / Steady(pair_with_sink()).point().slowest_s, "studies::balance, slowest time constant"},
      {"TR-31b", rates[1], rates_of_system},
      {"TR-31c", sunk.temperature_K("first"), end_of_run},
      {"TR-31d", sunk.temperature_K("second"), end_of_run},
  };
}

/// `count` equal nodes, G = C = 1, at 300 K.
Model ladder(int count, bool held_at_both_ends) {
  const auto size = static_cast<std::size_t>(count);
  Chain chain{std::vector<double>(size, 1.0), std::vector<double>(size - 1, 1.0), held_at_both_ends ? 1.0 : 0.0};
  Model model = model_of(chain, 300.0, 300.0);
  if (held_at_both_ends) model.fixed("other end", 300.0).join("other end", node_name(0), 1.0);
  return model;
}

/// Ten nodes from 1001 K beside an end at 1 K: share left at the far end.
double far_end(double time_s) {
  const Chain chain{std::vector<double>(10, 1.0), std::vector<double>(9, 1.0), 1.0};
  return (After(model_of(chain, 1001.0, 1.0), time_s).temperature_K(node_name(0)) - 1.0) / 1000.0;
}

Reproductions ladders() {
  const std::vector<double> held = decay_rates(ladder(5, true));
  const std::vector<double> free = decay_rates(ladder(5, false));
  return {
      {"TR-33_1", held.front(), rates_of_system}, {"TR-33_5", held.back(), rates_of_system},
      {"TR-34_1", free[1], rates_of_system},      {"TR-34_4", free.back(), rates_of_system},
      {"TR-35_10", far_end(10.0), end_of_run},    {"TR-35_50", far_end(50.0), end_of_run},
      {"TR-35_100", far_end(100.0), end_of_run},  {"TR-35_200", far_end(200.0), end_of_run},
  };
}

/// tau T' = sin(w t) - T, written with its own oscillator: u' = w v, v' = -w u. No part of a case swings like this yet.
struct WavySink {
  double frequency_per_s = 1.0;

  template <class Scalar>
  std::array<Scalar, 3> operator()(double, const std::array<Scalar, 3>& x) const {
    return {x[1] - x[0], frequency_per_s * x[2], -frequency_per_s * x[1]};
  }
};

/// Amplitude of T after the transient has died out: from T and T' at one instant, by the quadrature of a sine.
double amplitude_ratio(double frequency_per_s) {
  OdeSystem<3, WavySink> system({frequency_per_s});
  const double settled_s = 40.0;  // exp(-40) is 4e-18
  const std::vector<double> x = carry(system, {0.0, 0.0, 1.0}, settled_s, {1e-12, 1e-13});
  const double rate_per_s = x[1] - x[0];
  return std::hypot(x[0], rate_per_s / frequency_per_s);
}

Reproductions wavy_sink() {
  const char* solver = "solvers::Transient on the row's equation";
  const char* note = "a case has no wavy boundary: the equation was given to the solver";
  return {{"TR-36_0.1", amplitude_ratio(0.1), solver, note}, {"TR-36_1", amplitude_ratio(1.0), solver, note}, {"TR-36_10", amplitude_ratio(10.0), solver, note}};
}

TEST(TwoNodes, ExchangeHeatAtThePublishedRate) { check_all(two_nodes()); }

TEST(TwoNodes, AreRefusedWithTheCapacitiesExchanged) {
  Model model;
  model.store("first", 300.0, 350.0).store("second", 800.0, 280.0).join("first", "second", 2.5);
  expect_refused("TR-30c", After(model, 100.0).temperature_K("first"));
}

TEST(Ladder, DecaysAtTheRatesOfItsMatrix) { check_all(ladders()); }

TEST(Ladder, IsRefusedWithItsEndsFree) { expect_refused("TR-33_5", decay_rates(ladder(5, false)).back()); }

TEST(WavySink, IsFollowedWithThePublishedAmplitude) { check_all(wavy_sink()); }

TEST(WavySink, IsRefusedAtTwiceTheFrequency) { expect_refused("TR-36_1", amplitude_ratio(2.0)); }

}  // namespace tileflux::verification::ladders_test
