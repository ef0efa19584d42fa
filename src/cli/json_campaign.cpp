#include <fmt/format.h>

#include "cli/json.h"
#include "cli/json_parts.h"

namespace tileflux::cli {

namespace {

Json served_of(const studies::Served& served) {
  Json refused = Json::object();
  for (std::size_t why = 0; why < studies::refusals; ++why)
    refused[std::string(studies::name_of(static_cast<studies::Refusal>(why)))] = served.refused_J[why];
  return {{"asked_J", served.asked_J},       {"delivered_J", served.delivered_J}, {"share", served.share()},
          {"refused_J", std::move(refused)}, {"asked_s", served.asked_s},         {"met_s", served.met_s}};
}

Json answer_of(const studies::RequestAnswer& answer) {
  Json json{{"name", answer.name},
            {"at_s", answer.at_s},
            {"windows", answer.windows},
            {"windows_in_full", answer.met_windows}};
  json.update(served_of(answer.served));
  json["worst_window"] = {{"at_s", answer.worst_at_s}, {"share", answer.worst_share}};
  json["throttled_by"] = answer.throttled_by.empty() ? Json(nullptr) : Json(answer.throttled_by);
  json["tripped_by"] = answer.tripped_by.empty() ? Json(nullptr) : Json(answer.tripped_by);
  return json;
}

}  // namespace

std::string json_campaign(const tile::CaseFile& file, const tile::TileSystem& system,
                          const studies::CampaignResult& campaign) {
  Json json = head_of("campaign", file);
  json["outcome"] = campaign.outcome == studies::RunOutcome::complete ? "complete" : "interrupted";
  json["end_s"] = campaign.end_s;
  json["to_the_end_of_the_last_request"] = file.description.campaign->to_its_end;
  json["limits_met"] = campaign.limits_met();
  json["binding_limit"] = margin_of(campaign.binding);
  json["next_limit"] = margin_of(campaign.next);
  json["all"] = served_of(campaign.all);
  json["met_share"] = campaign.met_share();
  json["light_tolerance"] = studies::light_tolerance;
  json["needed_light_W"] = number(campaign.needed_light_W);
  json["availability"] = campaign.needed_light_W ? Json(campaign.availability()) : Json(nullptr);
  Json names = Json::object();
  for (const studies::RequestAnswer& answer : campaign.names) names[answer.name] = answer_of(answer);
  json["names"] = std::move(names);
  Json requests = Json::array();
  for (const studies::RequestAnswer& answer : campaign.requests) requests.push_back(answer_of(answer));
  json["requests"] = std::move(requests);
  json["beam_s"] = campaign.beam_s;
  json["trips"] = campaign.trips;
  if (campaign.battery) {
    json["battery"] = {{"begin_percent", campaign.battery->begin_percent},
                       {"end_percent", campaign.battery->end_percent},
                       {"least_percent", campaign.battery->least_percent},
                       {"most_percent", campaign.battery->most_percent}};
  }
  json["heaters_J"] = campaign.heaters_J;
  json["final_temperature_K"] = temperatures_of(system, campaign.final_x);
  json["extremes"] = extremes_of(campaign.ranges);
  json["margins"] = margins_of(campaign.margins);
  Json counts = Json::object();
  for (const auto& [what, count] : campaign.event_counts) counts[std::string(what)] = count;
  json["event_counts"] = std::move(counts);
  json["ledger_J"] = books_of(campaign.books);
  json["ledger_residual_relative"] = campaign.books.relative();
  json["ledger_residual_K"] = campaign.error_K;
  json["cycles"] = {{"evaluated", campaign.cycles.evaluated},
                    {"taken_over", campaign.cycles.taken_over},
                    {"taken_over_s", campaign.cycles.taken_over_s},
                    {"period_s", campaign.cycles.period_s},
                    {"error_K", campaign.cycles.error_K}};
  json["solver"] = {{"steps", campaign.counts.steps},
                    {"restarts", campaign.counts.restarts},
                    {"residuals", campaign.counts.residuals},
                    {"jacobians", campaign.counts.jacobians}};
  add_tail(json, file, campaign.warnings);
  return text_of(json);
}

}  // namespace tileflux::cli
