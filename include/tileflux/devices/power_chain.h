#pragma once
/// The chain from sunlit cells through conditioning to housekeeping and lasers, closed at every instant.

#include <array>
#include <optional>
#include <vector>

#include "tileflux/base/dual.h"
#include "tileflux/devices/bank.h"
#include "tileflux/devices/battery.h"
#include "tileflux/devices/cells.h"
#include "tileflux/devices/conditioning.h"

namespace tileflux::devices {

/// More groups of cells (zones of a stack) or banks than this are refused: it bounds the dual numbers of the chain.
inline constexpr int most_cell_groups = 4;
inline constexpr int most_banks = 6;

/// Who takes power from the bus. Conditioning standby comes before all of them.
enum class Consumer { housekeeping, heaters, lasers, charging };
inline constexpr int consumers = 4;

/// How groups of cells share what the loads draw. `proportional`: in the ratio of what each could give. `equal`: every
/// group the same, and none makes up for one that has less; what a group has beyond its share can only charge the
/// battery, which therefore must be the last of the priorities.
enum class LoadSharing { proportional, equal };

/// The devices of one tile.
struct PowerChain {
  std::vector<CellLaw> cells;  ///< per group; all work into the same conditioning. None: the bus is fed from outside
  LoadSharing load_sharing = LoadSharing::proportional;
  ConditioningLaw conditioning;
  double housekeeping_W = 0.0;
  std::vector<LaserBank> banks;
  double optics_transmission = 1.0;
  std::optional<BatteryLaw> battery;
  bool battery_feeds_lasers = true;
  /// Who is fed first. The battery helps out whoever the cells leave short, charging itself excepted.
  std::array<Consumer, consumers> priorities{Consumer::housekeeping, Consumer::heaters, Consumer::lasers,
                                             Consumer::charging};
};

/// What is commanded from outside at one instant.
struct ChainCommand {
  double irradiance_W_per_m2 = 0.0;  ///< that the cells make use of, but for ChainState::tilt_share
  bool beam = false;
  double drive = 1.0;             ///< commanded share of the rated drive, 0..1
  std::optional<double> light_W;  ///< wanted light out of the tile; the drive is then the most that is given for it
  bool battery = true;            ///< false: it rests, neither charged nor discharged
};

/// What the chain depends on: the inputs of its derivatives, in this order.
template <class Scalar>
struct ChainState {
  std::array<Scalar, most_cell_groups> cells_K{};
  std::array<Scalar, most_banks> junction_K{};
  Scalar throttle{1.0};   ///< factor on the commanded drive by temperature, 0..1
  Scalar heaters_W{0.0};  ///< what all heaters together ask for
  Scalar battery_K{0.0};
  Scalar charge_percent{0.0};
  Scalar tilt_share{1.0};  ///< factor on the irradiance where the tile turns by a temperature of its own
};
inline constexpr int chain_inputs = most_cell_groups + most_banks + 5;
inline constexpr int input_junction = most_cell_groups;
inline constexpr int input_throttle = most_cell_groups + most_banks;
inline constexpr int input_heaters = input_throttle + 1;
inline constexpr int input_battery = input_throttle + 2;
inline constexpr int input_charge = input_throttle + 3;
inline constexpr int input_tilt = input_throttle + 4;

/// Every power of the chain, in watts. Identities: available = drawn + undrawn; drawn + outside + discharging
/// = conditioning_loss + housekeeping + heaters + laser_bus + charging; laser_bus = sum of bank inputs and driver
/// losses; what a bank takes is its light and its heats; light_out + optics_loss = sum of bank lights.
template <class Scalar>
struct ChainFlows {
  Scalar available{0.0}, drawn{0.0}, undrawn{0.0}, conditioning_loss{0.0}, housekeeping{0.0};
  Scalar outside{0.0};  ///< fed into the bus from outside: everything that is asked for, in a tile without cells
  Scalar heaters{0.0};
  Scalar heaters_fed{1.0};  ///< share of what the heaters ask for
  Scalar laser_demand{0.0}, laser_bus{0.0}, laser_input{0.0}, driver_loss{0.0}, light_out{0.0}, optics_loss{0.0};
  Scalar spare{0.0};          ///< what the lasers could have on top of what they get
  Scalar needs_short{0.0};    ///< what housekeeping and heaters ask for and do not get
  Scalar needs_spare{1e30};   ///< what was left after housekeeping and after heaters, the smaller of the two
  Scalar battery_power{0.0};  ///< from the bus into the battery; negative on discharge
  Scalar battery_loss{0.0};   ///< heat in the battery, self-discharge included
  Scalar throttle{1.0};       ///< factor on the commanded drive by temperature
  bool sun_limited = false;   ///< the lasers ask for more than they can be given
  bool housekeeping_short = false;
  std::array<Scalar, most_cell_groups> cells_available{};
  std::array<Scalar, most_cell_groups> cells_drawn{};
  int exhausted_groups = 0;  ///< groups that have less than their equal share of what the loads ask for
  std::array<BankFlows<Scalar>, most_banks> bank{};

