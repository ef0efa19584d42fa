#pragma once
/// What is known of how well the inputs of a case are known: what the case states, and what the library says.

#include <string>
#include <vector>

#include "tileflux/tile/case_template.h"

namespace tileflux::tile {

struct UncertainInputs {
  std::vector<UncertainInput> inputs;  ///< those that the case states, in its order; then those of the library
  std::vector<std::string> unknown;    ///< factors of library values of which it says nothing that can be read
  std::vector<std::string> shortened;  ///< factors whose law was cut so that no share exceeds 100 %
};

/// A library value without an entry of its own in the case's `uncertainty` takes what the library says of it, read as
/// the ends of a uniform law (where bounds alone are known, their half width over the root of 3 is a standard
/// deviation: JCGM 100:2008, 4.3.7). What the library does not know is the same in all tiles of an array: such an input
/// is a batch of its own. Throws what CaseTemplate::with throws.
UncertainInputs uncertain_inputs(const CaseTemplate& cases);

/// A share of the value from the library's words: `5 %` or `1e-3`; none for `unknown` and what else is not a share.
std::optional<double> stated_share(const std::string& words);

}  // namespace tileflux::tile
