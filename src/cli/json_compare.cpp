#include "cli/json.h"
#include "cli/json_parts.h"
#include "tileflux/base/cautions.h"

namespace tileflux::cli {

namespace {

using Output = studies::ComparedOutput;

const char* what_of(Output::Kind kind) {
  switch (kind) {
    case Output::Kind::light:
      return "usable_laser_power";
    case Output::Kind::rating:
      return "continuous_rating";
    case Output::Kind::temperature:
      return "temperature";
    case Output::Kind::margin:
      return "margin";
  }
  return "";
}

Json side_of(const tile::CaseFile& file, const studies::ComparedSide& side) {
  const studies::Balance& balance = side.balance;
  Json json{{"case", {{"title", file.description.title}, {"file", file.file}}}};
  json["regime"] = studies::name_of((balance.beam_on ? *balance.beam_on : balance.beam_off).regime);
  json["binding_limit"] = side.binding ? margin_of(side.binding->margin) : Json(nullptr);
  if (side.binding) json["binding_limit"]["beam"] = side.binding->beam ? "on" : "off";
  json["limits_met"] = balance.limits_met;
  json["usable_laser_power_W"] = balance.usable_laser_W;
  json["usable_drive"] = balance.usable_drive;
  json["continuous_rating"] = side.rating ? Json(side.rating->drive) : Json(nullptr);
  json["sustainable_duty"] = number(side.duty);
  json["mean_light_at_sustainable_duty_W"] = number(side.duty_light_W);
  if (!side.duty_note.empty()) json["no_sustainable_duty"] = side.duty_note;
  json["warnings"] = diagnostics_of(file.warnings);
  for (const Json& warning : diagnostics_of(balance.warnings)) json["warnings"].push_back(warning);
  return json;
}

Json difference_of(const tile::CaseDifference& one) {
  Json json{{"path", one.path}};
  switch (one.kind) {
    case tile::CaseDifference::Kind::value:
      json["unit"] = one.dimension.si_unit;
      json["a"] = one.a_si;
      json["b"] = one.b_si;
      break;
    case tile::CaseDifference::Kind::words:
      break;
    case tile::CaseDifference::Kind::only_a:
      json["only_in"] = "a";
      break;
    case tile::CaseDifference::Kind::only_b:
      json["only_in"] = "b";
      break;
  }
  json["a_text"] = one.a_text;
  json["b_text"] = one.b_text;
  json["of_a_study"] = one.of_a_study;
  return json;
}

Json output_of(const Output& output) {
  Json json{{"what", what_of(output.kind)}, {"unit", output.unit}};
  if (output.kind == Output::Kind::temperature) json["node"] = output.node;
  if (output.limit)
    json["limit"] = {{"kind", studies::name_of(output.limit->kind)},
                     {"node", output.limit->node},
                     {"other_node", output.limit->other},
                     {"bound", output.limit->upper ? "below" : "above"}};
  json["beam"] = output.beam ? "on" : "off";
  json["a"] = number(output.a);
  json["b"] = number(output.b);
  json["change"] = number(output.change());
  return json;
}

Json part_of(const Compared& compared, const studies::ComparedPart& part) {
  Json names = Json::array();
  for (const std::size_t i : part.inputs) names.push_back(compared.cases.differences()[i].path);
  Json json{{"inputs", names}, {"in_one_step", part.in_one_step}};
  if (!part.why_together.empty()) json["why_together"] = part.why_together;
  json["change_of_each_output"] = part.change;
  json["least_by_order"] = part.least;
  json["most_by_order"] = part.most;
  return json;
}

}  // namespace

std::string json_compare(const Compared& compared) {
  const studies::Comparison& result = compared.result;
  Json json{{"tileflux", TILEFLUX_VERSION}, {"verb", "compare"}};
  json["a"] = side_of(compared.cases.a().as_written(), result.a);
  json["b"] = side_of(compared.cases.b().as_written(), result.b);
  json["differences"] = Json::array();
  for (const auto& one : compared.cases.differences()) json["differences"].push_back(difference_of(one));
  json["library_properties_only_a_uses"] = compared.cases.only_a_uses();
  json["library_properties_only_b_uses"] = compared.cases.only_b_uses();
  json["nodes_only_in_a"] = result.only_in_a;
  json["nodes_only_in_b"] = result.only_in_b;
  json["outputs"] = Json::array();
  for (const Output& output : result.outputs) json["outputs"].push_back(output_of(output));
  json["not_attributed"] = result.why_no_parts.empty() ? Json(nullptr) : Json(result.why_no_parts);
  json["parts"] = Json::array();
  for (const studies::ComparedPart& part : result.parts) json["parts"].push_back(part_of(compared, part));
  json["at_corners_of_each_output"] = result.at_corners;
  json["corners"] = Json::array();
  for (const studies::ComparedCorner& one : result.corners)
    json["corners"].push_back({{"at", one.at}, {"from", one.from}, {"to", one.to}, {"with_steps", one.with_steps}});
  json["points_with_slopes"] = result.points;
  json["interrupted"] = result.interrupted;
  json["caution"] = short_caution();
  return text_of(json);
}

}  // namespace tileflux::cli
