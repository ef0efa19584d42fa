#pragma once
/// A network with steady heat into its nodes as a system that the solvers take, without the tile around it.

#include <span>
#include <string>
#include <vector>

#include "tileflux/network/network.h"
#include "tileflux/solvers/system.h"

namespace tileflux::test {

class NetworkSystem : public solvers::System {
 public:
  explicit NetworkSystem(network::Network network) : network_(std::move(network)) {
    pattern_ = solvers::Pattern::from_positions(network_.unknown_count(), network_.positions());
    network_.bind(pattern_);
    for (int i = 0; i < network_.unknown_count(); ++i) {
      const network::Node& node = network_.node(network_.node_of_unknown(i));
      differential_.push_back(node.differential() ? 1 : 0);
      capacity_J_per_K_.push_back(node.differential() ? node.capacity_J_per_K.values()[0] : 0.0);  // constants only
    }
    heat_W.assign(differential_.size(), 0.0);
  }

  std::vector<double> heat_W;  ///< into each unknown

  const network::Network& network() const { return network_; }
  int size() const override { return network_.unknown_count(); }
  const solvers::Pattern& pattern() const override { return pattern_; }
  std::span<const std::uint8_t> differential() const override { return differential_; }
  bool residual(double, std::span<const double> x, std::span<const double> rate, std::span<double> out) const override {
    std::copy(heat_W.begin(), heat_W.end(), out.begin());
    network_.add_heat(x, out);
    for (std::size_t i = 0; i < x.size(); ++i) out[i] -= capacity_J_per_K_[i] * rate[i];
    return true;
  }
  void jacobian(double, std::span<const double> x, std::span<const double>, double rate_factor, std::span<double> values) const override {
    std::fill(values.begin(), values.end(), 0.0);
    network_.add_derivatives(x, values);
    for (int i = 0; i < size(); ++i) values[static_cast<std::size_t>(pattern_.position(i, i))] -= rate_factor * capacity_J_per_K_[static_cast<std::size_t>(i)];
  }
  std::string unknown_name(int index) const override { return network_.node(network_.node_of_unknown(index)).name; }

 private:
  network::Network network_;
  solvers::Pattern pattern_;
  std::vector<std::uint8_t> differential_;
  std::vector<double> capacity_J_per_K_;
};

}  // namespace tileflux::test
