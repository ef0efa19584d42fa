#include "tileflux/solvers/system.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <utility>

#include "solvers/worst.h"

namespace tileflux::solvers {

int Pattern::position(int row_index, int column_index) const {
  const auto begin = row.begin() + column_start[static_cast<std::size_t>(column_index)];
  const auto end = row.begin() + column_start[static_cast<std::size_t>(column_index) + 1];
  const auto found = std::lower_bound(begin, end, row_index);
  return found != end && *found == row_index ? static_cast<int>(found - row.begin()) : -1;
}

Pattern Pattern::from_positions(int size, const std::vector<std::pair<int, int>>& row_and_column) {
  std::vector<std::pair<int, int>> by_column;
  by_column.reserve(row_and_column.size() + static_cast<std::size_t>(size));
  for (const auto& [r, c] : row_and_column) by_column.emplace_back(c, r);
  for (int i = 0; i < size; ++i) by_column.emplace_back(i, i);
  std::sort(by_column.begin(), by_column.end());
  by_column.erase(std::unique(by_column.begin(), by_column.end()), by_column.end());

  Pattern pattern;
  pattern.size = size;
  pattern.column_start.assign(static_cast<std::size_t>(size) + 1, 0);
  pattern.row.reserve(by_column.size());
  for (const auto& [c, r] : by_column) {
    ++pattern.column_start[static_cast<std::size_t>(c) + 1];
    pattern.row.push_back(r);
  }
  for (std::size_t j = 1; j < pattern.column_start.size(); ++j) pattern.column_start[j] += pattern.column_start[j - 1];
  return pattern;
}

void System::rate_coefficients(double time_s, std::span<const double> x, std::span<double> coefficients) const {
  const auto flags = differential();
  const std::vector<double> rest(x.size(), 0.0), unit(x.size(), 1.0);
  std::vector<double> moving(x.size(), 0.0);
  const bool inside = residual(time_s, x, rest, coefficients) && residual(time_s, x, unit, moving);
  for (std::size_t i = 0; i < x.size(); ++i) coefficients[i] = inside && flags[i] ? coefficients[i] - moving[i] : 0.0;
}

std::vector<int> largest_three(std::span<const double> values) {
  std::vector<int> order(values.size());
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = static_cast<int>(i);
  const std::size_t kept = std::min<std::size_t>(3, order.size());
  const auto size_of = [&](int i) {
    const double value = std::abs(values[static_cast<std::size_t>(i)]);
    return std::isnan(value) ? HUGE_VAL : value;
  };
  std::partial_sort(order.begin(), order.begin() + static_cast<std::ptrdiff_t>(kept), order.end(),
                    [&](int a, int b) { return size_of(a) > size_of(b); });
  order.resize(kept);
  return order;
}

std::string name_worst(const System& system, const std::vector<int>& worst, std::span<const double> values,
                       const char* unit) {
  std::string text;
  for (const int index : worst) {
    char number[48];
    std::snprintf(number, sizeof number, " (%.3g%s)", values[static_cast<std::size_t>(index)], unit);
    if (!text.empty()) text += ", ";
    text += system.unknown_name(index) + number;
  }
  return text;
}

}  // namespace tileflux::solvers
