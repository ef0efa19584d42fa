/// What a TileSystem takes from its surroundings: sunlight, albedo, infrared, and the turning of the tile.

#include <algorithm>
#include <cmath>

#include "tileflux/tile/tile_system.h"

namespace tileflux::tile {

using network::NodeId;

double TileSystem::rest_s() const {
  if (!rest_) throw Error(Code::internal, "the surroundings move, and no time is given");
  return 0.0;
}

SkyState TileSystem::untilted_sky(double time_s) const { return rest_ ? *rest_ : sky_->at(time_s, mode_.stowed); }

TileSystem::Followed TileSystem::held_tilt(std::span<const double> x) const {
  const TiltHold& hold = *case_.hold;
  const double least_rad = case_.sun.tilt_rad, room_rad = hold.most_tilt_rad - least_rad;
  const double share = 1.0 - (hold.below_K - network_.temperature_K(held_->first, x)) / hold.band_K;
  if (share <= 0.0) return {least_rad, 0.0, -1};
  if (share >= 1.0) return {hold.most_tilt_rad, 0.0, -1};
  return {least_rad + share * room_rad, room_rad / hold.band_K, 0};
}

SkyState TileSystem::sky(double time_s, std::span<const double> x) const {
  SkyState state = untilted_sky(time_s);
  if (!held_ || mode_.stowed) return state;
  state.tilt_rad = held_tilt(x).value;
  state.front_sun_W_per_m2 = state.normal_W_per_m2 * std::max(0.0, std::cos(state.tilt_rad));
  state.cells_W_per_m2 = state.normal_W_per_m2 * sky_->cells_share(state.tilt_rad);
  return state;
}

template <class Visit>
void TileSystem::for_each_sky_heat(const SkyState& sky, std::span<const double> x, const Visit& visit) const {
  for (const Sunlit& face : sunlit_) {
    const double sun_W = face.front_sun_m2 * sky.front_sun_W_per_m2 + face.rear_sun_m2 * sky.rear_sun_W_per_m2;
    const double planet_W =
        face.front_albedo_m2 * sky.front_albedo_W_per_m2 + face.rear_albedo_m2 * sky.rear_albedo_W_per_m2 +
        face.front_infrared_m2 * sky.front_infrared_W_per_m2 + face.rear_infrared_m2 * sky.rear_infrared_W_per_m2;
    visit(face.node, face.place, sun_W, planet_W);
  }
  for (const LouvredFace& face : louvred_) {
    const double arriving =
        face.front_share * sky.front_infrared_W_per_m2 + face.rear_share * sky.rear_infrared_W_per_m2;
    visit(face.node, face.place, 0.0, arriving * face.emitting_m2.value(network_.temperature_K(face.node, x)));
  }
}

void TileSystem::add_sky_heat(double time_s, std::span<const double> x, std::span<double> by_unknown) const {
  for_each_sky_heat(sky(time_s, x), x, [&](NodeId, int place, double sun_W, double planet_W) {
    if (place >= 0) by_unknown[static_cast<std::size_t>(place)] += sun_W + planet_W;
  });
}

void TileSystem::add_sky_heat_by_node(double time_s, std::span<const double> x, std::vector<double>& by_node) const {
  for_each_sky_heat(sky(time_s, x), x, [&](NodeId node, int, double sun_W, double planet_W) {
    by_node[static_cast<std::size_t>(node)] += sun_W + planet_W;
  });
}

void TileSystem::add_sky_to_books(double time_s, std::span<const double> x, Ledger& books) const {
  const SkyState state = sky(time_s, x);
  books.sunlight_met_W = state.front_sun_W_per_m2 * met_front_m2_ + state.rear_sun_W_per_m2 * met_rear_m2_;
  books.absorbed_W = state.front_sun_W_per_m2 * fin_front_m2_ + state.rear_sun_W_per_m2 * fin_rear_m2_;
  for_each_sky_heat(state, x, [&](NodeId, int, double sun_W, double planet_W) {
    books.absorbed_W += sun_W;
    books.planet_W += planet_W;
  });
  books.reflected_W = books.sunlight_met_W - books.absorbed_W;
}

double TileSystem::typical_sky_W() const {
  double sum_W = 0.0;
  const std::vector<double> guess(static_cast<std::size_t>(size()), 293.15);
  for_each_sky_heat(mean_, guess, [&](NodeId, int, double sun_W, double planet_W) { sum_W += sun_W + planet_W; });
  return sum_W + mean_.front_sun_W_per_m2 * fin_front_m2_ + mean_.rear_sun_W_per_m2 * fin_rear_m2_;
}

void TileSystem::add_sky_derivatives(double time_s, std::span<const double> x, std::span<double> values) const {
  const SkyState state = untilted_sky(time_s);
  for (const LouvredFace& face : louvred_) {
    if (face.place < 0) continue;
    const double arriving =
        face.front_share * state.front_infrared_W_per_m2 + face.rear_share * state.rear_infrared_W_per_m2;
    const auto place = static_cast<std::size_t>(face.place);
    const Dual<1> emitting = face.emitting_m2.value(variable<1>(x[place], 0));  // never a melting node
    values[static_cast<std::size_t>(diagonal_[place])] += arriving * emitting.derivatives()[0];
  }
  if (!held_ || mode_.stowed) return;
  const Followed tilt = held_tilt(x);
  const double slope = -std::sin(tilt.value) * tilt.slope_per_K * state.normal_W_per_m2;
  for (std::size_t i = 0; i < sunlit_.size(); ++i) {
    if (held_position_[i] >= 0) values[static_cast<std::size_t>(held_position_[i])] += sunlit_[i].front_sun_m2 * slope;
  }
}

}  // namespace tileflux::tile
