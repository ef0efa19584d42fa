#include "cli/json.h"
#include "cli/json_parts.h"

namespace tileflux::cli {

namespace {

Json spread_json(const AnswerSpread& spread) {
  if (spread.values == 0) return nullptr;
  return {{"least", spread.least},         {"mean", spread.mean},         {"most", spread.most},
          {"least_row", spread.least_row}, {"most_row", spread.most_row}, {"values", spread.values}};
}

}  // namespace

std::string json_rows(const tile::CaseFile& file, const AskedSweep& asked, const SweptRows& swept, bool values) {
  Json json = head_of("sweep", file);
  const studies::Design& design = asked.design;
  json["question"] = studies::name_of(asked.answers->question());
  json["design"] = studies::name_of(design.kind());
  json["rows"] = design.rows();
  json["answered"] = swept.rows - swept.failed;
  json["without_an_answer"] = swept.failed;
  json["solved_now"] = swept.solved;
  json["interrupted"] = swept.interrupted;
  json["troubles"] = swept.troubles;
  const bool all = values && swept.rows <= most_json_rows;
  Json varied = Json::array();
  for (std::size_t i = 0; i < asked.inputs.size(); ++i) {
    Json listed = Json::array();
    for (long long row = 0; all && row < swept.rows; ++row) listed.push_back(design.row(row)[i]);
    varied.push_back({{"path", asked.inputs[i].varied.path},
                      {"si_unit", asked.inputs[i].varied.type.dimension.si_unit},
                      {"values_si", all ? std::move(listed) : Json(nullptr)}});
  }
  json["varied"] = std::move(varied);
  Json answers = Json::object();
  const auto& fields = asked.answers->fields();
  for (std::size_t i = 0; i < fields.size(); ++i) {
    const std::vector<double> given = swept.answer(i);
    Json listed = Json::array();
    for (std::size_t row = 0; all && row < given.size(); ++row) listed.push_back(number(given[row]));
    Json one{{"unit", fields[i].unit}, {"meaning", fields[i].meaning}};
    if (!fields[i].flags.empty()) one["codes"] = fields[i].flags;
    one["spread"] = spread_json(answer_spread(given));
    one["values"] = all ? std::move(listed) : Json(nullptr);
    answers[fields[i].name] = std::move(one);
  }
  json["answers"] = std::move(answers);
  add_tail(json, file, {});
  return text_of(json);
}

}  // namespace tileflux::cli
