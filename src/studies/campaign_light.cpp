#include "studies/campaign_light.h"

#include <algorithm>
#include <numeric>

namespace tileflux::studies {

std::vector<Served> served_at(const tile::TileSystem& system, const Asked& asked, double time_s,
                              std::span<const double> x) {
  if (asked.amount.empty()) return {};
  const double total = std::accumulate(asked.amount.begin(), asked.amount.end(), 0.0);
  const double most = asked.light ? asked.most : std::min(total, asked.most);
  const std::optional<double> light_W = asked.light ? std::optional(total) : std::nullopt;
  LightStages stages;
  stages.lasers_W = system.unhindered_light_W(x, most, light_W);
  if (asked.kept_out) {
    // Whatever is asked for is refused at once: what else stands in the way does not count.
    std::vector<Served> all(asked.amount.size());
    for (std::size_t i = 0; i < all.size(); ++i) {
      all[i].asked_J = asked.light ? asked.amount[i] : asked.amount[i] * stages.lasers_W / most;
      all[i].refused_J[static_cast<std::size_t>(Refusal::keep_out)] = all[i].asked_J;
    }
    return all;
  }
  const devices::ChainFlows<double> chain = system.chain_flows(time_s, x);
  const auto with = [&](double left, double before_W) {
    return left < 1.0 ? system.unhindered_light_W(x, most * left, light_W) : before_W;
  };
  stages.after_trip_W = with(asked.trip_left, stages.lasers_W);
  stages.after_heat_W =
      chain.throttle < 1.0 ? with(asked.trip_left * chain.throttle, stages.after_trip_W) : stages.after_trip_W;
  stages.after_energy_W = chain.light_out;
  return asked.light ? shared_light(asked.amount, stages) : shared_drive(asked.amount, asked.most, stages);
}

void CampaignIntegrands::evaluate(double time_s, std::span<const double> x, std::span<double> values) const {
  books_.evaluate(time_s, x, values);
  const std::vector<Served> served = served_at(system_, asked_, time_s, x);
  std::fill(values.begin() + static_cast<std::ptrdiff_t>(TileIntegrands::powers), values.end(), 0.0);
  for (std::size_t i = 0; i < served.size(); ++i) {
    values[first_of(i)] = served[i].delivered_J;
    std::copy(served[i].refused_J.begin(), served[i].refused_J.end(),
              values.begin() + static_cast<std::ptrdiff_t>(first_of(i) + 1));
  }
}

}  // namespace tileflux::studies
