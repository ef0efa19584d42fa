#pragma once
/// How the margins and the light of a run follow inputs: the linearised equations, carried along it.

#include <Eigen/Core>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "studies/moved.h"
#include "studies/trajectory.h"

namespace tileflux::studies {

class RunSlopes {
 public:
  /// Goes through the run of a case.
  explicit RunSlopes(const tile::Case& description);

  /// Why there are no slopes: something breaks, wears, or switches by its temperature or charge; empty: there are.
  const std::string& why_not() const { return why_not_; }

  double mean_light_W() const { return mean_light_W_; }
  /// Over the run: of limits on temperatures, differences and gradients.
  const std::vector<Margin>& margins() const { return margins_; }

  /// d(mean light, margins)/d(input): a column per input. NaN where an input moves one of two edges that coincide.
  /// `go_on` is told the share done; false ends it with NaN.
  Eigen::MatrixXd along(std::vector<Moved>& moved, const std::function<bool(double)>& go_on);

 private:
  Eigen::VectorXd begin_slopes(Moved& moved);
  /// How the begin of a piece moves with an input.
  double motion_of(std::size_t piece, Moved& moved) const;
  tile::Mode mode_of(std::size_t piece, const tile::Case& description) const;
  double light_at(std::size_t piece, bool begin);

  tile::TileSystem system_;
  std::string why_not_;
  double mean_light_W_ = 0.0, duration_s_ = 0.0;
  std::vector<Margin> margins_;
  std::vector<Instant> worst_;  ///< per margin
  std::optional<Trajectory> trajectory_;
};

}  // namespace tileflux::studies
