#include "tileflux/tile/tile_system.h"

#include <algorithm>
#include <cmath>

namespace tileflux::tile {

using network::NodeId;

namespace {

/// A battery that rests returns to the charge of the start within such a time: a row of its own scale.
constexpr double resting_s = 1000.0;

}  // namespace

void TileSystem::set_mode(Mode mode) {
  mode.pattern_share.resize(case_.loads.size(), 0.0);
  mode_ = std::move(mode);
  source_heat_W_.assign(static_cast<std::size_t>(size()), 0.0);
  loads_W_ = 0.0;
  for (std::size_t i = 0; i < case_.loads.size(); ++i) {
    for (const Member& member : load_node_[i]) {
      const int place = network_.unknown_of(member.node);
      if (place >= 0) source_heat_W_[static_cast<std::size_t>(place)] += member.share * load_W(i);
    }
    loads_W_ += load_W(i);
  }
  rest_.reset();
  if (mode_.surroundings == Mode::Surroundings::mean) {
    rest_ = mean_;
  } else if (mode_.surroundings == Mode::Surroundings::instant) {
    rest_ = sky_->at(mode_.instant_s, sky_->stowed_after(mode_.instant_s));
  } else if (sky_->constant()) {
    rest_ = mean_;
  } else if (sky_->rests_between_edges()) {
    rest_ = sky_->at(0.0, mode_.stowed);
  }
}

double TileSystem::load_W(std::size_t index) const {
  const Load& load = case_.loads[index];
  switch (load.when) {
    case Load::When::always:
      return load.power_W;
    case Load::When::beam_on:
      return mode_.beam ? mode_.drive * load.power_W : 0.0;
    case Load::When::beam_off:
      return mode_.beam ? 0.0 : load.power_W;
    case Load::When::pattern:
      return mode_.pattern_share[index] * load.power_W;
  }
  return 0.0;
}

template <class Scalar>
Scalar TileSystem::capacity(std::size_t unknown, const Scalar& x) const {
  if (!std::isnan(steady_capacity_[unknown])) return Scalar(steady_capacity_[unknown]);
  return network_.node(network_.node_of_unknown(static_cast<int>(unknown))).capacity_J_per_K.value(x);
}

std::string TileSystem::unknown_name(int index) const {
  if (static_cast<std::size_t>(index) == charge_place()) return "battery.charge";
  return network_.node(network_.node_of_unknown(index)).name;
}

bool TileSystem::residual(double time_s, std::span<const double> x, std::span<const double> rate,
                          std::span<double> residual) const {
  // Beyond any temperature that a law is meant for its powers and exponentials overflow.
  constexpr double hottest_K = 1e4;
  const auto is_sound = [](double temperature_K) { return temperature_K > 0.0 && temperature_K < hottest_K; };
  for (std::size_t i = 0; i < charge_place(); ++i) {
    if (is_sound(x[i])) continue;  // of a melting node the temperature then is far from where laws overflow
    if (!is_sound(network_.temperature_K(network_.node_of_unknown(static_cast<int>(i)), x))) return false;
  }
  std::copy(source_heat_W_.begin(), source_heat_W_.end(), residual.begin());
  add_sky_heat(time_s, x, residual);
  network_.add_heat(x, residual);
  if (has_chain_) {
    const devices::ChainFlows<double> flows = evaluate_chain<double>(time_s, x);
    for (const ChainOutput& output : outputs_) {
      if (output.place >= 0) residual[static_cast<std::size_t>(output.place)] += power_of(output, flows, x);
    }
  }
  if (case_.battery && !mode_.battery)
    residual[charge_place()] +=
        capacity(charge_place(), 0.0) / resting_s * (case_.battery->start_percent - x[charge_place()]);
  for (std::size_t i = 0; i < x.size(); ++i) {
    if (differential_[i] && rate[i] != 0.0) residual[i] -= capacity(i, x[i]) * rate[i];
    if (std::isnan(residual[i]))
      throw Error(Code::law_not_finite,
                  "the heat balance of " + unknown_name(static_cast<int>(i)) + " is not a number");
  }
  return true;
}

void TileSystem::jacobian(double time_s, std::span<const double> x, std::span<const double> rate, double rate_factor,
                          std::span<double> values) const {
  std::fill(values.begin(), values.end(), 0.0);
  network_.add_derivatives(x, values);
  add_sky_derivatives(time_s, x, values);
  if (has_chain_) add_chain_derivatives(time_s, x, values);
  if (case_.battery && !mode_.battery)
    values[static_cast<std::size_t>(diagonal_[charge_place()])] -= capacity(charge_place(), 0.0) / resting_s;
  for (std::size_t i = 0; i < x.size(); ++i) {
    if (!differential_[i] || (rate_factor == 0.0 && rate[i] == 0.0)) continue;
    const Dual<1> stored = capacity(i, variable<1>(x[i], 0));
    values[static_cast<std::size_t>(diagonal_[i])] -= stored.value() * rate_factor + stored.derivatives()[0] * rate[i];
  }
}

void TileSystem::rate_coefficients(double, std::span<const double> x, std::span<double> coefficients) const {
  for (std::size_t i = 0; i < x.size(); ++i) coefficients[i] = capacity(i, x[i]);
}

bool TileSystem::varies_in_time() const { return !rest_; }

Ledger TileSystem::ledger(double time_s, std::span<const double> x, std::span<const double> rate) const {
  Ledger books;
  add_sky_to_books(time_s, x, books);
  books.loads_W = loads_W_;
  const devices::ChainFlows<double> chain = chain_flows(time_s, x);
  books.fed_W = chain.outside;
  books.light_out_W = chain.light_out;
  books.to_battery_W = chain.stored();
  if (case_.battery && !rate.empty()) books.to_battery_W = capacity(charge_place(), 0.0) * rate[charge_place()];
  books.to_space_W = network_.heat_to_space_W(x) + mean_.front_sun_W_per_m2 * fin_front_m2_ +
                     mean_.rear_sun_W_per_m2 * fin_rear_m2_;  // with exact fins the Sun never changes
  if (network_.node_count() > network_.unknown_count()) {
    const std::vector<double> by_node = heat_by_node(time_s, x);
    for (NodeId id = 0; id < network_.node_count(); ++id) {
      if (network_.unknown_of(id) < 0) books.to_fixed_W += by_node[static_cast<std::size_t>(id)];
    }
  }
  if (rate.empty()) return books;
  for (std::size_t i = 0; i < charge_place(); ++i) books.stored_W += capacity(i, x[i]) * rate[i];
  return books;
}

std::vector<double> TileSystem::heat_by_node(double time_s, std::span<const double> x) const {
  std::vector<double> by_node(static_cast<std::size_t>(network_.node_count()), 0.0);
  add_sky_heat_by_node(time_s, x, by_node);
  for (std::size_t i = 0; i < case_.loads.size(); ++i) {
    for (const Member& member : load_node_[i])
      by_node[static_cast<std::size_t>(member.node)] += member.share * load_W(i);
  }
  for (const network::Flow& flow : network_.flows(x)) {
    by_node[static_cast<std::size_t>(flow.from)] -= flow.power_W;
    if (flow.to >= 0) by_node[static_cast<std::size_t>(flow.to)] += flow.power_W;
  }
  if (!has_chain_) return by_node;
  const devices::ChainFlows<double> flows = chain_flows(time_s, x);
  for (const ChainOutput& output : outputs_) {
    if (output.node >= 0) by_node[static_cast<std::size_t>(output.node)] += power_of(output, flows, x);
  }
  return by_node;
}

std::vector<double> TileSystem::node_balance(double time_s, std::span<const double> x,
                                             std::span<const double> rate) const {
  const std::vector<double> by_node = heat_by_node(time_s, x);
  std::vector<double> left(x.size(), 0.0);
  for (std::size_t i = 0; i < charge_place(); ++i)
    left[i] = by_node[static_cast<std::size_t>(network_.node_of_unknown(static_cast<int>(i)))];
  if (case_.battery) left[charge_place()] = chain_flows(time_s, x).stored();
  for (std::size_t i = 0; i < x.size() && !rate.empty(); ++i) {
    if (differential_[i]) left[i] -= capacity(i, x[i]) * rate[i];
  }
  return left;
}

std::vector<double> TileSystem::infrared_by_surface_W(std::span<const double> x) const {
  std::vector<double> infrared;
  for (const Emitter& emitter : emitters_) {
    double sum_W = mean_.front_sun_W_per_m2 * emitter.fin_front_m2 + mean_.rear_sun_W_per_m2 * emitter.fin_rear_m2;
    for (const auto& [node, law] : emitter.paths) {
      const double temperature_K = network_.temperature_K(node, x);
      sum_W += std::visit([&](const auto& one) { return one.flow(temperature_K); }, law);
    }
    infrared.push_back(sum_W);
  }
  return infrared;
}

double TileSystem::melted_share(std::span<const double> x) const {
  double melted_J = 0.0, latent_J = 0.0;
  for (NodeId id = 0; id < network_.node_count(); ++id) {
    const network::Node& node = network_.node(id);
    if (node.kind != network::NodeKind::melting) continue;
    latent_J += node.melting.latent_J;
    melted_J += node.melting.latent_J * network_.melted_share(id, x);
  }
  return latent_J > 0.0 ? melted_J / latent_J : 0.0;
}

double TileSystem::uniform_guess_K() const {
  double fixed_sum_K = 0.0;
  int fixed_count = 0;
  for (NodeId id = 0; id < network_.node_count(); ++id) {
    if (network_.unknown_of(id) >= 0) continue;
    fixed_sum_K += network_.node(id).fixed_temperature_K;
    ++fixed_count;
  }
  if (fixed_count > 0) return fixed_sum_K / fixed_count;
  constexpr double coldest_guess_K = 5.0;
  if (emitting_m2_ <= 0.0) return 293.15;
  const double fourth = std::max(0.0, typical_sky_W() + loads_W_) / (stefan_boltzmann_W_per_m2_K4 * emitting_m2_);
  return std::max(coldest_guess_K, std::sqrt(std::sqrt(fourth)));
}

double TileSystem::power_scale_W() const {
  double scale_W = typical_sky_W();
  for (std::size_t i = 0; i < case_.loads.size(); ++i) scale_W += std::abs(load_W(i));
  const std::vector<double> guess = uniform_state(uniform_guess_K());
  for (const Heater& heater : case_.heaters) scale_W += heater.power_W;
  for (const network::Flow& flow : network_.flows(guess)) scale_W = std::max(scale_W, std::abs(flow.power_W));
  constexpr double least_scale_W = 1e-9;
  return std::max(scale_W, least_scale_W);
}

std::vector<double> TileSystem::uniform_state(double temperature_K) const {
  return state_of(std::vector<double>(charge_place(), temperature_K));
}

std::vector<double> TileSystem::stated_start() const {
  std::vector<double> start = start_K_;
  for (double& temperature_K : start) {
    if (std::isnan(temperature_K) || case_.start.everywhere) temperature_K = case_.start.temperature_K;
  }
  return state_of(std::move(start));
}

std::vector<double> TileSystem::state_of(std::vector<double> temperature_K) const {
  for (std::size_t i = 0; i < temperature_K.size(); ++i)
    temperature_K[i] = network_.unknown_at(network_.node_of_unknown(static_cast<int>(i)), temperature_K[i]);
  if (case_.battery) temperature_K.push_back(case_.battery->start_percent);
  return temperature_K;
}

}  // namespace tileflux::tile
