#include "cli/json.h"
#include "cli/json_parts.h"

namespace tileflux::cli {

namespace {

Json tilt_of(const std::optional<studies::TiltNeeded>& tilt) {
  if (!tilt) return nullptr;
  using Need = studies::TiltNeeded::Need;
  const bool some = tilt->need == Need::tilted || tilt->need == Need::too_cold || tilt->need == Need::in_vain;
  const bool known = tilt->need == Need::none || tilt->need == Need::tilted || tilt->need == Need::too_cold;
  return {{"need", tilt_word(*tilt)},
          {"tilt_rad", known ? Json(tilt->tilt_rad) : Json(nullptr)},
          {"asked_for_with_beam", some ? Json(tilt->beam ? "on" : "off") : Json(nullptr)},
          {"limit", some ? margin_of(tilt->limit) : Json(nullptr)},
          {"beam_off_alone_rad", number(tilt->off_rad)},
          {"beam_on_alone_rad", number(tilt->on_rad)}};
}

Json trouble_of(const std::optional<Diagnostic>& trouble) {
  return trouble ? diagnostics_of({*trouble}).front() : Json(nullptr);
}

Json named(const std::vector<std::string>& names, const std::vector<double>& values) {
  Json json = Json::object();
  for (std::size_t i = 0; i < values.size() && i < names.size(); ++i) json[names[i]] = number(values[i]);
  return json;
}

Json rating_of(const std::optional<studies::ContinuousRating>& rating) {
  if (!rating) return nullptr;
  return {{"drive", rating->drive},
          {"light_W", rating->light_W},
          {"limited", rating->limited},
          {"binding_limit", margin_of(rating->binding)}};
}

Json point_json(const Swept& swept, const studies::SweepPoint& point) {
  Json json{{"value_si", point.value}, {"value", swept.range.in_unit(point.value)}};
  json["trouble"] = trouble_of(point.trouble);
  if (point.trouble) return json;
  const studies::Sweep& sweep = swept.sweep;
  const studies::SweepPoint::Hottest hottest = point.hottest();
  json["regime"] = studies::name_of(point.regime);
  json["limits_met"] = point.limits_met;
  json["binding_limit"] = state_margin_of(point.binding);
  json["next_limit"] = state_margin_of(point.next);
  json["sustainable_beam"] = sweep.has_beam ? Json(point.sustainable) : Json(nullptr);
  json["usable_laser_power_W"] = point.usable_light_W;
  json["usable_drive"] = point.usable_drive;
  json["light_at_the_beam_W"] = point.beam_light_W;
  json["continuous_rating"] = rating_of(point.rating);
  json["sustainable_duty"] = point.duty ? Json{{"fraction", point.duty->fraction},
                                               {"mean_light_W", point.duty->mean_light_W},
                                               {"binding_limit", margin_of(point.duty->binding)}}
                                        : Json(nullptr);
  json["duty_trouble"] = trouble_of(point.duty_trouble);
  json["tilt_taken_rad"] = {{"beam_off", point.off_tilt_rad},
                            {"beam_on", sweep.has_beam ? Json(point.on_tilt_rad) : Json(nullptr)}};
  json["tilt_needed"] = tilt_of(point.tilt);
  json["hottest"] = {{"node", sweep.nodes[hottest.node]},
                     {"temperature_K", hottest.temperature_K},
                     {"beam", hottest.beam ? "on" : "off"}};
  json["heaters_W"] = {{"beam_off", named(sweep.heaters, point.heater_off_W)},
                       {"beam_on", sweep.has_beam ? named(sweep.heaters, point.heater_on_W) : Json(nullptr)}};
  json["temperature_K"] = {{"beam_off", named(sweep.nodes, point.off_K)},
                           {"beam_on", sweep.has_beam ? named(sweep.nodes, point.on_K) : Json(nullptr)}};
  json["warnings"] = diagnostics_of(point.warnings);
  return json;
}

Json crossing_of(const Swept& swept, const studies::Crossing& crossing) {
  return {{"value_si", crossing.value},
          {"value", swept.range.in_unit(crossing.value)},
          {"what", studies::name_of(crossing.kind)},
          {"of", crossing.subject.empty() ? Json(nullptr) : Json(crossing.subject)},
          {"from", crossing.from},
          {"to", crossing.to},
          {"from_limit", state_margin_of(crossing.from_limit)},
          {"to_limit", state_margin_of(crossing.to_limit)}};
}

const char* spacing_name(input::Spacing spacing) {
  switch (spacing) {
    case input::Spacing::automatic:
      return "list";
    case input::Spacing::linear:
      return "linear";
    case input::Spacing::logarithmic:
      return "log";
  }
  return "";
}

}  // namespace

std::string json_sweep(const tile::CaseFile& file, const Swept& swept) {
  const studies::Sweep& sweep = swept.sweep;
  Json json = head_of("sweep", file);
  json["varied"] = {{"path", swept.varied.path},
                    {"si_unit", swept.varied.type.dimension.si_unit},
                    {"unit", swept.range.unit},
                    {"in_the_case", swept.varied.text ? Json(*swept.varied.text) : Json(nullptr)},
                    {"in_the_case_si", number(swept.varied.value_si)},
                    {"spacing", spacing_name(swept.range.spacing)}};
  Json points = Json::array();
  for (const studies::SweepPoint& point : sweep.points) points.push_back(point_json(swept, point));
  json["points"] = std::move(points);
  Json crossings = Json::array();
  for (const studies::Crossing& crossing : sweep.crossings) crossings.push_back(crossing_of(swept, crossing));
  json["crossings"] = std::move(crossings);
  json["crossings_within"] = studies::crossing_tolerance;
  Json sustained = Json::array();
  for (const studies::Stretch& stretch : sweep.sustained)
    sustained.push_back({{"from_si", stretch.from},
                         {"to_si", stretch.to},
                         {"begins_inside", stretch.begins_inside},
                         {"ends_inside", stretch.ends_inside}});
  json["beam_sustained"] = std::move(sustained);
  json["most_light"] = sweep.most_light_at
                           ? Json{{"at_si", *sweep.most_light_at}, {"usable_laser_power_W", sweep.most_light_W}}
                           : Json(nullptr);
  json["answered"] = sweep.answered();
  json["interrupted"] = sweep.interrupted;
  json["balances_solved"] = sweep.balances;
  add_tail(json, file, {});
  return text_of(json);
}

}  // namespace tileflux::cli