  /// Rate at which the battery's store grows.
  Scalar stored() const { return Scalar(battery_power - battery_loss); }
};

/// What every bank asks of the bus at its lasers' terminals, drivers not included.
template <class Scalar>
std::array<Scalar, most_banks> bank_demands(const PowerChain& chain, const ChainCommand& command,
                                            const ChainState<Scalar>& state) {
  std::array<Scalar, most_banks> demand;
  demand.fill(Scalar(0.0));  // a dual number that is not initialised holds anything
  if (!command.beam) return demand;
  const Scalar drive = command.drive * state.throttle;
  int modules = 0;
  for (const LaserBank& bank : chain.banks) modules += bank.modules;
  for (std::size_t b = 0; b < chain.banks.size(); ++b) {
    const LaserBank& bank = chain.banks[b];
    if (!command.light_W || bank.modules == 0) {
      demand[b] = bank.demand_W(drive);
      continue;
    }
    const double share_W = *command.light_W / chain.optics_transmission * bank.modules / modules;
    demand[b] = bank.demand_W(smaller(drive, bank.drive_for_light(Scalar(share_W), state.junction_K[b])));
  }
  return demand;
}

/// What groups with equal shares give to the loads, and can give to them.
template <class Scalar>
struct EqualShares {
  std::array<Scalar, most_cell_groups> given;
  Scalar sum{0.0};
  /// The most that loads could draw before a group is exhausted; once one is, what they draw.
  Scalar largest{0.0};
  int exhausted = 0;

