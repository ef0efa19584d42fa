/// The power chain of a TileSystem: what it depends on, where its powers go, and their derivatives.

#include <algorithm>

#include "tileflux/tile/tile_system.h"

namespace tileflux::tile {

using network::NodeId;

devices::ChainCommand TileSystem::command(double irradiance_W_per_m2) const {
  const std::optional<double> light_W = case_.beam ? case_.beam->light_W : std::nullopt;
  return {irradiance_W_per_m2, mode_.beam, mode_.drive, mode_.light_W ? mode_.light_W : light_W, mode_.battery};
}

TileSystem::Followed TileSystem::throttle_at(std::span<const double> x) const {
  Followed hardest{1.0, 0.0, -1};
  if (!mode_.throttled) return hardest;
  for (std::size_t i = 0; i < throttles_.size(); ++i) {
    const double temperature_K = network_.temperature_K(throttles_[i].node, x);
    const Dual<1> factor = throttles_[i].law.factor(variable<1>(temperature_K, 0));
    if (factor.value() < hardest.value) hardest = {factor.value(), factor.derivatives()[0], static_cast<int>(i)};
  }
  return hardest;
}

TileSystem::Followed TileSystem::heater_demand(std::size_t heater, std::span<const double> x) const {
  const Heater& described = case_.heaters[heater];
  if (described.stuck) return {*described.stuck ? described.power_W : 0.0, 0.0, -1};
  if (!mode_.heater_on.empty()) return {mode_.heater_on[heater] * described.power_W, 0.0, -1};
  const double band_K = described.off_above_K - described.on_below_K;
  const double share = (described.off_above_K - network_.temperature_K(heaters_[heater].sensor, x)) / band_K;
  if (share <= 0.0) return {0.0, 0.0, -1};
  if (share >= 1.0) return {described.power_W, 0.0, -1};
  return {share * described.power_W, -described.power_W / band_K, static_cast<int>(heater)};
}

template <class Scalar>
devices::ChainFlows<Scalar> TileSystem::evaluate_chain(double time_s, std::span<const double> x) const {
  devices::ChainState<Scalar> state;
  const auto input = [](double value, int place) {
    if constexpr (std::is_same_v<Scalar, double>) {
      (void)place;
      return value;
    } else {
      return variable<devices::chain_inputs>(value, place);
    }
  };
  const auto set = [&](Scalar& slot, int place, double value) { slot = input(value, place); };
  for (const ChainColumn& column : columns_) {
    if (column.kind != ChainColumn::Kind::input) continue;
    const double value = column.node >= 0 ? network_.temperature_K(column.node, x) : charge_percent(x);
    const auto index = static_cast<std::size_t>(column.index);
    if (column.index < devices::input_junction) {
      set(state.cells_K[index], column.index, value);
    } else if (column.index < devices::input_throttle) {
      set(state.junction_K[index - devices::input_junction], column.index, value);
    } else {
      set(column.index == devices::input_battery ? state.battery_K : state.charge_percent, column.index, value);
    }
  }
  double heaters_W = 0.0;
  for (std::size_t h = 0; h < heaters_.size(); ++h) heaters_W += heater_demand(h, x).value;
  set(state.heaters_W, devices::input_heaters, heaters_W);
  set(state.throttle, devices::input_throttle, throttle_at(x).value);
  if (!has_cells_) return devices::evaluate<Scalar>(chain_, command(0.0), state);
  const SkyState sky = untilted_sky(time_s);
  if (!held_ || mode_.stowed) return devices::evaluate<Scalar>(chain_, command(sky.cells_W_per_m2), state);
  set(state.tilt_share, devices::input_tilt, sky_->cells_share(held_tilt(x).value));
  return devices::evaluate<Scalar>(chain_, command(sky.normal_W_per_m2), state);
}

template <class Scalar>
Scalar TileSystem::power_of(const ChainOutput& output, const devices::ChainFlows<Scalar>& flows,
                            std::span<const double> x) const {
  using Kind = ChainOutput::Kind;
  const auto i = static_cast<std::size_t>(output.index);
  const bool shunted = case_.cells && case_.cells->shunt_node;
  switch (output.kind) {
    case Kind::cells:
      return Scalar(-(shunted ? flows.cells_available[i] : flows.cells_drawn[i]));
    case Kind::shunt:
      return flows.undrawn;
    case Kind::conditioning:
      return flows.conditioning_loss;
    case Kind::housekeeping:
      return flows.housekeeping;
    case Kind::optics:
      return flows.optics_loss;
    case Kind::driver:
      return flows.bank[i].driver_loss;
    case Kind::junction:
      return flows.bank[i].junction_heat;
    case Kind::fibre:
      return flows.bank[i].fibre_heat;
    case Kind::unabsorbed:
      return flows.bank[i].unabsorbed;
    case Kind::heater:
      return Scalar(heater_demand(i, x).value * flows.heaters_fed);
    case Kind::battery:
      return flows.battery_loss;
    case Kind::store:
      return flows.stored();
  }
  return Scalar(0.0);
}

/// The chain in duals at a state, and what its inputs follow of the unknowns.
struct TileSystem::ChainSlopes {
  using Power = Dual<devices::chain_inputs>;

  const TileSystem& tile;
  std::span<const double> x;
  devices::ChainFlows<Power> flows;
  Followed throttle;
  double tilt_slope_per_K = 0.0;

