#include "cli/invocation.h"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <map>

#include "cli/text.h"
#include "tileflux/base/cautions.h"
#include "tileflux/base/errors.h"
#include "tileflux/base/spelling.h"
#include "tileflux/input/value_range.h"
#include "tileflux/units/quantity.h"

namespace tileflux::cli {

namespace {

struct VerbHelp {
  const char* name;
  const char* meaning;
};

constexpr VerbHelp verb_helps[] = {
    {"check", "is the case sound? errors, warnings, what was filled in, which values rest on memory"},
    {"balance", "the steady operating point, beam on and beam off: temperatures, usable laser power, what limits it"},
    {"run", "the transient: series, events, extremes, margins"},
    {"campaign", "a timetable of light: what each request was delivered, what it was refused and why"},
    {"duty", "burst length, recovery, continuous rating, sustainable duty, and the limit that binds each"},
    {"size", "the radiator for a temperature limit or a light: area, sheet, pitch, mass; hot case, then cold case"},
    {"sweep",
     "one value over a range, such as the distance from the Sun: what changes, and where; or many, by grid or sample"},
    {"gains",
     "what one per cent more of each input buys: light, margins, radiator, duty; what a better laser would do"},
    {"compare",
     "two cases side by side: which inputs differ, which outputs, and which input moved which output by how much"},
    {"margins", "every limit under a margin policy: bounding cases, what is left, how likely it is exceeded"},
    {"show", "results as a story on the terminal: the answer, what binds, what to do next, tables, bars"},
    {"report",
     "results as one self-contained page for the browser: charts with their tables, provenance; pictures of the "
     "charts"},
    {"materials", "the materials library: list, or one entry with its sources"},
    {"verify", "does this installation compute what it should? every law and case against the numbers to expect of it"},
};

/// Verbs that take results and no case.
bool tells_results(std::string_view verb) { return verb == "show" || verb == "report"; }

[[noreturn]] void refuse(Code code, const std::string& message, const std::string& suggestion) {
  Diagnostic diagnostic;
  diagnostic.code = code;
  diagnostic.message = message;
  diagnostic.suggestion = suggestion;
  throw Error(std::move(diagnostic));
}

std::string did_you_mean(const std::string& word, const std::vector<std::string>& known) {
  const std::string nearest = nearest_spelling(word, known);
  return nearest.empty() ? "" : "did you mean '" + nearest + "'?";
}

/// A time with a unit, such as `24 h`.
std::optional<double> time_of(const std::string& option, const std::string& text) {
  const units::Parsed parsed = units::parse_quantity(text, {"s"});
  if (!parsed.value_si) refuse(Code::option_wrong, option + " '" + text + "': " + parsed.message, "");
  if (!(*parsed.value_si > 0.0)) refuse(Code::option_wrong, option + " must be longer than nothing", "");
  constexpr double shortest_s = 1e-6, longest_s = 1e9;
  if (*parsed.value_si < shortest_s || *parsed.value_si > longest_s)
    refuse(Code::option_wrong, option + " '" + text + "' is not between 1 us and 1e9 s", "");
  return parsed.value_si;
}

void add_sweep_options(CLI::App& verb, Invocation& wanted) {
  verb.add_option(
          "--vary", wanted.vary,
          "path of a value in the case, and a range or list: 'sun.distance=0.3..5AU', "
          "'surfaces.rear.area=0.5,1,2 m2', 'joins[0].conductance=1..10 W/K'; more than once: every combination, "
          "the last one varying fastest")
      ->option_text("PATH=RANGE")
      ->allow_extra_args(false);
  verb.add_option("--ask", wanted.ask, "what is asked at every row: 'steady' (unless stated), 'duty', 'run' or 'size'")
      ->option_text("WORD");
  verb.add_option("--output", wanted.outputs,
                  "answers by name, such as 'usable_laser_power,temperature.bench.on'; all of "
                  "the question unless stated")
      ->option_text("NAME,...")
      ->allow_extra_args(false)
      ->delimiter(',');
  verb.add_option("--sample", wanted.sample,
                  "rows drawn from the ranges instead of every combination: 'latin=N' or "
                  "'sobol=N'")
      ->option_text("KIND=N");
  verb.add_option("--seed", wanted.seed, "of a Latin hypercube; 1 unless stated")
      ->check(CLI::NonNegativeNumber)
      ->option_text("N");
  verb.add_option("--threads", wanted.threads, "threads that solve rows; as many as the machine has unless stated")
      ->option_text("N");
  verb.add_option("--points", wanted.points, "values in a range, 2 to 10000; 25 unless stated")->option_text("N");
  verb.add_option("--spacing", wanted.spacing,
                  "'linear': equal steps, 'log': equal ratios; unless stated log where the ends are more than a factor "
                  "of 3 apart")
      ->option_text("WORD");
  verb.add_flag("--no-duty", wanted.no_duty, "leave out the sustainable duty, which takes most of the time");
}

void add_margins_options(CLI::App& verb, Invocation& wanted) {
  verb.add_option("--policy", wanted.policy,
                  "a profile of materials/policies by name, or a file by its path; without it what the case says")
      ->option_text("NAME");
  verb.add_option("--samples", wanted.samples,
                  "samples of the uncertain inputs, 0 or 10 to 1000000; 1000 unless stated")
      ->option_text("N");
  verb.add_option("--seed", wanted.seed, "another number gives other samples; 1 unless stated")
      ->check(CLI::NonNegativeNumber)
      ->option_text("S");
  verb.add_option("--tiles", wanted.tiles,
                  "tiles of the array whose worst is looked for; without it what the case says")
      ->option_text("N");
  verb.add_option("--threads", wanted.threads, "threads at work, all cores unless stated; the answer is the same")
      ->option_text("N");
}

void check_threads(const Invocation& wanted) {
  constexpr int most_threads = 1024;
  if (wanted.threads < 0 || wanted.threads > most_threads) refuse(Code::option_wrong, "--threads takes 1 to 1024", "");
}

void check_margins(const Invocation& wanted) {
  constexpr int least_samples = 10, most_samples = 1'000'000;
  if (wanted.samples != 0 && (wanted.samples < least_samples || wanted.samples > most_samples))
    refuse(Code::option_wrong, "--samples takes 0 or 10 to 1000000", "");
  constexpr long most_tiles = 1'000'000'000;
  if (wanted.tiles && (*wanted.tiles < 1 || *wanted.tiles > most_tiles))
    refuse(Code::option_wrong, "--tiles takes 1 to 1000000000", "");
  check_threads(wanted);
}

void check_sweep(const Invocation& wanted) {
  if (wanted.vary.empty())
    refuse(Code::option_wrong, "`tileflux sweep` needs --vary PATH=RANGE: what to vary, and over what",
           "for example --vary sun.distance=0.3..5AU");
  check_threads(wanted);
  if (wanted.no_duty && wanted.asks_by_name())
    refuse(Code::option_wrong, "--no-duty goes with a sweep of one value; here --ask says what is asked", "");
  if (!wanted.spacing.empty() && wanted.spacing != "linear" && wanted.spacing != "log")
    refuse(Code::option_wrong, "--spacing must be 'linear' or 'log', found '" + wanted.spacing + "'", "");
}

/// Options of `gains` as they are written, before their units are read.
struct GainTexts {
  std::string areal_mass, lasers;
};

void add_gains_options(CLI::App& verb, Invocation& wanted, GainTexts& texts) {
  verb.add_option("--for", wanted.ranked_for,
                  "rank by 'light', 'margin', 'area', 'rating', 'duty', 'mean_light' or 'run_light'")
      ->option_text("WORD");
  verb.add_option("--top", wanted.top, "how many inputs are printed; 15 unless stated")->option_text("N");
  verb.add_option("--radiator", wanted.radiator,
                  "the surface whose area is asked for; without it the one that helps most")
      ->option_text("SURFACE");
  verb.add_option("--areal-mass", texts.areal_mass, "mass per area of that radiator, for example '5 kg/m2'")
      ->option_text("MASS");
  verb.add_option("--laser", texts.lasers,
                  "compare lasers of these wall-plug efficiencies, for example '35 %, 50 %, 69 %'")
      ->option_text("LIST");
  verb.add_flag("--no-duty", wanted.no_duty, "leave out the sustainable duty, which takes most of the time");
  verb.add_flag("--run", wanted.over_run, "margins and mean light over the run of the case too; takes longer");
}

void add_compare_options(CLI::App& verb, Invocation& wanted) {
  verb.add_option("A", wanted.case_file, "the case file that is compared with")->option_text(" ");
  verb.add_option("B", wanted.other_case_file, "the case file that is compared")->option_text(" ");
  verb.add_option("--out", wanted.out_directory, "write compare.json into this directory")->option_text("DIR");
  verb.add_option("--top", wanted.top, "how many inputs the table of contributions lists; 15 unless stated")
      ->option_text("N");
  verb.add_flag("--no-duty", wanted.no_duty, "leave out the sustainable duty of both, which takes most of the time");
}

void check_compare(const Invocation& wanted) {
  if (wanted.other_case_file.empty() || wanted.case_file.empty())
    refuse(Code::option_wrong, "`tileflux compare` needs two case files: A, and B that is compared with it",
           "for example `tileflux compare cases/lamplighter/case.yaml mine.yaml`");
  if (wanted.top < 1) refuse(Code::option_wrong, "--top takes a number above zero", "");
}

/// Results are files or directories that verbs wrote.
void add_result_options(CLI::App& verb, Invocation& wanted) {
  verb.add_option(
          "RESULT", wanted.results,
          "a file that a verb wrote with `--out` or printed with `--json`, or a directory with such files; more "
          "than one: all in one story")
      ->option_text("...");
}

void add_show_options(CLI::App& verb, Invocation& wanted) {
  add_result_options(verb, wanted);
  verb.add_option("--width", wanted.width,
                  "columns of the text, 40 to 400; unless stated those of the terminal, 80 in a pipe")
      ->option_text("N");
  verb.add_flag("--all", wanted.all, "every row and column of every table");
}

void add_report_options(CLI::App& verb, Invocation& wanted) {
  add_result_options(verb, wanted);
  verb.add_option("-o,--output", wanted.report_file, "the page; report.html unless stated")->option_text("FILE");
  verb.add_option("--pictures", wanted.pictures_directory,
                  "directory for an SVG picture of every chart (drawn by the program node)")
      ->option_text("DIR");
}

void check_results(const Invocation& wanted) {
  if (wanted.results.empty())
    refuse(Code::option_wrong,
           "`tileflux " + wanted.verb + "` needs a result: a file that a verb wrote, or its directory",
           "for example `tileflux balance cases/lamplighter/case.yaml --out point`, then `tileflux " + wanted.verb +
               " point`");
  constexpr int narrowest = 40, widest = 400;
  if (wanted.width != 0 && (wanted.width < narrowest || wanted.width > widest))
    refuse(Code::option_wrong, "--width takes 40 to 400", "");
}

void read_gains_options(const GainTexts& texts, Invocation& wanted) {
  const std::vector<std::string> words{"light", "margin", "area", "rating", "duty", "mean_light", "run_light"};
  if (std::find(words.begin(), words.end(), wanted.ranked_for) == words.end())
    refuse(Code::option_wrong, "--for '" + wanted.ranked_for + "' is nothing that gains are told of",
           did_you_mean(wanted.ranked_for, words));
  constexpr int most_printed = 10'000;
  if (wanted.top < 1 || wanted.top > most_printed) refuse(Code::option_wrong, "--top takes 1 to 10000", "");
  if (!texts.areal_mass.empty()) {
    const units::Parsed parsed = units::parse_quantity(texts.areal_mass, {"kg/m2"});
    if (!parsed.value_si) refuse(Code::option_wrong, "--areal-mass '" + texts.areal_mass + "': " + parsed.message, "");
    if (!(*parsed.value_si > 0.0)) refuse(Code::option_wrong, "--areal-mass must be above zero", "");
    wanted.areal_mass_kg_per_m2 = *parsed.value_si;
  }
  if (texts.lasers.empty()) return;
  const input::QuantityType share{{"1"}, {.least = 0.0, .most = 1.0, .least_excluded = true, .most_excluded = true}};
  constexpr int values_of_a_range = 5;
  wanted.laser_efficiencies =
      input::read_value_range(texts.lasers, share, values_of_a_range, input::Spacing::linear).values_si;
}

/// A time of the case with a unit, such as `40 min`, or 0 s.
std::optional<double> instant_of(const std::string& option, const std::string& text) {
  const units::Parsed parsed = units::parse_quantity(text, {"s"});
  if (!parsed.value_si) refuse(Code::option_wrong, option + " '" + text + "': " + parsed.message, "");
  constexpr double latest_s = 1e12;
  if (!(*parsed.value_si >= 0.0 && *parsed.value_si <= latest_s))
    refuse(Code::option_wrong, option + " '" + text + "' is not between 0 and 1e12 s", "");
  return parsed.value_si;
}

/// A temperature with a unit, such as `20 degC`.
double temperature_of(const std::string& option, const std::string& text) {
  const units::Parsed parsed = units::parse_quantity(text, {"K"});
  if (!parsed.value_si) refuse(Code::option_wrong, option + " '" + text + "': " + parsed.message, "");
  constexpr double coldest_K = 1.0, hottest_K = 3000.0;  // as for temperatures in a case
  if (*parsed.value_si < coldest_K || *parsed.value_si > hottest_K)
    refuse(Code::option_wrong, option + " '" + text + "' is not between 1 K and 3000 K", "");
  return *parsed.value_si;
}

std::vector<std::string> option_names(const CLI::App& app) {
  std::vector<std::string> names;
  for (const CLI::Option* option : app.get_options()) {
    for (const std::string& name : option->get_lnames()) names.push_back("--" + name);
  }
  return names;
}

[[noreturn]] void refuse_parse(const CLI::App& app, const CLI::App* verb, const CLI::ParseError& error) {
  const CLI::App& level = verb != nullptr ? *verb : app;
  if (dynamic_cast<const CLI::ExtrasError*>(&error) != nullptr) {
    for (const std::string& word : level.remaining()) {
      if (word.rfind("-", 0) == 0)
        refuse(Code::option_wrong, "unknown option '" + word + "'",
               did_you_mean(word.substr(0, word.find('=')), option_names(level)));
    }
    const auto left = level.remaining();
    refuse(Code::option_wrong, "unexpected argument '" + (left.empty() ? std::string() : left.front()) + "'",
           "see `tileflux " + level.get_name() + " --help`");
  }
  refuse(Code::option_wrong, error.what(),
         "see `tileflux " + (verb != nullptr ? verb->get_name() + " " : "") + "--help`");
}

std::string cautions_text() {
  std::string text = "Cautions\n";
  for (const std::string_view caution : cautions()) text += wrapped(std::string(caution), 2);
  return text;
}

}  // namespace

std::vector<std::string> verbs() {
  std::vector<std::string> names;
  for (const VerbHelp& verb : verb_helps) names.emplace_back(verb.name);
  return names;
}

Invocation read_command_line(int argc, const char* const* argv, const std::string& default_materials) {
  Invocation wanted;
  wanted.materials_directory = default_materials;
  std::string duration, output_every, at, from;

  CLI::App app{"tileflux: heat, power and usable laser light of sun-powered laser tiles"};
  app.name("tileflux");
  app.footer(
      "\nExit status: 0 done, 1 the answer is no (a limit is broken, nothing feasible), 2 the input is wrong,\n"
      "3 the solver failed, 4 internal.\n\n" +
      cautions_text());
  app.set_version_flag("--version", std::string("tileflux " TILEFLUX_VERSION));
  app.require_subcommand(0, 1);
  app.get_formatter()->label("SUBCOMMAND", "VERB");
  std::map<std::string, CLI::App*> by_name;
  for (const VerbHelp& help : verb_helps) {
    CLI::App* verb = app.add_subcommand(help.name, help.meaning);
    verb->group("Verbs");
    verb->footer("\n" + cautions_text());
    by_name[help.name] = verb;
    if (tells_results(help.name)) continue;
    verb->add_flag("--json", wanted.json, "one machine-readable object on standard output");
    verb->add_option("--materials", wanted.materials_directory, "directory of the materials library")
        ->option_text("DIR");
  }
  for (const char* name : {"check", "balance", "run", "campaign", "duty", "size", "sweep", "gains", "margins"}) {
    by_name[name]->add_option("CASE", wanted.case_file, "the case file")->option_text(" ");
  }
  for (const char* name : {"balance", "run", "campaign", "duty", "size", "sweep", "gains", "margins"}) {
    by_name[name]
        ->add_option("--out", wanted.out_directory, "write result files into this directory")
        ->option_text("DIR");
  }
  for (const char* name : {"balance", "run", "campaign", "duty", "size", "sweep", "gains", "margins"}) {
    by_name[name]->add_flag("--no-why", wanted.no_why,
                            "without the paragraph at the end: what limits the tile and what would help");
  }
  by_name["balance"]
      ->add_option("--at", at, "instant whose surroundings are taken, for example '40 min'; without it their mean")
      ->option_text("TIME");
  by_name["duty"]->add_flag("--curve", wanted.curve, "the sustainable duty over periods from 0.1 s to a day");
  by_name["duty"]
      ->add_option("--points", wanted.curve_points, "number of periods of the curve, 2 to 200; 30 without it")
      ->option_text("N");
  by_name["duty"]->add_flag("--map", wanted.map,
                            "the sustainable duty over drive and period, with lines of equal duty");
  for (const char* name : {"run", "campaign", "gains"}) {
    by_name[name]
        ->add_option("--duration", duration,
                     "time to integrate over, for example '24 h'; without it what the case says")
        ->option_text("TIME");
    if (std::string(name) == "gains") continue;
    by_name[name]
        ->add_option("--every", output_every, "interval of the series, for example '10 s'")
        ->option_text("TIME");
  }
  by_name["campaign"]->add_flag("--every-cycle", wanted.every_cycle,
                                "integrate every cycle, also where they repeat and one can be taken for the others");
  by_name["campaign"]->add_flag("--series", wanted.series,
                                "with --out: series and events too, of the cycles that are integrated");
  by_name["run"]->add_flag("--accelerated", wanted.accelerated,
                           "carry `ageing` forward by what repeating cycles do, instead of every step of every day");
  add_sweep_options(*by_name["sweep"], wanted);
  add_margins_options(*by_name["margins"], wanted);
  GainTexts gain_texts;
  add_gains_options(*by_name["gains"], wanted, gain_texts);
  add_compare_options(*by_name["compare"], wanted);
  add_show_options(*by_name["show"], wanted);
  add_report_options(*by_name["report"], wanted);
  by_name["duty"]
      ->add_option("--from", from,
                   "temperature of every node at the start, for example '20 degC'; without it what the case says")
      ->option_text("TEMPERATURE");
  by_name["check"]->add_flag("--schema", wanted.schema, "print the JSON Schema of case files and stop");
  by_name["verify"]
      ->add_option("CASES", wanted.case_file, "a folder of cases; without it those that came with the command")
      ->option_text(" ");
  by_name["materials"]->add_option("NAME", wanted.entry, "an entry to show in full")->option_text(" ");

  if (argc > 1 && argv[1][0] != '-' && by_name.count(argv[1]) == 0) {
    refuse(Code::verb_unknown, std::string("unknown verb '") + argv[1] + "'", did_you_mean(argv[1], verbs()));
  }
  const auto chosen = [&]() -> CLI::App* {
    const auto parsed = app.get_subcommands();
    return parsed.empty() ? nullptr : parsed.front();
  };
  try {
    app.parse(argc, argv);
  } catch (const CLI::CallForHelp&) {
    wanted.answer = app.help();  // of the verb, if one was parsed
    return wanted;
  } catch (const CLI::CallForVersion&) {
    wanted.answer = "tileflux " TILEFLUX_VERSION "\n";
    return wanted;
  } catch (const CLI::ParseError& error) {
    refuse_parse(app, chosen(), error);
  }
  if (chosen() == nullptr) {
    wanted.answer = app.help();
    return wanted;
  }
  wanted.verb = chosen()->get_name();
  const auto stands = [&](const char* option) {
    return chosen()->get_option_no_throw(option) != nullptr && chosen()->count(option) > 0;
  };
  constexpr int least_points = 2, most_points = 200;
  if (wanted.curve_points < least_points || wanted.curve_points > most_points)
    refuse(Code::option_wrong, "--points takes 2 to 200", "");
  if (stands("--at")) wanted.at_s = instant_of("--at", at);
  if (stands("--duration")) wanted.duration_s = time_of("--duration", duration);
  if (stands("--every")) wanted.output_every_s = time_of("--every", output_every);
  if (stands("--from")) wanted.from_K = temperature_of("--from", from);
  if (stands("--out") && wanted.out_directory.empty())
    refuse(Code::option_wrong, "--out needs the name of a directory", "");
  if (wanted.verb == "sweep") check_sweep(wanted);
  if (wanted.verb == "margins") check_margins(wanted);
  if (stands("--policy") && wanted.policy.empty()) refuse(Code::option_wrong, "--policy needs a name or a file", "");
  if (wanted.verb == "gains") read_gains_options(gain_texts, wanted);
  if (wanted.verb == "compare") check_compare(wanted);
  if (tells_results(wanted.verb)) check_results(wanted);
  const bool needs_case =
      wanted.verb != "materials" && wanted.verb != "verify" && !tells_results(wanted.verb) && !wanted.schema;
  if (needs_case && wanted.case_file.empty())
    refuse(Code::option_wrong, "`tileflux " + wanted.verb + "` needs a case file",
           "for example `tileflux " + wanted.verb + " cases/lamplighter/case.yaml`");
  return wanted;
}

}  // namespace tileflux::cli
