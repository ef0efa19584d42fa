/// The command as a person meets it: verbs, options, help, exit statuses, and what goes to which stream.

#include <gmock/gmock.h>

#include <filesystem>
#include <nlohmann/json.hpp>
#include <set>
#include <sstream>

#include "support/child_process.h"
#include "support/temporary_directory.h"

namespace tileflux::command_test {

using test::ProgramResult;
using test::run_program;
using test::TemporaryDirectory;
using test::write_file;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::StartsWith;

const std::string plate = TILEFLUX_PROJECT_DIR "/cases/plate/case.yaml";
const std::string lamplighter = TILEFLUX_PROJECT_DIR "/cases/lamplighter/case.yaml";
const std::vector<std::string> all_verbs{"check", "balance", "run", "duty", "size", "sweep", "materials"};

/// A plate in the sun with a limit of the caller's choice and what else stands behind.
std::string plate_case(const std::string& below, const std::string& more = {}) {
  return "tileflux: 1\ntitle: A plate\nsun: {distance: 1 AU}\nparts:\n  plate: {heat_capacity: 2.4 kJ/K}\nsurfaces:\n"
         "  front: {on: plate, area: 1 m2, emittance: 85 %, absorptance: 90 %, sunlit: yes}\n"
         "  back: {on: plate, area: 1 m2, emittance: 88 %}\nlimits:\n  plate: {below: " + below + "}\n" + more;
}

ProgramResult tileflux(std::vector<std::string> arguments) {
  arguments.insert(arguments.begin(), TILEFLUX_COMMAND);
  return run_program(arguments);
}

ProgramResult tileflux_on(const std::string& verb, const std::string& text) {
  const TemporaryDirectory directory;
  write_file(directory / "case.yaml", text);
  return tileflux({verb, (directory / "case.yaml").string()});
}

// Exit status

TEST(ExitStatus, IsNoughtWhenTheAnswerIsThere) {
  for (const std::string verb : {"check", "balance", "run"}) {
    const ProgramResult result = tileflux({verb, plate});
    EXPECT_EQ(result.exit_status, 0) << verb << result.standard_error;
    EXPECT_THAT(result.standard_error, IsEmpty()) << verb;
    EXPECT_GT(result.standard_output.size(), 200u) << verb;
  }
  EXPECT_EQ(tileflux({"duty", TILEFLUX_PROJECT_DIR "/cases/burst_and_recovery/case.yaml"}).exit_status, 0);
  EXPECT_EQ(tileflux({"materials"}).exit_status, 0);
}

TEST(ExitStatus, IsOneWhenALimitIsBroken) {
  for (const std::string verb : {"balance", "run"}) {
    const ProgramResult result = tileflux_on(verb, plate_case("40 degC"));
    EXPECT_EQ(result.exit_status, 1) << verb << result.standard_error;
    EXPECT_THAT(result.standard_output, HasSubstr("plate below 40.00 degC")) << "the result is printed all the same";
    EXPECT_THAT(result.standard_error, StartsWith("error limit-broken: ")) << verb;
  }
}

TEST(ExitStatus, IsOneWhenNoBurstNoDriveAndNoDutyIsPossible) {
  const std::string hot = plate_case("0 degC", "beam: {on: 30 s, every: 300 s}\nstart: {from: beam_off_balance}\n");
  const ProgramResult result = tileflux_on("duty", hot);
  EXPECT_EQ(result.exit_status, 1) << result.standard_output << result.standard_error;
  EXPECT_THAT(result.standard_output, HasSubstr("none: a limit is broken at any drive"));
  EXPECT_THAT(result.standard_error, StartsWith("error nothing-feasible: "));
}

TEST(ExitStatus, IsTwoWhenTheInputIsWrong) {
  EXPECT_EQ(tileflux({"balance", "no_such_file.yaml"}).exit_status, 2);
  EXPECT_EQ(tileflux({"balance", plate, "--nonsense"}).exit_status, 2);
  EXPECT_EQ(tileflux({"balanse", plate}).exit_status, 2);
}

TEST(ExitStatus, IsThreeWhenThereIsNoSteadyState) {
  const std::string closed = "tileflux: 1\ntitle: No way out\nsun: {distance: 1 AU}\nparts:\n  box: {heat_capacity: 1 kJ/K}\n"
                             "loads:\n  - {on: box, power: 10 W}\n";
  const ProgramResult result = tileflux_on("balance", closed);
  EXPECT_THAT(result.exit_status, ::testing::AnyOf(2, 3)) << result.standard_error;
  EXPECT_THAT(result.standard_error, HasSubstr("'box'"));
  EXPECT_THAT(result.standard_output, IsEmpty());
}

// Help, version, slips

TEST(Help, CarriesTheCautionsForTheCommandAndForEveryVerb) {
  std::vector<std::vector<std::string>> questions{{"--help"}, {}};
  for (const std::string& verb : all_verbs) questions.push_back({verb, "--help"});
  for (const auto& question : questions) {
    const ProgramResult result = tileflux(question);
    EXPECT_EQ(result.exit_status, 0);
    EXPECT_THAT(result.standard_error, IsEmpty());
    for (const char* caution : {"Planning aid only", "class 4", "laser safety officer", "IEC 60825-1", "No eye-safe distance",
                                "live in light", "asphyxiation", "national authority"}) {
      EXPECT_THAT(result.standard_output, HasSubstr(caution)) << (question.empty() ? "" : question.front());
    }
  }
}

TEST(Help, OfTheCommandNamesEveryVerbAndEveryExitStatus) {
  const std::string help = tileflux({"--help"}).standard_output;
  for (const std::string& verb : all_verbs) EXPECT_THAT(help, HasSubstr("\n  " + verb));
  for (const char* status : {"0 done", "1 the answer is no", "2 the input is wrong", "3 the solver failed", "4 internal"}) {
    EXPECT_THAT(help, HasSubstr(status));
  }
}

TEST(Version, IsOneLine) { EXPECT_EQ(tileflux({"--version"}).standard_output, "tileflux " TILEFLUX_VERSION "\n"); }

TEST(Slip, InAVerbSuggestsTheNearest) {
  const ProgramResult result = tileflux({"balence", plate});
  EXPECT_EQ(result.exit_status, 2);
  EXPECT_THAT(result.standard_error, HasSubstr("verb-unknown"));
  EXPECT_THAT(result.standard_error, HasSubstr("did you mean 'balance'?"));
  EXPECT_THAT(result.standard_output, IsEmpty());
}

TEST(Slip, InAnOptionSuggestsTheNearest) {
  const std::vector<std::pair<std::string, std::string>> slips{
      {"--durations=1 h", "--duration"}, {"--jsn", "--json"}, {"--otu", "--out"}, {"--evry", "--every"}, {"--material", "--materials"}};
  for (const auto& [slip, meant] : slips) {
    const ProgramResult result = tileflux({"run", plate, slip});
    EXPECT_EQ(result.exit_status, 2);
    EXPECT_THAT(result.standard_error, HasSubstr("option-wrong"));
    EXPECT_THAT(result.standard_error, HasSubstr("did you mean '" + meant + "'?")) << slip;
  }
}

TEST(Slip, InAnOptionBeforeTheVerbIsToldToo) {
  const ProgramResult result = tileflux({"--versoin"});
  EXPECT_EQ(result.exit_status, 2);
  EXPECT_THAT(result.standard_error, HasSubstr("did you mean '--version'?"));
}

TEST(Slip, WithoutACaseFileIsToldWithAnExample) {
  for (const std::string verb : {"check", "balance", "run", "duty"}) {
    const ProgramResult result = tileflux({verb});
    EXPECT_EQ(result.exit_status, 2);
    EXPECT_THAT(result.standard_error, HasSubstr("`tileflux " + verb + "` needs a case file"));
  }
}

TEST(Slip, WithTwoCaseFilesIsRefused) {
  const ProgramResult result = tileflux({"check", plate, lamplighter});
  EXPECT_EQ(result.exit_status, 2);
  EXPECT_THAT(result.standard_error, HasSubstr(lamplighter));
}

TEST(Slip, InATimeOfTheCommandLineIsTold) {
  const std::vector<std::pair<std::string, std::string>> slips{{"24", "without a unit"}, {"24 W", "expected a time"},
                                                               {"-1 h", "longer than nothing"}, {"0 s", "longer than nothing"},
                                                               {"nan s", "finite"}, {"long", "expected a time"},
                                                               {"1e300 year", "between 1 us and 1e9 s"}, {"1e-300 s", "between 1 us and 1e9 s"}};
  for (const auto& [time, words] : slips) {
    for (const std::string option : {"--duration", "--every"}) {
      const ProgramResult result = tileflux({"run", plate, option + "=" + time});
      EXPECT_EQ(result.exit_status, 2) << option << ' ' << time;
      EXPECT_THAT(result.standard_error, HasSubstr(words)) << option << ' ' << time;
    }
  }
}

TEST(Slip, WithMoreRowsThanAnyoneWantsIsRefusedAtOnce) {
  const ProgramResult result = tileflux({"run", plate, "--duration", "30 year", "--every", "1 s"});
  EXPECT_EQ(result.exit_status, 2) << result.standard_error;
  EXPECT_THAT(result.standard_error, HasSubstr("5 million rows"));
}

TEST(Slip, WithAnEmptyOutputDirectoryIsTold) {
  const ProgramResult result = tileflux({"balance", plate, "--out", ""});
  EXPECT_EQ(result.exit_status, 2);
  EXPECT_THAT(result.standard_error, HasSubstr("--out needs the name of a directory"));
}

TEST(Output, HasNoControlCharactersOfAFileName) {
  const TemporaryDirectory directory;
  std::filesystem::copy_file(plate, directory / "red\x1b[31m.yaml");
  const std::string turned = "red\xe2\x80\xae[31m.yaml";  // what follows would be shown from right to left
  std::filesystem::copy_file(plate, directory / turned);
  const std::vector<std::string> names{"red\x1b[31m.yaml", "missing\x1b[31m.yaml", turned};
  for (const std::string& name : names) {
    const ProgramResult result = tileflux({"check", (directory / name).string()});
    EXPECT_EQ((result.standard_output + result.standard_error).find('\x1b'), std::string::npos);
    EXPECT_EQ((result.standard_output + result.standard_error).find("\xe2\x80\xae"), std::string::npos);
    EXPECT_THAT(result.standard_output + result.standard_error, HasSubstr("?[31m.yaml"));
  }
}

TEST(Slip, InANameOfTheMaterialsLibrarySuggestsTheNearest) {
  const ProgramResult result = tileflux({"materials", "germanum"});
  EXPECT_EQ(result.exit_status, 2);
  EXPECT_THAT(result.standard_error, HasSubstr("name-unknown"));
  EXPECT_THAT(result.standard_error, HasSubstr("did you mean 'germanium'?"));
  EXPECT_THAT(result.standard_output, IsEmpty());
}

TEST(Slip, InTheMaterialsDirectoryIsTold) {
  const TemporaryDirectory directory;
  const ProgramResult missing = tileflux({"check", plate, "--materials", (directory / "none").string()});
  EXPECT_EQ(missing.exit_status, 2);
  EXPECT_THAT(missing.standard_error, HasSubstr((directory / "none").string()));
  write_file(directory / "garbage.yaml", std::string("\x01\xff\0 not a library", 18));
  const ProgramResult garbage = tileflux({"check", plate, "--materials", directory.path().string()});
  EXPECT_EQ(garbage.exit_status, 2);
  EXPECT_THAT(garbage.standard_error, HasSubstr("garbage.yaml:1:1: error text-encoding"));
}

TEST(Slip, WithAnEmptyMaterialsDirectoryIsTold) {
  const TemporaryDirectory directory;
  const ProgramResult result = tileflux({"materials", "--materials", directory.path().string()});
  EXPECT_EQ(result.exit_status, 2);
  EXPECT_THAT(result.standard_error, HasSubstr(directory.path().string()));
}

TEST(Materials, ShowsAnEntryWithItsSource) {
  const ProgramResult result = tileflux({"materials", "germanium"});
  EXPECT_EQ(result.exit_status, 0);
  for (const char* word : {"germanium", "density", "heat capacity", "conductivity", "uncertainty"}) {
    EXPECT_THAT(result.standard_output, HasSubstr(word));
  }
}

TEST(Output, HasNoColourWhateverTheEnvironmentSays) {
  for (const char* setting : {"CLICOLOR_FORCE=1", "FORCE_COLOR=1", "TERM=xterm-256color"}) {
    for (const std::string verb : {"check", "balance", "run"}) {
      const ProgramResult result = run_program({"env", setting, TILEFLUX_COMMAND, verb, lamplighter});
      EXPECT_EQ(result.standard_output.find('\x1b'), std::string::npos) << setting;
      EXPECT_EQ(result.standard_error.find('\x1b'), std::string::npos) << setting;
    }
  }
}

TEST(Output, GoesToAFullDeviceOrAClosedStreamWithAnErrorNotACrash) {
  const std::string command = TILEFLUX_COMMAND;
  for (const std::string& call : {command + " balance " + plate, command + " materials", command + " --help", command + " --version",
                                  command + " balance --json no_such_file.yaml"}) {
    for (const char* stream : {" >/dev/full", " >&-"}) {
      const ProgramResult result = run_program({"sh", "-c", call + stream});
      EXPECT_EQ(result.exit_status, 2) << call << stream;
      EXPECT_THAT(result.standard_error, HasSubstr("error ")) << call << stream;
    }
  }
}

TEST(Output, IntoAPipeThatNobodyReadsEndsWithAnError) {
  const ProgramResult result =
      run_program({"bash", "-c", std::string(TILEFLUX_COMMAND) + " materials | true; exit ${PIPESTATUS[0]}"});
  EXPECT_THAT(result.exit_status, ::testing::AnyOf(0, 2)) << "0: written before the reader left";
}

TEST(Output, OfExtremeCasesIsNumbersOrAnErrorThatSaysWhy) {
  const std::string head = "tileflux: 1\ntitle: extreme\nsun: {distance: 1 AU}\n";
  const std::string face = "surfaces:\n  face: {on: a, area: AREA, emittance: EMITTANCE, absorptance: 90 %, sunlit: yes}\n";
  const auto extreme = [&](const std::string& capacity, const std::string& conductance, const std::string& area, const std::string& emittance, const std::string& more) {
    std::string text = head + "parts:\n  a: {heat_capacity: " + capacity + "}\n  b: {heat_capacity: 1 kJ/K}\njoins:\n  - {between: [a, b], conductance: " + conductance + "}\n" + face + more;
    text.replace(text.find("AREA"), 4, area);
    text.replace(text.find("EMITTANCE"), 9, emittance);
    return text;
  };
  const std::vector<std::string> cases{
      extreme("1e-9 J/K", "1 W/K", "1 m2", "85 %", ""),
      extreme("1e-12 J/K", "1e12 W/K", "1 m2", "85 %", ""),
      extreme("1e12 J/K", "1e-12 W/K", "1e12 m2", "85 %", ""),
      extreme("1 kJ/K", "1 W/K", "1e-12 m2", "85 %", ""),
      extreme("1 kJ/K", "1 W/K", "1 m2", "1e-300", ""),
      extreme("1 kJ/K", "1 W/K", "1 m2", "85 %", "run: {duration: 1e9 s, output_every: 1e9 s}\n"),
      extreme("1 kJ/K", "1 W/K", "1 m2", "85 %", "run: {duration: 1e-6 s, output_every: 1e9 s}\n"),
      extreme("1 kJ/K", "1 W/K", "1 m2", "85 %", "loads:\n  - {on: a, power: 1e12 W}\n"),
      extreme("1 kJ/K", "1 W/K", "1 m2", "85 %", "loads:\n  - {on: a, power: -1e12 W}\n")};
  for (const std::string& text : cases) {
    for (const std::string verb : {"check", "balance", "run"}) {
      const ProgramResult result = tileflux_on(verb, text);
      EXPECT_THAT(result.exit_status, ::testing::AnyOf(0, 3)) << verb << text << result.standard_error;
      EXPECT_EQ(result.standard_error.empty(), result.exit_status == 0) << verb << text;
      for (const char* word : {" nan", "(nan", "-nan", " inf ", " inf\n", "(inf"}) {
        EXPECT_THAT(result.standard_output + result.standard_error, Not(HasSubstr(word))) << verb << text;
      }
    }
  }
}

// JSON

/// Collects keys of numbers whose way from the top names no unit; such a number must be dimensionless by its nature.
void numbers_without_unit(const nlohmann::json& json, const std::string& key, bool has_unit, std::set<std::string>& found) {
  const auto names_unit = [](const std::string& name) {
    for (const char* unit : {"_W", "_K", "_s", "_J", "_m", "_rad", "_W_per_m2", "_si", "_relative", "_percent", "event_counts"}) {
      if (name.ends_with(unit)) return true;
    }
    return false;
  };
  if (json.is_number() && !has_unit) found.insert(key);
  if (json.is_array()) {
    for (const auto& item : json) numbers_without_unit(item, key, has_unit, found);
  }
  if (!json.is_object()) return;
  for (const auto& [name, value] : json.items()) numbers_without_unit(value, name, has_unit || names_unit(name), found);
}

TEST(Json, OfEveryVerbIsOneObjectWhoseNumbersCarryUnits) {
  const std::set<std::string> dimensionless{
      "nodes", "unknowns", "drive", "usable_drive", "throttle", "loop_gain", "newton_steps", "continuation_steps", "trips", "event_count",
      "steps", "restarts", "residuals", "jacobians", "relative_tolerance", "used_relative_tolerance", "fraction", "short_period_fraction", "slowest_multiplier",
      "cycle_evaluations", "magnitude", "taken_as", "bytes", "relative", "uncertainty", "pulses_in_cycle", "cycles_to_95_percent"};
  const std::vector<std::vector<std::string>> calls{{"check", lamplighter}, {"balance", lamplighter}, {"run", lamplighter, "--duration", "1 h"},
                                                    {"duty", lamplighter}, {"materials"}, {"materials", "germanium"}};
  for (std::vector<std::string> call : calls) {
    call.push_back("--json");
    const ProgramResult result = tileflux(call);
    EXPECT_THAT(result.exit_status, ::testing::AnyOf(0, 1)) << call[0] << result.standard_error;
    EXPECT_THAT(result.standard_error, IsEmpty());
    const auto json = nlohmann::json::parse(result.standard_output, nullptr, false);
    ASSERT_TRUE(json.is_object()) << call[0];
    std::set<std::string> bare;
    numbers_without_unit(json, "", false, bare);
    for (const std::string& key : bare) EXPECT_EQ(dimensionless.count(key), 1u) << call[0] << ": the number '" << key << "' has no unit";
    if (call[0] != "materials") {
      EXPECT_EQ(json.at("verb"), call[0]);
      EXPECT_TRUE(json.contains("caution"));
      EXPECT_TRUE(json.at("defaults").is_object());
    }
  }
}

TEST(Json, OfBalanceHasThePromisedKeys) {
  const auto json = nlohmann::json::parse(tileflux({"balance", lamplighter, "--json"}).standard_output);
  EXPECT_GT(json.at("usable_laser_power_W").get<double>(), 0.0);
  for (const char* point : {"beam_on", "beam_off"}) {
    for (const char* key : {"regime", "binding_limit", "temperature_K", "power_W", "ledger_residual_W", "ledger_residual_relative", "ledger_residual_K"}) {
      EXPECT_TRUE(json.at(point).contains(key)) << point << key;
    }
    EXPECT_LE(json.at(point).at("ledger_residual_relative").get<double>(), 1e-9);
  }
}

TEST(Json, TellsAnErrorOfTheCommandLineAsAnObjectToo) {
  for (const std::vector<std::string>& call :
       {std::vector<std::string>{"balanse", "--json"}, {"run", plate, "--json", "--nonsense"}, {"check", "--json"}, {"check", "no_such.yaml", "--json"}}) {
    const ProgramResult result = tileflux(call);
    EXPECT_EQ(result.exit_status, 2);
    const auto json = nlohmann::json::parse(result.standard_output, nullptr, false);
    ASSERT_TRUE(json.is_object()) << call[0];
    EXPECT_EQ(json.at("error").at("exit_status"), 2);
    EXPECT_EQ(json.at("error").at("diagnostics").size(), 1u);
    EXPECT_THAT(result.standard_error, HasSubstr(json.at("error").at("code").get<std::string>()));
  }
}

// Schema

TEST(Schema, IsOneThatTheCasesFollowAndBadShapesDoNot) {
  const TemporaryDirectory directory;
  const ProgramResult schema = tileflux({"check", "--schema"});
  ASSERT_EQ(schema.exit_status, 0);
  write_file(directory / "schema.json", schema.standard_output);
  write_file(directory / "validate.py", R"(
import json, pathlib, sys, yaml, jsonschema
class Loader(yaml.SafeLoader): pass  # words as cases mean them: `on` and `yes` are text
not_cases = ('tag:yaml.org,2002:bool', 'tag:yaml.org,2002:timestamp', 'tag:yaml.org,2002:merge')
Loader.yaml_implicit_resolvers = {first: [(tag, pattern) for tag, pattern in rules if tag not in not_cases]
                                  for first, rules in yaml.SafeLoader.yaml_implicit_resolvers.items()}
schema = json.load(open(sys.argv[1]))
jsonschema.Draft202012Validator.check_schema(schema)
validator = jsonschema.Draft202012Validator(schema)
for file in sys.argv[2:]:
    errors = list(validator.iter_errors(yaml.load(open(file), Loader)))
    print(pathlib.Path(file).stem if 'bad_cases' in file else file, 'good' if not errors else 'bad ' + errors[0].message[:200].replace('\n', ' '))
)");
  std::vector<std::string> call{"/usr/bin/python3", (directory / "validate.py").string(), (directory / "schema.json").string()};
  for (const auto& entry : std::filesystem::recursive_directory_iterator(TILEFLUX_PROJECT_DIR "/cases")) {
    if (entry.path().filename() == "case.yaml") call.push_back(entry.path().string());
  }
  const std::size_t cases = call.size() - 3;
  ASSERT_GE(cases, 3u);
  for (const char* shape : {"key_misspelt", "inner_key_misspelt", "title_missing", "surface_without_finish", "sun_as_text",
                            "joins_as_map", "quantity_as_list", "list_of_cases", "three_ends_of_a_join", "modules_zero", "choice_misspelt",
                            "name_with_blank", "title_too_long", "version_two", "version_missing", "part_described_twice"}) {
    call.push_back(TILEFLUX_PROJECT_DIR "/tests/cli/bad_cases/" + std::string(shape) + ".yaml");
  }
  const ProgramResult result = run_program(call);
  ASSERT_EQ(result.exit_status, 0) << result.standard_error;
  std::istringstream lines(result.standard_output);
  std::string line;
  for (std::size_t i = 0; std::getline(lines, line); ++i) {
    const bool good = line.ends_with(" good");
    EXPECT_EQ(good, i < cases) << line;
  }
}

}  // namespace tileflux::command_test
