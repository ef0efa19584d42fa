/// `size` as a person meets it: what it prints goes into the case, and a balance of that case meets the limit.

#include <gmock/gmock.h>

#include <cmath>
#include <nlohmann/json.hpp>
#include <regex>

#include "support/child_process.h"
#include "support/temporary_directory.h"

namespace tileflux::size_test {

using test::ProgramResult;
using test::read_file;
using test::run_program;
using test::TemporaryDirectory;
using test::write_file;
using ::testing::HasSubstr;
using ::testing::StartsWith;

const std::string folder = TILEFLUX_PROJECT_DIR "/cases/";
const std::string sized_radiator = folder + "sized_radiator/case.yaml";

/// What a sized tile is promised to hold when it is balanced again.
constexpr double balanced_again_K = 0.01;

std::string replaced(std::string text, const std::string& what, const std::string& by) {
  const std::size_t at = text.find(what);
  EXPECT_NE(at, std::string::npos) << what;
  return at == std::string::npos ? text : text.replace(at, what.size(), by);
}

ProgramResult tileflux_on(const std::string& verb, const std::string& text, std::vector<std::string> more = {}) {
  const TemporaryDirectory directory;
  write_file(directory / "case.yaml", text);
  std::vector<std::string> words{TILEFLUX_COMMAND, verb, (directory / "case.yaml").string()};
  words.insert(words.end(), more.begin(), more.end());
  return run_program(words);
}

nlohmann::json json_of(const std::string& verb, const std::string& text) {
  return nlohmann::json::parse(tileflux_on(verb, text, {"--json"}).standard_output);
}

TEST(SizeVerb, PrintsTheLinesThatMakeTheSizedCase) {
  const std::string text = replaced(read_file(sized_radiator), "area_margin: 10 %", "area_margin: 0 %");
  const ProgramResult result = tileflux_on("size", text);
  ASSERT_EQ(result.exit_status, 0) << result.standard_error;
  const std::regex line(R"(area: (\S+ m2), faces: (\d), fin: \{thickness: (\S+ mm), length: (\S+ mm)\})");
  std::smatch found;
  ASSERT_TRUE(std::regex_search(result.standard_output, found, line)) << result.standard_output;
  std::string sized = replaced(text, "area: 1 m2", "area: " + found.str(1));
  sized = replaced(sized, "faces: 2", "faces: " + found.str(2));
  sized = replaced(sized, "thickness: 1 mm", "thickness: " + found.str(3));
  sized = replaced(sized, "length: 100 mm", "length: " + found.str(4));
  EXPECT_NEAR(json_of("balance", sized)["beam_on"]["temperature_K"]["bench"].get<double>(), 300.0, balanced_again_K);
}

TEST(SizeVerb, GivesNumbersThatMakeTheSizedCase) {
  const std::string text = read_file(sized_radiator);
  const nlohmann::json radiator = json_of("size", text)["radiator"];
  const auto with_area = [&](double area_m2) {
    std::string sized = replaced(text, "area: 1 m2", "area: " + nlohmann::json(area_m2).dump() + " m2");
    sized = replaced(sized, "thickness: 1 mm", "thickness: " + radiator["thickness_m"].dump() + " m");
    sized = replaced(sized, "length: 100 mm", "length: " + radiator["fin_length_m"].dump() + " m");
    return json_of("balance", sized)["beam_on"]["temperature_K"]["bench"].get<double>();
  };
  const double needed_m2 = radiator["area_before_margin_m2"];
  EXPECT_NEAR(with_area(needed_m2), 300.0, balanced_again_K);
  EXPECT_GT(with_area(0.99 * needed_m2), 300.0 + balanced_again_K);
  EXPECT_LT(with_area(radiator["area_m2"]), 300.0 - balanced_again_K) << "the margin on area";
}

TEST(SizeVerb, ExplainsTheTileAsBuiltAndNotTheOneItStartedFrom) {
  const std::string text = read_file(sized_radiator);
  const nlohmann::json answer = json_of("size", text), why = answer["why"], radiator = answer["radiator"];
  EXPECT_THAT(why["text"].get<std::string>(), StartsWith("This is about the tile as built, in the hot case; the heater keeps"));
  // The heater holds the lower limit, which would be broken by far without it.
  const double limit_K = 311.0;
  EXPECT_EQ(why["binding_limit"]["limit_K"], limit_K);
  const auto margin_K = [&](double area_factor, double thickness_factor) {
    const auto metres = [](double value) { return nlohmann::json(value).dump(); };
    std::string sized = replaced(text, "area: 1 m2", "area: " + metres(area_factor * radiator["area_m2"].get<double>()) + " m2");
    sized = replaced(sized, "thickness: 1 mm", "thickness: " + metres(thickness_factor * radiator["thickness_m"].get<double>()) + " m");
    sized = replaced(sized, "length: 100 mm", "length: " + metres(radiator["fin_length_m"]) + " m");
    return limit_K - json_of("balance", sized)["beam_on"]["temperature_K"]["bench"].get<double>();
  };
  EXPECT_NEAR(why["binding_limit"]["margin_K"].get<double>(), margin_K(1.0, 1.0), balanced_again_K);
  const auto bought = [&](const char* list, const std::string& input) {
    for (const nlohmann::json& change : why[list]) {
      if (change["input"] == input) return change["margin"].get<double>();
    }
    ADD_FAILURE() << input << " is not among " << list;
    return 0.0;
  };
  // Differences over two per cent, whose own error is of the order of their square.
  constexpr double part = 0.01, difference_error = 1e-3;
  const double by_area_K = (margin_K(1.0 + part, 1.0) - margin_K(1.0 - part, 1.0)) / 2.0;
  const double by_thickness_K = (margin_K(1.0, 1.0 + part) - margin_K(1.0, 1.0 - part)) / 2.0;
  EXPECT_NEAR(bought("one_per_cent_buys", "surfaces.panel.area"), by_area_K, difference_error * by_area_K);
  // Of the area everything weighs, pipes too; of the thickness the sheet.
  const double mass_kg = radiator["mass_kg"], sheet_kg = radiator["sheet_kg"];
  const double area_K_per_kg = by_area_K / (part * mass_kg), sheet_K_per_kg = by_thickness_K / (part * sheet_kg);
  EXPECT_NEAR(bought("one_kilogram_buys", "surfaces.panel.area"), area_K_per_kg, difference_error * area_K_per_kg);
  EXPECT_NEAR(bought("one_kilogram_buys", "surfaces.panel.fin.thickness"), sheet_K_per_kg, difference_error * sheet_K_per_kg);
}

TEST(SizeVerb, SizesTheWholeTileForATemperatureAndForALight) {
  const std::string tile = read_file(folder + "lamplighter/case.yaml");
  const std::string settings =
      "\nsize:\n  surface: rear\n  area: [0.5 m2, 4 m2]\n  other_mass: 3 kg/m2\n  margin: 0 K\n  area_margin: 0 %\n"
      "  hot: {life: begin}\n";
  const auto sized = [&](const nlohmann::json& radiator) {
    return replaced(tile, "rear: {on: back, area: 1 m2", "rear: {on: back, area: " + radiator["area_m2"].dump() + " m2");
  };
  const nlohmann::json cooler = json_of("size", tile + settings + "  hold: [computer]\n");
  ASSERT_TRUE(cooler["possible"].get<bool>());
  EXPECT_EQ(cooler["demands"][0]["beam"], "off") << "the computer is hottest with the beam off";
  EXPECT_NEAR(json_of("balance", sized(cooler["radiator"]))["beam_off"]["temperature_K"]["computer"].get<double>(),
              333.15, balanced_again_K);
  const nlohmann::json brighter = json_of("size", tile + settings + "  light: 155 W\n");
  ASSERT_TRUE(brighter["possible"].get<bool>());
  EXPECT_NEAR(json_of("balance", sized(brighter["radiator"]))["usable_laser_power_W"].get<double>(), 155.0, 1e-4)
      << "printed digits of a light that throttles";
}

TEST(SizeVerb, SaysNoWithTheNearestThatIsPossible) {
  const std::string text = replaced(read_file(sized_radiator), "area: [0.1 m2, 5 m2]", "area: [0.1 m2, 0.4 m2]");
  const ProgramResult result = tileflux_on("size", text);
  EXPECT_EQ(result.exit_status, 1);
  EXPECT_THAT(result.standard_error, StartsWith("error radiator-impossible: "));
  EXPECT_THAT(result.standard_output, HasSubstr("No radiator `panel` within the bounds does it"));
  EXPECT_THAT(result.standard_output, HasSubstr("nearest"));
  const nlohmann::json answer = json_of("size", text);
  EXPECT_FALSE(answer["possible"].get<bool>());
  EXPECT_TRUE(answer["radiator"].is_null());
  EXPECT_TRUE(answer["demands"][0]["needs_area_m2"].is_null()) << "no area does it, least of all none";
  const TemporaryDirectory directory;
  write_file(directory / "size.json", tileflux_on("size", text, {"--json"}).standard_output);
  const ProgramResult shown = run_program({TILEFLUX_COMMAND, "show", directory.path().string()});
  EXPECT_THAT(shown.standard_output, HasSubstr("What no radiator does is bench below 26.85 degC"));
  EXPECT_THAT(shown.standard_output, HasSubstr("not kept by any radiator within the bounds"));
  const nlohmann::json shortfall = answer["shortfalls"][0];
  EXPECT_GT(shortfall["nearest_K"].get<double>(), 300.0);
  EXPECT_LT(shortfall["endless_radiator_K"].get<double>(), 300.0) << "a larger one would do";
}

TEST(SizeVerb, SaysNoWhereNoHeaterHelps) {
  std::string text = replaced(read_file(sized_radiator), "parts:\n", "parts:\n  mast: {heat_capacity: 10 J/K}\n");
  text = replaced(text, "surfaces:\n  panel", "surfaces:\n  mast: {on: mast, area: 1 dm2, emittance: 80 %}\n  panel");
  text = replaced(text, "limits:\n", "limits:\n  mast: {above: -100 degC}\n");
  const ProgramResult result = tileflux_on("size", text);
  EXPECT_EQ(result.exit_status, 1);
  EXPECT_THAT(result.standard_error, HasSubstr("no heater on 'bench' keeps 'mast' warm enough"));
}

TEST(SizeVerb, PrintsWhatAnEngineerAsksFor) {
  const ProgramResult result = run_program({TILEFLUX_COMMAND, "size", sized_radiator});
  for (const char* words : {"set by           bench below 26.85 degC, beam on (limit 37.85 less 11 K)", "kg/m2",
                            "sink temperature", "of `panel` alone", "256.90 W on bench, 321.13 W installed",
                            "How flat the least mass is over thickness", "How flat the least mass is over pitch",
                            "within 1 % of the least", "Planning aid only"}) {
    EXPECT_THAT(result.standard_output, HasSubstr(words));
  }
}

TEST(SizeVerb, WritesItsAnswerIntoADirectory) {
  const TemporaryDirectory directory;
  const ProgramResult result =
      run_program({TILEFLUX_COMMAND, "size", sized_radiator, "--out", (directory / "out").string()});
  EXPECT_EQ(result.exit_status, 0) << result.standard_error;
  EXPECT_EQ(nlohmann::json::parse(read_file(directory / "out" / "size.json"))["verb"], "size");
}

TEST(SizeVerb, NeedsSizeInTheCase) {
  const ProgramResult result = run_program({TILEFLUX_COMMAND, "size", folder + "plate/case.yaml"});
  EXPECT_EQ(result.exit_status, 2);
  EXPECT_THAT(result.standard_error, HasSubstr("key-missing"));
}

}  // namespace tileflux::size_test
