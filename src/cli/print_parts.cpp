#include "cli/print_parts.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/cautions.h"
#include "cli/text.h"
#include "tileflux/base/constants.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::cli {

std::string print_head(const tile::CaseFile& file) {
  const environment::Sun& sun = file.description.sun;
  constexpr double degrees = 180.0 / 3.14159265358979323846;
  std::string light =
      fmt::format("sunlight {:.1f} W/m2 at {:.4g} AU ({:.1f} W/m2 at 1 AU)", sun.normal_irradiance_W_per_m2(),
                  sun.distance_m / astronomical_unit_m, sun.irradiance_at_1AU_W_per_m2);
  if (sun.tilt_rad != 0.0) light += fmt::format(", {:.1f} W/m2 on the face", sun.irradiance_W_per_m2());
  return fmt::format("{}\n  {}\n  {}, tilt {:.1f} deg, {} of life\n\n", file.description.title, file.file, light,
                     sun.tilt_rad * degrees, file.description.end_of_life ? "end" : "begin");
}

std::string describe(const studies::Margin& margin) {
  const char* bound = margin.upper ? "below" : "above";
  if (margin.kind == studies::LimitKind::temperature)
    return fmt::format("{} {} {} degC (at {} degC, margin {} K)", margin.node, bound, celsius(margin.limit),
                       celsius(margin.value), kelvin_difference(margin.margin));
  return fmt::format("{} of {} {} {} (at {}, margin {})", name_of(margin.kind), margin.where(), bound,
                     amount_text(margin.kind, margin.limit), amount_text(margin.kind, margin.value),
                     amount_text(margin.kind, margin.margin, true));
}

std::string next_text(const std::optional<studies::Margin>& next) { return next ? "next " + describe(*next) : ""; }

std::string amount_text(studies::LimitKind kind, double amount, bool sign) {
  constexpr double second_per_minute = 60.0, joule_per_kilojoule = 1e3;
  const auto text = [sign](double value, const char* unit, int decimals) {
    if (std::abs(value) < 0.5 * std::pow(10.0, -decimals)) value = 0.0;  // not `-0.00`
    return sign ? fmt::format("{:+.{}f} {}", value, decimals, unit) : fmt::format("{:.{}f} {}", value, decimals, unit);
  };
  switch (kind) {
    case studies::LimitKind::temperature:
    case studies::LimitKind::difference:
      return text(amount, "K", 2);
    case studies::LimitKind::rate:
      return text(second_per_minute * amount, "K/min", 3);
    case studies::LimitKind::gradient:
      return text(amount, "K/m", 2);
    case studies::LimitKind::charge:
      return text(amount, "%", 2);
    case studies::LimitKind::energy:
      return text(amount / joule_per_kilojoule, "kJ", 3);
    case studies::LimitKind::power:
      return text(amount, "W", 2);
  }
  return "";
}

namespace {

/// `surfaces.front.faces` as `surfaces.*.faces`: the same default under every name is told once.
std::string pattern_of(const std::string& path) {
  const std::size_t first = path.find_first_of(".[");
  const std::size_t last = path.rfind('.');
  return first < last ? path.substr(0, first) + ".*" + path.substr(last) : path;
}

/// Defaults in lines, equal ones of one section told once.
std::string folded_defaults(const std::vector<input::FilledDefault>& defaults) {
  std::vector<std::pair<std::string, int>> items;
  std::vector<std::string> first_paths;
  for (const input::FilledDefault& filled : defaults) {
    const std::string item = pattern_of(filled.path) + " = " + filled.text;
    const auto known = std::find_if(items.begin(), items.end(), [&](const auto& one) { return one.first == item; });
    if (known != items.end()) {
      ++known->second;
      continue;
    }
    items.emplace_back(item, 1);
    first_paths.push_back(filled.path + " = " + filled.text);
  }
  std::string text, line = " ";
  for (std::size_t i = 0; i < items.size(); ++i) {
    const std::string item =
        ' ' + (items[i].second > 1 ? items[i].first : first_paths[i]) + (i + 1 < items.size() ? ";" : "");
    constexpr std::size_t line_width = 110;
    if (line.size() + item.size() > line_width) {
      text += line + '\n';
      line = " ";
    }
    line += item;
  }
  return text + line + '\n';
}

}  // namespace

std::string print_notes(const tile::CaseFile& file, const std::vector<Diagnostic>& warnings) {
  std::string text;
  for (const auto* list : {&file.warnings, &warnings}) {
    for (const Diagnostic& warning : *list) text += "  " + tileflux::describe(warning) + '\n';
  }
  if (!text.empty()) text = "\nWarnings\n" + text;
  if (!file.defaults.empty()) text += "\nFilled in by default\n" + folded_defaults(file.defaults);
  return text + '\n' + std::string(short_caution()) + '\n';
}

std::string limit_text(const tile::TileSystem& system, const std::string& node) {
  std::string text;
  for (const tile::BoundLimit& bound : system.limits()) {
    if (bound.limit.node != node) continue;
    if (bound.limit.above_K) text += celsius(*bound.limit.above_K) + " to ";
    if (bound.limit.below_K)
      text += (bound.limit.above_K ? "" : "below ") + celsius(*bound.limit.below_K);
    else if (bound.limit.above_K)
      text = "above " + celsius(*bound.limit.above_K);
  }
  return text;
}

}  // namespace tileflux::cli
