#include "report/page_charts.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <cstdint>
#include <map>
#include <nlohmann/json.hpp>
#include <span>

#include "report/page_text.h"

namespace tileflux::report {

namespace {

using ChartJson = nlohmann::ordered_json;

std::string base64(std::span<const unsigned char> bytes) {
  constexpr std::string_view letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string text;
  text.reserve((bytes.size() + 2) / 3 * 4);
  for (std::size_t i = 0; i < bytes.size(); i += 3) {
    const std::size_t count = std::min<std::size_t>(3, bytes.size() - i);
    std::uint32_t word = 0;
    for (std::size_t k = 0; k < 3; ++k) word = (word << 8) | (k < count ? bytes[i + k] : 0u);
    for (std::size_t k = 0; k < 4; ++k) text += k <= count ? letters[(word >> (18 - 6 * k)) & 0x3Fu] : '=';
  }
  return text;
}

/// Doubles as they are, little-endian.
std::string packed_doubles(const std::vector<double>& values) {
  std::vector<unsigned char> bytes;
  bytes.reserve(8 * values.size());
  for (const double value : values) {
    const auto bits = std::bit_cast<std::uint64_t>(value);
    for (unsigned i = 0; i < 8; ++i) bytes.push_back(static_cast<unsigned char>(bits >> (8 * i)));
  }
  return base64(bytes);
}

/// Values as 24-bit steps of their range, which is finer than any picture or printed digit; the last step stands for
/// none.
ChartJson packed_steps(const std::vector<double>& values) {
  constexpr std::uint32_t none = 0xFFFFFF;
  double low = INFINITY, high = -INFINITY;
  for (const double value : values) {
    if (!std::isfinite(value)) continue;
    low = std::min(low, value);
    high = std::max(high, value);
  }
  if (!(high >= low)) low = high = 0.0;
  const double step = (high - low) / (none - 1);
  std::vector<unsigned char> bytes;
  bytes.reserve(3 * values.size());
  for (const double value : values) {
    std::uint32_t count = none;
    if (std::isfinite(value)) count = step > 0.0 ? static_cast<std::uint32_t>(std::lround((value - low) / step)) : 0;
    for (unsigned i = 0; i < 3; ++i) bytes.push_back(static_cast<unsigned char>(count >> (8 * i)));
  }
  return {{"low", low}, {"step", step}, {"steps", base64(bytes)}};
}

const char* name_of(FlowChart::End end) {
  constexpr std::array names{"sunlight", "through", "electricity", "light", "heat", "space"};
  return names.at(static_cast<std::size_t>(end));
}

ChartJson json_of(const FlowChart& chart) {
  std::map<std::string, std::size_t> places;
  ChartJson stations = ChartJson::array(), links = ChartJson::array();
  for (const FlowChart::Station& station : chart.stations) {
    places.emplace(station.name, places.size());
    stations.push_back({{"name", clean_text(station.name)}, {"kind", name_of(station.kind)}});
  }
  for (const FlowChart::Link& link : chart.links) {
    links.push_back({places.at(link.from), places.at(link.to), link.power_W});
  }
  return {{"kind", "flow"}, {"stations", stations}, {"links", links}, {"whole_W", chart.whole_W}};
}

ChartJson json_of(const MarginChart& chart) {
  ChartJson bars = ChartJson::array();
  for (const MarginChart::Bar& bar : chart.bars) {
    bars.push_back({{"name", clean_text(bar.name)},
                    {"unit", bar.unit},
                    {"value", bar.value},
                    {"limit", bar.limit},
                    {"upper", bar.upper},
                    {"margin", bar.margin},
                    {"reserved", bar.reserved}});
  }
  return {{"kind", "margins"}, {"bars", bars}};
}

/// Names and kinds of marks repeat: each is written once.
ChartJson marks_json(std::vector<LineChart::Mark> marks) {
  std::stable_sort(marks.begin(), marks.end(), [](const auto& a, const auto& b) { return a.at < b.at; });
  std::map<std::string, std::size_t> names, kinds;
  std::vector<double> at;
  ChartJson which = ChartJson::array(), name_list = ChartJson::array(), kind_list = ChartJson::array();
  const auto place = [](auto& places, ChartJson& list, const std::string& text) {
    const auto [found, added] = places.emplace(text, places.size());
    if (added) list.push_back(clean_text(text));
    return found->second;
  };
  for (const LineChart::Mark& mark : marks) {
    at.push_back(mark.at);
    which.push_back({place(names, name_list, mark.name), place(kinds, kind_list, mark.kind)});
  }
  return {{"names", name_list}, {"kinds", kind_list}, {"at", packed_doubles(at)}, {"which", which}};
}

ChartJson json_of(const LineChart& chart) {
  ChartJson lines = ChartJson::array(), levels = ChartJson::array(), bands = ChartJson::array();
  for (const LineChart::Line& line : chart.lines) {
    lines.push_back({{"name", clean_text(line.name)},
                     {"group", clean_text(line.group)},
                     {"unit", line.unit},
                     {"shown", line.shown},
                     {"steps", line.steps},
                     {"values", packed_steps(line.values)}});
  }
  for (const LineChart::Level& level : chart.levels) {
    levels.push_back(
        {{"name", clean_text(level.name)}, {"unit", level.unit}, {"value", level.value}, {"of", clean_text(level.of)}});
  }
  for (const LineChart::Band& band : chart.bands) {
    bands.push_back(
        {{"name", clean_text(band.name)}, {"kind", clean_text(band.kind)}, {"begin", band.begin}, {"end", band.end}});
  }
  return {{"kind", "lines"},
          {"x_name", clean_text(chart.x_name)},
          {"x_unit", chart.x_unit},
          {"x_logarithmic", chart.x_logarithmic},
          {"x", packed_doubles(chart.x)},
          {"lines", lines},
          {"levels", levels},
          {"bands", bands},
          {"marks", marks_json(chart.marks)}};
}

ChartJson json_of(const HeatMap& chart) {
  return {{"kind", "heat"},         {"x_name", clean_text(chart.x_name)},
          {"x_unit", chart.x_unit}, {"y_name", clean_text(chart.y_name)},
          {"y_unit", chart.y_unit}, {"name", clean_text(chart.name)},
          {"unit", chart.unit},     {"x", chart.x},
          {"y", chart.y},           {"values", packed_steps(chart.values)}};
}

ChartJson json_of(const RankChart& chart) {
  ChartJson bars = ChartJson::array();
  for (const RankChart::Bar& bar : chart.bars)
    bars.push_back({{"name", clean_text(bar.name)}, {"value", bar.value}, {"group", clean_text(bar.group)}});
  return {{"kind", "rank"}, {"quantity", clean_text(chart.quantity)}, {"unit", chart.unit}, {"bars", bars}};
}

ChartJson json_of(const SectionChart&) { return {{"kind", "section"}}; }

}  // namespace

std::string chart_json(const Chart& chart) {
  const ChartJson json = std::visit([](const auto& kind) { return json_of(kind); }, chart);
  // Units are not cleaned above: whatever is not UTF-8 in them is replaced here.
  const std::string text = json.dump(-1, ' ', true, ChartJson::error_handler_t::replace);
  std::string safe;
  safe.reserve(text.size());
  for (const char letter : text) {
    if (letter == '<')
      safe += "\\u003c";  // no end of a script and no comment can stand in it
    else
      safe += letter;
  }
  return safe;
}

}  // namespace tileflux::report
