#pragma once
/// Two cases side by side: which outputs differ, and which of the differing inputs moved them by how much.
///
/// Inputs with numbers go from A to B together on the straight line p(t) = a + t (b - a). The part of input i in the
/// change of an output y is the integral over t from 0 to 1 of dy/dp_i (b_i - a_i): with the exact derivatives these
/// parts add up to y(B) - y(A). What is no number (a name, a list, a part) changes in one step.

#include <functional>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "tileflux/studies/balance.h"

namespace tileflux::studies {

/// Something of the tile that differs.
struct ComparedInput {
  std::string name;
  bool number = false;
  std::string unit;           ///< SI, of a number
  double a = 0.0, b = 0.0;    ///< of a number
  std::string a_text, b_text;  ///< of what is none
};

/// Case A with every input taken over from B by its share: numbers on the straight line, all else where its share is 1.
/// Throws Error where that is no sound case.
using CaseBetween = std::function<tile::Case(std::span<const double> shares)>;

/// What both cases have and what may differ.
struct ComparedOutput {
  enum class Kind {
    light,        ///< usable laser light, W
    rating,       ///< the continuous rating, share of rated drive
    temperature,  ///< of a node, K
    margin        ///< of a limit, in its unit
  };
  Kind kind = Kind::light;
  std::string node;              ///< of a temperature
  std::optional<Margin> limit;   ///< of a margin, as A has it
  bool beam = false;             ///< in which state
  std::string unit;
  double a = 0.0, b = 0.0;

  double change() const { return b - a; }
};

/// An input, or several that cannot go alone, and what of each output's change is theirs.
struct ComparedPart {
  std::vector<std::size_t> inputs;
  bool in_one_step = false;  ///< not along a path but at once
  std::string why_together;  ///< set where several inputs go together
  std::vector<double> change;       ///< of every output
  /// Of what is taken in steps and what depends on where in their order it stands; equal where nothing does.
  std::vector<double> least, most;
};

/// A place on the way from A to B at which the tile enters another regime.
struct ComparedCorner {
  double at = 0.0;  ///< share of the way
  std::string from, to;
  bool with_steps = false;  ///< on the way that is gone after the steps, not before them
};

/// The answers of one case.
struct ComparedSide {
  Balance balance;
  std::optional<StateMargin> binding;  ///< over both states
  std::optional<ContinuousRating> rating;
  std::optional<double> duty, duty_light_W;  ///< that can be kept up at the case's period
  std::string duty_note;                     ///< why there is none although the case has a period
};

struct CompareOptions {
  bool duty = true;  ///< look for the sustainable duty of both
  std::function<bool(double share)> progress;  ///< told the share done; false ends the study with what it has
};

/// What the parts and the corners must add up to: a share of an output's change (of what was moved back and forth).
inline constexpr double compare_tolerance = 1e-3;

struct Comparison {
  ComparedSide a, b;
  std::vector<ComparedOutput> outputs;
  std::vector<std::string> only_in_a, only_in_b;  ///< nodes
  std::vector<ComparedPart> parts;
  std::vector<ComparedCorner> corners;
  std::vector<double> at_corners;  ///< of every output's change: what jumps there, and what integration leaves over
  std::string why_no_parts;        ///< set: the changes could not be attributed
  int points = 0;                  ///< at which slopes were taken
  bool interrupted = false;

  std::optional<std::size_t> light() const;
  /// Index of the margin of a limit in a state.
  std::optional<std::size_t> margin(const StateMargin& limit) const;
  /// Parts by falling size of their change of an output; those without any left out.
  std::vector<std::size_t> ranked(std::size_t output) const;
};

/// Throws what balance throws of A and of B.
Comparison compare(const tile::Case& a, const tile::Case& b, const std::vector<ComparedInput>& inputs,
                   const CaseBetween& between, const CompareOptions& options = {});

}  // namespace tileflux::studies
