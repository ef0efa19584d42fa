#include <algorithm>

#include "cli/case_inputs.h"
#include "cli/json.h"
#include "cli/print.h"
#include "cli/verb_parts.h"
#include "cli/verbs.h"

namespace tileflux::cli {

namespace {

/// Whether there is light to gain.
bool follows_light(const studies::Gains& gains) {
  const auto light = gains.output(studies::GainOutput::Kind::light);
  return light && !gains.ranked(*light).empty();
}

/// Index of the output that inputs are ranked by.
std::size_t ranking_output(const Invocation& wanted, const studies::Gains& gains) {
  using Kind = studies::GainOutput::Kind;
  if (wanted.ranked_for == "margin" || (wanted.ranked_for == "light" && !follows_light(gains))) {
    const auto place = gains.binding ? gains.margin(*gains.binding) : std::nullopt;
    if (place) return *place;
    throw Error(Code::option_wrong, "the case has neither a beam nor a limit: there is nothing to gain");
  }
  const Kind kind = wanted.ranked_for == "light"       ? Kind::light
                    : wanted.ranked_for == "area"      ? Kind::radiator_area
                    : wanted.ranked_for == "rating"    ? Kind::rating
                    : wanted.ranked_for == "duty"      ? Kind::duty
                    : wanted.ranked_for == "run_light" ? Kind::run_light
                                                       : Kind::duty_light;
  const auto place = gains.output(kind);
  if (!place) throw Error(Code::option_wrong, "--for " + wanted.ranked_for + ": the case has no such answer");
  return *place;
}

}  // namespace

int gains_verb(const Invocation& wanted, const materials::Library& library) {
  const tile::CaseTemplate cases(wanted.case_file, library);
  const tile::CaseFile& file = cases.as_written();
  const auto& surfaces = file.description.surfaces;
  const bool known = std::any_of(surfaces.begin(), surfaces.end(),
                                 [&](const tile::Surface& one) { return one.name == wanted.radiator; });
  if (!wanted.radiator.empty() && !known)
    throw Error(Code::name_unknown, "--radiator: the case has no surface '" + wanted.radiator + "'");
  heed_interrupts();
  Progress progress;
  studies::GainOptions options;
  options.radiator = wanted.radiator;
  options.areal_mass_kg_per_m2 = wanted.areal_mass_kg_per_m2;
  options.duty = !wanted.no_duty;
  options.laser_efficiencies = wanted.laser_efficiencies;
  options.progress = [&](double share) {
    progress(share);
    return !stop_wanted();
  };
  options.run = wanted.over_run;
  // What a run is asked for stands in a template's cases too: their runs are not what is differenced.
  tile::Case description = file.description;
  if (wanted.duration_s) description.run.duration_s = *wanted.duration_s;
  const studies::Gains result = studies::gains(description, gain_inputs(cases), options);
  const std::size_t ranked_by = ranking_output(wanted, result);
  tell_answer(
      wanted, cases, as_stated(file.description), "gains.json", [&] { return json_gains(file, result); },
      [&] { return print_gains(file, result, ranked_by, static_cast<std::size_t>(wanted.top)); });
  return result.interrupted ? answer_interrupted() : 0;
}

}  // namespace tileflux::cli
