#include "cli/why_text.h"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "cli/json_parts.h"
#include "cli/print_parts.h"
#include "cli/text.h"

namespace tileflux::cli {

namespace {

using studies::Change;
using studies::Why;

std::string limit_and_beam(const studies::StateMargin& limit) {
  return limit.margin.where() + (limit.margin.upper ? "" : " (lower limit)") + " with the beam " +
         (limit.beam ? "on" : "off");
}

std::string left_words(const studies::Margin& margin) {
  const std::string amount = amount_text(margin.kind, std::abs(margin.margin));
  if (margin.margin >= 0.0) return "with " + amount + " left";
  const bool cold = margin.kind == studies::LimitKind::temperature && !margin.upper;
  return (cold ? "which is too cold by " : "which is broken by ") + amount;
}

std::string gained(const Why& why, double amount) {
  return fmt::format("{:.3g} {}", amount,
                     why.of_light || !why.binding ? "W" : studies::unit_of(why.binding->margin.kind));
}

/// What the changes buy, or a share of that.
std::string list(const Why& why, const std::vector<Change>& changes, double share = 1.0) {
  std::string text;
  for (const Change& change : changes) {
    text += text.empty() ? "" : ", ";
    text += fmt::format("{} {} ({})", change.more ? "more" : "less", change.input, gained(why, share * change.gained));
  }
  return text;
}

std::string sentences(const Explanation& explanation) {
  const Why& why = explanation.why;
  std::string text = explanation.words + (explanation.words.empty() ? "" : " ");
  text += why.regime == studies::Regime::beam_off ? std::string("No beam is asked for.")
                                                  : fmt::format("The tile is {}.", studies::name_of(why.regime));
  if (why.binding) {
    text += fmt::format(" What binds is {}, {}", limit_and_beam(*why.binding), left_words(why.binding->margin));
    if (why.next) text += fmt::format("; next is {}, {}", limit_and_beam(*why.next), left_words(why.next->margin));
    text += '.';
  }
  const std::string what = why.of_light ? "usable light" : "that margin";
  if (!why.per_cent.empty())
    text += fmt::format(" One per cent of these buys most {}: {}.", what, list(why, why.per_cent));
  // A whole kilogram is more than a derivative can speak of.
  constexpr double ten_grams_kg = 0.01;
  if (!why.per_kg.empty()) text += fmt::format(" Ten grams of these buy most: {}.", list(why, why.per_kg, ten_grams_kg));
  if (!why.weak.empty()) {
    text += " Look up first, for most hangs on them:";
    for (std::size_t i = 0; i < why.weak.size(); ++i) {
      const studies::WeakValue& value = why.weak[i];
      text += fmt::format(
          "{} {} ({}, uncertainty {}: {})", i > 0 ? "," : "", value.input,
          value.basis == "memory" ? "from memory" : value.basis,
          value.words + (value.taken_otherwise ? fmt::format(", taken as {}", percent(value.share, 0)) : ""),
          gained(why, value.matters));
    }
    text += '.';
  }
  return text;
}

Json changes_of(const Why& why, const std::vector<Change>& changes) {
  Json json = Json::array();
  for (const Change& change : changes)
    json.push_back(
        {{"input", change.input}, {"more", change.more}, {why.of_light ? "usable_light_W" : "margin", change.gained}});
  return json;
}

}  // namespace

Subject as_stated(const tile::Case& description, std::string words) {
  const auto from = [at_s = description.steady_at_s](tile::CaseSeries& series, std::span<const double> values_si) {
    tile::Case moved = series.with(values_si);
    moved.steady_at_s = at_s;
    return moved;
  };
  return {description, from, std::move(words)};
}

std::optional<Explanation> explanation_of(const tile::CaseTemplate& cases, const Subject& subject) {
  try {
    std::vector<studies::WeighedInput> inputs = weighed_inputs(cases, subject.description, subject.from);
    for (studies::WeighedInput& input : inputs) {
      const auto other = subject.kg_per_unit.find(input.gain.name);
      if (other != subject.kg_per_unit.end()) input.kg_per_unit = other->second;
    }
    return Explanation{studies::why(subject.description, inputs), subject.words};
  } catch (const Error& error) {
    constexpr int fault_of_ours = 4;
    if (error.exit_status() == fault_of_ours) throw;
    return std::nullopt;  // no steady state: the answer itself says so
  }
}

std::string print_why(const std::optional<Explanation>& explanation) {
  if (!explanation) return "";
  return "\nWhy\n" + wrapped(sentences(*explanation), 2);
}

std::string with_why(const std::string& text, const std::optional<Explanation>& explanation) {
  if (!explanation) return text;
  const Why& why = explanation->why;
  Json json{{"regime", studies::name_of(why.regime)}};
  json["binding_limit"] = state_margin_of(why.binding);
  json["next_limit"] = state_margin_of(why.next);
  json["one_per_cent_buys"] = changes_of(why, why.per_cent);
  json["one_kilogram_buys"] = changes_of(why, why.per_kg);
  json["weak_values"] = Json::array();
  for (const studies::WeakValue& value : why.weak)
    json["weak_values"].push_back({{"input", value.input},
                                   {"basis", value.basis},
                                   {"uncertainty", value.words},
                                   {"taken_as", value.share},
                                   {why.of_light ? "usable_light_W" : "margin", value.matters}});
  json["text"] = sentences(*explanation);
  Json whole = Json::parse(text);
  whole["why"] = std::move(json);
  return text_of(whole);
}

}  // namespace tileflux::cli
