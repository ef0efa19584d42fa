#include "tileflux/environment/irradiance.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <string>

#include "tileflux/base/constants.h"
#include "tileflux/base/errors.h"

namespace tileflux::environment {

namespace {

constexpr std::array<IrradianceStandard, 4> standards{{
    {"iau_2015", solar_irradiance_at_1AU_W_per_m2, "IAU 2015 Resolution B3, nominal total solar irradiance",
     "published"},
    {"measured_2011", 1360.8,
     "Kopp & Lean 2011, Geophysical Research Letters 38, L01706: solar minimum, 1360.8 +/- 0.5 W/m2", "published"},
    {"astm_2000", 1366.1,
     "ASTM E490-00, the integral of its spectrum at zero air mass, read in NREL, Solar Spectra: Air Mass Zero, "
     "rredc.nrel.gov/solar/spectra/am0",
     "transcribed"},
    {"older_1353", 1353.0,
     "Test level of space cells at air mass zero, 135.3 mW/cm2, read in Fetzer et al., IEEE PVSC 2010, abstract",
     "transcribed"},
}};

}  // namespace

std::span<const IrradianceStandard> irradiance_standards() { return standards; }

const IrradianceStandard* irradiance_standard(std::string_view name) {
  const auto found =
      std::find_if(standards.begin(), standards.end(), [&](const IrradianceStandard& one) { return one.name == name; });
  return found == standards.end() ? nullptr : &*found;
}

TimeTable::TimeTable(std::vector<double> time_s, std::vector<double> value)
    : time_s_(std::move(time_s)), value_(std::move(value)) {
  if (time_s_.size() != value_.size() || time_s_.size() < 2)
    throw Error(Code::table_shape, "a table over time needs two rows or more of two columns");
  for (std::size_t i = 0; i < time_s_.size(); ++i) {
    const std::string row = "row " + std::to_string(i + 1);
    if (!std::isfinite(time_s_[i]) || !std::isfinite(value_[i]))
      throw Error(Code::number_not_finite, row + " of a table over time holds what is no number");
    if (i > 0 && !(time_s_[i] > time_s_[i - 1]))
      throw Error(Code::table_not_rising, "the time of " + row + " is not above that of the row before");
  }
}

double TimeTable::at(double time_s) const {
  if (!covers(time_s))
    throw Error(Code::value_out_of_range, "the time " + std::to_string(time_s) +
                                              " s lies outside the table, which runs from " +
                                              std::to_string(start_s()) + " to " + std::to_string(end_s()) + " s");
  const auto above = std::upper_bound(time_s_.begin() + 1, time_s_.end() - 1, time_s);
  const auto i = static_cast<std::size_t>(above - time_s_.begin());
  const double share = (time_s - time_s_[i - 1]) / (time_s_[i] - time_s_[i - 1]);
  return value_[i - 1] + share * (value_[i] - value_[i - 1]);
}

}  // namespace tileflux::environment
