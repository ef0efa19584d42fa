#include "tileflux/materials/library.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <set>

#include "support/temporary_directory.h"
#include "tileflux/base/errors.h"

namespace tileflux::materials::library_test {

using testing::HasSubstr;

const Library& library() {
  static const Library all = read_library(TILEFLUX_PROJECT_DIR "/materials");
  return all;
}

std::vector<Diagnostic> findings_of(const std::string& text) {
  const test::TemporaryDirectory directory;
  test::write_file(directory / "own.yaml", text);
  try {
    read_library(directory.path().string());
  } catch (const Error& error) {
    return error.diagnostics();
  }
  return {};
}

std::string solid(const std::string& conductivity) {
  return R"(tileflux_materials: 1
solids:
  brick:
    title: a brick
    density: {value: 2000 kg/m3, valid: [200 K, 400 K], source: test, basis: memory, uncertainty: unknown}
    heat_capacity: {value: 800 J/(kg K), valid: [200 K, 400 K], source: test, basis: memory, uncertainty: unknown}
    conductivity: )" + conductivity + "\n";
}

void check_pedigree(const Pedigree& pedigree, const std::string& where) {
  EXPECT_FALSE(pedigree.source.empty()) << where;
  EXPECT_FALSE(pedigree.uncertainty.empty()) << where;
  EXPECT_TRUE(pedigree.basis == "published" || pedigree.basis == "transcribed" || pedigree.basis == "memory") << where;
}

void check(const Property& property, const std::string& where) {
  check_pedigree(property, where);
  EXPECT_LT(property.table.valid_from_K(), property.table.valid_to_K()) << where;
}

TEST(MaterialsLibrary, HoldsTwentyFiveSolidsAndMediaTwentyFiveFinishesAndThreeCellTypes) {
  EXPECT_GE(library().solids.size() + library().media.size() + library().fluids.size(), 25u);
  EXPECT_GE(library().media.size(), 5u);
  EXPECT_GE(library().fluids.size(), 4u);
  EXPECT_GE(library().surfaces.size(), 25u);
  EXPECT_GE(library().cells.size(), 3u);
}

TEST(MaterialsLibrary, GivesANameToOneEntryOnly) {
  std::set<std::string> seen;
  for (const auto& names : {library().solid_names(), library().medium_names(), library().fluid_names(), library().surface_names(), library().cell_names(), library().body_names()}) {
    for (const std::string& name : names) EXPECT_TRUE(seen.insert(name).second) << name;
  }
}

TEST(MaterialsLibrary, GivesEveryValueItsPedigree) {
  for (const Solid& entry : library().solids) {
    check(entry.density, entry.name);
    check(entry.heat_capacity, entry.name);
    check(entry.conductivity, entry.name);
  }
  for (const Surface& entry : library().surfaces) {
    check(entry.begin.absorptance, entry.name);
    check(entry.begin.emittance, entry.name);
    if (entry.end) check(entry.end->absorptance, entry.name);
    EXPECT_EQ(entry.end.has_value(), !entry.end_after.empty()) << entry.name;
  }
  for (const CellType& entry : library().cells) {
    check(entry.efficiency, entry.name);
    check(entry.slope, entry.name);
  }
}

TEST(MaterialsLibrary, GivesEveryMediumAndFluidItsPedigree) {
  for (const Medium& entry : library().media) {
    check_pedigree(entry.melting_temperature, entry.name);
    check_pedigree(entry.latent_heat, entry.name);
    for (const Phase* phase : {&entry.solid, &entry.liquid}) {
      check(phase->density, entry.name);
      check(phase->heat_capacity, entry.name);
      check(phase->conductivity, entry.name);
    }
  }
  for (const Fluid& entry : library().fluids) {
    for (const Fact* fact : {&entry.freezing_temperature, &entry.critical_temperature, &entry.usable_from, &entry.usable_to}) check_pedigree(*fact, entry.name);
    EXPECT_NE(entry.liquid.has_value(), entry.merit_source.has_value()) << entry.name;
  }
}

