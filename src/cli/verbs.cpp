#include "cli/verbs.h"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <cerrno>
#include <chrono>
#include <csignal>
#include <cstdio>
#include <filesystem>
#include <thread>

#include "cli/asked_sweep.h"
#include "cli/case_inputs.h"
#include "cli/compared.h"
#include "cli/json.h"
#include "cli/print.h"
#include "cli/print_gains.h"
#include "cli/print_parts.h"
#include "cli/run_files.h"
#include "cli/text.h"
#include "cli/why_text.h"
#include "tileflux/base/spelling.h"
#include "tileflux/input/definition.h"
#include "tileflux/input/value_range.h"
#include "tileflux/results/files.h"
#include "tileflux/tile/case_template.h"

namespace tileflux::cli {

namespace {

std::atomic<bool> stop_wanted{false};

/// The run ends after its step with complete files; a second interrupt ends the process at once.
extern "C" void on_interrupt(int signal) {
  stop_wanted.store(true);
  std::signal(signal, SIG_DFL);
}

/// From here on an interrupt is a wish. Before a run there is nothing to save, and waiting for a pipe must end at once.
void heed_interrupts() {
  std::signal(SIGINT, on_interrupt);
  std::signal(SIGTERM, on_interrupt);
}

/// Progress on standard error for what takes longer than a second, and only on a terminal.
class Progress {
 public:
  void operator()(double share) {
    if (!terminal_) return;
    const double now_s = seconds();
    if (now_s < 1.0 || now_s - told_s_ < 0.2) return;
    told_s_ = now_s;
    fmt::print(stderr, "\r{:5.1f} %", 100.0 * share);
    std::fflush(stderr);
  }
  ~Progress() {
    if (told_s_ > 0.0) fmt::print(stderr, "\r        \r");
  }

