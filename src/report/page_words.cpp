// Charts in words.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "report/page_charts.h"
#include "report/page_text.h"
#include "tileflux/base/constants.h"

namespace tileflux::report {

namespace {

constexpr int digits = -4;

std::string with_unit(double value, const std::string& unit) {
  const std::string name = unit_for_people(unit);
  return number_text(value, digits) + (name.empty() ? "" : " " + name);
}

std::string words_of(const FlowChart& chart) {
  std::string ends;
  for (const FlowChart::Station& station : chart.stations) {
    double in_W = 0.0, out_W = 0.0;
    for (const FlowChart::Link& link : chart.links) {
      if (link.to == station.name) in_W += link.power_W;
      if (link.from == station.name) out_W += link.power_W;
    }
    if (in_W > 0.0 && out_W == 0.0)
      ends += fmt::format("{}{} {} W ({:.1f} %)", ends.empty() ? "" : ", ", station.name, number_text(in_W, digits),
                          100.0 * in_W / chart.whole_W);
  }
  return fmt::format("Flow of power, {} W in all, that ends as: {}.", number_text(chart.whole_W, digits), ends);
}

std::string words_of(const MarginChart& chart) {
  const auto broken = std::count_if(chart.bars.begin(), chart.bars.end(),
                                    [](const auto& bar) { return bar.margin + bar.reserved < 0.0; });
  const auto missed =
      std::count_if(chart.bars.begin(), chart.bars.end(), [](const auto& bar) { return bar.margin < 0.0; });
  const std::string small =
      missed > broken ? fmt::format(", {} kept by less than is reserved", missed - broken) : std::string();
  const MarginChart::Bar& least = chart.bars.front();
  return fmt::format("Bars of the distance to {} limits, {} of them broken{}; the least margin is {} at {}.",
                     chart.bars.size(), broken, small, with_unit(least.margin, least.unit == "degC" ? "K" : least.unit),
                     least.name);
}

std::string words_of(const LineChart& chart) {
  std::string words = fmt::format("{} lines over {}, {} to {}", chart.lines.size(), chart.x_name,
                                  number_text(chart.x.front(), digits), with_unit(chart.x.back(), chart.x_unit));
  if (!chart.levels.empty()) words += fmt::format("; {} limits", chart.levels.size());
  if (!chart.bands.empty()) words += fmt::format("; {} bands", chart.bands.size());
  if (!chart.marks.empty()) words += fmt::format("; {} marks", chart.marks.size());
  std::string names;
  std::size_t count = 0;
  for (const LineChart::Line& line : chart.lines) {
    if (!line.shown || ++count > 8) continue;
    names += (names.empty() ? "" : ", ") + line.name;
  }
  return words + (names.empty() ? "." : ". Shown at first: " + names + (count > 8 ? " and more." : "."));
}

std::string words_of(const HeatMap& chart) {
  double low = INFINITY, high = -INFINITY;
  for (const double value : chart.values) {
    if (!std::isfinite(value)) continue;
    low = std::min(low, value);
    high = std::max(high, value);
  }
  return fmt::format("{} over {} and {}, from {} to {}.", chart.name, chart.x_name, chart.y_name,
                     number_text(low, digits), with_unit(high, chart.unit));
}

std::string words_of(const RankChart& chart) {
  const RankChart::Bar& first = chart.bars.front();
  return fmt::format("{} bars of {}; the largest is {}, {}.", chart.bars.size(), chart.quantity, first.name,
                     with_unit(first.value, chart.unit));
}

std::string words_of(const SectionChart& chart) {
  const auto hottest = std::max_element(chart.parts.begin(), chart.parts.end(),
                                        [](const auto& a, const auto& b) { return a.temperature_K < b.temperature_K; });
  return fmt::format("Section of the tile with {} parts, not to scale; the hottest is {} at {:.1f} \u00B0C.",
                     chart.parts.size(), hottest->name, hottest->temperature_K - zero_celsius_K);
}

}  // namespace

std::string chart_in_words(const Chart& chart) {
  return std::visit([](const auto& kind) { return words_of(kind); }, chart);
}

}  // namespace tileflux::report
