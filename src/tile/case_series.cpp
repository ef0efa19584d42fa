#include "tileflux/tile/case_series.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

#include "tile/case_builder.h"
#include "tile/case_reading.h"
#include "tile/case_template_parts.h"
#include "tileflux/materials/scaling.h"

namespace tileflux::tile {

namespace {

bool is_within(double value, const input::Range& range) {
  const bool above = range.least_excluded ? value > range.least : value >= range.least;
  const bool below = range.most_excluded ? value < range.most : value <= range.most;
  return above && below;
}

}  // namespace

/// A record in which every path is stated, and where its values are kept.
struct CaseSeries::Prepared {
  input::Document document;
  SoundDocument sound;
  std::vector<double*> places;  ///< per path; null: a factor on a property of the library
  std::vector<std::size_t> factors;
};

CaseSeries::CaseSeries(const CaseTemplate& cases, std::vector<std::string> paths)
    : cases_(&cases), paths_(std::move(paths)) {
  for (const std::string& path : paths_) ranges_.push_back(cases.value_at(path).type.range);
}

CaseSeries::CaseSeries(CaseSeries&&) noexcept = default;
CaseSeries& CaseSeries::operator=(CaseSeries&&) noexcept = default;
CaseSeries::~CaseSeries() = default;

std::vector<Override> CaseSeries::overrides(std::span<const double> values_si) const {
  std::vector<Override> overrides;
  for (std::size_t i = 0; i < paths_.size(); ++i) overrides.emplace_back(paths_[i], values_si[i]);
  return overrides;
}

/// Materials of the case itself, items of lists and tables have checks of their own between document and builder: a
/// case with such a path is read anew each time.
void CaseSeries::prepare(std::span<const double> values_si) {
  tried_ = true;
  auto prepared = std::make_unique<Prepared>();
  std::vector<Override> factors;
  prepared->document = with_values(cases_->document_, overrides(values_si), factors);
  std::vector<Diagnostic> findings;
  prepared->sound = read_soundly(prepared->document, findings, cases_->library_);
  for (std::size_t i = 0; i < paths_.size(); ++i) {
    if (is_factor(paths_[i])) {
      prepared->factors.push_back(i);
      prepared->places.push_back(nullptr);
      continue;
    }
    double* const place =
        paths_[i].starts_with("materials.") ? nullptr : prepared->sound.reading.record.quantity_place(paths_[i]);
    if (place == nullptr) return;
    prepared->places.push_back(place);
  }
  prepared_ = std::move(prepared);
}

Case CaseSeries::with(std::span<const double> values_si) {
  if (values_si.size() != paths_.size()) throw Error(Code::internal, "a series of cases needs a value for every path");
  const auto slowly = [&] { return cases_->with(overrides(values_si)).description; };
  if (!tried_) {
    // Only a case that is sound can be prepared; whether it is one is told by reading it.
    Case first = slowly();
    prepare(values_si);
    return first;
  }
  if (!prepared_) return slowly();
  for (std::size_t i = 0; i < values_si.size(); ++i) {
    if (!is_within(values_si[i], ranges_[i])) return slowly();
    if (prepared_->places[i] != nullptr) *prepared_->places[i] = values_si[i];
  }
  std::optional<materials::Library> scaled;
  for (const std::size_t i : prepared_->factors) {
    if (values_si[i] == 1.0) continue;
    if (!scaled) scaled = prepared_->sound.library;
    materials::scale(*scaled, property_of(paths_[i]), values_si[i], cases_->as_written_.description.end_of_life);
  }
  std::vector<Diagnostic> findings;
  CaseBuilder builder(prepared_->sound.reading.record, prepared_->document,
                      scaled ? *scaled : prepared_->sound.library, findings);
  Case made = builder.build();
  const bool refused = std::any_of(findings.begin(), findings.end(),
                                   [](const Diagnostic& finding) { return finding.severity == Severity::error; });
  return refused ? slowly() : made;
}

SizeCases CaseSeries::sizes_with(std::span<const double> values_si) const {
  std::vector<Override> factors;
  const input::Document document = with_values(cases_->document_, overrides(values_si), factors);
  std::vector<Diagnostic> findings;
  SoundDocument sound = read_soundly(document, findings, cases_->library_);
  for (const auto& [property, factor] : factors) materials::scale(sound.library, property, factor);
  return sized(document, sound, std::move(findings));
}

}  // namespace tileflux::tile
