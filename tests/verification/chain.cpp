#include "verification/chain.h"

#include <cmath>

namespace tileflux::verification {

std::string node_name(std::size_t index) { return "node " + std::to_string(index); }

Model model_of(const Chain& chain, double start_K, double outside_K) {
  Model model;
  if (chain.outside_W_per_K > 0.0) model.fixed("outside", outside_K);
  for (std::size_t i = 0; i < chain.capacity_J_per_K.size(); ++i) model.store(node_name(i), chain.capacity_J_per_K[i], start_K);
  for (std::size_t i = 0; i < chain.link_W_per_K.size(); ++i) model.join(node_name(i), node_name(i + 1), chain.link_W_per_K[i]);
  if (chain.outside_W_per_K > 0.0) model.join(node_name(chain.capacity_J_per_K.size() - 1), "outside", chain.outside_W_per_K);
  return model;
}

Chain half_wall(int intervals, double biot) {
  const double spacing = 1.0 / intervals;
  Chain chain{std::vector<double>(static_cast<std::size_t>(intervals) + 1, spacing),
              std::vector<double>(static_cast<std::size_t>(intervals), 1.0 / spacing), biot};
  chain.capacity_J_per_K.front() = chain.capacity_J_per_K.back() = 0.5 * spacing;
  return chain;
}

Chain cylinder(int intervals, double biot) {
  const double spacing = 1.0 / intervals;
  Chain chain;
  for (int i = 1; i <= intervals; ++i) {
    chain.capacity_J_per_K.push_back((i - 0.5) * spacing * spacing);
    if (i < intervals) chain.link_W_per_K.push_back(i);
  }
  chain.outside_W_per_K = 1.0 / (1.0 / biot + 0.5 * spacing);
  return chain;
}

Chain sphere(int intervals, double biot) {
  const double spacing = 1.0 / intervals;
  Chain chain;
  for (int i = 1; i <= intervals; ++i) {
    const double radius = i * spacing;
    chain.capacity_J_per_K.push_back(radius * radius * (i < intervals ? spacing : 0.5 * spacing));
    if (i < intervals) chain.link_W_per_K.push_back(radius * (radius + spacing) / spacing);
  }
  chain.outside_W_per_K = biot;
  return chain;
}

Chain chain_of(Shape shape, int intervals, double biot) {
  switch (shape) {
    case Shape::wall: return half_wall(intervals, biot);
    case Shape::cylinder: return cylinder(intervals, biot);
    case Shape::sphere: break;
  }
  return sphere(intervals, biot);
}

namespace {

// Just above the lowest temperature, so that the solver's relative tolerance works on the excess.
constexpr double outside_K = 1.0, excess_K = 1000.0;

/// The middle's share of the starting excess: a node stands there, or the even polynomial through the next three.
double middle_share(Shape shape, const After& after) {
  const auto share = [&](std::size_t i) { return (after.temperature_K(node_name(i)) - outside_K) / excess_K; };
  switch (shape) {
    case Shape::wall: return share(0);
    case Shape::cylinder: return (225.0 * share(0) - 37.5 * share(1) + 4.5 * share(2)) / 192.0;
    case Shape::sphere: break;
  }
  return 1.5 * share(0) - 0.6 * share(1) + 0.1 * share(2);
}

double slowest_rate(const Model& model) { return 1.0 / Steady(model).point().slowest_s; }

}  // namespace

double first_eigenvalue(Shape shape, int intervals, double biot) {
  return std::sqrt(slowest_rate(model_of(chain_of(shape, intervals, biot), outside_K, outside_K)));
}

double first_amplitude(Shape shape, int intervals, double biot) {
  // The second mode has decayed to below 1e-9 of the first by then.
  const double late_s = shape == Shape::wall ? 2.5 : shape == Shape::cylinder ? 1.5 : 1.0;
  const Model model = model_of(chain_of(shape, intervals, biot), outside_K + excess_K, outside_K);
  return middle_share(shape, After(model, late_s)) * std::exp(slowest_rate(model) * late_s);
}

}  // namespace tileflux::verification
