/// The story of limits under a margin policy.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "report/story_parts.h"

namespace tileflux::report {

namespace {

/// A row in the units that people have.
struct PolicyRow {
  std::string name, verdict, life, beam, says;
  Shown shown;
  bool upper = true;
  double limit = 0.0, stated = 0.0;
  std::optional<double> bounding, distance, uncertainty, predicted, left;
  std::optional<double> exceeded;  ///< probability

  double comparable() const {
    const double value = left.value_or(distance.value_or(0.0));
    if (shown.unit == "degC" || limit == 0.0) return value;
    return 100.0 * value / std::abs(limit);
  }
};

const char* ending_of_row(const std::string& what) {
  if (what == "temperature" || what == "difference") return "_K";
  if (what == "rate") return "_K/s";
  if (what == "gradient") return "_K_per_m";
  if (what == "charge") return "_%";
  if (what == "energy") return "_J";
  if (what == "power") return "_W";
  return "_1";  // a heater's duty
}

PolicyRow row_of_policy(const View& row) {
  PolicyRow told;
  const std::string& what = row.text("what");
  const std::string ending = ending_of_row(what);
  const auto number = [&](const View& of, const char* key) { return of.number((key + ending).c_str()); };
  const auto number_if = [&](const View& of, const char* key, bool difference) -> std::optional<double> {
    const auto value = of.number_if((key + ending).c_str());
    if (!value) return std::nullopt;
    return difference ? told.shown.difference(*value) : told.shown.value(*value);
  };
  told.shown = shown_of_kind(what);
  told.upper = row.text("bound") == "below";
  told.name = (what == "temperature" ? "" : what + " of ") + row.text("node") +
              (row.has("other_node") ? " - " + row.text("other_node") : "");
  told.name += told.upper ? " below" : " above";
  told.limit = told.shown.value(number(row, "limit"));
  told.stated = told.shown.value(number(row, "stated"));
  const View bounding = row.at("bounding");
  told.bounding = number_if(bounding, "value", false);
  told.distance = number_if(bounding, "margin", true);
  told.life = bounding.text_or("life", "");
  told.beam = bounding.text_or("beam", "");
  const double step = row.number_if(("step_to_level" + ending).c_str()).value_or(0.0);
  const auto uncertainty = row.number_if(("uncertainty" + ending).c_str());
  if (uncertainty) told.uncertainty = told.shown.difference(*uncertainty + step);
  told.predicted = number_if(row, "predicted", false);
  told.left = number_if(row, "left", true);
  told.verdict = row.text("verdict");
  if (const auto chance = row.find("chance")) {
    const auto source = chance->find("sampled") ? chance->find("sampled") : chance->find("first_order");
    if (source && source->has("probability_exceeded"))
      told.exceeded = source->at("probability_exceeded").number("estimate");
  }
  return told;
}

MarginChart policy_chart(const std::vector<PolicyRow>& rows) {
  MarginChart chart;
  for (const PolicyRow& row : rows) {
    if (!row.bounding) continue;
    chart.bars.push_back({row.name, row.shown.unit, *row.bounding, row.limit, row.upper,
                          row.left.value_or(row.distance.value_or(0.0)), std::max(0.0, row.uncertainty.value_or(0.0))});
  }
  return chart;
}

/// The first columns of the same rows as the chart's bars.
Table policy_table(const std::vector<PolicyRow>& rows) {
  Table table{"Limits under the policy, least left first",
              {{"limit", "", 0, false},
               {"at", "", -5},
               {"unit", "", 0, false},
               {"as stated", "", -4},
               {"bounding case", "", -4},
               {"distance", "", -4},
               {"reserved", "", -4},
               {"left", "", -4},
               {"verdict", "", 0, false}},
              {},
              ""};
  for (const PolicyRow& row : rows)
    table.rows.push_back({row.name, row.limit, row.shown.unit, row.stated, cell_of(row.bounding), cell_of(row.distance),
                          cell_of(row.uncertainty), cell_of(row.left), row.verdict});
  return table;
}

Table bounding_table(const std::vector<PolicyRow>& rows) {
  Table table{"Where each is worst, and how likely it is exceeded",
              {{"limit", "", 0, false}, {"life", "", 0, false}, {"beam", "", 0, false}, {"probability", "%", -3}},
              {},
              ""};
  for (const PolicyRow& row : rows)
    table.rows.push_back({row.name, row.life, row.beam, row.exceeded ? Cell(100.0 * *row.exceeded) : Cell()});
  return table;
}

Section light_section(const View& light) {
  Section section{"light", "How much light there is with what is not known", "", {}, {}};
  Table table{"Light with the beam on", {{"what", "", 0, false}, {"light", "W"}}, {}, ""};
  const auto add = [&](const std::string& what, const std::optional<double>& value_W) {
    if (value_W) table.rows.push_back({what, *value_W});
  };
  add("as stated", light.number_if("stated_W"));
  if (const auto bounding = light.find("bounding")) add("least of the bounding cases", bounding->number_if("value_W"));
  for (const auto& [key, words] : {std::pair{"first_order", "by derivatives"}, std::pair{"sampled", "by samples"}}) {
    const auto found = light.find(key);
    if (!found) continue;
    add(std::string("mean ") + words, found->number_if("mean_W"));
    add(std::string("5 % are below, ") + words, found->number_if("quantile_5_percent_W"));
    add(std::string("5 % are above, ") + words, found->number_if("quantile_95_percent_W"));
  }
  section.says = "Samples where there are any; derivatives hold for small uncertainties.";
  section.tables.push_back(std::move(table));
  return section;
}

Table policy_numbers(const View& policy) {
  Table table{"The policy: " + policy.text_or("title", policy.text_or("name", "")),
              {{"number", "", 0, false}, {"value", "", -4}, {"basis", "", 0, false}, {"source", "", 0, false}},
              {},
              ""};
  for (const auto& [key, value] : policy.entries()) {
    if (!value.is_object()) continue;
    std::string words = key;
    std::replace(words.begin(), words.end(), '_', ' ');
    table.rows.push_back({words, value.number("value_si"), value.text_or("basis", ""), value.text_or("source", "")});
  }
  return table;
}

std::string margins_answer(const std::vector<PolicyRow>& rows, const std::string& verdict, const std::string& policy) {
  const std::string under = policy.empty() ? "in the bounding cases" : "under the policy " + policy;
  if (rows.empty()) return "No limit is stated in the case.";
  const auto count = [&](const char* word) {
    return std::count_if(rows.begin(), rows.end(), [&](const PolicyRow& row) { return row.verdict == word; });
  };
  const PolicyRow& worst = rows.front();
  const double left = worst.left.value_or(worst.distance.value_or(0.0));
  const std::string amount = fmt::format("{:.3g} {}", std::abs(left), worst.shown.margin_unit);
  return fmt::format("The verdict is {}: {} of {} kept {}; worst is {} {:.5g} {}, where {} {}.", verdict, count("kept"),
                     plural(rows.size(), "limit"), under, worst.name, worst.limit, worst.shown.unit, amount,
                     left < 0.0 ? "are missing" : "are left");
}

}  // namespace

Chapter margins_chapter(const ResultContent& content) {
  const View result = content.view();
  std::vector<PolicyRow> rows;
  for (const View& row : result.items("margins")) rows.push_back(row_of_policy(row));
  std::stable_sort(rows.begin(), rows.end(),
                   [](const PolicyRow& a, const PolicyRow& b) { return a.comparable() < b.comparable(); });
  Chapter chapter;
  chapter.question = "With what margin are the limits kept?";
  const View policy = result.at("policy");
  const std::string verdict = result.text("verdict");
  chapter.answer = margins_answer(rows, verdict, policy.text_or("name", ""));
  chapter.met = verdict == "kept";
  chapter.limits = chapter.met              ? "every limit is kept with its margin"
                   : verdict == "too small" ? "every limit is kept, but not with its margin"
                                            : "a limit is broken in its bounding case";
  if (!rows.empty()) {
    chapter.binds = fmt::format("{} {:.5g} {} binds, at {} of life with the beam {}", rows[0].name, rows[0].limit,
                                rows[0].shown.unit, rows[0].life, rows[0].beam);
    if (rows.size() > 1)
      chapter.binds += fmt::format("; next is {} {:.5g} {}", rows[1].name, rows[1].limit, rows[1].shown.unit);
    chapter.binds += ".";
  }
  chapter.next = next_steps(result);
  Section section{"margins", "Limits in their bounding cases, and what the policy reserves", "", {}, {}};
  section.says = policy.text_or("title", "") + ".";
  const bool drawn =
      std::all_of(rows.begin(), rows.end(), [](const PolicyRow& row) { return row.bounding.has_value(); });
  MarginChart chart = policy_chart(rows);
  if (!chart.bars.empty()) section.chart = std::move(chart);
  section.tables = {policy_table(rows), bounding_table(rows)};
  if (!drawn) section.says += " Limits whose bounding case has no steady state are not drawn.";
  if (!rows.empty()) chapter.sections.push_back(std::move(section));
  if (const auto light = result.find("light")) chapter.sections.push_back(light_section(*light));
  Table numbers = policy_numbers(policy);
  if (!numbers.rows.empty()) chapter.numbers.push_back(std::move(numbers));
  return chapter;
}

}  // namespace tileflux::report
