#include "support/shipped_library.h"
#include "tileflux/tile/case_reader.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "tileflux/base/errors.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::tile::case_reader_test {

using testing::HasSubstr;

constexpr const char* plate = R"(tileflux: 1
title: plate
sun: {distance: 1 AU, tilt: 60 deg}
parts:
  plate: {heat_capacity: 2.4 kJ/K}
surfaces:
  front: {on: plate, area: 2500 cm2, emittance: 85 %, absorptance: 0.9, sunlit: yes}
)";

std::vector<Diagnostic> findings_of(const std::string& text) {
  try {
    read_case_text(text, "case.yaml", test::shipped_library());
  } catch (const Error& error) {
    return error.diagnostics();
  }
  return {};
}

TEST(CaseReader, TurnsValuesIntoSI) {
  const CaseFile read = read_case_text(plate, "case.yaml", test::shipped_library());
  const Case& tile = read.description;
  constexpr double round_off = 1e-15;
  EXPECT_NEAR(tile.sun.tilt_rad, 1.0471975511965976, 4.0 * round_off);
  EXPECT_DOUBLE_EQ(tile.sun.distance_m, astronomical_unit_m);
  EXPECT_DOUBLE_EQ(tile.surfaces.at(0).area_m2, 0.25);
  EXPECT_DOUBLE_EQ(tile.surfaces.at(0).emittance, 0.85);
  EXPECT_DOUBLE_EQ(tile.parts.at(0).capacity_J_per_K->value(300.0), 2400.0);
  EXPECT_EQ(tile.space_K, 2.72548);
  EXPECT_EQ(tile.accuracy.relative, 1e-7);
}

TEST(CaseReader, TellsWhatItFilledIn) {
  const CaseFile read = read_case_text(plate, "case.yaml", test::shipped_library());
  EXPECT_FALSE(read.defaults.empty());
  EXPECT_TRUE(read.warnings.empty());
}

TEST(CaseReader, GivesAllFindingsInTheOrderOfTheFile) {
  const auto findings = findings_of(R"(tileflux: 1
title: wrong
sun: {distance: 1 kg}
parts:
  plate: {heat_capacity: 2.4 kJ/K}
surfaces:
  front: {on: plat, area: 1 m2, emittance: 0.5, colour: red}
)");
  ASSERT_EQ(findings.size(), 3u);
  EXPECT_EQ(findings[0].code, Code::dimension_wrong);
  EXPECT_EQ(findings[0].place.line, 3);
  EXPECT_EQ(findings[1].code, Code::name_unknown);
  EXPECT_EQ(findings[1].place.line, 7);
  EXPECT_EQ(findings[2].code, Code::key_unknown);
  EXPECT_GT(findings[2].place.column, findings[1].place.column);
}

TEST(CaseReader, SuggestsTheNearestNode) {
  const auto findings = findings_of(std::string(plate) + "loads: [{on: plat, power: 3 W}]\n");
  ASSERT_EQ(findings.size(), 1u);
  EXPECT_EQ(findings[0].code, Code::name_unknown);
  EXPECT_THAT(findings[0].suggestion, HasSubstr("'plate'"));
}

TEST(CaseReader, WarnsOfAPartThatCanLoseItsHeatNowhere) {
  const CaseFile read = read_case_text(std::string(plate).replace(std::string(plate).find("surfaces:"), 0, "  brick: {heat_capacity: 1 kJ/K}\n"), "case.yaml", test::shipped_library());
  ASSERT_EQ(read.warnings.size(), 1u);
  EXPECT_EQ(read.warnings[0].code, Code::node_isolated);
  EXPECT_THAT(read.warnings[0].message, HasSubstr("brick"));
}

TEST(CaseReader, WarnsOfCellsThatGetBetterAsTheyWarm) {
  const auto warnings = [](const std::string& slope) {
    return read_case_text(std::string(plate) + "cells: {surface: front, on: plate, efficiency: 30 %, slope: " + slope + "}\n",
                          "case.yaml", test::shipped_library())
        .warnings;
  };
  EXPECT_TRUE(warnings("-0.2 %/K").empty());
  ASSERT_EQ(warnings("0.2 %/K").size(), 1u);
  EXPECT_THAT(warnings("0.2 %/K")[0].message, HasSubstr("a positive slope"));
}

TEST(CaseReader, TellsAStartTemperatureOnlyWhereItIsAskedFor) {
  const auto told = [](const std::string& start) {
    const CaseFile read = read_case_text(std::string(plate) + start, "case.yaml", test::shipped_library());
    return std::any_of(read.defaults.begin(), read.defaults.end(),
                       [](const auto& one) { return one.path == "start.temperature"; });
  };
  EXPECT_TRUE(told(""));
  EXPECT_FALSE(told("start: {from: beam_off_balance}\n"));
}

TEST(CaseReader, ReadsEveryCaseOfTheProject) {
  for (const char* name : {"plate", "burst_and_recovery", "lamplighter"}) {
    const CaseFile read = read_case(std::string(TILEFLUX_PROJECT_DIR "/cases/") + name + "/case.yaml", test::shipped_library());
    EXPECT_GT(TileSystem(read.description).size(), 0) << name;
  }
}

TEST(CaseReader, FixesTheQuadraticLossByThePointAtFullLoad) {
  const CaseFile read = read_case(TILEFLUX_PROJECT_DIR "/cases/lamplighter/case.yaml", test::shipped_library());
  const Conditioning& conditioning = *read.description.conditioning;
  const double loss_W = conditioning.standby_W + 400.0 * conditioning.proportional + 160000.0 * conditioning.quadratic_per_W;
  EXPECT_DOUBLE_EQ(loss_W, 0.05 * 400.0);
}

}  // namespace tileflux::tile::case_reader_test
