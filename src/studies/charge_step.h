#pragma once
/// The step of a battery's charge from cycle to cycle, which has no rate of its own between its two ends.

#include <optional>

namespace tileflux::studies {

class ChargeStep {
 public:
  /// The charges between which the answer lies.
  ChargeStep(double least_percent, double most_percent) : least_(least_percent), most_(most_percent) {}

  /// The next charge. `gain_percent` is what a cycle adds at `percent` once everything else has settled, `stiffness`
  /// how much that falls per percent of charge (1 - multiplier), `noise` what of it is round-off, `close_percent` what
  /// counts as no gain.
  double next(double percent, double gain_percent, double stiffness, double noise, double close_percent);

  /// Whether the last charge is repeated without anything that holds it there.
  bool neutral() const { return neutral_; }
  /// Whether the last step was one between two ends and not one of Newton's.
  bool bracketed() const { return bracketed_; }

 private:
  double least_, most_;
  std::optional<double> gains_at_, loses_at_;  ///< charges at which a cycle was seen to gain and to lose
  bool neutral_ = false, bracketed_ = false;
  bool last_gained_ = false;
  int same_side_ = 0;  ///< answers in a row from the same side
};

}  // namespace tileflux::studies
