#include <fmt/format.h>

#include "cli/json.h"
#include "cli/json_parts.h"
#include "cli/margined.h"

namespace tileflux::cli {

namespace {

using studies::Bounding;
using studies::MarginRow;
using studies::ProbabilityRange;
using studies::Spread;
using studies::Watched;

Json probability_of(const ProbabilityRange& range) {
  return {{"estimate", range.estimate}, {"from", range.from}, {"to", range.to}};
}

Json inputs_of(const Margined& margined) {
  constexpr const char* kinds[] = {"normal", "uniform", "bounded"};
  Json list = Json::array();
  for (const tile::UncertainInput& input : margined.known.inputs) {
    const tile::InputLaw& law = input.law;
    Json json{{"input", input.path},
              {"unit", input.unit},
              {"law", kinds[static_cast<int>(law.kind)]},
              {"value_si", law.value},
              {"mean_si", studies::mean_of(law)},
              {"standard_deviation_si", studies::standard_deviation_of(law)}};
    if (law.kind != tile::InputLaw::Kind::normal) {
      json["from_si"] = law.from;
      json["to_si"] = law.to;
    }
    json["batch"] = input.batch.empty() ? Json(nullptr) : Json(input.batch);
    json["correlation"] = input.correlation;
    json["from"] = input.from_library.empty() ? "case" : "library";
    list.push_back(std::move(json));
  }
  return list;
}

/// The suffix of keys about what is watched: `_K`, `_1` for shares.
std::string suffix_of(const Watched& watched) {
  if (watched.kind == Watched::Kind::heater) return "_1";
  const std::string_view unit = studies::unit_of(watched.margin.kind);
  if (unit == "K/m") return "_K_per_m";
  return '_' + std::string(unit);
}

Json bounding_of(const Margined& margined, const Watched& watched, const Bounding& bounding) {
  const std::string unit = suffix_of(watched);
  Json moved = Json::object(), unsteady = Json::array();
  for (std::size_t i = 0; i < bounding.moved.size(); ++i) {
    if (bounding.moved[i] != 0) moved[margined.known.inputs[i].path] = bounding.moved[i] < 0 ? "low" : "high";
  }
  for (const std::size_t i : bounding.not_monotone) unsteady.push_back(margined.known.inputs[i].path);
  return {{"value" + unit, number(bounding.value)},
          {"margin" + unit, number(bounding.margin)},
          {"life", bounding.end_of_life ? "end" : "begin"},
          {"beam", bounding.beam ? "on" : "off"},
          {"inputs", std::move(moved)},
          {"not_monotone", std::move(unsteady)},
          {"one_input_alone", bounding.alone},
          {"trouble", bounding.trouble ? diagnostics_of({*bounding.trouble}).front() : Json(nullptr)}};
}

Json worst_of(const std::optional<studies::WorstTile>& worst, const std::string& unit) {
  if (!worst) return nullptr;
  return {{"mean" + unit, number(worst->mean)},
          {"median" + unit, number(worst->median)},
          {"quantile_5_percent" + unit, number(worst->low)},
          {"probability_any_exceeds", probability_of(worst->any_below_zero)}};
}

Json spread_of(const Spread& spread, const std::string& unit, bool bounded) {
  Json json{{"mean" + unit, number(spread.mean)},
            {"standard_deviation" + unit, number(spread.standard_deviation)},
            {"quantile_5_percent" + unit, number(spread.low)},
            {"quantile_95_percent" + unit, number(spread.high)}};
  if (bounded) json["probability_exceeded"] = probability_of(spread.below_zero);
  return json;
}

/// What both ways say of one thing that is watched.
Json chance_of(const Margined& margined, std::size_t k) {
  const studies::Margins& margins = margined.margins;
  const Watched& watched = margins.watched[k];
  const std::string unit = suffix_of(watched);
  const bool bounded = watched.kind != Watched::Kind::light;
  Json first = spread_of(margins.linear[k], unit, bounded);
  first["common_deviation" + unit] = number(margins.linear[k].common_deviation);
  first["worst_tile"] = worst_of(margins.linear[k].worst, unit);
  Json json{{"beam", watched.beam ? "on" : "off"}, {"first_order", std::move(first)}};
  if (!margins.sampled || margins.sampled->outputs.empty()) {
    json["sampled"] = nullptr;
    return json;
  }
  Json drawn = spread_of(margins.sampled->outputs[k], unit, bounded);
  drawn["error_of_mean" + unit] = number(margins.sampled->mean_error[k]);
  drawn["error_of_deviation" + unit] = number(margins.sampled->deviation_error[k]);
  drawn["worst_tile"] = worst_of(margins.sampled->outputs[k].worst, unit);
  json["sampled"] = std::move(drawn);
  json["disagreement"] = margins.disagreements[k].empty() ? Json(nullptr) : Json(margins.disagreements[k]);
  return json;
}

Json row_of(const Margined& margined, const MarginRow& row) {
  const std::string unit = suffix_of(row.stated);
  const studies::Margin& margin = row.stated.margin;
  const bool heater = row.stated.kind == Watched::Kind::heater;
  Json json{{"what", heater ? "heater" : studies::name_of(margin.kind)},
            {"node", margin.node},
            {"bound", margin.upper ? "below" : "above"}};
  if (!margin.other.empty()) json["other_node"] = margin.other;
  json["limit" + unit] = margin.limit;
  json["stated" + unit] = margin.value;
  json["stated_beam"] = row.stated.beam ? "on" : "off";
  json["bounding"] = bounding_of(margined, row.stated, row.bounding);
  json["other_age"] = row.other_age ? bounding_of(margined, row.stated, *row.other_age) : Json(nullptr);
  json["control"] = studies::name_of(row.control);
  json["policy_says"] = row.asked;
  json["uncertainty" + unit] = row.uncertainty;
  json["uncertainty_from_inputs"] = row.from_deviations;
  json["step_to_level" + unit] = row.step_K;
  json["predicted" + unit] = number(row.predicted);
  json["left" + unit] = number(row.left);
  json["verdict"] = studies::name_of(row.verdict);
  if (!margined.known.inputs.empty()) json["chance"] = chance_of(margined, row.watched);
  return json;
}

Json policy_number(const std::optional<tile::PolicyNumber>& number) {
  if (!number) return nullptr;
  return {{"value_si", number->value}, {"source", number->source}, {"basis", number->basis}};
}

Json policy_of(const Margined& margined) {
  const tile::Policy& policy = margined.options.policy;
  return {{"name", policy.name},
          {"title", policy.title},
          {"tested", margined.options.tested},
          {"tested_K", policy_number(policy.tested)},
          {"untested_K", policy_number(policy.untested)},
          {"sigmas", policy_number(policy.sigmas)},
          {"active_K", policy_number(policy.active)},
          {"acceptance_K", policy_number(policy.acceptance)},
          {"qualification_K", policy_number(policy.qualification)},
          {"power_reserve", policy_number(policy.power_reserve)},
          {"heater_duty", policy_number(policy.heater_duty)},
          {"radiator_area", policy_number(policy.radiator_area)},
          {"bounds_sigmas", policy.bound_sigmas()}};
}

}  // namespace

std::string json_margins(const tile::CaseFile& file, const Margined& margined) {
  const studies::Margins& margins = margined.margins;
  Json json = head_of("margins", file);
  json["verdict"] = studies::name_of(margins.verdict());
  json["policy"] = policy_of(margined);
  Json rows = Json::array();
  for (const MarginRow& row : margins.rows) rows.push_back(row_of(margined, row));
  json["margins"] = std::move(rows);
  json["area"] = nullptr;
  if (margins.area)
    json["area"] = {{"surface", margins.area->surface},
                    {"share", margins.area->share},
                    {"worst_limit", margin_of(margins.area->worst)}};
  json["light"] = nullptr;
  if (margins.least_light) {
    json["light"] = chance_of(margined, margins.watched.size() - 1);
    json["light"]["stated_W"] = margins.watched.back().margin.value;
    json["light"]["bounding"] = bounding_of(margined, margins.watched.back(), *margins.least_light);
  }
  json["tiles"] = margined.options.sampling.tiles;
  json["samples"] = nullptr;
  if (margins.sampled)
    json["samples"] = {{"count", margins.sampled->samples},          {"failed", margins.sampled->failed},
                       {"seed", margined.options.sampling.seed},     {"design", "latin"},
                       {"arrays", margins.sampled->arrays},          {"no_worst_tile", margins.sampled->no_worst},
                       {"interrupted", margins.sampled->interrupted}};
  json["inputs"] = inputs_of(margined);
  json["inputs_unknown"] = margined.known.unknown;
  json["inputs_shortened"] = margined.known.shortened;
  add_tail(json, file, margins.warnings);
  return text_of(json);
}

}  // namespace tileflux::cli