TEST(MaterialsLibrary, LetsEitherPhaseOfAMediumHoldUpToItsMeltingPoint) {
  constexpr double near_K = 0.5 * Medium::width_of_a_point_K;  // melting spreads at least this far to either side
  for (const Medium& entry : library().media) {
    const double melts_K = entry.melting_temperature.value;
    for (const Property* property : {&entry.solid.density, &entry.solid.heat_capacity, &entry.solid.conductivity}) {
      EXPECT_TRUE(property->table.covers(melts_K - near_K)) << entry.name;
      EXPECT_FALSE(property->table.covers(melts_K + entry.melting_range_K() + near_K)) << entry.name << ": no solid above its melting range";
    }
    for (const Property* property : {&entry.liquid.density, &entry.liquid.heat_capacity, &entry.liquid.conductivity}) {
      EXPECT_TRUE(property->table.covers(melts_K + near_K)) << entry.name;
    }
    EXPECT_GT(entry.latent_heat.value, 5e4) << entry.name;
    EXPECT_LT(entry.latent_heat.value, 3.4e5) << entry.name << ": more than water";
    EXPECT_GT(entry.solid.conductivity.table.value(melts_K), entry.liquid.conductivity.table.value(melts_K)) << entry.name;
  }
}

TEST(MaterialsLibrary, TakesATenthOfAKelvinWhereTheSourceGivesAMeltingPoint) {
  EXPECT_EQ(library().medium("octadecane")->melting_range_K(), Medium::width_of_a_point_K);
  EXPECT_EQ(library().medium("paraffin_wax")->melting_range_K(), 6.0);
}

TEST(MaterialsLibrary, LetsTheMeritOfAFluidFallToNothingWhereItFreezesAndWhereItsVapourIsAsDense) {
  for (const Fluid& entry : library().fluids) {
    const double freezes_K = entry.freezing_temperature.value, ends_K = entry.critical_temperature.value;
    for (const double nothing_K : {freezes_K - 50.0, freezes_K, ends_K, ends_K + 50.0}) {
      EXPECT_EQ(entry.merit.value(nothing_K), 0.0) << entry.name << ' ' << nothing_K;
      EXPECT_EQ(entry.relative_merit.value(nothing_K), 0.0) << entry.name << ' ' << nothing_K;
    }
    const std::vector<double>& relative = entry.relative_merit.values();
    EXPECT_NEAR(*std::max_element(relative.begin(), relative.end()), 1.0, 1e-12) << entry.name << ": but for round-off";
    for (const double usable_K : {entry.usable_from.value, entry.usable_to.value}) {
      EXPECT_GT(entry.relative_merit.value(usable_K), 0.1) << entry.name << ' ' << usable_K;
    }
  }
}

TEST(MaterialsLibrary, FormsTheMeritFromTheFourPropertiesOfTheLiquid) {
  constexpr double round_off = 1e-12;
  for (const Fluid& entry : library().fluids) {
    ASSERT_TRUE(entry.liquid) << entry.name;
    const std::vector<double>& rows_K = entry.merit.temperatures_K();
    ASSERT_GE(rows_K.size(), 10u) << entry.name;
    for (std::size_t i = 1; i + 1 < rows_K.size(); ++i) {
      const double product = entry.liquid->density.table.value(rows_K[i]) * entry.liquid->latent_heat.table.value(rows_K[i]) *
                             entry.liquid->surface_tension.table.value(rows_K[i]) / entry.liquid->viscosity.table.value(rows_K[i]);
      EXPECT_NEAR(entry.merit.values()[i] / product, 1.0, round_off) << entry.name << ' ' << rows_K[i];
    }
  }
}

TEST(MaterialsLibrary, RanksFluidsAsHandbooksDo) {
  const auto merit = [](const char* fluid, double at_K) { return library().fluid(fluid)->merit.value(at_K); };
  EXPECT_GT(merit("water", 350.0), merit("ammonia", 350.0));
  EXPECT_GT(merit("ammonia", 260.0), merit("acetone", 260.0));
  EXPECT_GT(merit("ammonia", 260.0), merit("methanol", 260.0));
  EXPECT_EQ(merit("water", 260.0), 0.0);
}

