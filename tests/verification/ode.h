#pragma once
/// Small systems of equations for the product's transient solver: a law over any scalar gives residual and exact Jacobian.

#include <array>
#include <string>
#include <utility>
#include <vector>

#include "tileflux/base/dual.h"
#include "tileflux/solvers/transient.h"

namespace tileflux::verification {

/// c_i x_i' = f_i(t, x), with c_i = 0 for an algebraic equation. `Law` maps (t, array of scalars) to such an array.
template <int Size, class Law>
class OdeSystem : public solvers::System {
 public:
  explicit OdeSystem(Law law) : OdeSystem(std::move(law), all_one()) {}
  OdeSystem(Law law, const std::array<double, Size>& rate_coefficient) : law_(std::move(law)), coefficient_(rate_coefficient) {
    std::vector<std::pair<int, int>> positions;
    for (int i = 0; i < Size; ++i) {
      for (int j = 0; j < Size; ++j) positions.emplace_back(i, j);
      differential_[static_cast<std::size_t>(i)] = coefficient_[static_cast<std::size_t>(i)] > 0.0 ? 1 : 0;
    }
    pattern_ = solvers::Pattern::from_positions(Size, positions);
  }

  int size() const override { return Size; }
  const solvers::Pattern& pattern() const override { return pattern_; }
  std::span<const std::uint8_t> differential() const override { return differential_; }

  bool residual(double time_s, std::span<const double> x, std::span<const double> rate, std::span<double> residual) const override {
    std::array<double, Size> state;
    std::copy(x.begin(), x.end(), state.begin());
    const std::array<double, Size> value = law_(time_s, state);
    for (std::size_t i = 0; i < Size; ++i) residual[i] = value[i] - coefficient_[i] * rate[i];
    return true;
  }

  void jacobian(double time_s, std::span<const double> x, std::span<const double>, double rate_factor, std::span<double> values) const override {
    std::array<Dual<Size>, Size> state;
    for (int i = 0; i < Size; ++i) state[static_cast<std::size_t>(i)] = variable<Size>(x[static_cast<std::size_t>(i)], i);
    const std::array<Dual<Size>, Size> value = law_(time_s, state);
    for (int column = 0; column < Size; ++column) {
      for (int row = 0; row < Size; ++row) {
        double& entry = values[static_cast<std::size_t>(column * Size + row)];
        entry = value[static_cast<std::size_t>(row)].derivatives()(column);
        if (row == column) entry -= rate_factor * coefficient_[static_cast<std::size_t>(row)];
      }
    }
  }

  std::string unknown_name(int index) const override { return "y" + std::to_string(index + 1); }

 private:
  static std::array<double, Size> all_one() {
    std::array<double, Size> ones;
    ones.fill(1.0);
    return ones;
  }

  Law law_;
  std::array<double, Size> coefficient_;
  std::array<std::uint8_t, Size> differential_{};
  solvers::Pattern pattern_;
};

struct Tolerances {
  double relative = 1e-10;
  double absolute = 1e-12;
};

/// The state at a time, carried there from time 0 by the product's transient solver.
inline std::vector<double> carry(const solvers::System& system, const std::vector<double>& start, double end_s, Tolerances tolerances) {
  solvers::TransientOptions options;
  options.relative_tolerance = tolerances.relative;
  options.absolute_tolerance = tolerances.absolute;
  options.most_steps_per_segment = 5'000'000;
  solvers::Transient transient(system, nullptr, nullptr, options);
  transient.start(0.0, start);
  transient.advance(end_s);
  return {transient.state().begin(), transient.state().end()};
}

}  // namespace tileflux::verification
