#pragma once
/// The chain from sunlit cells through conditioning to housekeeping and lasers, closed at every instant.

#include <array>
#include <optional>
#include <span>
#include <vector>

#include "tileflux/base/dual.h"
#include "tileflux/devices/cells.h"
#include "tileflux/devices/conditioning.h"
#include "tileflux/devices/laser.h"

namespace tileflux::devices {

/// More banks than this are refused: it bounds the dual numbers of the chain.
inline constexpr int most_banks = 6;
/// More throttling limits than this are refused, for the same reason.
inline constexpr int most_throttles = 6;
/// Cells' temperature, junction temperatures, throttle temperatures: the inputs of the chain.
inline constexpr int chain_inputs = 1 + most_banks + most_throttles;

/// The devices of one tile. Priorities: conditioning standby, then housekeeping, then the lasers.
struct PowerChain {
  std::optional<CellLaw> cells;
  ConditioningLaw conditioning;
  double housekeeping_W = 0.0;
  std::vector<LaserBank> banks;
  std::vector<ThrottleLaw> throttles;
  double optics_transmission = 1.0;
};

/// What is commanded from outside at one instant.
struct ChainCommand {
  double irradiance_W_per_m2 = 0.0;
  bool beam = false;
  double drive = 1.0;     ///< commanded share of the rated drive, 0..1
  bool throttled = true;  ///< whether the throttle laws act
};

/// Every power of the chain, in watts. Identities: drawn = conditioning_loss + housekeeping + laser_input;
/// available = drawn + undrawn; laser_input = sum of bank inputs; bank heat = input - light;
/// light_out + optics_loss = sum of bank lights.
template <class Scalar>
struct ChainFlows {
  Scalar available{0.0}, drawn{0.0}, undrawn{0.0}, conditioning_loss{0.0}, housekeeping{0.0};
  Scalar laser_demand{0.0}, laser_input{0.0}, light_out{0.0}, optics_loss{0.0};
  Scalar throttle{1.0};      ///< factor on the commanded drive by temperature
  bool sun_limited = false;  ///< the lasers ask for more than the cells can give
  bool housekeeping_short = false;
  std::array<Scalar, most_banks> bank_input{}, bank_light{}, bank_heat{};
};

/// Evaluates the chain. `junction_K` has one entry per bank, `throttle_K` one per throttle law.
template <class Scalar>
ChainFlows<Scalar> evaluate(const PowerChain& chain, const ChainCommand& command, const Scalar& cells_K,
                            std::span<const Scalar> junction_K, std::span<const Scalar> throttle_K) {
  ChainFlows<Scalar> flows;
  if (chain.cells) flows.available = chain.cells->available_W(cells_K, command.irradiance_W_per_m2);

  if (command.throttled) {
    for (std::size_t i = 0; i < chain.throttles.size(); ++i) {
      flows.throttle = smaller(flows.throttle, chain.throttles[i].factor(throttle_K[i]));
    }
  }
  std::array<Scalar, most_banks> demand{};
  if (command.beam) {
    const Scalar drive = command.drive * flows.throttle;
    for (std::size_t b = 0; b < chain.banks.size(); ++b) {
      demand[b] = chain.banks[b].demand_W(drive);
      flows.laser_demand += demand[b];
    }
  }

  const Scalar most_delivered = chain.conditioning.largest_delivered_W(flows.available);
  const Scalar wanted = flows.laser_demand + chain.housekeeping_W;
  // Less sun than the standby loss needs is too little even where nothing is wanted: no more is drawn than there is.
  const bool standby_fed = value_of(flows.available) >= chain.conditioning.standby_W;
  if (standby_fed && value_of(wanted) <= value_of(most_delivered)) {
    flows.housekeeping = Scalar(chain.housekeeping_W);
    flows.laser_input = flows.laser_demand;
    flows.conditioning_loss = chain.conditioning.loss_W(wanted);
    flows.drawn = wanted + flows.conditioning_loss;
  } else {
    flows.housekeeping = smaller(Scalar(chain.housekeeping_W), most_delivered);
    flows.housekeeping_short = value_of(flows.housekeeping) < chain.housekeeping_W;
    flows.laser_input = most_delivered - flows.housekeeping;
    flows.sun_limited = value_of(flows.laser_demand) > 0.0;
    flows.drawn = flows.available;
    flows.conditioning_loss = flows.drawn - most_delivered;
  }
  flows.undrawn = flows.available - flows.drawn;

  const bool fed = value_of(flows.laser_demand) > 0.0;
  Scalar light{0.0};
  for (std::size_t b = 0; b < chain.banks.size(); ++b) {
    flows.bank_input[b] = Scalar(0.0);
    if (fed) flows.bank_input[b] = Scalar(demand[b] * flows.laser_input / flows.laser_demand);
    flows.bank_light[b] = chain.banks[b].light_W(flows.bank_input[b], junction_K[b]);
    flows.bank_heat[b] = flows.bank_input[b] - flows.bank_light[b];
    light += flows.bank_light[b];
  }
  flows.light_out = chain.optics_transmission * light;
  flows.optics_loss = light - flows.light_out;
  return flows;
}

}  // namespace tileflux::devices
