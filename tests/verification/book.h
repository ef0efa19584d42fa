#pragma once
/// docs/verification.md: every row of the check data and what became of it.

#include <map>
#include <string>
#include <vector>

#include "verification/proofs.h"
#include "verification/rows.h"

namespace tileflux::verification {

/// Runs every group anew.
Reproductions all_reproductions();
ClosedForms all_closed_forms();
Convergences all_convergences();
Controls all_controls();

/// Why a row is not reproduced, by its id (data/not_reproduced.csv).
const std::map<std::string, std::string>& reasons();

/// Everything that the page tells.
struct Findings {
  Reproductions reproductions;
  ClosedForms forms;
  Convergences convergences;
  Controls controls;
};
Findings all_findings();

/// The page. Errors are rounded up to two digits, those below 1e-6 to a power of ten, so that the text is the same on every machine.
std::string page_of(const Findings& findings);

/// Where a committed page and one that was just made differ, line by line; empty if they say the same. Numbers may differ
/// in the last of seven digits and after a sign of about equal by a tenth; a bound on an error may be ten times the
/// committed one, for round-off differs by machine.
std::vector<std::string> differences(const std::string& committed, const std::string& made);

}  // namespace tileflux::verification
