#pragma once
/// The paragraph that every answer ends with.

#include <map>
#include <optional>
#include <string>

#include "cli/case_inputs.h"
#include "tileflux/studies/why.h"

namespace tileflux::cli {

/// The tile that the paragraph is about.
struct Subject {
  tile::Case description;
  CaseFrom from;      ///< makes it of the values that the case has
  std::string words;  ///< which tile it is, if it is not the one that the case states
  /// What a unit more of an input weighs (none: not known), where the tile itself does not tell.
  std::map<std::string, std::optional<double>> kg_per_unit{};
};

/// The tile that the case states, at the same instant; with words where the answer is about more than its steady states.
Subject as_stated(const tile::Case& description, std::string words = "");

struct Explanation {
  studies::Why why;
  std::string words;  ///< of the subject
};

/// None where the tile has no steady state to tell it of.
std::optional<Explanation> explanation_of(const tile::CaseTemplate& cases, const Subject& subject);
/// A line `Why` and a short paragraph, or nothing.
std::string print_why(const std::optional<Explanation>& explanation);
/// A JSON object as text, with `why` as its last key; as it is without one.
std::string with_why(const std::string& json, const std::optional<Explanation>& explanation);

}  // namespace tileflux::cli
