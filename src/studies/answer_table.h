#pragma once
/// The answers to each question: what they are called and how they are read from what a study found.

#include <functional>
#include <limits>
#include <string>
#include <utility>
#include <vector>

#include "tileflux/studies/answers.h"

namespace tileflux::studies {

/// What was found about one case; the parts that a question does not ask for are not there.
struct AnswerFacts {
  tile::TileSystem* system = nullptr;
  const SteadyStates* steady = nullptr;
  const Duty* duty = nullptr;
  const RunResult* run = nullptr;
  const Size* size = nullptr;
  std::optional<ContinuousRating> rating{};  ///< once it was asked for

  const OperatingPoint& point(bool beam) const { return beam ? *steady->beam_on : steady->beam_off; }
};

struct AnswerRow {
  AnswerField field;
  std::function<double(AnswerFacts&)> value;
};

using AnswerTable = std::vector<AnswerRow>;

inline constexpr double no_answer = std::numeric_limits<double>::quiet_NaN();

AnswerTable steady_table(const tile::TileSystem& system);
AnswerTable duty_table(const tile::TileSystem& system);
AnswerTable run_table(const tile::TileSystem& system);
AnswerTable size_table();

/// `bench.below`, `plate-lid.difference`, `battery.charge`: as in limit_names.
std::string limit_name(const Margin& margin);
/// The place of a margin's limit among names; NaN where it is not there.
double limit_code(const std::vector<std::string>& names, const std::optional<Margin>& margin);
/// UDUNITS has no percent of a charge: a percent is `percent`.
std::string answer_unit(LimitKind kind);

}  // namespace tileflux::studies
