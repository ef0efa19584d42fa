/// Values of the materials library against their sources.
/// Solids: NIST cryogenic fits evaluated outside the project (rows of 8 digits), power laws of gallium arsenide. Surfaces:
/// Fortescue, Swinerd and Stark, Spacecraft Systems Engineering, table 11.3; Gilmore, Spacecraft Thermal Control Handbook I,
/// appendix A. Cells: Fetzer et al. 2010. Media: NIST and NASA notes named in the rows. Fluids: liquid figure of merit after Chi
/// 1976. A library value is a transcription: beside the row's own tolerance it must equal
/// the printed figure to round-off.

#include <gtest/gtest.h>

#include <string>

#include "support/shipped_library.h"
#include "support/temporary_directory.h"
#include "tileflux/materials/library.h"
#include "verification/groups.h"

namespace tileflux::verification::library_test {

const char* const solids = "materials::Library, solids";
const char* const finishes = "materials::Library, surfaces";
const char* const cell_types = "materials::Library, cells";

const char* const media = "materials::Library, media";
const char* const fluids = "materials::Fluid::merit";

/// The water of the worked heat pipe (Kreith, Manglik and Bohn, example 10.6), read as a library file is read.
materials::Fluid water_of_the_worked_pipe() {
  const std::string tail = ", valid: [373.15 K, 374.15 K], source: worked example, basis: transcribed, uncertainty: unknown}\n";
  const auto held = [&](const std::string& key, const std::string& value) { return "    " + key + ": {table: [[373.15 K, " + value + "], [374.15 K, " + value + "]]" + tail; };
  const std::string fact = ", source: worked example, basis: transcribed, uncertainty: unknown}\n";
  const test::TemporaryDirectory directory;
  test::write_file(directory / "water.yaml", "tileflux_materials: 1\nfluids:\n  water:\n    title: Water at 100 degC\n    freezing_temperature: {value: 273.16 K" + fact +
                                                 "    critical_temperature: {value: 647.1 K" + fact + "    usable_range: {range: [300 K, 470 K]" + fact +
                                                 held("surface_tension", "58.9e-3 N/m") + held("density", "958 kg/m3") + held("latent_heat", "2.26e6 J/kg") + held("viscosity", "279e-6 Pa s"));
  return *materials::read_library(directory.path().string()).fluid("water");
}

double conductivity(const char* solid, double temperature_K) { return test::shipped_library().solid(solid)->conductivity.table.value(temperature_K); }
double heat_capacity(const char* solid, double temperature_K) { return test::shipped_library().solid(solid)->heat_capacity.table.value(temperature_K); }

Reproductions solids_library() {
  Reproductions rows;
  const char* aluminium = "aluminium_6061_t6";
  for (const char* kelvin : {"77", "293"}) {
    rows.emplace_back(std::string("MAT-01_") + kelvin + 'c', conductivity(aluminium, std::stod(kelvin)), solids);
    rows.emplace_back(std::string("MAT-02_") + kelvin + 'c', heat_capacity(aluminium, std::stod(kelvin)), solids);
  }
  for (const char* kelvin : {"150", "200", "250", "300"}) {
    rows.emplace_back(std::string("MAT-03_") + kelvin, conductivity(aluminium, std::stod(kelvin)), solids);
    rows.emplace_back(std::string("MAT-04_") + kelvin, heat_capacity(aluminium, std::stod(kelvin)), solids);
  }
  for (const char* kelvin : {"77", "150", "200", "293", "300"}) {
    rows.emplace_back(std::string("MAT-05_") + kelvin, conductivity("copper_ofhc", std::stod(kelvin)), solids);
    rows.emplace_back(std::string("MAT-06_") + kelvin, heat_capacity("copper_ofhc", std::stod(kelvin)), solids);
  }
  for (const char* kelvin : {"77", "200", "293", "300"}) rows.emplace_back(std::string("MAT-08_") + kelvin, conductivity("titanium_6al4v", std::stod(kelvin)), solids);
  for (const char* kelvin : {"77", "200", "293"}) rows.emplace_back(std::string("MAT-09_") + kelvin, conductivity("polyimide_film", std::stod(kelvin)), solids);
  for (const char* kelvin : {"200", "293"}) rows.emplace_back(std::string("MAT-10_") + kelvin, conductivity("laminate_g10", std::stod(kelvin)), solids);
  rows.emplace_back("MAT-11", heat_capacity("laminate_g10", 293.0), solids);
  rows.emplace_back("MAT-22", conductivity("gallium_arsenide", 300.0), solids);
  rows.emplace_back("MAT-22b", conductivity("gallium_arsenide", 350.0), solids);
  rows.emplace_back("MAT-23", heat_capacity("gallium_arsenide", 300.0), solids);
  rows.push_back(Reproduction("MAT-25", {test::shipped_library().solid("copper_pure")->density.table.value(300.0), conductivity("copper_pure", 300.0)}, solids));
  rows.emplace_back("MAT-24", test::shipped_library().solid("gallium_arsenide")->density.table.value(300.0), solids);
  return rows;
}

Reproductions surfaces_library() {
  Reproductions rows;
  const auto absorptance = [](const materials::SurfaceValues& values) { return values.absorptance.table.value(300.0); };
  const auto emittance = [](const materials::SurfaceValues& values) { return values.emittance.table.value(300.0); };
  const struct {
    const char *row, *finish;
  } separate[] = {{"01", "polished_beryllium"}, {"02", "goldised_polyimide_metal_side"}, {"03", "gold"}, {"06", "aluminised_polyimide_metal_side"},
                  {"07", "polished_titanium"}, {"09", "black_polyurethane_paint"}, {"10", "silver_conductive_paint"}, {"11", "white_silicone_paint"},
                  {"13", "white_silicate_paint"}, {"16", "silicon_cells"}, {"17", "aluminised_polyimide_film_side"}, {"18", "aluminised_fep"},
                  {"19", "silvered_fep"}, {"20", "optical_solar_reflector"}};
  for (const auto& [number, finish] : separate) {
    rows.emplace_back(std::string("OPT-") + number + 'a', absorptance(test::shipped_library().surface(finish)->begin), finishes);
    rows.emplace_back(std::string("OPT-") + number + 'e', emittance(test::shipped_library().surface(finish)->begin), finishes);
  }
  const materials::SurfaceValues& aged = test::shipped_library().surface("white_silicone_paint")->end.value();
  rows.emplace_back("OPT-12a", absorptance(aged), finishes, "end of life");
  rows.emplace_back("OPT-12e", emittance(aged), finishes, "end of life");
  const struct {
    const char *row, *finish;
  } pairs[] = {{"OPT-30", "optical_solar_reflector_silica"}, {"OPT-31", "optical_solar_reflector_diffuse"}, {"OPT-33", "optical_solar_reflector_quartz"}, {"OPT-35", "aluminised_fep_25um"}, {"OPT-36", "aluminised_fep_50um"}};
  for (const auto& [id, finish] : pairs) {
    const materials::SurfaceValues& values = test::shipped_library().surface(finish)->begin;
    rows.push_back(Reproduction(id, {absorptance(values), emittance(values)}, finishes));
  }
  const materials::CellType& cell = *test::shipped_library().cell("triple_junction_30");
  rows.emplace_back("PV-01", cell.efficiency.table.value(300.0), cell_types);
  rows.emplace_back("PV-03", test::shipped_library().cell("triple_junction_30_mild")->remaining.value().table.value(300.0), cell_types);
  rows.emplace_back("PV-04", cell.remaining.value().table.value(300.0), cell_types);
  rows.emplace_back("PV-07", test::shipped_library().cell("silicon_18")->slope.table.value(300.0), cell_types);
  return rows;
}

Reproductions media_library() {
  constexpr double zero_celsius_K = 273.15;
  constexpr double joules_per_kilojoule = 1e3;
  Reproductions rows;
  rows.emplace_back("PCM-07", test::shipped_library().medium("gallium")->melting_temperature.value, media);
  rows.emplace_back("PCM-08", test::shipped_library().medium("octadecane")->melting_temperature.value - zero_celsius_K, media, "the library holds the triple point");
  rows.emplace_back("PCM-09", test::shipped_library().medium("paraffin_wax")->latent_heat.value / joules_per_kilojoule, media);
  rows.emplace_back("HP-06", water_of_the_worked_pipe().merit.value(373.15), fluids);
  return rows;
}

TEST(MaterialsLibrary, HoldsPrintedMeltingPointsAndFormsThePublishedMerit) { check_all(media_library()); }

TEST(MaterialsLibrary, HoldsAWaterAsGoodAsThatOfTheWorkedPipe) {
  constexpr double rounded_properties = 0.03;  // of the worked example, to three digits each, of two books
  EXPECT_NEAR(test::shipped_library().fluid("water")->merit.value(373.15) / row("HP-06").values().at(0), 1.0, rounded_properties);
}

TEST(MaterialsLibrary, HoldsTheFitsOfItsSources) { check_all(solids_library()); }

TEST(MaterialsLibrary, HoldsThePrintedFinishesAndCells) {
  check_all(surfaces_library());
  constexpr double round_off = 1e-12;
  for (const Reproduction& reproduction : surfaces_library()) EXPECT_LE(judge(row(reproduction.id), reproduction.got).error, round_off) << reproduction.id;
}

TEST(MaterialsLibrary, IsRefusedForAnotherMaterialOrTheOtherSide) {
  expect_refused("MAT-05_293", conductivity("aluminium_6061_t6", 293.0));
  expect_refused("PCM-07", test::shipped_library().medium("octadecane")->melting_temperature.value);
  expect_refused("HP-06", test::shipped_library().fluid("ammonia")->merit.value(373.15));
  expect_refused("OPT-17a", test::shipped_library().surface("aluminised_polyimide_metal_side")->begin.absorptance.table.value(300.0));
}

}  // namespace tileflux::verification::library_test