 private:
  double seconds() const { return std::chrono::duration<double>(std::chrono::steady_clock::now() - begin_).count(); }
  std::chrono::steady_clock::time_point begin_ = std::chrono::steady_clock::now();
  bool terminal_ = isatty(STDERR_FILENO) != 0;
  double told_s_ = 0.0;
};

/// The answer is "no": said on standard error with its code, beside the result on standard output.
int answer_no(Code code, const std::string& message) {
  Diagnostic diagnostic;
  diagnostic.code = code;
  diagnostic.message = message;
  fmt::print(stderr, "{}\n", describe(diagnostic));
  return entry_of(code).exit_status;
}

int limit_broken(const std::optional<studies::Margin>& binding) {
  return answer_no(Code::limit_broken, binding ? "'" + binding->where() + "' breaks its limit by " +
                                                     amount_text(binding->kind, -binding->margin)
                                               : "a limit is broken");
}

std::optional<studies::Why> why_if_wanted(const Invocation& wanted, const tile::CaseTemplate& cases,
                                          const tile::Case& description) {
  return wanted.no_why ? std::nullopt : why_of(cases, description);
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
  const std::optional<studies::Why> why = why_if_wanted(wanted, cases, file.description);
  const std::string json = with_why(json_balance(file, system, result), why);
  if (!wanted.out_directory.empty())
    results::OutputDirectory(wanted.out_directory).write_text("balance.json", json);
  say(wanted.json ? json : print_balance(file, system, result) + print_why(why));
  if (result.limits_met) return 0;
  return limit_broken(result.beam_on && !result.beam_on->limits_met() ? result.beam_on->binding
                                                                      : result.beam_off.binding);
}

int accelerated_run(const Invocation& wanted, const tile::CaseFile& file) {
  heed_interrupts();
  Progress progress;
  const double step_s = file.description.ageing ? file.description.ageing->step_s : 0.0;
  const studies::WearResult result =
      studies::wear(file.description, file.description.run.duration_s, step_s, [&](double share) {
        progress(share);
        return !stop_wanted.load();
      });
  if (!wanted.out_directory.empty())
    results::OutputDirectory(wanted.out_directory).write_text("run.json", json_wear(file, result));
  say(wanted.json ? json_wear(file, result) : print_wear(file, result));
  if (result.interrupted) return entry_of(Code::interrupted).exit_status;
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
  if (wanted.accelerated) return accelerated_run(wanted, file);
  tile::TileSystem system(file.description);
  heed_interrupts();
  std::optional<results::OutputDirectory> directory;
  std::optional<RunFiles> files;
  if (!wanted.out_directory.empty()) {
    directory.emplace(wanted.out_directory);
    files.emplace(*directory, system);
  }
  Progress progress;
  studies::RunOptions options;
  options.stop_requested = [] { return stop_wanted.load(); };
  options.progress = [&](double share) { progress(share); };
  const studies::RunResult result = studies::run(system, files ? &*files : nullptr, options);
  const std::optional<studies::Why> why = why_if_wanted(wanted, cases, file.description);
  const std::string json = with_why(json_run(file, system, result), why);
  if (files) {
    files->close();
    directory->write_text("run.json", json);
  }
  say(wanted.json ? json : print_run(file, system, result) + print_why(why));
  if (result.outcome == studies::RunOutcome::interrupted) return entry_of(Code::interrupted).exit_status;
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
  if (directory && wanted.series) files.emplace(*directory, system);
  Progress progress;
  studies::CampaignOptions options;
  options.every_cycle = wanted.every_cycle;
  options.run.stop_requested = [] { return stop_wanted.load(); };
  options.run.progress = [&](double share) { progress(share); };
  const studies::CampaignResult result = studies::campaign(system, files ? &*files : nullptr, options);
  if (files) files->close();
  const std::optional<studies::Why> why = why_if_wanted(wanted, cases, file.description);
  const std::string json = with_why(json_campaign(file, system, result), why);
  if (directory) {
    directory->write_text("requests.csv", csv_campaign(result));
    directory->write_text("campaign.json", json);
  }
  say(wanted.json ? json : print_campaign(file, result) + print_why(why));
  if (result.outcome == studies::RunOutcome::interrupted) return entry_of(Code::interrupted).exit_status;
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
    return !stop_wanted.load();
  };
  const studies::Duty result = studies::duty(system, options);
  const std::optional<studies::Why> why = why_if_wanted(wanted, cases, file.description);
  const std::string json = with_why(json_duty(file, system, result), why);
  if (!wanted.out_directory.empty()) {
    const results::OutputDirectory directory(wanted.out_directory);
    directory.write_text("duty.json", json);
    if (result.curve) directory.write_text("curve.csv", csv_curve(*result.curve));
    if (result.map) directory.write_text("map.csv", csv_map(*result.map));
  }
  say(wanted.json ? json : print_duty(file, system, result) + print_why(why));
  if (stop_wanted.load()) return entry_of(Code::interrupted).exit_status;
  if (result.feasible()) return 0;
  return answer_no(Code::nothing_feasible, "no drive, burst or duty meets every limit");
}

int size(const Invocation& wanted, const materials::Library& library) {
  const tile::SizeCases cases = tile::read_size_cases(wanted.case_file, library);
  const studies::Size result = studies::size(cases.hot, cases.cold);
  // Of the tile as the case has it: what would help before a radiator is chosen.
  const tile::CaseTemplate inputs(wanted.case_file, library);
  const std::optional<studies::Why> why = why_if_wanted(wanted, inputs, inputs.as_written().description);
  const std::string json = with_why(json_size(cases, result), why);
  if (!wanted.out_directory.empty())
    results::OutputDirectory(wanted.out_directory).write_text("size.json", json);
  say(wanted.json ? json : print_size(cases, result) + print_why(why));
  if (!result.possible) return answer_no(Code::radiator_impossible, "no radiator within the bounds does what is asked");
  if (result.cold && !result.cold->held)
    return answer_no(Code::limit_broken, "in the cold case no heater on '" + result.cold->heater + "' keeps '" +
                                             result.cold->unreached + "' warm enough");
  return 0;
}

int sweep(const Invocation& wanted, const materials::Library& library) {
  if (wanted.asks_by_name()) {
    heed_interrupts();
    return sweep_rows(wanted, library, [] { return stop_wanted.load(); });
  }
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
    return !stop_wanted.load();
  };
  const auto case_at = [&](double value) { return cases.with({{swept.varied.path, value}}).description; };
  swept.sweep = studies::sweep(case_at, swept.range.values_si, options);
  const std::optional<studies::Why> why = why_if_wanted(wanted, cases, file.description);
  const std::string json = with_why(json_sweep(file, swept), why);
  if (!wanted.out_directory.empty()) {
    const results::OutputDirectory directory(wanted.out_directory);
    directory.write_text("sweep.csv", csv_sweep(swept));
    directory.write_text("sweep.json", json);
  }
  say(wanted.json ? json : print_sweep(file, swept) + print_why(why));
  if (swept.sweep.interrupted) return entry_of(Code::interrupted).exit_status;
  if (swept.sweep.answered() > 0) return 0;
  return answer_no(swept.sweep.points.front().trouble->code,
                   "no value has an answer; the first: " + swept.sweep.points.front().trouble->message);
}

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
  const Kind kind = wanted.ranked_for == "light"    ? Kind::light
                    : wanted.ranked_for == "area"   ? Kind::radiator_area
                    : wanted.ranked_for == "rating" ? Kind::rating
                    : wanted.ranked_for == "duty"   ? Kind::duty
                    : wanted.ranked_for == "run_light" ? Kind::run_light
                                                    : Kind::duty_light;
  const auto place = gains.output(kind);
  if (!place) throw Error(Code::option_wrong, "--for " + wanted.ranked_for + ": the case has no such answer");
  return *place;
}

