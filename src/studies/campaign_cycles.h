#pragma once
/// Whether and how long a campaign repeats, and when its state does.

#include <optional>
#include <span>
#include <vector>

#include "tileflux/tile/tile_system.h"

namespace tileflux::studies {

/// A stretch of equal cycles: everything that is commanded, and the surroundings, repeat from `begin_s` on.
struct CyclePlan {
  double begin_s = 0.0;
  double period_s = 0.0;
  long cycles = 0;
};

/// The period with which everything goes on for longest from a time at which a window opens, and for how many cycles;
/// none if it does for fewer than are worth it. Nothing after `end_s` counts.
std::optional<CyclePlan> cycle_plan(const tile::TileSystem& system, const tile::Timetable& timetable, double time_s,
                                    double end_s);

/// The longest time constant of the temperatures near a state in s, a battery's charge held; 0 without heat capacity.
double slowest_thermal_s(const tile::TileSystem& system, std::span<const double> x);

/// Judges whether a state that comes back cycle by cycle is the one that repeats. The change over a cycle is not the
/// distance to that state: with a slowest multiplier m the distance is change / (1 - m), and what adds up over the
/// cycles that are left is no more than the change times their number.
class RepeatJudge {
 public:
  /// `slowest` is the multiplier over a cycle of the slowest mode of the tile, linearised; changes below `noise_K` are
  /// those of the solver and say nothing of the multiplier.
  RepeatJudge(double close_K, double noise_K, double slowest)
      : close_K_(close_K), noise_K_(noise_K), slowest_(slowest) {}

  /// Takes the largest change over a cycle; returns whether the state may be taken for the `left` cycles that follow.
  bool take(double change_K, long left);
  /// How far it may be off; after `take`.
  double error_K() const { return error_K_; }
  /// After a cycle that cannot be compared.
  void forget() { before_K_ = -1.0, ratio_ = 1.0; }

 private:
  double close_K_, noise_K_, slowest_;
  double before_K_ = -1.0;
  double ratio_ = 1.0;  ///< of the last two changes; until there are two, one that says nothing
  double error_K_ = 0.0;
};

}  // namespace tileflux::studies
