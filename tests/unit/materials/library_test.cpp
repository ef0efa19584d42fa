#include "tileflux/materials/library.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "support/temporary_directory.h"
#include "tileflux/base/errors.h"

namespace tileflux::materials {
namespace {

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

void check(const Property& property, const std::string& where) {
  EXPECT_FALSE(property.source.empty()) << where;
  EXPECT_FALSE(property.uncertainty.empty()) << where;
  EXPECT_TRUE(property.basis == "published" || property.basis == "transcribed" || property.basis == "memory") << where;
  EXPECT_LT(property.table.valid_from_K(), property.table.valid_to_K()) << where;
}

TEST(MaterialsLibrary, HoldsTwelveSolidsTwelveFinishesAndThreeCellTypes) {
  EXPECT_GE(library().solids.size(), 12u);
  EXPECT_GE(library().surfaces.size(), 12u);
  EXPECT_GE(library().cells.size(), 3u);
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

}  // namespace
}  // namespace tileflux::materials