TEST(MaterialsLibrary, HoldsNothingThatNatureForbids) {
  for (const Solid& entry : library().solids) {
    for (const Property* property : {&entry.density, &entry.heat_capacity, &entry.conductivity}) {
      for (const double value : property->table.values()) EXPECT_GT(value, 0.0) << entry.name;
    }
    EXPECT_LT(entry.density.table.value(293.15), 2.3e4) << entry.name << ": denser than osmium";
    EXPECT_LT(entry.conductivity.table.value(293.15), 2.5e3) << entry.name << ": conducts better than diamond";
  }
  for (const Surface& entry : library().surfaces) {
    EXPECT_LE(entry.begin.emittance.table.value(293.15), 1.0) << entry.name;
    const SurfaceValues& end = entry.end ? *entry.end : entry.begin;
    EXPECT_GE(end.absorptance.table.value(293.15), entry.begin.absorptance.table.value(293.15)) << entry.name << ": no finish grows paler";
  }
  for (const CellType& entry : library().cells) {
    EXPECT_LT(entry.efficiency.table.value(293.15), 0.5) << entry.name;
    EXPECT_LT(entry.slope.table.value(293.15), 0.0) << entry.name;
    EXPECT_LE(entry.remaining ? entry.remaining->table.value(293.15) : 1.0, 1.0) << entry.name;
  }
}

TEST(MaterialsLibrary, FindsEntriesByName) {
  ASSERT_NE(library().solid("aluminium_6061_t6"), nullptr);
  EXPECT_EQ(library().solid("aluminium_6061_t6")->name, "aluminium_6061_t6");
  EXPECT_EQ(library().solid("cheese"), nullptr);
  EXPECT_EQ(library().medium("octadecane")->name, "octadecane");
  EXPECT_EQ(library().fluid("ammonia")->name, "ammonia");
  EXPECT_EQ(library().medium("cheese"), nullptr);
  EXPECT_EQ(library().fluid("cheese"), nullptr);
  EXPECT_EQ(library().surface("cheese"), nullptr);
  EXPECT_EQ(library().cell("cheese"), nullptr);
  EXPECT_EQ(library().solid_names().size(), library().solids.size());
}

TEST(MaterialsLibrary, AcceptsAnEntryThatIsComplete) {
  EXPECT_TRUE(findings_of(solid("{value: 1 W/(m K), valid: [200 K, 400 K], source: test, basis: memory, uncertainty: unknown}")).empty());
}

TEST(MaterialsLibrary, RefusesAnEntryWithAFieldMissing) {
  for (const char* left_out : {"source: test, ", "basis: memory, ", "valid: [200 K, 400 K], ", "uncertainty: unknown", "value: 1 W/(m K), "}) {
    std::string text = "{value: 1 W/(m K), valid: [200 K, 400 K], source: test, basis: memory, uncertainty: unknown}";
    text.erase(text.find(left_out), std::string(left_out).size());
    const auto findings = findings_of(solid(text));
    ASSERT_FALSE(findings.empty()) << left_out;
    EXPECT_EQ(findings[0].code, Code::key_missing) << left_out;
  }
}

TEST(MaterialsLibrary, RefusesATableThatDoesNotRise) {
  const auto findings = findings_of(solid("{table: [[200 K, 1 W/(m K)], [200 K, 2 W/(m K)]], valid: [200 K, 400 K], source: test, basis: memory, uncertainty: unknown}"));
  ASSERT_FALSE(findings.empty());
  EXPECT_EQ(findings[0].code, Code::table_not_rising);
}

