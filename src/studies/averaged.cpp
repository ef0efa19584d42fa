#include "studies/averaged.h"

#include <algorithm>

#include "tileflux/solvers/steady.h"

namespace tileflux::studies {

AveragedSystem::AveragedSystem(const tile::TileSystem& on, const tile::TileSystem& off, double on_share)
    : on_(on), off_(off), share_(on_share) {
  const auto stores = on.differential();
  differential_.assign(stores.begin(), stores.end());
  size_ = on.size();
  for (int i = 0; i < on.size(); ++i) {
    const bool massless = stores[static_cast<std::size_t>(i)] == 0;
    off_place_.push_back(massless ? size_++ : i);
    if (massless) differential_.push_back(0);
  }
  std::vector<std::pair<int, int>> positions;
  const solvers::Pattern& inner = on.pattern();
  for (int column = 0; column < on.size(); ++column) {
    for (int k = inner.column_start[static_cast<std::size_t>(column)];
         k < inner.column_start[static_cast<std::size_t>(column) + 1]; ++k) {
      const int row = inner.row[static_cast<std::size_t>(k)];
      positions.emplace_back(row, column);
      positions.emplace_back(off_place_[static_cast<std::size_t>(row)], off_place_[static_cast<std::size_t>(column)]);
    }
  }
  pattern_ = solvers::Pattern::from_positions(size_, positions);
}

std::vector<double> AveragedSystem::on_state(std::span<const double> x) const {
  return {x.begin(), x.begin() + on_.size()};
}

std::vector<double> AveragedSystem::off_state(std::span<const double> x) const {
  std::vector<double> state;
  for (const int place : off_place_) state.push_back(x[static_cast<std::size_t>(place)]);
  return state;
}

bool AveragedSystem::residual(double time_s, std::span<const double> x, std::span<const double> rate,
                              std::span<double> residual) const {
  const auto tile_size = static_cast<std::size_t>(on_.size());
  std::vector<double> on_heat(tile_size), off_heat(tile_size);
  const std::vector<double> no_rate(tile_size, 0.0);
  if (!on_.residual(time_s, on_state(x), no_rate, on_heat) || !off_.residual(time_s, off_state(x), no_rate, off_heat))
    return false;
  const std::vector<double> capacity = [&] {
    std::vector<double> heat(tile_size);
    const std::vector<double> unit(tile_size, 1.0);
    on_.residual(time_s, on_state(x), unit, heat);
    for (std::size_t i = 0; i < tile_size; ++i) heat[i] = on_heat[i] - heat[i];
    return heat;
  }();
  for (std::size_t i = 0; i < tile_size; ++i) {
    const auto off_row = static_cast<std::size_t>(off_place_[i]);
    if (off_row == i) {
      residual[i] = share_ * on_heat[i] + (1.0 - share_) * off_heat[i] - capacity[i] * rate[i];
    } else {
      residual[i] = on_heat[i];
      residual[off_row] = off_heat[i];
    }
  }
  return true;
}

void AveragedSystem::jacobian(double time_s, std::span<const double> x, std::span<const double> rate,
                              double rate_factor, std::span<double> values) const {
  const solvers::Pattern& inner = on_.pattern();
  const auto entries = static_cast<std::size_t>(inner.nonzeros());
  std::vector<double> on_values(entries), off_values(entries);
  std::vector<double> tile_rate(rate.begin(), rate.begin() + on_.size());
  // Both carry the same heat capacities, so shares of the two add up to the whole rate term.
  on_.jacobian(time_s, on_state(x), tile_rate, rate_factor, on_values);
  off_.jacobian(time_s, off_state(x), tile_rate, rate_factor, off_values);
  std::fill(values.begin(), values.end(), 0.0);
  for (int column = 0; column < on_.size(); ++column) {
    for (int k = inner.column_start[static_cast<std::size_t>(column)];
         k < inner.column_start[static_cast<std::size_t>(column) + 1]; ++k) {
      const int row = inner.row[static_cast<std::size_t>(k)];
      const int off_row = off_place_[static_cast<std::size_t>(row)];
      const bool mean = off_row == row;
      const int off_column = off_place_[static_cast<std::size_t>(column)];
      values[static_cast<std::size_t>(pattern_.position(row, column))] +=
          (mean ? share_ : 1.0) * on_values[static_cast<std::size_t>(k)];
      values[static_cast<std::size_t>(pattern_.position(off_row, off_column))] +=
          (mean ? 1.0 - share_ : 1.0) * off_values[static_cast<std::size_t>(k)];
    }
  }
}

std::string AveragedSystem::unknown_name(int index) const {
  if (index < on_.size()) return on_.unknown_name(index);
  const auto found = std::find(off_place_.begin(), off_place_.end(), index);
  return on_.unknown_name(static_cast<int>(found - off_place_.begin())) + " with the beam off";
}

AveragedPoint averaged_point(const tile::TileSystem& on, const tile::TileSystem& off, double on_share) {
  const AveragedSystem system(on, off, on_share);
  solvers::SteadyOptions options;
  options.residual_scale_W = std::max(on.power_scale_W(), off.power_scale_W());
  std::vector<double> guess = on.uniform_state(on.uniform_guess_K());
  guess.resize(static_cast<std::size_t>(system.size()), on.uniform_guess_K());
  const solvers::SteadySolution solution = solvers::find_steady(system, std::move(guess), options);
  if (!solution.found()) throw Error(Code::steady_not_found, "duty-averaged tile: " + solution.trouble);
  AveragedPoint point;
  point.on_x = system.on_state(solution.x);
  point.off_x = system.off_state(solution.x);
  // Temperatures stand still between ever shorter phases, their rates do not.
  const auto margins_of = [](const tile::TileSystem& phase, const std::vector<double>& x) {
    return margins_at(phase, x, has_rate_limits(phase) ? rates_at(phase, 0.0, x) : std::vector<double>{});
  };
  point.margins = margins_of(on, point.on_x);
  const std::vector<Margin> off_margins = margins_of(off, point.off_x);
  if (on_share < 1.0) point.margins.insert(point.margins.end(), off_margins.begin(), off_margins.end());
  return point;
}

}  // namespace tileflux::studies