  EqualShares() { given.fill(Scalar(0.0)); }
};

/// For loads that want to draw `wanted_W` from `groups` groups.
template <class Scalar>
EqualShares<Scalar> equal_shares(const std::array<Scalar, most_cell_groups>& available_W, std::size_t groups,
                                 const Scalar& wanted_W) {
  EqualShares<Scalar> shares;
  const Scalar share = wanted_W / double(groups);
  Scalar weakest = available_W[0];
  for (std::size_t g = 0; g < groups; ++g) {
    weakest = smaller(weakest, available_W[g]);
    if (value_of(available_W[g]) < value_of(share)) ++shares.exhausted;
    shares.given[g] = smaller(available_W[g], share);
    shares.sum += shares.given[g];
  }
  shares.largest = shares.exhausted > 0 ? shares.sum : Scalar(double(groups) * weakest);
  return shares;
}

/// Evaluates the chain.
template <class Scalar>
ChainFlows<Scalar> evaluate(const PowerChain& chain, const ChainCommand& command, const ChainState<Scalar>& state) {
  ChainFlows<Scalar> flows;
  flows.throttle = state.throttle;
  flows.cells_drawn.fill(Scalar(0.0));
  const Scalar irradiance = command.irradiance_W_per_m2 * state.tilt_share;
  for (std::size_t g = 0; g < chain.cells.size(); ++g) {
    flows.cells_available[g] = chain.cells[g].available_W(state.cells_K[g], irradiance);
    flows.available += flows.cells_available[g];
  }
  const std::array<Scalar, most_banks> demand = bank_demands(chain, command, state);
  for (std::size_t b = 0; b < chain.banks.size(); ++b)
    flows.laser_demand += (1.0 + chain.banks[b].driver_loss) * demand[b];

  const Scalar most_delivered = chain.conditioning.largest_delivered_W(flows.available);
  const bool from_outside = chain.cells.empty();
  Scalar sun_left = most_delivered, battery_left(0.0), charging(0.0), discharging(0.0);
  EqualShares<Scalar> equal;
  Scalar beyond_shares(0.0);  // on the bus, for charging alone
  if (chain.load_sharing == LoadSharing::equal && chain.cells.size() > 1) {
    const Scalar asked = chain.housekeeping_W + state.heaters_W + flows.laser_demand;
    equal = equal_shares(flows.cells_available, chain.cells.size(), Scalar(asked + chain.conditioning.loss_W(asked)));
    flows.exhausted_groups = equal.exhausted;
    sun_left = chain.conditioning.largest_delivered_W(equal.largest);
    beyond_shares = most_delivered - sun_left;
  }
  if (from_outside) flows.outside = chain.housekeeping_W + state.heaters_W + flows.laser_demand;
  const bool battery = chain.battery && command.battery;
  if (battery) battery_left = chain.battery->largest_discharge_W(state.charge_percent, state.battery_K);
  // Whoever gets all that is wanted gets it to the last digit, so that nobody is called short by round-off.
  const auto feed = [&](const Scalar& wanted, bool from_battery) {
    if (from_outside) return wanted;
    if (value_of(wanted) <= value_of(sun_left)) {
      sun_left = sun_left - wanted;
      return wanted;
    }
    const Scalar by_sun = sun_left;
    sun_left = Scalar(0.0);
    if (!from_battery) return by_sun;
    const Scalar rest = wanted - by_sun;
    const bool all = value_of(rest) <= value_of(battery_left);
    const Scalar by_battery = all ? rest : battery_left;
    battery_left = battery_left - by_battery;
    discharging += by_battery;
    return all ? wanted : Scalar(by_sun + by_battery);
  };
  for (const Consumer consumer : chain.priorities) {
    switch (consumer) {
      case Consumer::housekeeping:
        flows.housekeeping = feed(Scalar(chain.housekeeping_W), battery);
        flows.needs_spare = smaller(flows.needs_spare, Scalar(sun_left + battery_left));
        break;
      case Consumer::heaters:
        flows.heaters = feed(state.heaters_W, battery);
        flows.needs_spare = smaller(flows.needs_spare, Scalar(sun_left + battery_left));
        break;
      case Consumer::lasers:
        flows.laser_bus = feed(flows.laser_demand, battery && chain.battery_feeds_lasers);
        flows.spare = sun_left;
        if (battery && chain.battery_feeds_lasers) flows.spare += battery_left;
        break;
      case Consumer::charging:
        sun_left += beyond_shares;
        if (!battery) break;
        charging = chain.battery->charging_W(sun_left, state.charge_percent, state.battery_K);
        sun_left = sun_left - charging;
        break;
    }
  }
  if (value_of(sun_left) > 0.0) {
    const Scalar delivered = most_delivered - sun_left;
    flows.conditioning_loss = chain.conditioning.loss_W(delivered);
    flows.drawn = delivered + flows.conditioning_loss;
  } else if (!from_outside) {
    // All that there is, also where it is less than the standby loss would be.
    flows.drawn = flows.available;
    flows.conditioning_loss = flows.drawn - most_delivered;
  }
  flows.undrawn = flows.available - flows.drawn;
  if (value_of(flows.available) > 0.0) {
    const Scalar rest = flows.available - equal.sum;
    const Scalar share = value_of(rest) > 0.0 ? Scalar((flows.drawn - equal.sum) / rest) : Scalar(0.0);
    for (std::size_t g = 0; g < chain.cells.size(); ++g)
      flows.cells_drawn[g] = equal.given[g] + share * (flows.cells_available[g] - equal.given[g]);
  }
  flows.needs_short = (chain.housekeeping_W - flows.housekeeping) + (state.heaters_W - flows.heaters);
  flows.housekeeping_short = value_of(flows.housekeeping) < chain.housekeeping_W;
  flows.sun_limited = value_of(flows.laser_bus) < value_of(flows.laser_demand);
  if (value_of(state.heaters_W) > 0.0) flows.heaters_fed = flows.heaters / state.heaters_W;
  if (battery) {
    flows.battery_power = charging - discharging;
    flows.battery_loss = chain.battery->heat_W(flows.battery_power, state.charge_percent);
  }

  const bool fed = value_of(flows.laser_demand) > 0.0;
  Scalar light{0.0};
  for (std::size_t b = 0; b < chain.banks.size(); ++b) {
    Scalar input(0.0);
    if (fed) input = demand[b] * flows.laser_bus / flows.laser_demand;
    flows.bank[b] = chain.banks[b].flows(input, state.junction_K[b]);
    flows.laser_input += input;
    flows.driver_loss += flows.bank[b].driver_loss;
    light += flows.bank[b].light;
  }
  flows.light_out = chain.optics_transmission * light;
  flows.optics_loss = light - flows.light_out;
  return flows;
}

}  // namespace tileflux::devices
