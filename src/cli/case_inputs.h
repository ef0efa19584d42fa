#pragma once
/// Inputs of a case as studies want them.

#include <vector>

#include "tileflux/studies/gains.h"
#include "tileflux/studies/why.h"
#include "tileflux/tile/case_template.h"

namespace tileflux::cli {

/// Every physical input of a case. The template must outlive what is returned.
std::vector<studies::GainInput> gain_inputs(const tile::CaseTemplate& cases);

/// The same with what they weigh and how well they are known.
std::vector<studies::WeighedInput> weighed_inputs(const tile::CaseTemplate& cases);

}  // namespace tileflux::cli
