#pragma once
/// A margins study with what it was asked about, for those who print it.

#include <string>

#include "tileflux/studies/margins.h"
#include "tileflux/tile/uncertain_inputs.h"

namespace tileflux::cli {

struct Margined {
  tile::UncertainInputs known;
  studies::MarginsOptions options;
  studies::Margins margins;
};

/// `bench.junction below`, `heater west`.
std::string name_of(const studies::Watched& watched);
/// `3 % (uniform)`, `0.02 (normal, sd)` ... of an input, in SI.
std::string law_text(const tile::UncertainInput& input);
/// Whether the model counts as tested and what that means, in a few words.
std::string policy_line(const Margined& margined);

}  // namespace tileflux::cli
