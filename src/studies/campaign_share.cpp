/// How light is shared among those who ask for it at once, and what each is refused and why.

#include <algorithm>
#include <numeric>

#include "tileflux/studies/campaign.h"

namespace tileflux::studies {

namespace {

constexpr std::array<std::string_view, refusals> refusal_names{"keep_out", "beyond_lasers", "trip",
                                                               "heat",     "energy",        "higher_priority"};

double& refused(Served& served, Refusal why) { return served.refused_J[static_cast<std::size_t>(why)]; }

}  // namespace

std::string_view name_of(Refusal refusal) { return refusal_names[static_cast<std::size_t>(refusal)]; }

void Served::add(const Served& other, double times) {
  asked_J += times * other.asked_J;
  delivered_J += times * other.delivered_J;
  for (std::size_t i = 0; i < refusals; ++i) refused_J[i] += times * other.refused_J[i];
  asked_s += times * other.asked_s;
  met_s += times * other.met_s;
}

std::vector<Served> shared_light(std::span<const double> asked_W, const LightStages& stages) {
  // What a request would get of each stage if it were alone, and at last what those before it leave.
  const std::vector<double> given_W = tile::shared_in_order(asked_W, stages.after_energy_W);
  std::vector<Served> all(asked_W.size());
  for (std::size_t i = 0; i < all.size(); ++i) {
    const auto alone_W = [&](double capacity_W) { return std::clamp(capacity_W, 0.0, asked_W[i]); };
    Served& one = all[i];
    one.asked_J = asked_W[i];
    one.delivered_J = given_W[i];
    refused(one, Refusal::beyond_lasers) = asked_W[i] - alone_W(stages.lasers_W);
    refused(one, Refusal::trip) = alone_W(stages.lasers_W) - alone_W(stages.after_trip_W);
    refused(one, Refusal::heat) = alone_W(stages.after_trip_W) - alone_W(stages.after_heat_W);
    refused(one, Refusal::energy) = alone_W(stages.after_heat_W) - alone_W(stages.after_energy_W);
    refused(one, Refusal::higher_priority) = alone_W(stages.after_energy_W) - given_W[i];
  }
  return all;
}

std::vector<Served> shared_drive(std::span<const double> asked_drive, double most, const LightStages& stages) {
  const std::vector<double> granted = tile::shared_in_order(asked_drive, most);
  const double total = std::accumulate(granted.begin(), granted.end(), 0.0);
  std::vector<Served> all(asked_drive.size());
  if (total <= 0.0) return all;
  const double light_W = stages.lasers_W / total;  // of the whole of rated drive, at the light per drive of the moment
  for (std::size_t i = 0; i < all.size(); ++i) {
    const double within = std::min(asked_drive[i], most);
    Served& one = all[i];
    one.asked_J = asked_drive[i] * light_W;
    one.delivered_J = granted[i] * stages.after_energy_W / total;
    refused(one, Refusal::beyond_lasers) = (asked_drive[i] - within) * light_W;
    refused(one, Refusal::higher_priority) = (within - granted[i]) * light_W;
    refused(one, Refusal::trip) = granted[i] * (stages.lasers_W - stages.after_trip_W) / total;
    refused(one, Refusal::heat) = granted[i] * (stages.after_trip_W - stages.after_heat_W) / total;
    refused(one, Refusal::energy) = granted[i] * (stages.after_heat_W - stages.after_energy_W) / total;
  }
  return all;
}

}  // namespace tileflux::studies
