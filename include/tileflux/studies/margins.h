#pragma once
/// Every limit of a tile under a policy: the bounding cases of each part, what the policy puts on top, and how likely
/// the limit is exceeded, to first order and sampled. Steady states alone: limits on rates are not looked at.

#include <functional>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "tileflux/studies/balance.h"
#include "tileflux/studies/spread.h"
#include "tileflux/tile/case.h"
#include "tileflux/tile/policy.h"

namespace tileflux::studies {

/// What is looked at in the two steady states.
struct Watched {
  enum class Kind {
    limit,   ///< of the case
    heater,  ///< share of time that a controlled heater is on, against the policy's largest
    light    ///< usable light out of the tile with the beam on, W; bounded by nothing
  };
  Kind kind = Kind::limit;
  Margin margin;  ///< as the case is stated; of a heater in shares, of the light its value is the margin
  bool beam = false;
};

/// A tile as a function of its uncertain inputs.
struct MarginsProblem {
  std::vector<tile::UncertainInput> inputs;
  /// Values are those of `inputs`, in SI. The age holds for every finish and cell at once: there is no mixture of two.
  /// May throw Error. Calls may run side by side.
  std::function<tile::Case(std::span<const double> values, bool end_of_life)> case_at;
  bool end_of_life = false;                ///< of the case as it is stated
  std::vector<Diagnostic> no_end_of_life;  ///< what lacks values of end of life; empty: there is one
};

struct MarginsOptions {
  tile::Policy policy;
  bool tested = false;
  SampleOptions sampling;  ///< with `samples` 0 nothing is sampled; `tiles` counts for first order too
};

/// The worst of the bounding cases of one limit: every input that may move, at the end that makes this limit worst.
struct Bounding {
  double value = 0.0, margin = 0.0;  ///< as in Margin
  bool end_of_life = false, beam = false;
  std::vector<int> moved;  ///< per input: -1 lower end, +1 upper end, 0 left as stated
  /// Inputs for which both ends are better (or both worse) than the stated value.
  std::vector<std::size_t> not_monotone;
  /// An input alone was worse than all together: that one is given here.
  bool alone = false;
  std::optional<Diagnostic> trouble;  ///< set: there is no steady state, and the limit counts as broken
};

/// How a temperature is kept, which decides what the policy asks.
enum class Control { passive, heater, throttle };
std::string_view name_of(Control control);

enum class Verdict {
  kept,       ///< with all that the policy asks
  too_small,  ///< the limit is kept, but by less than the policy asks
  broken      ///< in a bounding case
};
std::string_view name_of(Verdict verdict);

/// One limit or heater, in the state and at the age in which it is worst.
struct MarginRow {
  Watched stated;     ///< at the age and with the values of the case, in the worse of its states
  Bounding bounding;  ///< the worst of both ages and states
  /// The worst at the other age, where the case has both.
  std::optional<Bounding> other_age;
  Control control = Control::passive;
  double uncertainty = 0.0;      ///< that the policy adds, in the unit of the limit
  bool from_deviations = false;  ///< made of standard deviations, not a number of the policy
  bool asked = true;             ///< false: the policy says nothing about limits of this kind
  double step_K = 0.0;           ///< from a predicted temperature to the level that the limit is stated for
  double predicted = 0.0;        ///< bounding value with `uncertainty` and `step_K`
  double left = 0.0;             ///< of the margin after both; negative: too small
  Verdict verdict = Verdict::kept;
  std::size_t watched = 0;  ///< place in Margins::watched whose spread is the worst of this row's states
};

/// What a number of the policy about the radiator comes to: the worst upper limit with so much less area.
struct AreaCheck {
  std::string surface;
  double share = 0.0;
  std::optional<Margin> worst;  ///< in its bounding case; none: no limit on a temperature from above
};

struct Margins {
  std::vector<Watched> watched;  ///< limits and heaters beam off, then on; then the light
  std::vector<MarginRow> rows;   ///< by what is left, the least first, compared as Margin::comparable does
  std::vector<Spread> linear;    ///< of `watched`: of the margin, of the light
  std::optional<Sampled> sampled;
  std::vector<std::string> disagreements;  ///< of `watched`; empty where first order and samples agree
  std::optional<Bounding> least_light;     ///< of the worst case of the light; none without a beam
  std::optional<AreaCheck> area;
  std::vector<Diagnostic> warnings;  ///< margins applied twice, ages that are not there, settings that differ
  int balances = 0;                  ///< pairs of steady states on the way to the bounding cases

  Verdict verdict() const;  ///< the worst of the rows and of the area
};

/// First-order slopes of `watched` over the inputs at the case as it is stated, and the bounding cases, the policy and
/// the samples from the two steady states alone. Throws what case_at throws at the stated values, and what
/// operating_point throws there.
Margins margins(const MarginsProblem& problem, const MarginsOptions& options);

}  // namespace tileflux::studies
