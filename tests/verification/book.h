#pragma once
/// docs/verification.md: every row of the check data and what became of it.

#include <map>
#include <string>
#include <vector>

#include "verification/rows.h"

namespace tileflux::verification {

/// Runs every group anew.
Reproductions all_reproductions();
ClosedForms all_closed_forms();

/// Why a row is not reproduced, by its id (data/not_reproduced.csv).
const std::map<std::string, std::string>& reasons();

/// The page. Errors are given as the power of ten that they do not exceed, so that the text is the same on every machine.
std::string page_of(const Reproductions& reproductions, const ClosedForms& forms);

/// Where a committed page and one that was just made differ, line by line; empty if they say the same. Numbers may differ
/// in the last of seven digits; a bound on an error may be ten times the committed one, for round-off differs by machine.
std::vector<std::string> differences(const std::string& committed, const std::string& made);

}  // namespace tileflux::verification