TEST(MaterialsLibrary, RefusesAValidityThatIsNotThatOfTheTable) {
  const auto findings = findings_of(solid("{table: [[200 K, 1 W/(m K)], [300 K, 2 W/(m K)]], valid: [200 K, 400 K], source: test, basis: memory, uncertainty: unknown}"));
  ASSERT_FALSE(findings.empty());
  EXPECT_EQ(findings[0].code, Code::table_shape);
}

TEST(MaterialsLibrary, RefusesANameThatIsTaken) {
  const test::TemporaryDirectory directory;
  const std::string text = solid("{value: 1 W/(m K), valid: [200 K, 400 K], source: test, basis: memory, uncertainty: unknown}");
  test::write_file(directory / "a.yaml", text);
  test::write_file(directory / "b.yaml", text);
  try {
    read_library(directory.path().string());
    FAIL() << "nothing was thrown";
  } catch (const Error& error) {
    EXPECT_EQ(error.code(), Code::name_taken);
    EXPECT_THAT(error.what(), HasSubstr("b.yaml"));
  }
}

TEST(MaterialsLibrary, SaysThatADirectoryCannotBeRead) {
  try {
    read_library("/nowhere/at/all");
    FAIL() << "nothing was thrown";
  } catch (const Error& error) {
    EXPECT_EQ(error.code(), Code::file_unreadable);
  }
}

constexpr const char* pedigree = "source: test, basis: memory, uncertainty: unknown}";

std::string medium(const std::string& latent_heat) {
  const std::string phase = std::string("{density: {value: 800 kg/m3, valid: [200 K, 400 K], ") + pedigree +
                            ", heat_capacity: {value: 2 kJ/(kg K), valid: [200 K, 400 K], " + pedigree +
                            ", conductivity: {value: 0.2 W/(m K), valid: [200 K, 400 K], " + pedigree + "}\n";
  return std::string("tileflux_materials: 1\nmedia:\n  fat:\n    title: a fat\n    melting_temperature: {value: 30 degC, ") + pedigree + '\n' + latent_heat +
         "    solid: " + phase + "    liquid: " + phase;
}

TEST(MeltingMedium, IsReadWithOrWithoutARange) {
  const std::string latent = std::string("    latent_heat: {value: 200 kJ/kg, ") + pedigree + '\n';
  EXPECT_TRUE(findings_of(medium(latent)).empty());
  EXPECT_TRUE(findings_of(medium(latent + "    melting_range: {value: 2 K, " + pedigree + '\n')).empty());
}

TEST(MeltingMedium, IsRefusedWithoutItsLatentHeat) {
  const auto findings = findings_of(medium(""));
  ASSERT_EQ(findings.size(), 1u);
  EXPECT_EQ(findings[0].code, Code::key_missing);
  EXPECT_THAT(findings[0].message, HasSubstr("latent_heat"));
}

TEST(MeltingMedium, IsRefusedWithItsLatentHeatPerVolume) {
  const auto findings = findings_of(medium(std::string("    latent_heat: {value: 200 MJ/m3, ") + pedigree + '\n'));
  ASSERT_EQ(findings.size(), 1u);
  EXPECT_EQ(findings[0].code, Code::dimension_wrong);
}

TEST(MeltingMedium, IsRefusedWithoutPedigree) {
  const auto findings = findings_of(medium("    latent_heat: {value: 200 kJ/kg}\n"));
  ASSERT_EQ(findings.size(), 3u);
  for (const Diagnostic& finding : findings) EXPECT_EQ(finding.code, Code::key_missing);
}

std::string fluid(const std::string& properties, const std::string& usable = "[220 K, 380 K]") {
  return std::string("tileflux_materials: 1\nfluids:\n  spirit:\n    title: a spirit\n    freezing_temperature: {value: 200 K, ") + pedigree +
         "\n    critical_temperature: {value: 400 K, " + pedigree + "\n    usable_range: {range: " + usable + ", " + pedigree + '\n' + properties;
}

std::string merit(const std::string& rows) { return "    merit: {table: [" + rows + "], valid: [200 K, 400 K], " + pedigree + '\n'; }

