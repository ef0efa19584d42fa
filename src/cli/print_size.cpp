#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/print.h"
#include "cli/print_parts.h"
#include "cli/text.h"
#include "tileflux/base/constants.h"

namespace tileflux::cli {

namespace {

using studies::Demand;
using studies::Size;
using studies::SizeCurve;
using studies::SizedRadiator;
using tile::RadiatorDesign;
using tile::SizeSettings;

std::string line(const std::string& name, const std::string& value) {
  return fmt::format("  {:<16} {}\n", name, value);
}

std::string square_metres(double area_m2) { return fmt::format("{:.4g} m2", area_m2); }
std::string millimetres(double length_m) { return fmt::format("{:.4g} mm", 1e3 * length_m); }
std::string kilograms(double mass_kg) { return fmt::format("{:.4g} kg", mass_kg); }

bool has_fin(const RadiatorDesign& design) { return design.pitch_m > 0.0; }

std::string design_text(const RadiatorDesign& design) {
  std::string text =
      fmt::format("{}, {} face{}", square_metres(design.area_m2), design.faces, design.faces == 1 ? "" : "s");
  if (has_fin(design))
    text += fmt::format(", sheet {}, pitch {}", millimetres(design.thickness_m), millimetres(design.pitch_m));
  return text;
}

/// `plate below 49.00 degC, beam off (60.00 less 11 K margin)`.
std::string demand_text(const Demand& demand) {
  if (demand.is_light()) return watts(demand.wanted) + " W of light";
  const double margin_K = demand.limit_K - demand.wanted;
  std::string why;
  if (demand.before_throttle) {
    why = " (its throttle begins there)";
  } else if (margin_K > 0.0) {
    why = fmt::format(" (limit {} less {:.4g} K)", celsius(demand.limit_K), margin_K);
  }
  return fmt::format("{} below {} degC, beam {}{}", demand.node, celsius(demand.wanted), demand.beam ? "on" : "off",
                     why);
}

std::string value_text(const Demand& demand, double value) {
  if (demand.is_light()) return watts(value) + " W";
  return std::isfinite(value) ? celsius(value) + " degC" : std::string("no steady state");
}

std::string surroundings_text(const tile::Case& description) {
  return fmt::format("{:.1f} W/m2 on the face ({:.4g} AU, tilt {:.1f} deg), {} of life",
                     description.sun.irradiance_W_per_m2(), description.sun.distance_m / astronomical_unit_m,
                     description.sun.tilt_rad * degrees_per_radian, description.end_of_life ? "end" : "begin");
}

std::string radiator(const tile::SizeCases& cases, const Size& size) {
  const SizeSettings& settings = *cases.hot.size;
  const SizedRadiator& best = size.best;
  const bool mass = settings.minimise == SizeSettings::Minimise::mass;
  std::string text = fmt::format("Radiator `{}` of least {}\n", settings.surface, mass ? "mass" : "area");
  std::string area = fmt::format("{} a face, {} used", square_metres(best.design.area_m2),
                                 best.design.faces == 1 ? "one face" : "both faces");
  if (size.at_least_area)
    area += "; the lower bound: less would do";
  else if (settings.area_margin > 0.0)
    area += fmt::format("; {} and {} margin", square_metres(best.needed_m2), percent(settings.area_margin, 0));
  text += line("area", area);
  if (has_fin(best.design))
    text += line("sheet and pipes", fmt::format("{} thick, pipes {} apart; fin efficiency {}, zeta {:.3f}",
                                                millimetres(best.design.thickness_m), millimetres(best.design.pitch_m),
                                                percent(best.efficiency, 1), best.zeta));
  if (best.mass_kg() > 0.0) {
    std::string parts;
    const auto part = [&](const char* name, double mass_kg) {
      if (mass_kg > 0.0) parts += fmt::format("{}{} {}", parts.empty() ? "" : ", ", name, kilograms(mass_kg));
    };
    part("sheet", best.sheet_kg);
    part("pipes", best.pipes_kg);
    part("other", best.other_kg);
    text += line("mass", fmt::format("{} ({}); {:.4g} kg/m2", kilograms(best.mass_kg()), parts,
                                     best.mass_kg() / best.design.area_m2));
  } else {
    text += line("mass", "not stated: give `other_mass`, or a fin");
  }
  if (best.root_K > 0.0) {
    std::string heat = fmt::format("{} W from {} at {} degC", watts(best.heat_W), "the root", celsius(best.root_K));
    if (best.mass_kg() > 0.0) heat += fmt::format("; {:.4g} W/kg as built", best.heat_W / best.mass_kg());
    text += line("heat", heat);
  }
  text += line("set by", size.at_least_area ? "the lower bound on area" : demand_text(size.demands.front()));
  if (size.demands.size() > 1 && size.demands[1].needed_m2 > 0.0)
    text += line("  next", demand_text(size.demands[1]) + ", needs " + square_metres(size.demands[1].needed_m2));
  for (const std::string& bound : size.at_bounds) text += line("  at a bound", bound);
  if (!size.at_least_area)
    text += line("  balanced again",
                 fmt::format("{} off with {}",
                             size.demands.front().is_light() ? fmt::format("{:.1g} W", std::abs(size.check))
                                                             : fmt::format("{:.1g} K", std::abs(size.check)),
                             square_metres(best.needed_m2)));
  return text;
}

std::string sink(const tile::SizeCases& cases, const Size& size) {
  std::string text = celsius(size.sink_K) + " degC hot";
  if (size.cold) text += ", " + celsius(size.cold->sink_K) + " degC cold";
  return line("sink temperature", text + fmt::format(": of `{}` alone, with its own", cases.hot.size->surface)) +
         line("", "absorptance and emittance. Its sunlight is in it: add none, and use it for no other surface") + '\n';
}

std::string hot_case(const tile::SizeCases& cases, const Size& size) {
  const tile::TileSystem system(studies::with_radiator(cases.hot, cases.hot.size->surface, size.best.design));
  const studies::OperatingPoint* on = size.hot->beam_on ? &*size.hot->beam_on : nullptr;
  std::string text = "Hot case, as built: " + surroundings_text(cases.hot) + '\n';
  std::string root;
  for (const tile::Surface& surface : cases.hot.surfaces) {
    if (surface.name == cases.hot.size->surface) root = surface.node;
  }
  Table table(on != nullptr ? std::vector<std::string>{"degC", "beam on", "beam off", "held below", "limit"}
                            : std::vector<std::string>{"degC", "beam off", "held below", "limit"});
  for (network::NodeId id = 0; id < system.network().node_count(); ++id) {
    const std::string& name = system.network().node(id).name;
    double wanted_K = HUGE_VAL;
    for (const Demand& demand : size.demands) {
      if (demand.node == name) wanted_K = std::min(wanted_K, demand.wanted);
    }
    const std::string held = std::isfinite(wanted_K) ? celsius(wanted_K) : std::string();
    const std::string limit = limit_text(system, name);
    if (held.empty() && limit.empty() && name != root) continue;
    std::vector<std::string> row{name};
    if (on != nullptr) row.push_back(celsius(system.network().temperature_K(id, on->x)));
    row.push_back(celsius(system.network().temperature_K(id, size.hot->beam_off.x)));
    row.push_back(held);
    row.push_back(limit);
    table.row(std::move(row));
  }
  text += table.text();
  if (cases.cold) text += "  lower limits are the heater's, in the cold case below\n";
  if (on != nullptr && system.has_lasers())
    text += fmt::format("  usable laser power {} W, {}\n", watts(size.hot->usable_laser_W), name_of(on->regime));
  for (const studies::OperatingPoint* point : {on, &size.hot->beam_off}) {
    if (point == nullptr) continue;
    for (const studies::Margin& margin : point->margins) {
      // What is too cold here is the heaters' business, and the cold case's.
      if (margin.upper && margin.margin < 0.0)
        text += fmt::format("  BROKEN, and not asked to be held: {}, beam {}\n", describe(margin),
                            point->beam ? "on" : "off");
    }
  }
  return text + '\n';
}

std::string cold_case(const tile::SizeCases& cases, const Size& size) {
  if (!size.cold) return "Cold case: none in the case (`size.cold`)\n\n";
  const studies::ColdCase& cold = *size.cold;
  std::string text =
      fmt::format("Cold case, as built, beam {}: {}\n", cold.point.beam ? "on" : "off", surroundings_text(*cases.cold));
  std::optional<studies::Margin> coldest;
  for (const studies::Margin& margin : cold.point.margins) {
    if (margin.kind != studies::LimitKind::temperature || margin.upper) continue;
    if (!coldest || margin.margin < coldest->margin) coldest = margin;
  }
  if (!coldest) return text + line("heater", "no part has a limit `above`: none is needed") + '\n';
  if (!cold.held)
    text += line("heater", fmt::format("NONE on {} keeps {} warm enough", cold.heater, cold.unreached));
  else if (cold.heater_W == 0.0)
    text += line("heater", "none is needed");
  else
    text += line("heater", fmt::format("{} W on {}, {} W installed ({} margin)", watts(cold.heater_W), cold.heater,
                                       watts(cold.installed_W), percent(cases.hot.size->heater_margin, 0)));
  constexpr double printed_K = 0.005;
  if (std::abs(coldest->margin) < printed_K) coldest->margin = 0.0;  // not `-0.00`
  return text + line("coldest", describe(*coldest)) + '\n';
}

/// `+3.4 %`; what the last digits of the search leave below the least is none.
std::string over_least(double ratio) { return fmt::format("{:+.1f} %", std::max(0.0, 100.0 * (ratio - 1.0))); }

std::string curve_text(const SizeSettings& settings, const Size& size, const SizeCurve& curve) {
  const bool area = curve.variable == SizeCurve::Variable::area;
  const bool thickness = curve.variable == SizeCurve::Variable::thickness;
  const char* least = settings.minimise == SizeSettings::Minimise::mass ? "mass" : "area";
  std::string text = area ? fmt::format("What other areas come to\n")
                          : fmt::format("How flat the least {} is over {}\n", least,
                                        thickness ? "thickness (pitch and area chosen anew)"
                                                  : "pitch (thickness and area chosen anew)");
  std::vector<std::string> heads;
  if (area) {
    heads = {"area m2", "mass kg", size.demands.front().is_light() ? "light W" : size.demands.front().node + " degC"};
  } else {
    heads = {thickness ? "sheet mm" : "pitch mm",
             thickness ? "pitch mm" : "sheet mm",
             "efficiency",
             "area m2",
             "mass kg",
             "over least"};
  }
  Table table(heads);
  const auto cost = [&](const SizedRadiator& row) {
    return settings.minimise == SizeSettings::Minimise::mass ? row.mass_kg() : row.design.area_m2;
  };
  for (std::size_t i = 0; i < curve.rows.size(); ++i) {
    const SizedRadiator& row = curve.rows[i];
    const std::string sheet = fmt::format("{:.4g}", 1e3 * row.design.thickness_m);
    const std::string pitch = fmt::format("{:.4g}", 1e3 * row.design.pitch_m);
    const std::string area_m2 = fmt::format("{:.4g}", row.design.area_m2),
                      mass_kg = fmt::format("{:.4g}", row.mass_kg());
    if (area) {
      table.row({area_m2, row.mass_kg() > 0.0 ? mass_kg : "",
                 size.demands.front().is_light() ? watts(curve.reached[i]) : celsius(curve.reached[i])});
    } else {
      table.row({thickness ? sheet : pitch, thickness ? pitch : sheet, percent(row.efficiency, 1), area_m2, mass_kg,
                 over_least(cost(row) / cost(size.best))});
    }
  }
  text += table.text();
  if (!area)
    text += fmt::format("  within 1 % of the least: {} {} to {}\n", thickness ? "sheet" : "pitch",
                        millimetres(curve.within_one_percent.least), millimetres(curve.within_one_percent.most));
  return text + '\n';
}

/// The line to put into the case, with digits enough to balance it again within a hundredth of a kelvin.
std::string case_line(const tile::SizeCases& cases, const RadiatorDesign& design) {
  const SizeSettings& settings = *cases.hot.size;
  std::string text = fmt::format("To put into `surfaces.{}` of the case", settings.surface);
  if (cases.hot.end_of_life != cases.file.description.end_of_life)
    text += fmt::format(" (with `life: {}` it is the hot case)", cases.hot.end_of_life ? "end" : "begin");
  text += fmt::format("\n  area: {:.7g} m2, faces: {}", design.area_m2, design.faces);
  if (has_fin(design))
    text += fmt::format(", fin: {{thickness: {:.7g} mm, length: {:.7g} mm}}", 1e3 * design.thickness_m,
                        0.5e3 * design.pitch_m);
  return text + '\n';
}

std::string impossible(const tile::SizeCases& cases, const Size& size) {
  const SizeSettings& settings = *cases.hot.size;
  std::string text = fmt::format("No radiator `{}` within the bounds does it\n", settings.surface);
  for (const studies::Shortfall& shortfall : size.shortfalls) {
    const Demand& demand = shortfall.demand;
    text += line("asked", demand_text(demand));
    text += line("  nearest", value_text(demand, shortfall.reached) + " with " + design_text(shortfall.nearest) +
                                  (settings.area_margin > 0.0 ? ", before the area margin" : ""));
    if (demand.is_light()) text += line("  held up by", "the tile is " + std::string(name_of(shortfall.regime)));
    text +=
        line("  any area", value_text(demand, shortfall.endless) + (demand.is_light() ? " of light" : "") +
                                 ": what its surroundings and the way to it allow");
  }
  return text + sink(cases, size) + "Hot case: " + surroundings_text(cases.hot) + '\n';
}

}  // namespace

std::string print_size(const tile::SizeCases& cases, const studies::Size& size) {
  const SizeSettings& settings = *cases.hot.size;
  std::string text = fmt::format("{}\n  {}\n\n", cases.file.description.title, cases.file.file);
  if (!size.possible) return text + impossible(cases, size) + print_notes(cases.file, {});
  text += radiator(cases, size) + sink(cases, size) + hot_case(cases, size) + cold_case(cases, size);
  for (const SizeCurve& curve : size.curves) text += curve_text(settings, size, curve);
  return text + case_line(cases, size.best.design) + print_notes(cases.file, size.hot->warnings);
}

}  // namespace tileflux::cli
