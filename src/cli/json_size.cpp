#include "tileflux/base/cautions.h"
#include "cli/json.h"
#include "cli/json_parts.h"

namespace tileflux::cli {

namespace {

const char* variable_name(studies::SizeCurve::Variable variable) {
  switch (variable) {
    case studies::SizeCurve::Variable::thickness:
      return "thickness";
    case studies::SizeCurve::Variable::pitch:
      return "pitch";
    case studies::SizeCurve::Variable::area:
      return "area";
  }
  return "";
}

Json design_of(const tile::RadiatorDesign& design) {
  const bool fin = design.pitch_m > 0.0;
  return {{"area_m2", design.area_m2},
          {"faces", design.faces},
          {"thickness_m", fin ? Json(design.thickness_m) : Json(nullptr)},
          {"pitch_m", fin ? Json(design.pitch_m) : Json(nullptr)},
          {"fin_length_m", fin ? Json(0.5 * design.pitch_m) : Json(nullptr)}};
}

Json radiator_of(const studies::SizedRadiator& radiator) {
  Json json = design_of(radiator.design);
  const double mass_kg = radiator.mass_kg();
  json["area_before_margin_m2"] = radiator.needed_m2;
  json["mass_kg"] = mass_kg;
  json["sheet_kg"] = radiator.sheet_kg;
  json["pipes_kg"] = radiator.pipes_kg;
  json["other_kg"] = radiator.other_kg;
  json["mass_per_area_kg_per_m2"] = mass_kg / radiator.design.area_m2;
  json["fin_efficiency"] = radiator.efficiency;
  json["fin_zeta"] = radiator.zeta;
  json["root_K"] = radiator.root_K > 0.0 ? Json(radiator.root_K) : Json(nullptr);
  json["heat_W"] = radiator.heat_W;
  json["heat_per_mass_W_per_kg"] = mass_kg > 0.0 ? Json(radiator.heat_W / mass_kg) : Json(nullptr);
  return json;
}

/// The area that it needs is not known where no radiator does what is asked.
Json demand_of(const studies::Demand& demand, bool possible) {
  const Json needed_m2 = possible ? Json(demand.needed_m2) : Json(nullptr);
  if (demand.is_light()) return {{"light_W", demand.wanted}, {"beam", "on"}, {"needs_area_m2", needed_m2}};
  return {
      {"node", demand.node},       {"beam", demand.beam ? "on" : "off"},        {"held_below_K", demand.wanted},
      {"limit_K", demand.limit_K}, {"set_by_throttle", demand.before_throttle}, {"needs_area_m2", needed_m2}};
}

Json curve_of(const studies::SizeCurve& curve) {
  Json rows = Json::array();
  for (std::size_t i = 0; i < curve.rows.size(); ++i) {
    rows.push_back(radiator_of(curve.rows[i]));
    if (!curve.reached.empty()) rows.back()["reached"] = curve.reached[i];
  }
  Json json{{"over", variable_name(curve.variable)}, {"rows", std::move(rows)}};
  if (curve.variable != studies::SizeCurve::Variable::area)
    json["within_one_percent_m"] = {curve.within_one_percent.least, curve.within_one_percent.most};
  return json;
}

Json surroundings_of(const tile::Case& description) {
  return {{"life", description.end_of_life ? "end" : "begin"},
          {"distance_m", description.sun.distance_m},
          {"tilt_rad", description.sun.tilt_rad},
          {"irradiance_on_face_W_per_m2", description.sun.irradiance_W_per_m2()}};
}

Json shortfall_of(const studies::Shortfall& shortfall) {
  const char* unit = shortfall.demand.is_light() ? "_W" : "_K";
  Json json{{"demand", demand_of(shortfall.demand, false)}, {"nearest_radiator", design_of(shortfall.nearest)}};
  json[std::string("nearest") + unit] = number(shortfall.reached);
  json[std::string("endless_radiator") + unit] = number(shortfall.endless);
  json["regime"] = studies::name_of(shortfall.regime);
  return json;
}

}  // namespace

std::string json_size(const tile::SizeCases& cases, const studies::Size& size) {
  const tile::SizeSettings& settings = *cases.hot.size;
  Json json = head_of("size", cases.file);
  json["possible"] = size.possible;
  json["surface"] = settings.surface;
  json["minimise"] = settings.minimise == tile::SizeSettings::Minimise::mass ? "mass" : "area";
  json["margin_K"] = settings.margin_K;
  json["area_margin"] = settings.area_margin;
  json["radiator"] = size.possible ? radiator_of(size.best) : Json(nullptr);
  json["area_at_lower_bound"] = size.at_least_area;
  json["at_bounds"] = size.at_bounds;
  Json demands = Json::array();
  for (const studies::Demand& demand : size.demands) demands.push_back(demand_of(demand, size.possible));
  json["demands"] = std::move(demands);
  json["rebalanced_less_demanded"] = size.check;
  json["surface_sink_temperature_K"] = {
      {"hot", size.sink_K},
      {"cold", size.cold ? Json(size.cold->sink_K) : Json(nullptr)},
      {"meaning", "of this surface alone, sunlight included; not to be used beside a sunlight load or elsewhere"}};
  Json curves = Json::array();
  for (const studies::SizeCurve& curve : size.curves) curves.push_back(curve_of(curve));
  json["curves"] = std::move(curves);
  json["hot"] = surroundings_of(cases.hot);
  if (size.hot) {
    const tile::TileSystem system(studies::with_radiator(cases.hot, settings.surface, size.best.design));
    json["hot"]["usable_laser_power_W"] = size.hot->usable_laser_W;
    json["hot"]["beam_on"] = size.hot->beam_on ? point_of(cases.file, system, *size.hot->beam_on) : Json(nullptr);
    json["hot"]["beam_off"] = point_of(cases.file, system, size.hot->beam_off);
  }
  json["cold"] = nullptr;
  if (size.cold) {
    const tile::TileSystem system(studies::with_radiator(*cases.cold, settings.surface, size.best.design));
    json["cold"] = surroundings_of(*cases.cold);
    json["cold"]["heater"] = {{"node", size.cold->heater},
                              {"power_W", size.cold->heater_W},
                              {"installed_W", size.cold->installed_W},
                              {"limits_held", size.cold->held},
                              {"unreached", size.cold->held ? Json(nullptr) : Json(size.cold->unreached)}};
    json["cold"]["point"] = point_of(cases.file, system, size.cold->point);
  }
  Json shortfalls = Json::array();
  for (const studies::Shortfall& shortfall : size.shortfalls) shortfalls.push_back(shortfall_of(shortfall));
  json["shortfalls"] = std::move(shortfalls);
  json["balances_solved"] = size.balances;
  add_tail(json, cases.file, size.hot ? size.hot->warnings : std::vector<Diagnostic>{});
  return text_of(json);
}

}  // namespace tileflux::cli
