#pragma once
/// Inputs of a case as studies want them.

#include <functional>
#include <span>
#include <vector>

#include "tileflux/studies/gains.h"
#include "tileflux/studies/why.h"
#include "tileflux/tile/case_series.h"

namespace tileflux::cli {

/// The tile to be looked at, from a series of cases and the values of its paths in SI units.
using CaseFrom = std::function<tile::Case(tile::CaseSeries& series, std::span<const double> values_si)>;

/// Every physical input of a case. The template must outlive what is returned.
std::vector<studies::GainInput> gain_inputs(const tile::CaseTemplate& cases);

/// The same with how well they are known, and what they weigh in the tile that is looked at: `description`, which `from`
/// makes of the values that the case has.
std::vector<studies::WeighedInput> weighed_inputs(const tile::CaseTemplate& cases, const tile::Case& description,
                                                  const CaseFrom& from);

}  // namespace tileflux::cli
