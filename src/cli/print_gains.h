#pragma once
/// Gains as a person reads them and as programs do.

#include <string>

#include "tileflux/studies/gains.h"
#include "tileflux/tile/case_reader.h"

namespace tileflux::cli {

/// Ranked by one of the outputs, with at most so many inputs.
std::string print_gains(const tile::CaseFile& file, const studies::Gains& gains, std::size_t ranked_by,
                        std::size_t most);
std::string json_gains(const tile::CaseFile& file, const studies::Gains& gains);

}  // namespace tileflux::cli
