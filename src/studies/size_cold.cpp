#include <algorithm>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>

#include "studies/modes.h"
#include "studies/size_parts.h"

namespace tileflux::studies {

namespace {

/// The heater is a load that follows a pattern: its share of time on is what a mode sets without building anew.
tile::Case with_heater(tile::Case description, const std::string& node) {
  description.loads.push_back(
      {.node = node, .power_W = 1.0, .when = tile::Load::When::pattern, .pattern = {1.0, 1.0, 0.0}});
  return description;
}

/// The smallest margin to a lower bound, or none without one.
std::optional<Margin> coldest(const OperatingPoint& point) {
  std::vector<Margin> lower;
  for (const Margin& margin : point.margins) {
    if (margin.kind == LimitKind::temperature && !margin.upper) lower.push_back(margin);
  }
  return binding(lower);
}

}  // namespace

ColdCase cold_case(const tile::Case& cold, const tile::SizeSettings& settings, const tile::RadiatorDesign& design) {
  ColdCase result;
  result.heater = settings.cold->heater;
  const tile::Case sized = with_radiator(with_heater(cold, result.heater), settings.surface, design);
  for (const tile::Surface& surface : sized.surfaces) {
    if (surface.name == settings.surface) result.sink_K = tile::sink_temperature_K(sized, surface);
  }
  tile::TileSystem system(sized);
  const auto at = [&](double power_W, std::vector<double> guess) {
    tile::Mode mode = steady_mode(sized, settings.cold->beam && sized.beam.has_value(), true);
    mode.pattern_share.back() = power_W;
    system.set_mode(mode);
    return operating_point(system, std::move(guess));
  };
  result.point = at(0.0, {});
  const std::optional<Margin> without = coldest(result.point);
  if (!without || without->margin >= 0.0) return result;

  const double scale_W = system.power_scale_W();
  double low_W = 0.0, low_K = without->margin, high_W = scale_W, high_K = low_K;
  std::vector<double> last = result.point.x;
  std::string node = without->node;
  const auto margin_K = [&](double power_W) {
    const OperatingPoint point = at(power_W, last);
    last = point.x;
    const Margin margin = *coldest(point);
    node = margin.node;
    return margin.margin;
  };
  // A part that the heater does not reach stays cold while the heater's own part leaves every law behind.
  constexpr double step = 2.0, most = 1e3;
  try {
    for (; (high_K = margin_K(high_W)) < 0.0; high_W *= step) {
      low_W = high_W;
      low_K = high_K;
      result.held = high_W <= most * scale_W;
      result.unreached = result.held ? "" : node;
      if (!result.held) return result;
    }
  } catch (const Error& error) {
    if (error.exit_status() != 3) throw;
    result.held = false;
    result.unreached = node;
    return result;
  }
  std::uintmax_t steps = 60;
  result.heater_W = boost::math::tools::toms748_solve(margin_K, low_W, high_W, low_K, high_K,
                                                      boost::math::tools::eps_tolerance<double>(40), steps)
                        .second;
  result.installed_W = result.heater_W * (1.0 + settings.heater_margin);
  result.point = at(result.heater_W, last);
  return result;
}

}  // namespace tileflux::studies
