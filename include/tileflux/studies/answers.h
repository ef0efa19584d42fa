#pragma once
/// What can be asked of a case, as numbers with names: the same ones in the same order for every value of its inputs,
/// for those who ask many times and put the answers into columns.

#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "tileflux/studies/balance.h"
#include "tileflux/studies/duty.h"
#include "tileflux/studies/run.h"
#include "tileflux/studies/size.h"

namespace tileflux::studies {

/// What is found out about a case.
enum class Question {
  steady,  ///< both steady states, as `balance` finds them
  duty,    ///< bursts, recovery, continuous rating, sustainable duty
  run,     ///< the transient over the case's duration
  size     ///< the radiator that the case asks for
};
std::string_view name_of(Question question);
/// steady, duty, run, size. Throws Error(option_wrong) with the nearest spelling.
Question question_named(std::string_view name);

/// One number that answers a question. `.off` and `.on` at the end of a name say with the beam off or on.
struct AnswerField {
  std::string name;                   ///< `usable_laser_power`, `temperature.bench.on`, `margin.cells.below.off`
  std::string unit;                   ///< SI, in the grammar of UDUNITS: `W`, `K`, `1`
  std::string meaning;                ///< a few words
  std::vector<std::string> flags{};   ///< not empty: the number is a code, and this is what 0, 1, 2 ... stand for
  bool on_request = false;            ///< costs more than the others: only where its name is asked for
};

/// The limits of a tile in the order of margins_at, as the names of their margins have it: `cells.below`,
/// `plate.rate`, `plate-lid.difference`.
std::vector<std::string> limit_names(const tile::TileSystem& system);

/// Everything that a question has answers for, in their order.
std::vector<AnswerField> answer_fields(const tile::TileSystem& system, Question question);

struct AnswerRow;

/// The answers of a question that are wanted. Const calls may run side by side.
class Answers {
 public:
  /// Those named, in that order; without names all that are not `on_request`. Throws Error(name_unknown) with the
  /// nearest spelling for a name that the question does not have, option_wrong for one that stands twice, key_missing
  /// where the case has nothing that the question could be about (no limits or beam for duty).
  Answers(const tile::TileSystem& system, Question question, std::span<const std::string> names = {});

  Question question() const { return question_; }
  const std::vector<AnswerField>& fields() const { return fields_; }

  /// Solves the case, which differs from that of the constructor in values alone, and tells in the order of fields().
  /// NaN where an answer does not apply or is not there. Of question `size` the case is that of tile::SizeCases::hot,
  /// and `cold` its cold case. Throws Error: what the study throws.
  std::vector<double> of(const tile::Case& description, const std::optional<tile::Case>& cold = std::nullopt) const;
  /// The same of a tile that is compiled already; not of `size`.
  std::vector<double> of(tile::TileSystem& system) const;
  /// The same of steady states that have been found.
  std::vector<double> of(tile::TileSystem& system, const SteadyStates& states) const;

 private:
  std::vector<double> told(struct AnswerFacts& facts) const;

  Question question_;
  std::vector<AnswerField> fields_;
  std::vector<std::shared_ptr<const AnswerRow>> rows_;
};

}  // namespace tileflux::studies
