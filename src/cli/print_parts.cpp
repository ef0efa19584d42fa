#include "cli/print_parts.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "tileflux/base/cautions.h"
#include "cli/text.h"
#include "tileflux/base/constants.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::cli {

namespace {

double in_AU(double distance_m) { return distance_m / astronomical_unit_m; }

/// `smallest .. largest`, or one number where the two are the same.
std::string from_to(double least, double most, int digits) {
  const std::string first = fmt::format("{:.{}f}", least, digits), last = fmt::format("{:.{}f}", most, digits);
  return first == last ? first : first + " .. " + last;
}

std::string sunlight_line(const tile::Case& description) {
  const environment::Sun& sun = description.sun;
  double nearest_m = sun.distance_m, farthest_m = sun.distance_m;
  if (description.sun_ellipse) {
    nearest_m = description.sun_ellipse->periapsis_m();
    farthest_m = description.sun_ellipse->apoapsis_m();
  }
  if (description.course && !description.course->distance_m.empty()) {
    const auto [least, most] =
        std::minmax_element(description.course->distance_m.begin(), description.course->distance_m.end());
    nearest_m = *least;
    farthest_m = *most;
  }
  const auto at = [&](double distance_m) {
    return environment::Sun{sun.irradiance_at_1AU_W_per_m2, distance_m, 0.0}.normal_irradiance_W_per_m2();
  };
  std::string line =
      fmt::format("sunlight {} W/m2 at {} AU ({:.1f} W/m2 at 1 AU, {})", from_to(at(farthest_m), at(nearest_m), 1),
                  nearest_m == farthest_m ? fmt::format("{:.4g}", in_AU(nearest_m))
                                          : from_to(in_AU(nearest_m), in_AU(farthest_m), 3),
                  sun.irradiance_at_1AU_W_per_m2,
                  description.irradiance_standard.empty() ? "stated" : description.irradiance_standard);
  if (description.sun_ellipse)
    line += fmt::format(", once around in {:.4g} days", description.sun_ellipse->period_s() / 86400.0);
  return line;
}

std::string tilt_text(const tile::Case& description) {
  const double tilt_deg = description.sun.tilt_rad * degrees_per_radian;
  if (description.course && !description.course->tilt_rad.empty()) return "tilt by the course";
  if (description.orbit && description.orbit->attitude == tile::Orbit::Attitude::away_from_planet)
    return "front to the zenith";
  if (description.orbit && description.orbit->attitude == tile::Orbit::Attitude::to_planet) return "front to the nadir";
  switch (description.tilt_law) {
    case tile::TiltLaw::fixed:
      break;
    case tile::TiltLaw::fixed_in_space:
      return fmt::format("tilt {:.1f} deg at the start, fixed in space", tilt_deg);
    case tile::TiltLaw::hold:
      return fmt::format("tilt {:.1f} .. {:.1f} deg to keep {} below {} degC", tilt_deg,
                         description.hold->most_tilt_rad * degrees_per_radian, description.hold->node,
                         celsius(description.hold->below_K));
  }
  if (tilt_deg == 0.0) return "tilt 0.0 deg";
  const double on_face_W_per_m2 =
      description.sun.normal_irradiance_W_per_m2() * std::abs(std::cos(description.sun.tilt_rad));
  return fmt::format("tilt {:.1f} deg, {:.1f} W/m2 on the {}", tilt_deg, on_face_W_per_m2,
                     tilt_deg > 90.0 ? "rear" : "face");
}

std::string orbit_line(const tile::Orbit& orbit, const tile::Sky& sky) {
  const environment::Ellipse& path = orbit.path.ellipse;
  const double lowest_km = 1e-3 * (path.periapsis_m() - orbit.planet.radius_m);
  const double highest_km = 1e-3 * (path.apoapsis_m() - orbit.planet.radius_m);
  std::string infrared = "infrared that follows the Sun";
  if (const auto* uniform = std::get_if<environment::UniformInfrared>(&orbit.planet.infrared))
    infrared = fmt::format("infrared {:.1f} W/m2", uniform->exitance_W_per_m2);
  return fmt::format(
      "  around {} at {} km, beta {:.1f} deg: once around in {:.2f} min, {:.2f} min of it in shadow; albedo {:.3f}, "
      "{}\n",
      orbit.body, from_to(lowest_km, highest_km, 1), orbit.path.beta_rad * degrees_per_radian, path.period_s() / 60.0,
      sky.shadow_s() / 60.0, orbit.planet.albedo, infrared);
}

}  // namespace

std::string print_head(const tile::CaseFile& file) {
  const tile::Case& description = file.description;
  std::string head =
      fmt::format("{}\n  {}\n  {}, {}, {} of life\n", description.title, file.file, sunlight_line(description),
                  tilt_text(description), description.end_of_life ? "end" : "begin");
  if (description.orbit) head += orbit_line(*description.orbit, tile::Sky(description));
  if (!description.stow.empty()) {
    const tile::TimeWindow& first = description.stow.front();
    head += fmt::format("  edge-on to the Sun from {} to {}", duration_text(first.from_s), duration_text(first.to_s));
    if (description.stow.size() > 1)
      head += fmt::format(", and in {} more {}", description.stow.size() - 1,
                          description.stow.size() == 2 ? "window" : "windows");
    head += '\n';
  }
  return head + '\n';
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
