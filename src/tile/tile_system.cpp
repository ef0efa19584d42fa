#include "tileflux/tile/tile_system.h"

#include <algorithm>
#include <cmath>

namespace tileflux::tile {

using network::NodeId;

void TileSystem::set_mode(Mode mode) {
  mode.pattern_share.resize(case_.loads.size(), 0.0);
  mode_ = std::move(mode);
  source_heat_W_.assign(static_cast<std::size_t>(size()), 0.0);
  loads_W_ = 0.0;
  const auto add = [&](NodeId id, double power_W) {
    const int place = network_.unknown_of(id);
    if (place >= 0) source_heat_W_[static_cast<std::size_t>(place)] += power_W;
  };
  for (NodeId id = 0; id < network_.node_count(); ++id) add(id, sun_heat_W_[static_cast<std::size_t>(id)]);
  for (std::size_t i = 0; i < case_.loads.size(); ++i) {
    add(load_node_[i], load_W(i));
    loads_W_ += load_W(i);
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

devices::ChainCommand TileSystem::command() const {
  return {cell_irradiance_W_per_m2_, mode_.beam, mode_.drive, mode_.throttled};
}

template <class Scalar>
devices::ChainFlows<Scalar> TileSystem::evaluate_chain(std::span<const double> x) const {
  std::array<Scalar, devices::chain_inputs> input;
  for (int i = 0; i < devices::chain_inputs; ++i) {
    const NodeId id = input_node_[static_cast<std::size_t>(i)];
    const double temperature_K = id >= 0 ? network_.temperature_K(id, x) : 0.0;
    if constexpr (std::is_same_v<Scalar, double>) {
      input[static_cast<std::size_t>(i)] = temperature_K;
    } else {
      input[static_cast<std::size_t>(i)] = variable<devices::chain_inputs>(temperature_K, i);
    }
  }
  const std::span<const Scalar> all(input);
  return devices::evaluate<Scalar>(chain_, command(), input[0], all.subspan(1, devices::most_banks),
                                   all.subspan(1 + devices::most_banks, devices::most_throttles));
}

template <class Scalar>
std::array<Scalar, 5 + devices::most_banks> TileSystem::chain_heat(const devices::ChainFlows<Scalar>& flows) const {
  std::array<Scalar, 5 + devices::most_banks> heat;
  const bool shunted = output_node_[1] >= 0;
  heat[0] = shunted ? Scalar(-flows.available) : Scalar(-flows.drawn);
  heat[1] = shunted ? flows.undrawn : Scalar(0.0);
  heat[2] = flows.conditioning_loss;
  heat[3] = flows.housekeeping;
  heat[4] = flows.optics_loss;
  for (std::size_t b = 0; b < static_cast<std::size_t>(devices::most_banks); ++b) {
    heat[5 + b] = b < chain_.banks.size() ? flows.bank_heat[b] : Scalar(0.0);
  }
  return heat;
}

bool TileSystem::residual(double, std::span<const double> x, std::span<const double> rate,
                          std::span<double> residual) const {
  // Beyond any temperature that a law is meant for its powers and exponentials overflow.
  constexpr double hottest_K = 1e4;
  for (const double temperature_K : x) {
    if (!(temperature_K > 0.0 && temperature_K < hottest_K)) return false;
  }
  std::copy(source_heat_W_.begin(), source_heat_W_.end(), residual.begin());
  network_.add_heat(x, residual);
  if (has_chain_) {
    const auto heat = chain_heat(evaluate_chain<double>(x));
    for (std::size_t i = 0; i < heat.size(); ++i) {
      const int place = output_node_[i] >= 0 ? network_.unknown_of(output_node_[i]) : -1;
      if (place >= 0) residual[static_cast<std::size_t>(place)] += heat[i];
    }
  }
  for (std::size_t i = 0; i < x.size(); ++i) {
    if (differential_[i])
      residual[i] -=
          network_.node(network_.node_of_unknown(static_cast<int>(i))).capacity_J_per_K.value(x[i]) * rate[i];
    if (std::isnan(residual[i]))
      throw Error(Code::law_not_finite,
                  "the heat balance of " + unknown_name(static_cast<int>(i)) + " is not a number");
  }
  return true;
}

void TileSystem::jacobian(double, std::span<const double> x, std::span<const double> rate, double rate_factor,
                          std::span<double> values) const {
  std::fill(values.begin(), values.end(), 0.0);
  network_.add_derivatives(x, values);
  if (has_chain_) {
    const auto heat = chain_heat(evaluate_chain<Dual<devices::chain_inputs>>(x));
    std::size_t k = 0;
    for (std::size_t i = 0; i < heat.size(); ++i) {
      for (int j = 0; j < devices::chain_inputs; ++j, ++k) {
        if (chain_position_[k] >= 0) values[static_cast<std::size_t>(chain_position_[k])] += heat[i].derivatives()[j];
      }
    }
  }
  for (std::size_t i = 0; i < x.size(); ++i) {
    if (!differential_[i]) continue;
    const Dual<1> capacity =
        network_.node(network_.node_of_unknown(static_cast<int>(i))).capacity_J_per_K.value(variable<1>(x[i], 0));
    values[static_cast<std::size_t>(diagonal_[i])] -=
        capacity.value() * rate_factor + capacity.derivatives()[0] * rate[i];
  }
}

devices::ChainFlows<double> TileSystem::chain_flows(std::span<const double> x) const {
  return has_chain_ ? evaluate_chain<double>(x) : devices::ChainFlows<double>{};
}

std::vector<double> TileSystem::loop_gains(std::span<const double> x) const {
  std::vector<double> gains;
  if (!has_chain_) return gains;
  const auto flows = evaluate_chain<Dual<devices::chain_inputs>>(x);
  for (std::size_t b = 0; b < chain_.banks.size(); ++b) {
    gains.push_back(flows.bank_heat[b].derivatives()[static_cast<Eigen::Index>(1 + b)] *
                    junction_resistance_K_per_W_[b]);
  }
  return gains;
}

Ledger TileSystem::ledger(std::span<const double> x, std::span<const double> rate) const {
  Ledger books;
  books.sunlight_met_W = met_W_;
  books.absorbed_W = absorbed_W_;
  books.reflected_W = met_W_ - absorbed_W_;
  books.loads_W = loads_W_;
  books.light_out_W = chain_flows(x).light_out;
  books.to_space_W = network_.heat_to_space_W(x) + absorbed_along_fins_W_;
  if (network_.node_count() > size()) {
    const std::vector<double> by_node = heat_by_node(x);
    for (NodeId id = 0; id < network_.node_count(); ++id) {
      if (network_.unknown_of(id) < 0) books.to_fixed_W += by_node[static_cast<std::size_t>(id)];
    }
  }
  for (std::size_t i = 0; i < rate.size(); ++i) {
    if (differential_[i])
      books.stored_W +=
          network_.node(network_.node_of_unknown(static_cast<int>(i))).capacity_J_per_K.value(x[i]) * rate[i];
  }
  return books;
}

std::vector<double> TileSystem::heat_by_node(std::span<const double> x) const {
  std::vector<double> by_node(sun_heat_W_);
  for (std::size_t i = 0; i < case_.loads.size(); ++i) {
    by_node[static_cast<std::size_t>(load_node_[i])] += load_W(i);
  }
  for (const network::Flow& flow : network_.flows(x)) {
    by_node[static_cast<std::size_t>(flow.from)] -= flow.power_W;
    if (flow.to >= 0) by_node[static_cast<std::size_t>(flow.to)] += flow.power_W;
  }
  if (has_chain_) {
    const auto flows = chain_flows(x);
    const auto give = [&](NodeId id, double power_W) {
      if (id >= 0) by_node[static_cast<std::size_t>(id)] += power_W;
    };
    give(output_node_[0], -flows.drawn);
    if (output_node_[1] >= 0) {
      give(output_node_[0], -flows.undrawn);
      give(output_node_[1], flows.undrawn);
    }
    give(output_node_[2], flows.conditioning_loss);
    give(output_node_[3], flows.housekeeping);
    give(output_node_[4], flows.optics_loss);
    for (std::size_t b = 0; b < chain_.banks.size(); ++b) give(junction_[b], flows.bank_input[b] - flows.bank_light[b]);
  }
  return by_node;
}

std::vector<double> TileSystem::node_balance(std::span<const double> x, std::span<const double> rate) const {
  const std::vector<double> by_node = heat_by_node(x);
  std::vector<double> left(x.size());
  for (std::size_t i = 0; i < x.size(); ++i) {
    const NodeId id = network_.node_of_unknown(static_cast<int>(i));
    left[i] = by_node[static_cast<std::size_t>(id)];
    if (!rate.empty() && differential_[i]) left[i] -= network_.node(id).capacity_J_per_K.value(x[i]) * rate[i];
  }
  return left;
}

std::vector<double> TileSystem::infrared_by_surface_W(std::span<const double> x) const {
  std::vector<double> infrared;
  for (const Emitter& emitter : emitters_) {
    double sum_W = emitter.absorbed_W;
    for (const NodeId node : emitter.nodes) {
      sum_W += std::visit([&](const auto& law) { return law.flow(network_.temperature_K(node, x)); }, emitter.law);
    }
    infrared.push_back(sum_W);
  }
  return infrared;
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
  const double fourth = std::max(0.0, absorbed_W_ + loads_W_) / (stefan_boltzmann_W_per_m2_K4 * emitting_m2_);
  return std::max(coldest_guess_K, std::sqrt(std::sqrt(fourth)));
}

double TileSystem::power_scale_W() const {
  double scale_W = absorbed_W_;
  for (std::size_t i = 0; i < case_.loads.size(); ++i) scale_W += std::abs(load_W(i));
  const std::vector<double> guess(static_cast<std::size_t>(size()), uniform_guess_K());
  for (const network::Flow& flow : network_.flows(guess)) scale_W = std::max(scale_W, std::abs(flow.power_W));
  constexpr double least_scale_W = 1e-9;
  return std::max(scale_W, least_scale_W);
}

std::vector<double> TileSystem::stated_start() const {
  std::vector<double> start = start_K_;
  for (double& temperature_K : start) {
    if (std::isnan(temperature_K)) temperature_K = case_.start.temperature_K;
  }
  return start;
}

}  // namespace tileflux::tile
