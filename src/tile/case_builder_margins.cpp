/// How well inputs are known, and what `margins` is asked.

#include <algorithm>
#include <cmath>
#include <string_view>

#include "tile/case_builder.h"
#include "tile/case_template_parts.h"
#include "tileflux/base/spelling.h"
#include "tileflux/materials/scaling.h"

namespace tileflux::tile {

namespace {

/// The number in front of a `%`, as a share; none if the text is no percentage.
std::optional<double> percentage(const std::string& text) {
  if (text.empty() || text.back() != '%') return std::nullopt;
  return units::parse_quantity(text, {"1"}).value_si;
}

/// A factor of 1 on a library value.
input::QuantityAt factor(const std::string& path) {
  return {path, {{"1"}, {.least = 0.0, .least_excluded = true}}, "1", 1.0, false, {}};
}

}  // namespace

std::string_view name_of(LimitLevel level) {
  switch (level) {
    case LimitLevel::design:
      return "design";
    case LimitLevel::acceptance:
      return "acceptance";
    case LimitLevel::qualification:
      return "qualification";
  }
  return "";
}

bool is_surrounding(std::string_view path) {
  const auto begins = [&](std::string_view with) { return path.substr(0, with.size()) == with; };
  return begins("sun.") || begins("orbit.") || path == "space" || begins("materials.bodies.");
}

void CaseBuilder::build_margins() {
  if (!record_.has("margins")) return;
  const Record& record = record_.section("margins");
  case_.margins = {record.text("policy"), record.flag("tested"), record.count("tiles")};
}

std::optional<input::QuantityAt> CaseBuilder::factor_at(const std::string& path, const Place& place) {
  const std::string property(property_of(path));
  std::vector<std::string> known;
  for (const materials::PropertyPath& one : materials::scalable_properties(library_)) {
    std::string name = one.property;
    std::replace(name.begin(), name.end(), '.', ' ');
    const bool used = std::any_of(sources_.begin(), sources_.end(), [&](const UsedSource& source) {
      // What is left at end of life is asked for with bounding cases, also where the case is at begin of life.
      return source.material == one.entry && (source.property == name || one.property == "remaining");
    });
    if (used && one.text() == property) return factor(path);
    if (used) known.push_back(factor_path(one.text()));
  }
  const std::string nearest = nearest_spelling(path, known);
  find(Code::key_unknown, place, "the case uses no property '" + property + "' of the library that a factor suits",
       nearest.empty() ? "" : "did you mean '" + nearest + "'?");
  return std::nullopt;
}

std::optional<input::QuantityAt> CaseBuilder::quantity_at(const std::string& path, const Place& place) {
  static const input::Section definition = case_definition();
  if (is_factor(path)) return factor_at(path, place);
  try {
    input::QuantityAt found = input::quantity_at(document_, definition, path);
    if (found.value_si) return found;
    find(Code::key_missing, place,
         "'" + path + "' is not stated and has no default, so it has no value to differ from");
  } catch (const Error& error) {
    const Diagnostic& why = error.diagnostics().front();
    find(why.code, place, why.message, why.suggestion);
  }
  return std::nullopt;
}

/// A value of a law: in the unit of the input, or, with `share_of_value`, as a width and in % of it too.
std::optional<double> CaseBuilder::amount(const Record& owner, const char* key, const input::QuantityAt& of,
                                          bool share_of_value) {
  const std::string& text = owner.text(key);
  units::Dimension dimension = of.type.dimension;
  const bool temperature = dimension.si_unit == "K" && dimension.kind == units::Kind::value;
  if (share_of_value) {
    if (const auto share = percentage(text)) {
      if (temperature) {
        find(Code::dimension_wrong, owner.place(key), "a temperature has no percentages: give kelvins");
        return std::nullopt;
      }
      if (*of.value_si == 0.0) {
        find(Code::value_out_of_range, owner.place(key), "'" + of.path + "' is 0, of which no percentage is anything",
             "give the value itself, with its unit");
        return std::nullopt;
      }
      return *share * std::abs(*of.value_si);
    }
    dimension.kind = units::Kind::difference;
  }
  const units::Parsed parsed = units::parse_quantity(text, dimension);
  if (parsed.value_si) return parsed.value_si;
  find(parsed.code, owner.place(key), parsed.message + ", as '" + of.path + "' is");
  return std::nullopt;
}

bool CaseBuilder::build_law(const Record& entry, const input::QuantityAt& of, InputLaw& law) {
  law.value = *of.value_si;
  const char* key = entry.has("normal") ? "normal" : entry.has("uniform") ? "uniform" : "bounded";
  law.kind = entry.has("normal")    ? InputLaw::Kind::normal
             : entry.has("uniform") ? InputLaw::Kind::uniform
                                    : InputLaw::Kind::bounded;
  const Record& record = entry.section(key);
  const auto positive = [&](const char* which, std::optional<double> value) {
    if (value && *value > 0.0) return true;
    if (value) find(Code::value_out_of_range, record.place(which), std::string("`") + which + "` must be above zero");
    return false;
  };
  if (law.kind != InputLaw::Kind::uniform) {
    const auto deviation = amount(record, "standard_deviation", of, true);
    if (!positive("standard_deviation", deviation)) return false;
    law.standard_deviation = *deviation;
  }
  const input::Range& range = of.type.range;
  if (law.kind == InputLaw::Kind::normal) {
    constexpr double hardly_ever = 4.0;  // one in 30 000 lies beyond
    const double reach = hardly_ever * law.standard_deviation;
    if (law.value - reach >= range.least && law.value + reach <= range.most) return true;
    find(Code::value_out_of_range, record.place("standard_deviation"),
         "a normal law so wide reaches beyond the range that '" + of.path + "' may have",
         "`bounded` has ends: {standard_deviation, from, to}");
    return false;
  }
  if (record.has("plus_minus")) {
    const auto half = amount(record, "plus_minus", of, true);
    if (!positive("plus_minus", half)) return false;
    law.from = law.value - *half;
    law.to = law.value + *half;
  } else {
    const auto from = amount(record, "from", of, false), to = amount(record, "to", of, false);
    if (!from || !to) return false;
    law.from = *from;
    law.to = *to;
    if (!(law.from < law.to)) {
      find(Code::value_out_of_range, record.place("to"), "`to` must lie above `from`");
      return false;
    }
    if (law.value < law.from || law.value > law.to)
      find(Code::value_out_of_range, record.place("from"),
           "'" + of.path + "' is stated as a value outside of `from` and `to`", {}, Severity::warning);
  }
  const char* end = record.has("plus_minus") ? "plus_minus" : law.from < range.least ? "from" : "to";
  if (law.from < range.least || law.to > range.most) {
    find(Code::value_out_of_range, record.place(end),
         "the law reaches beyond the range that '" + of.path + "' may have");
    return false;
  }
  return true;
}

std::optional<UncertainInput> CaseBuilder::uncertain_input(const Record& entry) {
  UncertainInput input;
  input.path = entry.text("input");
  const auto of = quantity_at(input.path, entry.place("input"));
  if (!of) return std::nullopt;
  input.unit = std::string(of->type.dimension.si_unit);
  input.temperature = input.unit == "K" && of->type.dimension.kind == units::Kind::value;
  if (entry.has("batch")) input.batch = entry.text("batch");
  if (entry.has("correlation") && input.batch.empty())
    find(Code::key_missing, entry.place("correlation"), "`correlation` needs a `batch` to share with");
  if (!input.batch.empty()) input.correlation = entry.has("correlation") ? entry.quantity("correlation") : 1.0;
  if (entry.has("bounding")) input.bounding = entry.flag("bounding");
  if (!build_law(entry, *of, input.law)) return std::nullopt;
  return input;
}

void CaseBuilder::build_uncertainty() {
  for (const Record& entry : record_.list("uncertainty")) {
    const auto same = [&](const UncertainInput& one) { return one.path == entry.text("input"); };
    if (std::any_of(case_.uncertainty.begin(), case_.uncertainty.end(), same)) {
      find(Code::name_taken, entry.place("input"), "'" + entry.text("input") + "' has a law already");
      continue;
    }
    if (auto input = uncertain_input(entry)) case_.uncertainty.push_back(std::move(*input));
  }
}

}  // namespace tileflux::tile
