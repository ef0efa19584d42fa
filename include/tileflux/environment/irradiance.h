#pragma once
/// Solar irradiance by standard, and distance and tilt as a table over time.

#include <span>
#include <string_view>
#include <vector>

namespace tileflux::environment {

/// Total solar irradiance at 1 AU as somebody has laid it down. `basis` as in materials/README.md: published,
/// transcribed or memory.
struct IrradianceStandard {
  std::string_view name;
  double at_1AU_W_per_m2;
  std::string_view source;
  std::string_view basis;
};

/// Newest first.
std::span<const IrradianceStandard> irradiance_standards();

/// The standard of that name, nullptr if there is none.
const IrradianceStandard* irradiance_standard(std::string_view name);

/// A value over time, linear between its rows: a distance from the Sun, a tilt.
class TimeTable {
 public:
  /// Throws Error(table_shape) for less than two rows or unequal columns, Error(table_not_rising) naming the first row
  /// (from 1) whose time is not above that of the row before, Error(number_not_finite) for what is no number.
  TimeTable(std::vector<double> time_s, std::vector<double> value);

  double start_s() const { return time_s_.front(); }
  double end_s() const { return time_s_.back(); }
  bool covers(double time_s) const { return time_s >= start_s() && time_s <= end_s(); }

  /// Throws Error(value_out_of_range) outside the table: nothing is extrapolated.
  double at(double time_s) const;

 private:
  std::vector<double> time_s_, value_;
};

}  // namespace tileflux::environment