Code code_of(const std::string& text) {
  const auto findings = findings_of(text);
  EXPECT_EQ(findings.size(), 1u) << text;
  return findings.empty() ? Code::internal : findings[0].code;
}

TEST(HeatPipeFluid, IsReadWithAMeritThatIsZeroAtBothEnds) {
  EXPECT_TRUE(findings_of(fluid(merit("[200 K, 0 W/m2], [300 K, 1e11 W/m2], [400 K, 0 W/m2]"))).empty());
}

TEST(HeatPipeFluid, IsRefusedWhereTheMeritDoesNotReachZero) {
  EXPECT_EQ(code_of(fluid(merit("[200 K, 1e10 W/m2], [300 K, 1e11 W/m2], [400 K, 0 W/m2]"))), Code::table_shape);
  EXPECT_EQ(code_of(fluid(merit("[200 K, 0 W/m2], [300 K, 1e11 W/m2], [400 K, 1e9 W/m2]"))), Code::table_shape);
  EXPECT_EQ(code_of(fluid(merit("[200 K, 0 W/m2], [300 K, 0 W/m2], [400 K, 0 W/m2]"))), Code::table_shape);
}

TEST(HeatPipeFluid, IsRefusedWhereTheMeritEndsElsewhereThanTheLiquid) {
  const std::string short_table = std::string("    merit: {table: [[210 K, 0 W/m2], [300 K, 1e11 W/m2], [400 K, 0 W/m2]], valid: [210 K, 400 K], ") + pedigree + '\n';
  EXPECT_EQ(code_of(fluid(short_table)), Code::table_shape);
  EXPECT_EQ(code_of(fluid(std::string("    merit: {value: 1e11 W/m2, valid: [200 K, 400 K], ") + pedigree + '\n')), Code::table_shape);
}

TEST(HeatPipeFluid, IsRefusedWithTemperaturesOutOfOrder) {
  const std::string good = merit("[200 K, 0 W/m2], [300 K, 1e11 W/m2], [400 K, 0 W/m2]");
  for (const char* usable : {"[190 K, 380 K]", "[220 K, 410 K]", "[380 K, 220 K]", "[300 K, 300 K]"}) EXPECT_EQ(code_of(fluid(good, usable)), Code::table_not_rising) << usable;
}

TEST(HeatPipeFluid, IsRefusedWithThreeOfTheFourProperties) {
  const auto findings = findings_of(fluid(std::string("    surface_tension: {table: [[210 K, 0.02 N/m], [390 K, 0.001 N/m]], valid: [210 K, 390 K], ") + pedigree +
                                          "\n    density: {value: 700 kg/m3, valid: [210 K, 390 K], " + pedigree +
                                          "\n    latent_heat: {value: 500 kJ/kg, valid: [210 K, 390 K], " + pedigree + '\n'));
  ASSERT_EQ(findings.size(), 1u);
  EXPECT_THAT(findings[0].message, HasSubstr("viscosity"));
}

TEST(HeatPipeFluid, IsRefusedWhereTheFourPropertiesShareNoTemperature) {
  const auto four = [](const std::string& from_K, const std::string& to_K) {
    return std::string("    surface_tension: {table: [[210 K, 0.02 N/m], [290 K, 0.01 N/m]], valid: [210 K, 290 K], ") + pedigree +
           "\n    density: {value: 700 kg/m3, valid: [210 K, 390 K], " + pedigree + "\n    latent_heat: {value: 500 kJ/kg, valid: [210 K, 390 K], " + pedigree +
           "\n    viscosity: {table: [[" + from_K + ", 0.3 mPa s], [" + to_K + ", 0.2 mPa s]], valid: [" + from_K + ", " + to_K + "], " + pedigree + '\n';
  };
  EXPECT_TRUE(findings_of(fluid(four("250 K", "390 K"))).empty());
  EXPECT_EQ(code_of(fluid(four("300 K", "390 K"))), Code::table_shape);
}

