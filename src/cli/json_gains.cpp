#include "cli/json.h"
#include "cli/json_parts.h"

namespace tileflux::cli {

namespace {

using studies::GainOutput;

const char* what_is(GainOutput::Kind kind) {
  switch (kind) {
    case GainOutput::Kind::light:
      return "usable_laser_power";
    case GainOutput::Kind::margin:
      return "margin";
    case GainOutput::Kind::radiator_area:
      return "radiator_area_at_fixed_temperature";
    case GainOutput::Kind::rating:
      return "continuous_rating";
    case GainOutput::Kind::duty:
      return "sustainable_duty";
    case GainOutput::Kind::duty_light:
      return "mean_light_at_sustainable_duty";
    case GainOutput::Kind::run_margin:
      return "margin_over_run";
    case GainOutput::Kind::run_light:
      return "mean_light_over_run";
  }
  return "";
}

Json output_of(const GainOutput& output) {
  Json json{{"what", what_is(output.kind)}, {"unit", output.unit}, {"value", number(output.value)}};
  if (output.kind == GainOutput::Kind::margin) json["beam"] = output.beam ? "on" : "off";
  if (output.limit) json["limit"] = margin_of(output.limit);
  return json;
}

Json end_of(const std::optional<studies::RegimeEnd>& end) {
  if (!end) return nullptr;
  return {{"value", end->value}, {"what", studies::name_of(end->kind)}, {"from", end->from}, {"to", end->to}};
}

Json input_of(const studies::Gains& gains, const studies::InputGains& input) {
  Json json{{"input", input.name}, {"unit", input.unit}, {"value", input.value}, {"portion", number(input.portion())}};
  if (!input.why_none.empty()) json["no_slopes"] = input.why_none;
  Json slopes = Json::array(), bought = Json::array();
  for (std::size_t i = 0; i < gains.outputs.size(); ++i) {
    slopes.push_back(number(input.slopes[i]));
    bought.push_back(number(input.bought(i)));
  }
  json["slope_of_each_output"] = slopes;
  json["bought_by_portion"] = bought;
  if (input.ends_sought) json["regime_ends"] = {{"below", end_of(input.below)}, {"above", end_of(input.above)}};
  return json;
}

Json step_of(const studies::ConversionStep& step) {
  return {{"step", step.name},
          {"efficiency", step.efficiency},
          {"per_point",
           {{"usable_laser_power_W", step.light_W},
            {"binding_temperature_K", number(step.temperature_K)},
            {"radiator_area_m2", number(step.area_m2)},
            {"radiator_mass_kg", number(step.mass_kg)},
            {"continuous_rating", number(step.rating)},
            {"sustainable_duty", number(step.duty)}}}};
}

Json laser_of(const studies::LaserChoice& one) {
  Json json{{"efficiency", one.efficiency}, {"present", one.present}};
  json["trouble"] = one.trouble ? diagnostics_of({*one.trouble}).front() : Json(nullptr);
  if (one.trouble) return json;
  json["light_factor"] = one.light_factor;
  json["usable_laser_power_W"] = one.usable_light_W;
  json["usable_drive"] = one.usable_drive;
  json["regime"] = studies::name_of(one.regime);
  json["binding_limit"] = state_margin_of(one.binding);
  json["hottest_junction_K"] = one.junction_K;
  json["cells_K"] = one.cells_K > 0.0 ? Json(one.cells_K) : Json(nullptr);
  json["continuous_rating"] = number(one.rating);
  json["radiator_area_for_full_command_m2"] = number(one.area_m2);
  json["sustainable_duty"] = number(one.duty);
  json["mean_light_at_sustainable_duty_W"] = number(one.duty_light_W);
  return json;
}

}  // namespace

std::string json_gains(const tile::CaseFile& file, const studies::Gains& gains) {
  Json json = head_of("gains", file);
  json["regime"] = studies::name_of((gains.balance.beam_on ? *gains.balance.beam_on : gains.balance.beam_off).regime);
  json["binding_limit"] = state_margin_of(gains.binding);
  json["next_limit"] = state_margin_of(gains.next);
  json["radiator"] = nullptr;
  if (gains.radiator) {
    json["radiator"] = {{"surface", gains.radiator->surface},
                        {"area_m2", gains.radiator->area_m2},
                        {"areal_mass_kg_per_m2", number(gains.radiator->areal_mass_kg_per_m2)},
                        {"mass_of", gains.radiator->mass_of}};
  }
  if (!gains.duty_note.empty()) json["no_slopes_of_duty"] = gains.duty_note;
  if (!gains.run_note.empty()) json["no_slopes_over_run"] = gains.run_note;
  json["outputs"] = Json::array();
  for (const GainOutput& output : gains.outputs) json["outputs"].push_back(output_of(output));
  json["inputs"] = Json::array();
  for (const studies::InputGains& input : gains.inputs) json["inputs"].push_back(input_of(gains, input));
  json["inputs_without_effect"] = gains.without_effect;
  json["conversion_steps"] = Json::array();
  for (const studies::ConversionStep& step : gains.steps) json["conversion_steps"].push_back(step_of(step));
  json["lasers"] = Json::array();
  for (const studies::LaserChoice& one : gains.lasers) json["lasers"].push_back(laser_of(one));
  add_tail(json, file, gains.balance.warnings);
  return text_of(json);
}

}  // namespace tileflux::cli
