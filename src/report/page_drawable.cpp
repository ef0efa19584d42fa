// What of a chart can be drawn, and how much of it a page can carry.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "report/page_charts.h"

namespace tileflux::report {

namespace {

/// Values of all lines of a chart together, the abscissas counted as three lines: about a megabyte of the page.
constexpr std::size_t most_values = 260'000;
constexpr std::size_t fewest_points = 1000;

/// Points that become two; 0: all stay.
std::size_t points_in_group(const LineChart& chart) {
  const std::size_t most = std::max(fewest_points, most_values / (chart.lines.size() + 3));
  return chart.x.size() <= most ? 0 : (2 * chart.x.size() + most - 1) / most;
}

/// The lowest and the highest of each group, in the order in which they come.
std::vector<double> extremes(const std::vector<double>& values, std::size_t group) {
  std::vector<double> kept;
  for (std::size_t begin = 0; begin < values.size(); begin += group) {
    const std::size_t end = std::min(begin + group, values.size());
    std::size_t low = begin, high = begin;
    for (std::size_t i = begin; i < end; ++i) {
      if (!std::isfinite(values[i])) continue;
      if (!(values[i] >= values[low])) low = i;
      if (!(values[i] <= values[high])) high = i;
    }
    kept.push_back(values[std::min(low, high)]);
    if (end - begin > 1) kept.push_back(values[std::max(low, high)]);
  }
  return kept;
}

void thin(LineChart& chart) {
  const std::size_t group = points_in_group(chart);
  if (group == 0) return;
  for (LineChart::Line& line : chart.lines) line.values = extremes(line.values, group);
  std::vector<double> x;
  for (std::size_t begin = 0; begin < chart.x.size(); begin += group) {
    const std::size_t end = std::min(begin + group, chart.x.size());
    x.push_back(chart.x[begin]);
    if (end - begin > 1) x.push_back(end == chart.x.size() ? chart.x.back() : chart.x[begin + group / 2]);
  }
  chart.x = std::move(x);
}

struct Drawable {
  bool operator()(FlowChart& chart) const {
    std::set<std::string> names;
    for (const FlowChart::Station& station : chart.stations) names.insert(station.name);
    std::erase_if(chart.links, [&](const FlowChart::Link& link) {
      return !(link.power_W > 0.0) || !std::isfinite(link.power_W) || !names.contains(link.from) ||
             !names.contains(link.to);
    });
    return !chart.links.empty() && chart.whole_W > 0.0;
  }
  bool operator()(MarginChart& chart) const {
    std::erase_if(chart.bars, [](const MarginChart::Bar& bar) {
      return !std::isfinite(bar.margin) || !std::isfinite(bar.value) || !std::isfinite(bar.limit) ||
             !std::isfinite(bar.reserved);
    });
    return !chart.bars.empty();
  }
  bool operator()(LineChart& chart) const {
    if (chart.x.size() < 2 || chart.lines.empty() || !(chart.x.back() > chart.x.front())) return false;
    if (!(chart.x.front() > 0.0)) chart.x_logarithmic = false;
    for (LineChart::Line& line : chart.lines) line.values.resize(chart.x.size(), NAN);
    std::erase_if(chart.levels, [](const LineChart::Level& level) { return !std::isfinite(level.value); });
    std::erase_if(chart.bands, [](const LineChart::Band& band) { return !(band.end > band.begin); });
    std::erase_if(chart.marks, [](const LineChart::Mark& mark) { return !std::isfinite(mark.at); });
    thin(chart);
    return true;
  }
  bool operator()(HeatMap& chart) const {
    chart.values.resize(chart.x.size() * chart.y.size(), NAN);
    return std::any_of(chart.values.begin(), chart.values.end(), [](double value) { return std::isfinite(value); });
  }
  bool operator()(RankChart& chart) const {
    std::erase_if(chart.bars, [](const RankChart::Bar& bar) { return !std::isfinite(bar.value); });
    return !chart.bars.empty();
  }
  bool operator()(SectionChart& chart) const { return !chart.parts.empty(); }
};

}  // namespace

std::optional<Chart> drawable(const Chart& chart) {
  Chart copy = chart;
  if (!std::visit(Drawable{}, copy)) return std::nullopt;
  return copy;
}

std::string thinning_in_words(const Chart& chart) {
  const auto* lines = std::get_if<LineChart>(&chart);
  const std::size_t group = lines ? points_in_group(*lines) : 0;
  if (group == 0) return {};
  return fmt::format("Of {} points the lowest and the highest of every {} are drawn; the result file has all.",
                     lines->x.size(), group);
}

}  // namespace tileflux::report
