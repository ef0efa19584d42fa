#include "cli/verbs.h"

#include <cerrno>
#include <cstdio>
#include <filesystem>

#include "cli/csv.h"
#include "cli/json.h"
#include "cli/print.h"
#include "cli/print_parts.h"
#include "cli/run_files.h"
#include "cli/terminal_text.h"
#include "cli/verb_parts.h"
#include "tileflux/base/spelling.h"
#include "tileflux/input/definition.h"
#include "tileflux/input/value_range.h"
#include "tileflux/results/files.h"
#include "tileflux/tile/case_template.h"

namespace tileflux::cli {

namespace {

std::string* overheard = nullptr;

/// A folder beside the installed command; if there is none, that of the source tree.
std::string installed_or(const char* of_source, const char* from_command) {
  std::error_code trouble;
  const std::filesystem::path self = std::filesystem::read_symlink("/proc/self/exe", trouble);
  const std::filesystem::path installed = self.parent_path() / from_command;
  if (!trouble && std::filesystem::is_directory(installed, trouble)) return installed.lexically_normal().string();
  return of_source;
}

int limit_broken(const std::optional<studies::Margin>& binding) {
  return answer_no(Code::limit_broken, binding ? "'" + binding->where() + "' breaks its limit by " +
                                                     amount_text(binding->kind, -binding->margin)
                                               : "a limit is broken");
}

int check(const Invocation& wanted, const materials::Library& library) {
  const tile::CaseFile file = tile::read_case(wanted.case_file, library);
  const tile::TileSystem system(file.description);
  say(wanted.json ? json_check(file, system) : print_check(file, system));
  return 0;
}

int balance(const Invocation& wanted, const materials::Library& library) {
  const tile::CaseTemplate cases(wanted.case_file, library);
  tile::CaseFile file = cases.as_written();
  file.description.steady_at_s = wanted.at_s;
  tile::TileSystem system(file.description);
  const studies::Balance result = studies::balance(system);
  tell_answer(
      wanted, cases, as_stated(file.description), "balance.json", [&] { return json_balance(file, system, result); },
      [&] { return print_balance(file, system, result); });
  if (result.limits_met) return 0;
  return limit_broken(result.beam_on && !result.beam_on->limits_met() ? result.beam_on->binding
                                                                      : result.beam_off.binding);
}

int accelerated_run(const Invocation& wanted, const tile::CaseTemplate& cases, const tile::CaseFile& file) {
  heed_interrupts();
  Progress progress;
  const double step_s = file.description.ageing ? file.description.ageing->step_s : 0.0;
  const studies::WearResult result =
      studies::wear(file.description, file.description.run.duration_s, step_s, [&](double share) {
        progress(share);
        return !stop_wanted();
      });
  tell_answer(
      wanted, cases, as_stated(file.description, steady_words), "run.json", [&] { return json_wear(file, result); },
      [&] { return print_wear(file, result); });
  if (result.interrupted) return answer_interrupted();
  if (result.limits_met()) return 0;
  for (const studies::WearRow& row : result.rows) {
    if (row.binding && row.binding->margin < 0.0) return limit_broken(row.binding);
  }
  return 0;
}

int run(const Invocation& wanted, const materials::Library& library) {
  const tile::CaseTemplate cases(wanted.case_file, library);
  tile::CaseFile file = cases.as_written();
  if (wanted.duration_s) file.description.run.duration_s = *wanted.duration_s;
  if (wanted.output_every_s) file.description.run.output_every_s = *wanted.output_every_s;
  if (file.description.run.duration_s / file.description.run.output_every_s > tile::most_series_rows) {
    throw Error(Code::option_wrong,
                "the series would hold more than 5 million rows: give a longer `--every` or a shorter `--duration`");
  }
  if (wanted.accelerated) return accelerated_run(wanted, cases, file);
  tile::TileSystem system(file.description);
  heed_interrupts();
  std::optional<results::OutputDirectory> directory;
  std::optional<RunFiles> files;
  if (!wanted.out_directory.empty()) {
    directory.emplace(wanted.out_directory);
    directory->fresh_file("run.json");  // an older answer must not stand beside files that it does not speak of
    files.emplace(*directory, system);
  }
  Progress progress;
  studies::RunOptions options;
  options.stop_requested = [] { return stop_wanted(); };
  options.progress = [&](double share) { progress(share); };
  const studies::RunResult result = studies::run(system, files ? &*files : nullptr, options);
  if (files) files->close();
  tell_answer(
      wanted, cases, as_stated(file.description, steady_words), "run.json", [&] { return json_run(file, system, result); },
      [&] { return print_run(file, system, result); }, {"series.nc", "series.csv", "events.csv"});
  if (result.outcome == studies::RunOutcome::interrupted) return answer_interrupted();
  return result.limits_met() ? 0 : limit_broken(result.binding);
}

int campaign(const Invocation& wanted, const materials::Library& library) {
  const tile::CaseTemplate cases(wanted.case_file, library);
  tile::CaseFile file = cases.as_written();
  if (wanted.duration_s) file.description.run.duration_s = *wanted.duration_s;
  if (wanted.output_every_s) file.description.run.output_every_s = *wanted.output_every_s;
  tile::TileSystem system(file.description);
  heed_interrupts();
  std::optional<results::OutputDirectory> directory;
  std::optional<RunFiles> files;
  if (!wanted.out_directory.empty()) directory.emplace(wanted.out_directory);
  if (directory) directory->fresh_file("campaign.json");
  if (directory && wanted.series) files.emplace(*directory, system);
  Progress progress;
  studies::CampaignOptions options;
  options.every_cycle = wanted.every_cycle;
  options.run.stop_requested = [] { return stop_wanted(); };
  options.run.progress = [&](double share) { progress(share); };
  const studies::CampaignResult result = studies::campaign(system, files ? &*files : nullptr, options);
  if (files) files->close();
  if (directory) directory->write_text("requests.csv", csv_campaign(result));
  std::vector<const char*> beside{"requests.csv"};
  if (files) beside.insert(beside.end(), {"series.nc", "series.csv", "events.csv"});
  tell_answer(
      wanted, cases, as_stated(file.description, steady_words), "campaign.json", [&] { return json_campaign(file, system, result); },
      [&] { return print_campaign(file, result); }, beside);
  if (result.outcome == studies::RunOutcome::interrupted) return answer_interrupted();
  return result.limits_met() ? 0 : limit_broken(result.binding);
}

int duty(const Invocation& wanted, const materials::Library& library) {
  const tile::CaseTemplate cases(wanted.case_file, library);
  tile::CaseFile file = cases.as_written();
  if (wanted.from_K) file.description.start = {tile::Start::From::temperature, *wanted.from_K, true};
  tile::TileSystem system(file.description);
  Progress progress;
  studies::DutyOptions options;
  if (wanted.curve) options.curve_points = wanted.curve_points;
  options.map = wanted.map;
  if (wanted.curve || wanted.map) heed_interrupts();
  options.progress = [&](double share) {
    progress(share);
    return !stop_wanted();
  };
  const studies::Duty result = studies::duty(system, options);
  std::vector<const char*> beside;
  if (result.curve) beside.push_back("curve.csv");
  if (result.map) beside.push_back("map.csv");
  if (!wanted.out_directory.empty()) {
    const results::OutputDirectory directory(wanted.out_directory);
    if (result.curve) directory.write_text("curve.csv", csv_curve(*result.curve));
    if (result.map) directory.write_text("map.csv", csv_map(*result.map));
  }
  tell_answer(
      wanted, cases, as_stated(file.description, steady_words), "duty.json", [&] { return json_duty(file, system, result); },
      [&] { return print_duty(file, system, result); }, beside);
  if (stop_wanted()) return answer_interrupted();
  if (result.feasible()) return 0;
  return answer_no(Code::nothing_feasible, "no drive, burst or duty meets every limit");
}

int sweep(const Invocation& wanted, const materials::Library& library) {
  if (wanted.asks_by_name()) return sweep_rows_verb(wanted, library);
  const tile::CaseTemplate cases(wanted.case_file, library);
  const tile::CaseFile& file = cases.as_written();
  const input::Variation variation = input::read_variation(wanted.vary.front());
  const input::Spacing spacing = wanted.spacing == "log"      ? input::Spacing::logarithmic
                                 : wanted.spacing == "linear" ? input::Spacing::linear
                                                              : input::Spacing::automatic;
  Swept swept{cases.value_at(variation.path), {}, {}};
  swept.range = input::read_value_range(variation.range, swept.varied.type, wanted.points, spacing);
  heed_interrupts();
  Progress progress;
  studies::SweepOptions options;
  options.duty = !wanted.no_duty;
  options.tilt = swept.varied.path != "sun.tilt";
  options.progress = [&](double share) {
    progress(share);
    return !stop_wanted();
  };
  const auto case_at = [&](double value) { return cases.with({{swept.varied.path, value}}).description; };
  swept.sweep = studies::sweep(case_at, swept.range.values_si, options);
  if (!wanted.out_directory.empty())
    results::OutputDirectory(wanted.out_directory).write_text("sweep.csv", csv_sweep(swept));
  tell_answer(
      wanted, cases, as_stated(file.description, stated_words), "sweep.json", [&] { return json_sweep(file, swept); },
      [&] { return print_sweep(file, swept); }, {"sweep.csv"});
  if (swept.sweep.interrupted) return answer_interrupted();
  if (swept.sweep.answered() > 0) return 0;
  return answer_no(swept.sweep.points.front().trouble->code,
                   "no value has an answer; the first: " + swept.sweep.points.front().trouble->message);
}

int materials_verb(const Invocation& wanted, const materials::Library& library) {
  if (wanted.entry.empty()) {
    say(wanted.json ? json_materials(library, "") : print_materials(library));
    return 0;
  }
  const std::string text = print_entry(library, wanted.entry);
  if (text.empty()) {
    std::vector<std::string> names = library.solid_names();
    for (const auto& more : {library.medium_names(), library.fluid_names(), library.surface_names(),
                             library.cell_names(), library.body_names()})
      names.insert(names.end(), more.begin(), more.end());
    Diagnostic diagnostic;
    diagnostic.code = Code::name_unknown;
    diagnostic.message = "no entry named '" + wanted.entry + "'";
    const std::string nearest = nearest_spelling(wanted.entry, names);
    if (!nearest.empty()) diagnostic.suggestion = "did you mean '" + nearest + "'?";
    throw Error(std::move(diagnostic));
  }
  say(wanted.json ? json_materials(library, wanted.entry) : text);
  return 0;
}

}  // namespace

Overheard::Overheard() { overheard = &text_; }
Overheard::~Overheard() { overheard = nullptr; }
bool Overheard::listening() { return overheard != nullptr; }

void say(const std::string& result) {
  const std::string text = printable(result);
  if (overheard != nullptr) {
    *overheard += text;
    return;
  }
  if (std::fwrite(text.data(), 1, text.size(), stdout) != text.size() || std::fflush(stdout) != 0) {
    if (errno == EPIPE) return;  // whoever read the rest has gone: `| head` is no error
    throw Error(Code::output_unwritable, "standard output cannot be written");
  }
}

std::string default_materials_directory() {
  return installed_or(TILEFLUX_SOURCE_DATA "/materials", TILEFLUX_INSTALLED_DATA "/materials");
}

std::string default_cases_directory() {
  return installed_or(TILEFLUX_SOURCE_DATA "/cases", TILEFLUX_INSTALLED_DATA "/cases");
}

int run_verb(const Invocation& wanted) {
  if (wanted.schema) {
    say(input::json_schema(tile::case_definition(), "tileflux case"));
    return 0;
  }
  if (wanted.verb == "verify") return verify_verb(wanted);
  if (wanted.verb == "show") return show_verb(wanted);
  if (wanted.verb == "report") return report_verb(wanted);
  const materials::Library library = materials::read_library(wanted.materials_directory);
  if (wanted.verb == "check") return check(wanted, library);
  if (wanted.verb == "balance") return balance(wanted, library);
  if (wanted.verb == "run") return run(wanted, library);
  if (wanted.verb == "campaign") return campaign(wanted, library);
  if (wanted.verb == "duty") return duty(wanted, library);
  if (wanted.verb == "size") return size_verb(wanted, library);
  if (wanted.verb == "sweep") return sweep(wanted, library);
  if (wanted.verb == "margins") return margins_verb(wanted, library);
  if (wanted.verb == "gains") return gains_verb(wanted, library);
  if (wanted.verb == "compare") return compare_verb(wanted, library);
  return materials_verb(wanted, library);
}

}  // namespace tileflux::cli
