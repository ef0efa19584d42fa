#pragma once
/// How the sustainable duty, and the mean light at it, follow inputs.
///
/// The state that a cycle repeats is x0 = cycle(x0, p, d), with the on-fraction d. Its slopes are s0 = (I - M)^-1 w: M
/// is what the linearised equations make of a disturbance in one cycle, w what an input adds on the way. A switch that
/// moves by dt adds (x' before - x' after) dt. The duty is the d at which the binding margin m is just zero:
/// dd/dp = -(dm/dp) / (dm/dd). m is that of a limit at its worst instant; where energy binds, one of two:
///   - what a cycle adds to the charge, where the battery is large enough for all that is left over to be kept: at the
///     duty the charge may be anything between full and empty, so temperatures repeat and the charge is looked at;
///   - what cells and battery could give the lasers on top of what they ask for, at the instant at which that is least,
///     where the battery is filled and emptied within the cycle, or loses charge by itself.

#include <Eigen/Dense>
#include <optional>
#include <string>
#include <vector>

#include "studies/moved.h"
#include "studies/trajectory.h"
#include "tileflux/studies/sustainable.h"

namespace tileflux::studies {

class CycleSlopes {
 public:
  /// `duty` is what sustainable_duty found for the tile.
  CycleSlopes(tile::TileSystem& system, const SustainableDuty& duty);

  /// Why there are no slopes: there is no duty, or nothing that binds follows it; empty: there are.
  const std::string& why_not() const { return why_not_; }

  struct Slopes {
    double duty = 0.0, light_W = 0.0;
  };
  Slopes along(Moved& moved) const;

 private:
  /// How the clock of a cycle moves: its begin, the period of the beam, and the on-fraction.
  struct Clock {
    double begin = 0.0, period = 0.0, fraction = 0.0;
  };
  /// What one input, or the on-fraction, does with everything else as it is.
  struct Effect {
    double margin = 0.0, light_W = 0.0;
  };
  struct Sources {
    std::vector<Eigen::VectorXd> stage, begin;  ///< F_p per stage, and at the begin of each piece
    double light = 0.0;                         ///< integral of how the light follows explicitly
    double margin = 0.0;                        ///< how the binding margin does at its instant
  };

  /// What is just zero at the duty.
  enum class Binds { nothing, limit, rate, kept_charge, spare_power };

  Binds what_binds() const;
  void find_worst();
  /// The binding margin on a rate, or the spare power, as a function of time and state.
  double margin_at(const tile::TileSystem& system, double time_s, const std::vector<double>& x) const;
  void find_repeating();
  double piece_motion(std::size_t piece, const Clock& clock) const;
  double instant_motion(const Clock& clock) const;
  Sources sources_of(Moved& moved) const;
  Clock clock_of(Moved& moved) const;
  Effect effect_of(const Clock& clock, const Sources* sources) const;
  /// How the binding margin follows the unknowns at its instant.
  Eigen::RowVectorXd worst_row() const;
  tile::Mode mode_of(std::size_t piece, const tile::Case& description) const;
  double light_at(std::size_t piece, bool begin) const;

  tile::TileSystem& system_;
  const SustainableDuty& duty_;
  CycleSettings settings_;
  std::string why_not_;
  std::optional<Trajectory> trajectory_;
  Binds binds_ = Binds::nothing;
  std::vector<int> stored_;   ///< unknowns that repeat
  std::vector<int> jumping_;  ///< unknowns whose rates jump at switches: these, and a charge that need not repeat
  std::vector<Eigen::RowVectorXd> light_row_;  ///< per stage
  Instant worst_;
  std::vector<double> worst_x_, worst_rate_;
  double drift_per_s_ = 0.0;      ///< of margin_at there, with the unknowns as they are
  Eigen::MatrixXd worst_map_;     ///< slopes at the worst instant from those at the begin: unknowns x stored
  Eigen::RowVectorXd light_map_;  ///< integral of the light's slopes likewise
  Eigen::PartialPivLU<Eigen::MatrixXd> repeating_;  ///< I - M
  Effect of_fraction_;
};

}  // namespace tileflux::studies
