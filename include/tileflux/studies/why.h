#pragma once
/// Why a tile gives what it gives: what limits it, what would help, and which weakly known values matter.

#include <optional>
#include <string>
#include <vector>

#include "tileflux/studies/gains.h"

namespace tileflux::studies {

/// An input of a case as it is weighed here.
struct WeighedInput {
  GainInput gain;
  bool design = true;  ///< something of the tile that can be built otherwise; false: surroundings, limits, commands
  std::optional<double> kg_per_unit;    ///< what a unit more of the input weighs
  std::optional<double> uncertainty;    ///< share of the value by which it may be wrong, of a library value
  std::string basis;                    ///< of a library value: published, transcribed, memory
  std::string words;                    ///< of its uncertainty, as the library has it
};

/// A change that helps, and by how much.
struct Change {
  std::string input;
  bool more = true;     ///< or less of it
  double gained = 0.0;  ///< W of light or K of margin, above zero
};

/// A weakly known value and what it is worth.
struct WeakValue {
  std::string input, basis, words;
  double share = 0.0;    ///< by which it may be wrong
  bool taken_otherwise = false;  ///< than the library says
  double matters = 0.0;  ///< W of light or K of margin that hang on that
};

struct Why {
  Regime regime = Regime::beam_off;
  std::optional<StateMargin> binding, next;
  bool of_light = true;                  ///< what is gained: usable light, or the margin that binds
  std::vector<Change> per_cent, per_kg;  ///< the best three of each, best first
  std::vector<WeakValue> weak;           ///< the three that matter most
};

/// A library value whose uncertainty is not known counts as wrong by this share, and one from memory by no less than
/// the other: our choice, to rank what should be looked up first.
inline constexpr double unknown_share = 0.2, memory_share = 0.1;

/// By the derivatives of the steady states. Throws what balance throws.
Why why(const tile::Case& description, const std::vector<WeighedInput>& inputs);

}  // namespace tileflux::studies
