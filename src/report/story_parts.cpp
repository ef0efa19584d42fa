#include "report/story_parts.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "tileflux/base/constants.h"

namespace tileflux::report {

double celsius_of(double temperature_K) { return temperature_K - zero_celsius_K; }

Shown shown_of_kind(const std::string& kind) {
  if (kind == "temperature") return {"degC", "K", 1.0, zero_celsius_K, 2};
  if (kind == "rate") return {"K/min", "K/min", 60.0, 0.0, 3};
  if (kind == "difference") return {"K", "K"};
  if (kind == "gradient") return {"K/m", "K/m"};
  if (kind == "charge") return {"%", "%"};
  if (kind == "energy") return {"kJ", "kJ", 1e-3, 0.0, 3};
  if (kind == "power") return {"W", "W"};
  if (kind == "heater") return {"%", "%", 100.0, 0.0, 1};
  return {"", ""};
}

double LimitTold::comparable() const {
  if (kind == "temperature" || kind == "charge" || limit == 0.0) return margin;
  return 100.0 * margin / std::abs(limit);
}

namespace {

/// The end of the keys of a kind: `_K`, `_W`, ...
const char* ending_of(const std::string& kind) {
  if (kind == "temperature" || kind == "difference") return "_K";
  if (kind == "rate") return "_K_per_s";
  if (kind == "gradient") return "_K_per_m";
  if (kind == "charge") return "_percent";
  if (kind == "energy") return "_J";
  if (kind == "power") return "_W";
  return nullptr;
}

}  // namespace

LimitTold limit_of(const View& view) {
  LimitTold told;
  told.kind = view.text("kind");
  told.node = view.text("node");
  told.other = view.text_or("other_node", "");
  told.upper = view.text("bound") == "below";
  told.shown = shown_of_kind(told.kind);
  const char* ending = ending_of(told.kind);
  if (ending == nullptr) view.refuse(Code::choice_unknown, "'" + told.kind + "' is no kind of limit");
  told.value = told.shown.value(view.number((told.kind + ending).c_str()));
  told.limit = told.shown.value(view.number((std::string("limit") + ending).c_str()));
  told.margin = told.shown.difference(view.number((std::string("margin") + ending).c_str()));
  told.beam = view.text_or("beam", "");
  return told;
}

std::optional<LimitTold> limit_if(const View& view, const char* key) {
  const auto found = view.find(key);
  return found ? std::optional<LimitTold>(limit_of(*found)) : std::nullopt;
}

std::vector<LimitTold> limits_of(const View& list) {
  std::vector<LimitTold> limits;
  for (const View& one : list.items()) limits.push_back(limit_of(one));
  return limits;
}

std::string limit_words(const LimitTold& limit) {
  const std::string kind = limit.kind == "temperature" ? "" : limit.kind + " of ";
  return fmt::format("{}{} {} {:.{}f} {}", kind, limit.where(), limit.upper ? "below" : "above", limit.limit,
                     limit.shown.decimals, limit.shown.unit);
}

std::string left_words(const LimitTold& limit) {
  const std::string amount =
      fmt::format("{:.{}f} {}", std::abs(limit.margin), limit.shown.decimals, limit.shown.margin_unit);
  return limit.margin < 0.0 ? "broken by " + amount : amount + " left";
}

std::string beam_words(const LimitTold& limit) {
  return limit.beam.empty() ? "" : " with the beam " + std::string(limit.beam == "on" ? "on" : "off");
}

std::string binding_sentence(const std::optional<LimitTold>& binding, const std::optional<LimitTold>& next) {
  if (!binding) return "No limit is stated in the case.";
  const auto told = [](const LimitTold& limit) {
    return limit_words(limit) + beam_words(limit) + ", " + left_words(limit);
  };
  return "What binds is " + told(*binding) + (next ? "; next is " + told(*next) : "") + ".";
}

std::string amount_words(double value, const std::string& unit) {
  constexpr std::pair<double, const char*> prefixes[] = {{1e9, "G"}, {1e6, "M"}, {1e3, "k"}};
  if (unit == "J" || unit == "W") {
    const double least = unit == "W" ? 1e4 : 1e3;  // 1361 W is what people say
    for (const auto& [factor, prefix] : prefixes) {
      if (std::abs(value) >= std::max(factor, least)) return fmt::format("{:.3g} {}{}", value / factor, prefix, unit);
    }
  }
  // Whole numbers above a thousand, never 1.36e+03.
  const std::string number =
      std::abs(value) >= 1e3 && std::abs(value) < 1e7 ? fmt::format("{:.0f}", value) : fmt::format("{:.3g}", value);
  return unit.empty() || unit == "1" ? number : number + ' ' + unit;
}

std::string percent_words(double share) { return fmt::format("{:.1f} %", 100.0 * share); }

std::string time_words(double time_s) {
  constexpr double minute_s = 60.0, hour_s = 3600.0, day_s = 86400.0;
  if (std::abs(time_s) < 2.0 * minute_s) return fmt::format("{:.3g} s", time_s);
  if (std::abs(time_s) < 2.0 * hour_s) return fmt::format("{:.3g} min", time_s / minute_s);
  if (std::abs(time_s) < 2.0 * day_s) return fmt::format("{:.3g} h", time_s / hour_s);
  return amount_words(time_s / day_s, "d");
}

std::string plural(std::size_t count, const std::string& thing) {
  return fmt::format("{} {}{}", count, thing, count == 1 ? "" : "s");
}

namespace {

void sort_by_margin(std::vector<LimitTold>& limits) {
  std::stable_sort(limits.begin(), limits.end(),
                   [](const LimitTold& a, const LimitTold& b) { return a.comparable() < b.comparable(); });
}

std::string name_of_limit(const LimitTold& limit) {
  return (limit.kind == "temperature" ? "" : limit.kind + " of ") + limit.where() +
         (limit.state.empty() ? "" : ", " + limit.state);
}

}  // namespace

MarginChart margin_chart(std::vector<LimitTold> limits) {
  sort_by_margin(limits);
  MarginChart chart;
  for (const LimitTold& limit : limits)
    chart.bars.push_back(
        {name_of_limit(limit), limit.shown.unit, limit.value, limit.limit, limit.upper, limit.margin, 0.0});
  return chart;
}

Table margin_table(std::string caption, std::vector<LimitTold> limits) {
  sort_by_margin(limits);
  Table table{std::move(caption), {{"what", "", 0, false}, {"bound", "", 0, false}}, {}, ""};
  std::set<std::string> units;
  for (const LimitTold& limit : limits) units.insert(limit.shown.unit);
  const bool one_unit = units.size() <= 1;
  const std::string unit = one_unit && !limits.empty() ? limits.front().shown.unit : "";
  const std::string margin_unit = one_unit && !limits.empty() ? limits.front().shown.margin_unit : "";
  const int decimals = one_unit && !limits.empty() ? limits.front().shown.decimals : 3;
  table.columns.push_back({"limit", unit, decimals});
  table.columns.push_back({"value", unit, decimals});
  table.columns.push_back({"margin", margin_unit, decimals});
  if (!one_unit) table.columns.push_back({"unit", "", 0, false});
  table.columns.push_back({"verdict", "", 0, false});
  for (const LimitTold& limit : limits) {
    std::vector<Cell> row{name_of_limit(limit), std::string(limit.upper ? "below" : "above"), limit.limit, limit.value,
                          limit.margin};
    if (!one_unit)
      row.emplace_back(limit.shown.unit == limit.shown.margin_unit
                           ? limit.shown.unit
                           : limit.shown.unit + ", margin " + limit.shown.margin_unit);
    row.emplace_back(std::string(limit.margin < 0.0 ? "broken" : "met"));
    table.rows.push_back(std::move(row));
  }
  return table;
}

std::string met_sentence(const std::vector<LimitTold>& limits) {
  if (limits.empty()) return "The case states no limit.";
  const auto broken = std::count_if(limits.begin(), limits.end(), [](const LimitTold& l) { return l.margin < 0.0; });
  if (broken > 0) return fmt::format("{} of {} broken.", broken, plural(limits.size(), "limit"));
  return limits.size() == 1 ? "The only limit is met." : fmt::format("All {} limits are met.", limits.size());
}

SectionChart section_chart(const View& result, const View& point) {
  SectionChart chart;
  std::vector<LimitTold> limits;
  if (const auto margins = point.find("margins")) limits = limits_of(*margins);
  std::vector<std::pair<std::string, double>> temperatures_K;
  for (const auto& [name, value] : point.entries("temperature_K")) temperatures_K.emplace_back(name, value.number());
  std::set<std::string> drawn;
  const auto least_margin = [&](const std::string& node) {
    std::optional<double> least;
    for (const LimitTold& limit : limits) {
      if (limit.kind == "temperature" && limit.node == node)
        least = least ? std::min(*least, limit.margin) : limit.margin;
    }
    return least;
  };
  const auto temperature_of = [&](const std::string& node) -> std::optional<double> {
    for (const auto& [name, value_K] : temperatures_K) {
      if (name == node) return value_K;
    }
    return std::nullopt;
  };
  if (const auto parts = result.find("section")) {
    for (const View& part : parts->items()) {
      const std::string& role = part.text("role");
      SectionChart::Part shown;
      // Of a layer with zones the hottest stands for it.
      std::string hottest;
      for (const View& node : part.items("nodes")) {
        drawn.insert(node.text());
        const auto value_K = temperature_of(node.text());
        if (!value_K || (!hottest.empty() && *value_K <= shown.temperature_K)) continue;
        hottest = node.text();
        shown.temperature_K = *value_K;
      }
      if (hottest.empty()) continue;
      shown.name = part.items("nodes").size() > 1 ? part.text("name") + " (hottest: " + hottest + ")" : hottest;
      shown.role = role == "layer" ? SectionChart::Part::Role::layer
                   : role == "fin" ? SectionChart::Part::Role::fin
                                   : SectionChart::Part::Role::device;
      shown.thickness_m = part.number_if("thickness_m").value_or(0.0);
      shown.margin_K = least_margin(hottest);
      chart.parts.push_back(std::move(shown));
    }
  }
  for (const auto& [name, value_K] : temperatures_K) {
    if (drawn.count(name) == 0)
      chart.parts.push_back({name, SectionChart::Part::Role::bench, value_K, 0.0, least_margin(name)});
  }
  const View power = point.at("power_W");
  chart.sunlight_W = power.number("sunlight_met");
  chart.light_W = power.number("light_out");
  for (const auto& [name, value] : point.entries("infrared_by_surface_W")) {
    if (value.number() > 0.0) chart.leaving.push_back({name, "space", value.number()});
  }
  return chart;
}

Table facts_table(std::string caption, const std::vector<std::pair<std::string, std::string>>& facts) {
  Table table{std::move(caption), {{"what", "", 0, false}, {"is", "", 0, false}}, {}, ""};
  for (const auto& [what, is] : facts) table.rows.push_back({what, is});
  return table;
}

Cell cell_of(const std::optional<double>& value) { return value && std::isfinite(*value) ? Cell(*value) : Cell(); }

namespace {

/// `surfaces.wing_inner.area` as a person would say it, with the path where that says less.
std::string input_words(const std::string& path) {
  constexpr std::string_view begin = "materials.", end = ".factor";
  if (!path.starts_with(begin) || !path.ends_with(end)) return path;
  const std::string inner = path.substr(begin.size(), path.size() - begin.size() - end.size());
  const std::size_t first = inner.find('.'), last = inner.rfind('.');
  if (first == std::string::npos || last <= first) return path;
  return inner.substr(last + 1) + " of " + inner.substr(first + 1, last - first - 1);
}

/// The amount of a change and what it is of.
std::string gained_words(const View& change, bool sign, double share = 1.0) {
  const auto light_W = change.number_if("usable_light_W");
  const double amount = share * (light_W ? *light_W : change.number("margin"));
  return fmt::format("{}{} of {}", sign ? "+" : "", amount_words(amount, light_W ? "W" : "K"),
                     light_W ? "usable light" : "the margin that binds");
}

}  // namespace

std::vector<std::string> next_steps(const View& result) {
  std::vector<std::string> steps;
  const auto why = result.find("why");
  if (!why) {
    steps.push_back("Ask `tileflux gains` of the case which input would help most.");
    return steps;
  }
  constexpr std::size_t most_changes = 2;
  const std::vector<View> changes = why->items("one_per_cent_buys");
  for (std::size_t i = 0; i < std::min(most_changes, changes.size()); ++i)
    steps.push_back(fmt::format("One per cent {} {} buys {}.", changes[i].flag("more") ? "more" : "less",
                                input_words(changes[i].text("input")), gained_words(changes[i], true)));
  const std::vector<View> kilograms = why->items("one_kilogram_buys");
  constexpr double ten_grams_kg = 0.01;  // a whole kilogram is more than a derivative can speak of
  if (!kilograms.empty())
    steps.push_back(fmt::format("Ten grams {} {} buy {}.", kilograms[0].flag("more") ? "put into" : "taken from",
                                input_words(kilograms[0].text("input")),
                                gained_words(kilograms[0], true, ten_grams_kg)));
  const std::vector<View> weak = why->items("weak_values");
  for (std::size_t i = 0; i < std::min(most_changes, weak.size()); ++i)
    steps.push_back(fmt::format("Look up the {}: its basis is {}, its uncertainty {}, and {} hangs on it.",
                                input_words(weak[i].text("input")), weak[i].text("basis"), weak[i].text("uncertainty"),
                                gained_words(weak[i], false)));
  return steps;
}

std::vector<std::size_t> standing_rows(const std::vector<const std::vector<double>*>& columns, std::size_t rows,
                                       const std::vector<std::size_t>& asked, std::size_t wanted) {
  std::set<std::size_t> kept;
  if (rows == 0) return {};
  kept.insert({0, rows - 1});
  for (const std::vector<double>* column : columns) {
    std::optional<std::size_t> least, most;
    for (std::size_t row = 0; row < rows; ++row) {
      const double value = (*column)[row];
      if (std::isnan(value)) continue;
      if (!least || value < (*column)[*least]) least = row;
      if (!most || value > (*column)[*most]) most = row;
    }
    if (least) kept.insert({*least, *most});
  }
  for (const std::size_t row : asked) kept.insert(std::min(row, rows - 1));
  const std::size_t even = wanted > kept.size() ? wanted - kept.size() : 0;
  for (std::size_t i = 1; i <= even; ++i) kept.insert(i * (rows - 1) / (even + 1));
  return {kept.begin(), kept.end()};
}

}  // namespace tileflux::report
