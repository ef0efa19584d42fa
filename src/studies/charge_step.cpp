#include "studies/charge_step.h"

#include <algorithm>
#include <cmath>

namespace tileflux::studies {

double ChargeStep::next(double percent, double gain_percent, double stiffness, double noise, double close_percent) {
  bracketed_ = false;
  neutral_ = std::abs(stiffness) <= noise && std::abs(gain_percent) <= close_percent;
  if (neutral_) return percent;
  // Temperatures move meanwhile: what was seen at a charge is forgotten where it no longer holds, and looked at again
  // when all answers come from the other side.
  same_side_ = last_gained_ == (gain_percent > 0.0) ? same_side_ + 1 : 0;
  last_gained_ = gain_percent > 0.0;
  if (gain_percent > 0.0) {
    gains_at_ = percent;
    if (loses_at_ && *loses_at_ <= percent) loses_at_.reset();
  } else {
    loses_at_ = percent;
    if (gains_at_ && *gains_at_ >= percent) gains_at_.reset();
  }
  const double low = gain_percent > 0.0 ? percent : gains_at_.value_or(least_);
  const double high = gain_percent > 0.0 ? loses_at_.value_or(most_) : percent;
  if (stiffness > noise) {
    const double newton = percent + gain_percent / stiffness;
    if (newton > low && newton < high) return newton;
    // An end that nothing was seen at is as far as it goes.
    if (std::abs(newton - percent) <= close_percent) return std::clamp(newton, least_, most_);
  }
  bracketed_ = true;
  constexpr int most_same_side = 4;
  const bool again = same_side_ >= most_same_side;
  if (again) same_side_ = 0;
  if (gain_percent > 0.0) return !loses_at_ || again ? high : 0.5 * (low + high);
  return !gains_at_ || again ? low : 0.5 * (low + high);
}

}  // namespace tileflux::studies
