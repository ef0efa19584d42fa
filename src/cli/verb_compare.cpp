#include <algorithm>

#include "cli/json.h"
#include "cli/print.h"
#include "cli/verb_parts.h"
#include "cli/verbs.h"
#include "tileflux/results/digest.h"
#include "tileflux/results/files.h"

namespace tileflux::cli {

std::size_t Compared::differences() const {
  const auto& all = cases.differences();
  return static_cast<std::size_t>(
      std::count_if(all.begin(), all.end(), [](const tile::CaseDifference& one) { return !one.of_a_study; }));
}

std::string Compared::name_of(const studies::ComparedPart& part) const {
  const std::string& first = cases.differences()[part.inputs.front()].path;
  const std::size_t more = part.inputs.size() - 1;
  return more == 0 ? first : first + " and " + std::to_string(more) + " more";
}

int compare_verb(const Invocation& wanted, const materials::Library& library) {
  heed_interrupts();
  const tile::CaseTemplate a(wanted.case_file, library), b(wanted.other_case_file, library);
  const tile::CasePair cases(a, b);
  Compared compared{cases, {}};
  std::vector<studies::ComparedInput> inputs;
  for (std::size_t i = 0; i < compared.differences(); ++i) {
    const tile::CaseDifference& one = cases.differences()[i];
    inputs.push_back({one.path, one.kind == tile::CaseDifference::Kind::value, std::string(one.dimension.si_unit),
                      one.a_si, one.b_si, one.a_text, one.b_text});
  }
  const auto between = [&](std::span<const double> shares) {
    std::vector<double> all(shares.begin(), shares.end());
    all.resize(cases.differences().size(), 0.0);
    return cases.between(all).description;
  };
  studies::CompareOptions options;
  options.duty = !wanted.no_duty;
  Progress progress;
  options.progress = [&](double share) {
    progress(share);
    return !stop_wanted();
  };
  compared.result = studies::compare(a.as_written().description, b.as_written().description, inputs, between, options);
  const std::string object = results::sealed(json_compare(compared));
  if (!wanted.out_directory.empty()) results::OutputDirectory(wanted.out_directory).write_text("compare.json", object);
  say(wanted.json ? object : print_compare(compared, static_cast<std::size_t>(wanted.top)));
  return compared.result.interrupted ? answer_interrupted() : 0;
}

}  // namespace tileflux::cli
