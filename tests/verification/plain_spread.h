#pragma once
/// The linear spread of an answer that is the sum of independent inputs.

#include <Eigen/Core>
#include <string>
#include <vector>

#include "tileflux/studies/margins.h"
#include "tileflux/tile/uncertain_inputs.h"

namespace tileflux::verification {

/// Standard deviation of the sum of inputs with these standard deviations.
inline double standard_deviation_of_sum(const std::vector<double>& effects) {
  std::vector<tile::UncertainInput> inputs;
  for (const double effect : effects) {
    inputs.emplace_back();
    inputs.back().path = std::to_string(inputs.size());
    inputs.back().law.standard_deviation = effect;
  }
  const std::vector<double> stated{0.0};
  const Eigen::MatrixXd slopes = Eigen::MatrixXd::Ones(1, static_cast<Eigen::Index>(effects.size()));
  return studies::linear_spread(inputs, stated, slopes, 1).front().standard_deviation;
}

}  // namespace tileflux::verification
