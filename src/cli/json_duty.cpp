/// What `duty` found, for programs.

#include "cli/json.h"
#include "cli/json_parts.h"
#include "tileflux/studies/duty.h"

namespace tileflux::cli {

namespace {

Json json_sustainable(const studies::SustainableDuty& s) {
  Json multipliers = Json::array();
  for (const studies::Multiplier& one : s.state.multipliers)
    multipliers.push_back({{"magnitude", one.magnitude}, {"unknown", one.unknown}});
  return {{"period_s", s.period_s},
          {"cycle_s", s.cycle.cycle_s},
          {"pulses_in_cycle", s.cycle.pulses},
          {"surroundings_move", s.cycle.moving},
          {"fraction", s.fraction},
          {"limited", s.limited},
          {"binding_limit", margin_of(s.binding)},
          {"next_limit", margin_of(s.next)},
          {"mean_light_W", s.mean_light_W},
          {"short_period_fraction", number(s.short_period_fraction)},
          {"short_period_binding_limit", margin_of(s.short_period_binding)},
          {"short_period_energy_fraction", number(s.short_period_energy_fraction)},
          {"multipliers", std::move(multipliers)},
          {"slowest_multiplier", s.state.slowest_multiplier},
          {"slowest_unknown", s.state.slowest_unknown},
          {"slowest_s", number(s.state.slowest_s)},
          {"cycles_to_95_percent", number(s.ratchet)},
          {"lasers_asked_J", s.state.lasers_asked_J},
          {"lasers_given_J", s.state.lasers_given_J},
          {"ledger_residual_relative", s.state.books.relative()},
          {"cycle_evaluations", s.cycles},
          {"periodic_error_K", s.state.error_K}};
}

Json json_map(const studies::DutyMap& map) {
  Json lines = Json::array();
  for (const studies::DutyMap::Line& line : map.lines)
    lines.push_back({{"fraction", line.fraction}, {"period_s", line.periods_s}, {"drive", line.drives}});
  return {{"drive", map.drives},
          {"period_s", map.periods_s},
          {"fraction", map.fraction},
          {"mean_light_W", map.mean_light_W},
          {"binding", map.binding},
          {"lines_of_equal_duty", std::move(lines)},
          {"cycle_evaluations", map.cycles}};
}

}  // namespace

std::string json_duty(const tile::CaseFile& file, const tile::TileSystem& system, const studies::Duty& duty) {
  Json json = head_of("duty", file);
  json["drive"] = file.description.beam->drive;
  json["start_temperature_K"] = temperatures_of(system, duty.start_x);
  json["burst"] = {{"length_s", number(duty.burst.length_s)},
                   {"binding_limit", margin_of(duty.burst.binding)},
                   {"next_limit", margin_of(duty.burst.next)},
                   {"adiabatic_bound_s", number(duty.burst.adiabatic_s)},
                   {"charge_at_end_percent",
                    file.description.battery ? Json(system.charge_percent(duty.burst.end_x)) : Json(nullptr)},
                   {"light_J", duty.burst.light_J},
                   {"melted_share_at_end", melted_of(system, duty.burst.end_x)}};
  json["recovery"] = {
      {"time_s", number(duty.recovery.time_s)},
      {"never", duty.recovery.never},
      {"node", duty.recovery.node},
      {"held_at_K", duty.recovery.held_K > 0.0 ? Json(duty.recovery.held_K) : Json(nullptr)},
      {"battery_gains_W", studies::battery_acts(system) ? Json(duty.recovery.charging_W) : Json(nullptr)},
      {"charge_within_percent", file.description.duty.charge_within_percent},
      {"within_K", file.description.duty.recovered_within_K}};
  json["continuous_rating"] = {{"drive", duty.rating.drive},
                               {"light_W", duty.rating.light_W},
                               {"limited", duty.rating.limited},
                               {"binding_limit", margin_of(duty.rating.binding)},
                               {"next_limit", margin_of(duty.rating.next)}};
  json["sustainable_duty"] = duty.sustainable ? json_sustainable(*duty.sustainable) : Json(nullptr);
  if (duty.curve) {
    Json points = Json::array();
    for (const studies::SustainableDuty& point : duty.curve->points) points.push_back(json_sustainable(point));
    json["curve"] = {{"points", std::move(points)}, {"cycle_evaluations", duty.curve->cycles}};
  }
  if (duty.map) json["map"] = json_map(*duty.map);
  add_tail(json, file, duty.warnings);
  return text_of(json);
}

}  // namespace tileflux::cli