  ChainSlopes(const TileSystem& system, double time_s, std::span<const double> state)
      : tile(system), x(state), flows(system.evaluate_chain<Power>(time_s, state)), throttle(system.throttle_at(state)) {
    if (!tile.held_ || tile.mode_.stowed) return;
    const Followed tilt = tile.held_tilt(x);
    tilt_slope_per_K = tile.sky_->cells_share(variable<1>(tilt.value, 0)).derivatives()[0] * tilt.slope_per_K;
  }

  /// d(power)/d(unknown of the column), by way of the chain's inputs.
  double along(const Power& power, const ChainColumn& column) const {
    switch (column.kind) {
      case ChainColumn::Kind::input:
        return power.derivatives()[column.index];
      case ChainColumn::Kind::throttle:
        return column.index == throttle.index
                   ? power.derivatives()[devices::input_throttle] * throttle.slope_per_K
                   : 0.0;
      case ChainColumn::Kind::tilt:
        return power.derivatives()[devices::input_tilt] * tilt_slope_per_K;
      case ChainColumn::Kind::heater:
        return power.derivatives()[devices::input_heaters] * heater_slope_W_per_K(column.index);
    }
    return 0.0;
  }
  double heater_slope_W_per_K(int heater) const {
    return tile.heater_demand(static_cast<std::size_t>(heater), x).slope_per_K;
  }
};

void TileSystem::add_chain_derivatives(double time_s, std::span<const double> x, std::span<double> values) const {
  const ChainSlopes slopes(*this, time_s, x);
  std::size_t k = 0;
  for (const ChainOutput& output : outputs_) {
    const ChainSlopes::Power power = power_of(output, slopes.flows, x);
    for (const ChainColumn& column : columns_) {
      const int position = chain_position_[k++];
      if (position < 0) continue;
      double derivative = slopes.along(power, column);
      const bool own = output.kind == ChainOutput::Kind::heater && column.kind == ChainColumn::Kind::heater &&
                       output.index == column.index;
      if (own) derivative += slopes.flows.heaters_fed.value() * slopes.heater_slope_W_per_K(column.index);
      values[static_cast<std::size_t>(position)] += derivative;
    }
  }
}

std::vector<double> TileSystem::light_slopes(double time_s, std::span<const double> x) const {
  std::vector<double> slopes(static_cast<std::size_t>(size()), 0.0);
  if (!has_chain_) return slopes;
  const ChainSlopes chain(*this, time_s, x);
  for (const ChainColumn& column : columns_) {
    if (column.place >= 0)
      slopes[static_cast<std::size_t>(column.place)] += chain.along(chain.flows.light_out, column);
  }
  return slopes;
}

devices::ChainFlows<double> TileSystem::chain_flows(double time_s, std::span<const double> x) const {
  return has_chain_ ? evaluate_chain<double>(time_s, x) : devices::ChainFlows<double>{};
}

double TileSystem::unhindered_light_W(std::span<const double> x, double drive, std::optional<double> light_W) const {
  devices::ChainCommand wanted;
  wanted.beam = true;
  wanted.drive = drive;
  wanted.light_W = light_W;
  devices::ChainState<double> state;
  for (std::size_t b = 0; b < chain_.banks.size(); ++b) state.junction_K[b] = network_.temperature_K(junction_[b], x);
  const auto demand = devices::bank_demands(chain_, wanted, state);
  double light = 0.0;
  for (std::size_t b = 0; b < chain_.banks.size(); ++b)
    light += chain_.banks[b].flows(demand[b], state.junction_K[b]).light;
  return chain_.optics_transmission * light;
}

std::vector<double> TileSystem::heater_powers_W(std::span<const double> x) const {
  std::vector<double> powers;
  const double fed = chain_flows(x).heaters_fed;
  for (std::size_t h = 0; h < heaters_.size(); ++h) powers.push_back(fed * heater_demand(h, x).value);
  return powers;
}

std::vector<double> TileSystem::loop_gains(std::span<const double> x) const {
  std::vector<double> gains;
  if (!has_chain_) return gains;
  const auto flows = evaluate_chain<Dual<devices::chain_inputs>>(rest_s(), x);
  for (std::size_t b = 0; b < chain_.banks.size(); ++b) {
    gains.push_back(flows.bank[b].junction_heat.derivatives()[devices::input_junction + static_cast<Eigen::Index>(b)] *
                    junction_resistance_K_per_W_[b]);
  }
  return gains;
}

std::optional<devices::OperatingPoint> TileSystem::roll_over(std::size_t bank, std::span<const double> x) const {
  const Bank& described = case_.lasers[bank];
  const auto* fresh = std::get_if<devices::DiodeLaw>(&described.devices.law);
  if (fresh == nullptr || described.devices.modules == 0) return std::nullopt;
  devices::DiodeLaw law = *fresh;
  // A worn diode gives less light and more heat.
  law.slope_W_per_A *= described.devices.remaining * described.devices.light_factor;
  const double mount_K = network_.temperature_K(network_.find(described.mount), x);
  return devices::SelfHeatedDiode(law, mount_K, described.resistance_K_per_W).roll_over();
}

template double TileSystem::power_of(const ChainOutput&, const devices::ChainFlows<double>&,
                                     std::span<const double>) const;
template devices::ChainFlows<double> TileSystem::evaluate_chain(double, std::span<const double>) const;

}  // namespace tileflux::tile