std::string body(const std::string& rest) {
  const std::string p = pedigree;
  return "tileflux_materials: 1\nbodies:\n  pebble:\n    title: a pebble\n    radius: {value: 500 km, " + p + "\n    gravitational_parameter: {value: 60 km3/s2, " + p +
         "\n    sun_distance: {value: 2.7 AU, " + p + "\n    sun_eccentricity: {value: 0.1, " + p + '\n' + rest;
}

std::string of_case(const std::string& key, const std::string& values) { return "    " + key + ":\n" + values; }

std::string one(const std::string& name, const std::string& value) { return "      " + name + ": {value: " + value + ", " + pedigree + '\n'; }

const std::string dark = of_case("albedo", one("mean", "0.05"));
const std::string night = std::string("    night_infrared: {value: 6 W/m2, ") + pedigree + '\n';

TEST(Bodies, AreReadWithTheirWayOfRadiating) {
  for (const char* name : {"earth", "moon", "mars", "venus", "mercury", "ceres"}) {
    const Body* entry = library().body(name);
    ASSERT_NE(entry, nullptr) << name;
    EXPECT_NE(entry->infrared.has_value(), entry->night_infrared.has_value()) << name;
    for (const Fact* fact : {&entry->radius, &entry->gravitational_parameter, &entry->sun_distance, &entry->sun_eccentricity, &entry->albedo.mean}) check_pedigree(*fact, name);
    for (const CaseValues* values : {&entry->albedo, entry->infrared ? &*entry->infrared : &entry->albedo}) {
      EXPECT_EQ(values->hot.has_value(), values->cold.has_value()) << name;
      check_pedigree(values->hot.value_or(values->mean), name);
      check_pedigree(values->cold.value_or(values->mean), name);
    }
  }
  EXPECT_EQ(library().body("vulcan"), nullptr);
  EXPECT_TRUE(findings_of(body(dark + night)).empty());
}

TEST(Bodies, AreAsHeavyAsTheirGravityAtTheSurfaceSays) {
  // Published gravity at the equator, m/s2 (JPL Horizons, NSSDC; printed digits, and the flattening that a sphere leaves out).
  const struct {
    const char* name;
    double gravity, within;
  } all[] = {{"earth", 9.80, 0.02}, {"moon", 1.62, 0.01}, {"mars", 3.71, 0.03}, {"venus", 8.87, 0.01}, {"mercury", 3.70, 0.01}, {"ceres", 0.28, 0.006}};
  for (const auto& each : all) {
    const Body& entry = *library().body(each.name);
    EXPECT_NEAR(entry.gravitational_parameter.value / (entry.radius.value * entry.radius.value), each.gravity, each.within) << each.name;
  }
}

TEST(Bodies, AreRefusedWithoutInfraredOrWithBothKinds) {
  EXPECT_FALSE(findings_of(body(dark)).empty());
  EXPECT_FALSE(findings_of(body(dark + night + of_case("infrared", one("mean", "6 W/m2")))).empty());
}

TEST(Bodies, AreRefusedWithAHotValueBelowTheColdOneOrWithoutIt) {
  EXPECT_TRUE(findings_of(body(of_case("albedo", one("mean", "0.3") + one("hot", "0.4") + one("cold", "0.2")) + night)).empty());
  EXPECT_EQ(code_of(body(of_case("albedo", one("mean", "0.3") + one("hot", "0.2") + one("cold", "0.4")) + night)), Code::table_not_rising);
  EXPECT_FALSE(findings_of(body(of_case("albedo", one("mean", "0.3") + one("hot", "0.4")) + night)).empty());
}

TEST(Bodies, AreRefusedWithAnAlbedoAboveOneOrPowerInsteadOfExitance) {
  EXPECT_EQ(code_of(body(of_case("albedo", one("mean", "1.2")) + night)), Code::value_out_of_range);
  EXPECT_EQ(code_of(body(dark + of_case("infrared", one("mean", "240 W")))), Code::dimension_wrong);
}

}  // namespace tileflux::materials::library_test
