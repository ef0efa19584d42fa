#include "tileflux/studies/answers.h"

#include <algorithm>

#include "studies/answer_table.h"
#include "tileflux/base/spelling.h"

namespace tileflux::studies {

namespace {

constexpr Question questions[] = {Question::steady, Question::duty, Question::run, Question::size};

[[noreturn]] void refuse(Code code, const std::string& message, const std::string& nearest = {}) {
  Diagnostic diagnostic;
  diagnostic.code = code;
  diagnostic.message = message;
  if (!nearest.empty()) diagnostic.suggestion = "did you mean '" + nearest + "'?";
  throw Error(std::move(diagnostic));
}

AnswerTable table_of(const tile::TileSystem& system, Question question) {
  switch (question) {
    case Question::steady:
      return steady_table(system);
    case Question::duty:
      return duty_table(system);
    case Question::run:
      return run_table(system);
    case Question::size:
      return size_table();
  }
  return {};
}

void refuse_without_subject(const tile::Case& description, Question question) {
  if (question == Question::duty && (!description.beam || description.limits.empty()))
    refuse(Code::key_missing, "the case has no `limits` or no `beam`, so there is no duty to ask for");
  if (question == Question::size && !description.size)
    refuse(Code::key_missing, "the case has no `size`, so there is no radiator to ask for");
}

}  // namespace

std::string_view name_of(Question question) {
  switch (question) {
    case Question::steady:
      return "steady";
    case Question::duty:
      return "duty";
    case Question::run:
      return "run";
    case Question::size:
      return "size";
  }
  return "";
}

Question question_named(std::string_view name) {
  std::vector<std::string> known;
  for (const Question question : questions) {
    if (name_of(question) == name) return question;
    known.emplace_back(name_of(question));
  }
  refuse(Code::option_wrong, "what is asked must be 'steady', 'duty', 'run' or 'size', found '" + std::string(name) + "'",
         nearest_spelling(name, known));
}

std::string limit_name(const Margin& margin) {
  const std::string where = margin.other.empty() ? margin.node : margin.node + '-' + margin.other;
  if (margin.kind == LimitKind::temperature) return where + (margin.upper ? ".below" : ".above");
  return where + '.' + std::string(name_of(margin.kind));
}

std::vector<std::string> limit_names(const tile::TileSystem& system) {
  std::vector<std::string> names;
  for (const Margin& margin : margins_at(system, system.uniform_state(293.15))) names.push_back(limit_name(margin));
  return names;
}

double limit_code(const std::vector<std::string>& names, const std::optional<Margin>& margin) {
  if (!margin) return no_answer;
  const auto found = std::find(names.begin(), names.end(), limit_name(*margin));
  return found == names.end() ? no_answer : static_cast<double>(found - names.begin());
}

std::string answer_unit(LimitKind kind) {
  return kind == LimitKind::charge ? "percent" : std::string(unit_of(kind));
}

std::vector<AnswerField> answer_fields(const tile::TileSystem& system, Question question) {
  std::vector<AnswerField> fields;
  for (AnswerRow& row : table_of(system, question)) fields.push_back(std::move(row.field));
  return fields;
}

Answers::Answers(const tile::TileSystem& system, Question question, std::span<const std::string> names)
    : question_(question) {
  refuse_without_subject(system.description(), question);
  AnswerTable table = table_of(system, question);
  std::vector<std::string> known;
  for (const AnswerRow& row : table) known.push_back(row.field.name);
  const auto take = [&](AnswerRow& row) {
    fields_.push_back(row.field);
    rows_.push_back(std::make_shared<const AnswerRow>(row));
  };
  for (AnswerRow& row : table) {
    if (names.empty() && !row.field.on_request) take(row);
  }
  for (auto name = names.begin(); name != names.end(); ++name) {
    const auto found = std::find(known.begin(), known.end(), *name);
    if (found == known.end())
      refuse(Code::name_unknown, "question `" + std::string(name_of(question)) + "` has no output '" + *name + "'",
             nearest_spelling(*name, known));
    if (std::find(names.begin(), name, *name) != name)
      refuse(Code::option_wrong, "the output '" + *name + "' is asked for twice");
    take(table[static_cast<std::size_t>(found - known.begin())]);
  }
}

std::vector<double> Answers::told(AnswerFacts& facts) const {
  std::vector<double> values;
  values.reserve(rows_.size());
  for (const auto& row : rows_) values.push_back(row->value(facts));
  return values;
}

std::vector<double> Answers::of(tile::TileSystem& system, const SteadyStates& states) const {
  AnswerFacts facts{&system, &states};
  return told(facts);
}

std::vector<double> Answers::of(tile::TileSystem& system) const {
  switch (question_) {
    case Question::steady:
      return of(system, steady_states(system));
    case Question::duty: {
      const Duty found = studies::duty(system);
      AnswerFacts facts{.system = &system, .duty = &found};
      return told(facts);
    }
    case Question::run: {
      const RunResult found = studies::run(system, nullptr);
      AnswerFacts facts{.system = &system, .run = &found};
      return told(facts);
    }
    case Question::size:
      break;
  }
  throw Error(Code::internal, "sizing needs a case, not a tile");
}

std::vector<double> Answers::of(const tile::Case& description, const std::optional<tile::Case>& cold) const {
  if (question_ == Question::size) {
    const Size found = studies::size(description, cold);
    AnswerFacts facts{.size = &found};
    return told(facts);
  }
  tile::TileSystem system(description);
  return of(system);
}

}  // namespace tileflux::studies
