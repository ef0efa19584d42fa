#include "studies/moved.h"

#include <cmath>
#include <span>

namespace tileflux::studies {

namespace {

struct StencilEntry {
  double steps, weight;
};
/// First derivatives of second order: Abramowitz & Stegun 1964, Handbook of Mathematical Functions, table 25.2.
constexpr StencilEntry central[] = {{-1.0, -0.5}, {1.0, 0.5}};
constexpr StencilEntry one_sided[] = {{0.0, -1.5}, {1.0, 2.0}, {2.0, -0.5}};

/// Round-off of a balance in watts over this is still far below what anything buys.
double step_of(const GainInput& input) {
  constexpr double of_zero = 5.0;
  return input.step_share * (input.value != 0.0 ? std::abs(input.value) : of_zero);
}

}  // namespace

bool Moved::try_stencil(const GainInput& input, const tile::TileSystem& base, double step, bool is_central) {
  tiles_.clear();
  const std::span<const StencilEntry> entries =
      is_central ? std::span<const StencilEntry>(central) : std::span<const StencilEntry>(one_sided);
  try {
    for (const StencilEntry& entry : entries) {
      tiles_.push_back({entry.weight / step, tile::TileSystem(input.case_at(input.value + entry.steps * step))});
      if (tiles_.back().system.size() != base.size())
        throw Error(Code::internal, "moving it changes which parts have a temperature to be found");
    }
  } catch (const Error& error) {
    if (!why_not_) why_not_ = error;
    tiles_.clear();
  }
  return !tiles_.empty();
}

Moved::Moved(const GainInput& input, const tile::TileSystem& base) {
  const double step = step_of(input);
  if (try_stencil(input, base, step, true)) return;
  if (try_stencil(input, base, step, false)) return;
  if (try_stencil(input, base, -step, false)) return;
  throw *why_not_;
}

}  // namespace tileflux::studies
