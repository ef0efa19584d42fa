#include <algorithm>
#include <filesystem>
#include <thread>

#include "cli/csv.h"
#include "cli/json.h"
#include "cli/margined.h"
#include "cli/print.h"
#include "cli/verb_parts.h"
#include "cli/verbs.h"
#include "tileflux/results/files.h"

namespace tileflux::cli {

namespace {

tile::Policy policy_of(const Invocation& wanted, const tile::Case& description) {
  const bool is_file = wanted.policy.find('/') != std::string::npos || wanted.policy.ends_with(".yaml");
  if (is_file) return tile::read_policy(wanted.policy);
  return tile::policy_named((std::filesystem::path(wanted.materials_directory) / "policies").string(),
                            wanted.policy.empty() ? description.margins.policy : wanted.policy);
}

/// The problem of a case file: values at paths of its inputs, at either age as far as the case has both.
studies::MarginsProblem margins_problem(const tile::CaseTemplate& cases, const tile::UncertainInputs& known) {
  studies::MarginsProblem problem;
  problem.inputs = known.inputs;
  problem.end_of_life = cases.as_written().description.end_of_life;
  problem.case_at = [&cases, &known](std::span<const double> values, bool end_of_life) {
    std::vector<tile::Override> overrides;
    for (std::size_t i = 0; i < values.size(); ++i) {
      // What is as it was stated keeps the text of the file.
      if (values[i] != known.inputs[i].law.value) overrides.emplace_back(known.inputs[i].path, values[i]);
    }
    return cases.with(overrides, end_of_life).description;
  };
  try {
    cases.with({}, true);
  } catch (const Error& error) {
    if (error.code() != Code::life_unknown) throw;
    problem.no_end_of_life = error.diagnostics();
  }
  return problem;
}

}  // namespace

int margins_verb(const Invocation& wanted, const materials::Library& library) {
  const tile::CaseTemplate cases(wanted.case_file, library);
  const tile::CaseFile& file = cases.as_written();
  Margined margined;
  margined.options.policy = policy_of(wanted, file.description);
  margined.options.tested = file.description.margins.tested;
  margined.known = tile::uncertain_inputs(cases);
  studies::SampleOptions& sampling = margined.options.sampling;
  sampling.samples = wanted.samples;
  sampling.seed = wanted.seed;
  sampling.tiles = wanted.tiles.value_or(file.description.margins.tiles);
  sampling.threads =
      wanted.threads > 0 ? static_cast<unsigned>(wanted.threads) : std::max(1u, std::thread::hardware_concurrency());
  heed_interrupts();
  Progress progress;
  sampling.progress = [&](double share) {
    progress(share);
    return !stop_wanted();
  };
  margined.margins = studies::margins(margins_problem(cases, margined.known), margined.options);
  if (!wanted.out_directory.empty())
    results::OutputDirectory(wanted.out_directory).write_text("margins.csv", csv_margins(margined));
  tell_answer(
      wanted, cases, as_stated(file.description, stated_words), "margins.json", [&] { return json_margins(file, margined); },
      [&] { return print_margins(file, margined); }, {"margins.csv"});
  if (stop_wanted()) return answer_interrupted();
  switch (margined.margins.verdict()) {
    case studies::Verdict::kept:
      return 0;
    case studies::Verdict::too_small:
      return answer_no(Code::margin_too_small,
                       "the margin that the policy '" + margined.options.policy.name + "' asks is not there");
    case studies::Verdict::broken:
      break;
  }
  return answer_no(Code::limit_broken, "a limit is broken in its bounding case");
}

}  // namespace tileflux::cli
