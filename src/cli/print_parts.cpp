#include "cli/print_parts.h"

#include <fmt/format.h>

#include "cli/cautions.h"
#include "cli/text.h"
#include "tileflux/base/constants.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::cli {

std::string print_head(const tile::CaseFile& file) {
  const environment::Sun& sun = file.description.sun;
  constexpr double degrees = 180.0 / 3.14159265358979323846;
  return fmt::format("{}\n  {}\n  sunlight {:.1f} W/m2 at {:.4g} AU ({:.1f} W/m2 at 1 AU), tilt {:.1f} deg, {} of life\n\n", file.description.title, file.file,
                     sun.normal_irradiance_W_per_m2(), sun.distance_m / astronomical_unit_m, sun.irradiance_at_1AU_W_per_m2, sun.tilt_rad * degrees,
                     file.description.end_of_life ? "end" : "begin");
}

std::string describe(const studies::Margin& margin) {
  return fmt::format("{} {} {} degC (at {} degC, margin {} K)", margin.node, margin.upper ? "below" : "above", celsius(margin.limit_K),
                     celsius(margin.temperature_K), kelvin_difference(margin.margin_K));
}

std::string print_notes(const tile::CaseFile& file, const std::vector<Diagnostic>& warnings) {
  std::string text;
  for (const auto* list : {&file.warnings, &warnings}) {
    for (const Diagnostic& warning : *list) text += "  " + tileflux::describe(warning) + '\n';
  }
  if (!text.empty()) text = "\nWarnings\n" + text;
  if (!file.defaults.empty()) {
    text += "\nFilled in by default\n";
    std::string line = " ";
    for (const input::FilledDefault& filled : file.defaults) {
      const std::string item = ' ' + filled.path + " = " + filled.text + (&filled == &file.defaults.back() ? "" : ";");
      constexpr std::size_t line_width = 110;
      if (line.size() + item.size() > line_width) {
        text += line + '\n';
        line = " ";
      }
      line += item;
    }
    text += line + '\n';
  }
  return text + '\n' + std::string(short_caution()) + '\n';
}

std::string limit_text(const tile::TileSystem& system, const std::string& node) {
  std::string text;
  for (const tile::BoundLimit& bound : system.limits()) {
    if (bound.limit.node != node) continue;
    if (bound.limit.above_K) text += celsius(*bound.limit.above_K) + " to ";
    if (bound.limit.below_K) text += (bound.limit.above_K ? "" : "below ") + celsius(*bound.limit.below_K);
    else text = "above " + celsius(*bound.limit.above_K);
  }
  return text;
}

}  // namespace tileflux::cli
