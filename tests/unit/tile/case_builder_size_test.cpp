/// What the reader makes of `size`, and the cases that sizing looks at.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "support/shipped_library.h"
#include "tileflux/base/errors.h"
#include "tileflux/tile/case_reader.h"

namespace tileflux::tile::case_builder_size_test {

using testing::ElementsAre;
using testing::HasSubstr;

std::string panel(const std::string& finish, const std::string& size) {
  return "tileflux: 1\ntitle: panel\nsun: {distance: 1 AU, tilt: 20 deg}\nparts:\n  plate: {heat_capacity: 2 kJ/K}\n"
         "  box: {heat_capacity: 1 kJ/K}\njoins:\n  - {between: [plate, box], conductance: 1 W/K}\n"
         "surfaces:\n  panel: {on: plate, area: 0.5 m2, faces: 2, " + finish +
         ", fin: {material: aluminium_6061_t6, thickness: 1 mm, length: 80 mm}}\n"
         "limits:\n  plate: {below: 40 degC}\n  box: {above: 0 degC}\n" + size;
}

const std::string all_of_it = R"(size:
  surface: panel
  hold: [plate]
  minimise: area
  area: [0.1 m2, 4 m2]
  thickness: [0.3 mm, 3 mm]
  pitch: [60 mm, 400 mm]
  faces: either
  pipe_mass: 0.3 kg/m
  other_mass: 0.4 kg/m2
  margin: 5 K
  area_margin: 20 %
  hot: {distance: 0.9 AU, tilt: 0 deg}
  cold: {distance: 1.5 AU, beam: on, heater: box, heater_margin: 50 %}
)";

TEST(SizeSettings, AreReadInSI) {
  const CaseFile file = read_case_text(panel("finish: white_silicone_paint", all_of_it), "case.yaml", test::shipped_library());
  const SizeSettings& size = *file.description.size;
  EXPECT_EQ(size.surface, "panel");
  EXPECT_THAT(size.hold, ElementsAre("plate"));
  EXPECT_EQ(size.minimise, SizeSettings::Minimise::area);
  EXPECT_DOUBLE_EQ(size.area_m2.most, 4.0);
  EXPECT_DOUBLE_EQ(size.thickness_m->least, 3e-4);
  EXPECT_DOUBLE_EQ(size.pitch_m->most, 0.4);
  EXPECT_TRUE(size.either_face_count);
  EXPECT_EQ(size.pipe_kg_per_m, 0.3);
  EXPECT_EQ(size.other_kg_per_m2, 0.4);
  EXPECT_EQ(size.margin_K, 5.0);
  EXPECT_DOUBLE_EQ(size.area_margin, 0.2);
  EXPECT_DOUBLE_EQ(size.heater_margin, 0.5);
  EXPECT_TRUE(size.hot.end_of_life);
  EXPECT_DOUBLE_EQ(size.hot.sun.distance_m, 0.9 * astronomical_unit_m);
  EXPECT_EQ(size.hot.sun.tilt_rad, 0.0);
  EXPECT_FALSE(size.cold->at.end_of_life);
  EXPECT_EQ(size.cold->at.sun.tilt_rad, file.description.sun.tilt_rad);
  EXPECT_TRUE(size.cold->beam);
  EXPECT_EQ(size.cold->heater, "box");
}

TEST(SizeSettings, TakeTheirPolicyFromTheStandardUnlessStated) {
  const std::string bare = "size: {surface: panel, area: [0.1 m2, 4 m2], cold: {}}\n";
  const SizeSettings size =
      *read_case_text(panel("emittance: 85 %", bare), "case.yaml", test::shipped_library()).description.size;
  EXPECT_EQ(size.margin_K, 11.0);
  EXPECT_DOUBLE_EQ(size.area_margin, 0.10);
  EXPECT_DOUBLE_EQ(size.heater_margin, 0.25);
  EXPECT_EQ(size.cold->heater, "plate") << "the root of the radiator";
  EXPECT_FALSE(size.thickness_m.has_value());
}

TEST(SizeCases, AreTheSameTileElsewhereAndAtAnotherAge) {
  const SizeCases cases = read_size_cases_text(panel("finish: white_silicone_paint", all_of_it), "case.yaml", test::shipped_library());
  EXPECT_TRUE(cases.hot.end_of_life);
  EXPECT_FALSE(cases.cold->end_of_life);
  EXPECT_FALSE(cases.file.description.end_of_life);
  EXPECT_DOUBLE_EQ(cases.hot.sun.distance_m, 0.9 * astronomical_unit_m);
  EXPECT_DOUBLE_EQ(cases.cold->sun.distance_m, 1.5 * astronomical_unit_m);
  EXPECT_EQ(cases.hot.size->surface, "panel");
  EXPECT_EQ(cases.hot.surfaces.at(0).fin->thickness_m, 1e-3);
  EXPECT_GT(cases.hot.surfaces.at(0).fin->density_kg_per_m3, 2000.0);
}

std::vector<Diagnostic> findings_of(const std::string& text) {
  try {
    read_size_cases_text(text, "case.yaml", test::shipped_library());
  } catch (const Error& error) {
    return error.diagnostics();
  }
  return {};
}

TEST(SizeCases, SayWhichOfThemLacksAValue) {
  const auto findings = findings_of(panel("finish: bare_cfrp", all_of_it));
  ASSERT_EQ(findings.size(), 1u);
  EXPECT_EQ(findings[0].code, Code::life_unknown);
  EXPECT_THAT(findings[0].message, HasSubstr("`size.hot` is at end of life"));
  EXPECT_EQ(findings[0].place.line, 10);
}

TEST(SizeCases, NeedSizeInTheCase) {
  const auto findings = findings_of(panel("emittance: 85 %", ""));
  ASSERT_EQ(findings.size(), 1u);
  EXPECT_EQ(findings[0].code, Code::key_missing);
}

}  // namespace tileflux::tile::case_builder_size_test