int gains(const Invocation& wanted, const materials::Library& library) {
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
    return !stop_wanted.load();
  };
  options.run = wanted.over_run;
  // What a run is asked for stands in a template's cases too: their runs are not what is differenced.
  tile::Case description = file.description;
  if (wanted.duration_s) description.run.duration_s = *wanted.duration_s;
  const studies::Gains result = studies::gains(description, gain_inputs(cases), options);
  const std::size_t ranked_by = ranking_output(wanted, result);
  const std::optional<studies::Why> why = why_if_wanted(wanted, cases, file.description);
  const std::string json = with_why(json_gains(file, result), why);
  if (!wanted.out_directory.empty()) results::OutputDirectory(wanted.out_directory).write_text("gains.json", json);
  say(wanted.json ? json
                  : print_gains(file, result, ranked_by, static_cast<std::size_t>(wanted.top)) + print_why(why));
  return result.interrupted ? entry_of(Code::interrupted).exit_status : 0;
}

int compare(const Invocation& wanted, const materials::Library& library) {
  heed_interrupts();
  Progress progress;
  return compare_verb(wanted, library, [&](double share) {
    progress(share);
    return !stop_wanted.load();
  });
}

materials::Policy policy_of(const Invocation& wanted, const tile::Case& description) {
  const bool is_file = wanted.policy.find('/') != std::string::npos || wanted.policy.ends_with(".yaml");
  if (is_file) return materials::read_policy(wanted.policy);
  return materials::policy_named((std::filesystem::path(wanted.materials_directory) / "policies").string(),
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

int margins(const Invocation& wanted, const materials::Library& library) {
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
    return !stop_wanted.load();
  };
  margined.margins = studies::margins(margins_problem(cases, margined.known), margined.options);
  const std::optional<studies::Why> why = why_if_wanted(wanted, cases, file.description);
  const std::string json = with_why(json_margins(file, margined), why);
  if (!wanted.out_directory.empty()) {
    const results::OutputDirectory directory(wanted.out_directory);
    directory.write_text("margins.json", json);
    directory.write_text("margins.csv", csv_margins(margined));
  }
  say(wanted.json ? json : print_margins(file, margined) + print_why(why));
  if (stop_wanted.load()) return entry_of(Code::interrupted).exit_status;
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

void say(const std::string& result) {
  const std::string text = printable(result);
  if (std::fwrite(text.data(), 1, text.size(), stdout) != text.size() || std::fflush(stdout) != 0) {
    if (errno == EPIPE) return;  // whoever read the rest has gone: `| head` is no error
    throw Error(Code::output_unwritable, "standard output cannot be written");
  }
}

std::string default_materials_directory() {
  std::error_code trouble;
  const std::filesystem::path self = std::filesystem::read_symlink("/proc/self/exe", trouble);
  const std::filesystem::path installed = self.parent_path() / TILEFLUX_INSTALLED_MATERIALS;
  if (!trouble && std::filesystem::is_directory(installed, trouble)) return installed.lexically_normal().string();
  return TILEFLUX_SOURCE_MATERIALS;
}

int run_verb(const Invocation& wanted) {
  if (wanted.schema) {
    say(input::json_schema(tile::case_definition(), "tileflux case"));
    return 0;
  }
  const materials::Library library = materials::read_library(wanted.materials_directory);
  if (wanted.verb == "check") return check(wanted, library);
  if (wanted.verb == "balance") return balance(wanted, library);
  if (wanted.verb == "run") return run(wanted, library);
  if (wanted.verb == "campaign") return campaign(wanted, library);
  if (wanted.verb == "duty") return duty(wanted, library);
  if (wanted.verb == "size") return size(wanted, library);
  if (wanted.verb == "sweep") return sweep(wanted, library);
  if (wanted.verb == "margins") return margins(wanted, library);
  if (wanted.verb == "gains") return gains(wanted, library);
  if (wanted.verb == "compare") return compare(wanted, library);
  return materials_verb(wanted, library);
}

}  // namespace tileflux::cli
