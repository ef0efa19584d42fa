#include "tileflux/tile/case_template.h"

#include <algorithm>
#include <array>
#include <utility>

#include "tile/case_reading.h"
#include "tile/case_template_parts.h"
#include "tileflux/base/spelling.h"
#include "tileflux/materials/scaling.h"

namespace tileflux::tile {

namespace {

const input::Section& definition() {
  static const input::Section section = case_definition();
  return section;
}

constexpr std::string_view factor_begin = "materials.", factor_end = ".factor";

}  // namespace

bool is_of_a_study(std::string_view path) {
  constexpr std::array<std::string_view, 8> sections{"run",      "duty",        "size",    "campaign",
                                                     "accuracy", "uncertainty", "margins", "start"};
  const std::string_view section = path.substr(0, path.find_first_of(".["));
  return std::find(sections.begin(), sections.end(), section) != sections.end();
}

bool is_factor(std::string_view path) { return path.starts_with(factor_begin) && path.ends_with(factor_end); }

std::string_view property_of(std::string_view path) {
  return path.substr(factor_begin.size(), path.size() - factor_begin.size() - factor_end.size());
}

std::string factor_path(std::string_view property) {
  return std::string(factor_begin).append(property).append(factor_end);
}

input::Document with_values(input::Document document, const std::vector<Override>& values,
                            std::vector<Override>& factors) {
  for (const auto& [path, value] : values) {
    if (is_factor(path))
      factors.emplace_back(property_of(path), value);
    else
      input::put_quantity(document, definition(), path, value);
  }
  return document;
}

/// A parsed file and what was found on the way.
struct CaseTemplate::Text {
  std::vector<Diagnostic> findings;
  input::Document document;

  static Text of_file(const std::string& file) {
    Text text;
    text.document = input::read_document(file, text.findings);
    return text;
  }
  static Text of(std::string_view words, const std::string& file) {
    Text text;
    text.document = input::parse_document(words, file, text.findings);
    return text;
  }
};

CaseTemplate::CaseTemplate(Text text, const materials::Library& library)
    : document_(std::move(text.document)), library_(library) {
  const SoundDocument sound = read_soundly(document_, text.findings, library_);
  as_written_ = built(document_, sound, std::move(text.findings));
  find_factors(sound.library);
}

CaseTemplate::CaseTemplate(const std::string& file, const materials::Library& library)
    : CaseTemplate(Text::of_file(file), library) {}

CaseTemplate::CaseTemplate(std::string_view text, const std::string& file, const materials::Library& library)
    : CaseTemplate(Text::of(text, file), library) {}

CaseTemplate CaseTemplate::of(input::Document document) const {
  return CaseTemplate(Text{{}, std::move(document)}, library_);
}

/// Factors on what a case uses of a library that holds its own entries too.
void CaseTemplate::find_factors(const materials::Library& library) {
  for (const materials::PropertyPath& property : materials::scalable_properties(library)) {
    std::string name = property.property;
    std::replace(name.begin(), name.end(), '.', ' ');
    const auto& used = as_written_.sources;
    const auto source = std::find_if(used.begin(), used.end(), [&](const UsedSource& one) {
      return one.material == property.entry && one.property == name;
    });
    if (source != used.end()) factors_.emplace_back(factor_path(property.text()), *source);
  }
}

input::QuantityAt CaseTemplate::value_at(std::string_view path) const {
  if (!is_factor(path)) return input::quantity_at(document_, definition(), path);
  std::vector<std::string> known;
  for (const auto& [factor, source] : factors_) {
    if (factor == path) return {factor, {{"1"}, {.least = 0.0, .least_excluded = true}}, "1", 1.0, false, {}};
    known.push_back(factor);
  }
  Diagnostic finding;
  finding.code = Code::key_unknown;
  finding.place = {document_.file, 1, 1, {}};
  finding.message = "the case uses no property '" + std::string(property_of(path)) + "' that can be scaled";
  const std::string nearest = nearest_spelling(std::string(path), known);
  if (!nearest.empty()) finding.suggestion = "did you mean '" + nearest + "'?";
  throw Error(std::move(finding));
}

std::vector<std::string> CaseTemplate::paths() const {
  std::vector<std::string> paths = input::quantity_paths(document_, definition());
  for (const auto& [path, source] : factors_) paths.push_back(path);
  return paths;
}

std::vector<CaseInput> CaseTemplate::inputs() const {
  std::vector<CaseInput> inputs;
  for (const std::string& path : input::quantity_paths(document_, definition())) {
    if (is_of_a_study(path) || path.starts_with(factor_begin)) continue;
    const input::QuantityAt found = input::quantity_at(document_, definition(), path);
    if (!found.value_si) continue;
    inputs.push_back({path, found.type.dimension, *found.value_si, found.type.range, found.stated, std::nullopt});
  }
  for (const auto& [path, source] : factors_)
    inputs.push_back({path, {"1"}, 1.0, {.least = 0.0, .least_excluded = true}, false, source});
  return inputs;
}

CaseFile CaseTemplate::with(const std::vector<Override>& values) const { return made(values, std::nullopt); }

CaseFile CaseTemplate::with(const std::vector<Override>& values, bool end_of_life) const {
  return made(values, end_of_life);
}

CaseFile CaseTemplate::made(const std::vector<Override>& values, std::optional<bool> end_of_life) const {
  std::vector<Override> factors;
  const input::Document document = with_values(document_, values, factors);
  std::vector<Diagnostic> findings;
  SoundDocument sound = read_soundly(document, findings, library_);
  const bool age = end_of_life.value_or(as_written_.description.end_of_life);
  for (const auto& [property, factor] : factors) materials::scale(sound.library, property, factor, age);
  return built(document, sound, std::move(findings), end_of_life);
}

}  // namespace tileflux::tile
