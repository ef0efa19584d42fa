#include "support/shipped_library.h"
#include "tileflux/tile/case_template.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <optional>

#include "tileflux/base/constants.h"
#include "tileflux/base/errors.h"

namespace tileflux::tile::case_template_test {

constexpr const char* plate = R"(tileflux: 1
title: plate
sun: {distance: 1 AU, tilt: 60 deg}
parts:
  plate: {heat_capacity: 2.4 kJ/K}
  base: {fixed: 280 K}
joins:
  - {between: [plate, base], conductance: 2 W/K}
surfaces:
  front: {on: plate, area: 2500 cm2, finish: white_silicone_paint, sunlit: yes}
limits:
  plate: {below: 80 degC}
)";

CaseTemplate sample() { return CaseTemplate(std::string_view(plate), "case.yaml", test::shipped_library()); }

TEST(CaseTemplate, IsTheCaseAsWrittenUntilAValueIsPutIn) {
  const CaseTemplate cases = sample();
  EXPECT_DOUBLE_EQ(cases.as_written().description.sun.distance_m, astronomical_unit_m);
  const Case same = cases.with({}).description;
  EXPECT_EQ(same.sun.distance_m, cases.as_written().description.sun.distance_m);
  EXPECT_EQ(same.surfaces[0].area_m2, 0.25);
}

TEST(CaseTemplate, PutsValuesInPlaceOfThoseOfTheFile) {
  const CaseTemplate cases = sample();
  const Case other =
      cases.with({{"sun.distance", 0.72 * astronomical_unit_m}, {"surfaces.front.area", 0.7}, {"joins[0].conductance", 5.0},
                  {"limits.plate.below", 400.0}, {"parts.base.fixed", 300.0}})
          .description;
  EXPECT_EQ(other.sun.distance_m, 0.72 * astronomical_unit_m);
  EXPECT_EQ(other.surfaces[0].area_m2, 0.7);
  EXPECT_EQ(other.joins[0].conductance_W_per_K, 5.0);
  EXPECT_EQ(other.limits[0].below_K, 400.0);
  EXPECT_EQ(other.parts[1].fixed_K, 300.0);
  EXPECT_DOUBLE_EQ(cases.with({{"sun.distance", 1e11}}).description.surfaces[0].area_m2, 0.25);
}

TEST(CaseTemplate, PutsValuesWhereTheFileStatesNone) {
  const CaseTemplate cases = sample();
  EXPECT_EQ(cases.with({{"space", 4.0}}).description.space_K, 4.0);
  EXPECT_EQ(cases.with({{"duty.longest_wait", 7.0}}).description.duty.longest_wait_s, 7.0);
  EXPECT_EQ(cases.with({{"duty.longest_wait", 7.0}}).description.duty.recovered_within_K, 0.5);
  EXPECT_EQ(cases.with({{"surfaces.front.view_to_space", 0.5}}).description.surfaces[0].view_to_space, 0.5);
  EXPECT_EQ(cases.with({{"limits.plate.above", 200.0}}).description.limits[0].above_K, 200.0);
}

TEST(CaseTemplate, TellsWhatStandsAtAPath) {
  const CaseTemplate cases = sample();
  const input::QuantityAt tilt = cases.value_at("sun.tilt");
  EXPECT_EQ(tilt.text, "60 deg");
  EXPECT_DOUBLE_EQ(tilt.value_si.value(), 1.0471975511965976);
  EXPECT_EQ(tilt.type.dimension.si_unit, "rad");
  for (const std::string& path : cases.paths()) EXPECT_EQ(cases.value_at(path).path, path);
}

TEST(CaseTemplate, KeepsEveryRuleOfACase) {
  const CaseTemplate cases = sample();
  const auto code_of = [&](const std::string& path, double value) {
    try {
      cases.with({{path, value}});
    } catch (const Error& error) {
      EXPECT_EQ(error.diagnostics().front().place.file, "case.yaml");
      return error.code();
    }
    return Code::internal;
  };
  EXPECT_EQ(code_of("sun.distance", 1.0), Code::value_out_of_range);
  EXPECT_EQ(code_of("limits.plate.above", 370.0), Code::limits_contradict);
  EXPECT_EQ(code_of("joins[0].contact", 100.0), Code::key_conflict);
  EXPECT_EQ(code_of("sun.distanc", 1e11), Code::key_unknown);
  EXPECT_EQ(code_of("title", 1.0), Code::wrong_kind);
}

TEST(CaseTemplate, RefusesACaseThatIsNotSound) {
  const std::string wrong = std::string(plate) + "nothing: 1\n";
  EXPECT_THROW(CaseTemplate(std::string_view(wrong), "case.yaml", test::shipped_library()), Error);
  EXPECT_THROW(CaseTemplate(std::string("no/such/file.yaml"), test::shipped_library()), Error);
}

TEST(CaseTemplate, ReadsEveryCaseOfTheLadderWithAnyOfItsValuesPutBack) {
  for (const char* name : {"lamplighter", "lamplighter_full", "heat_pipe", "sized_radiator"}) {
    const CaseTemplate cases(std::string(TILEFLUX_PROJECT_DIR "/cases/") + name + "/case.yaml", test::shipped_library());
    for (const std::string& path : cases.paths()) {
      const input::QuantityAt found = cases.value_at(path);
      if (!found.value_si || !found.stated) continue;
      EXPECT_NO_THROW(cases.with({{path, *found.value_si}})) << name << ' ' << path;
    }
  }
}

TEST(CaseTemplate, ListsInputsWithTheirValuesAndSources) {
  const CaseTemplate cases = sample();
  const std::vector<CaseInput> inputs = cases.inputs();
  const auto at = [&](const std::string& path) {
    const auto found = std::find_if(inputs.begin(), inputs.end(), [&](const CaseInput& one) { return one.path == path; });
    return found == inputs.end() ? std::optional<CaseInput>() : *found;
  };
  EXPECT_EQ(at("joins[0].conductance")->value_si, 2.0);
  EXPECT_TRUE(at("joins[0].conductance")->stated);
  EXPECT_FALSE(at("space")->stated);
  EXPECT_FALSE(at("accuracy.relative")) << "what is asked of solvers is no input of the tile";
  const auto emittance = at("materials.surfaces.white_silicone_paint.emittance.factor");
  ASSERT_TRUE(emittance && emittance->source);
  EXPECT_EQ(emittance->value_si, 1.0);
  EXPECT_FALSE(emittance->source->uncertainty.empty());
  EXPECT_FALSE(at("materials.surfaces.black_epoxy_paint.emittance.factor")) << "the case does not use it";
}

TEST(CaseTemplate, ScalesWhatACaseHasFromTheLibrary) {
  const CaseTemplate cases = sample();
  const double before = cases.as_written().description.surfaces[0].emittance;
  const Case scaled = cases.with({{"materials.surfaces.white_silicone_paint.emittance.factor", 0.5}}).description;
  EXPECT_DOUBLE_EQ(scaled.surfaces[0].emittance, 0.5 * before);
  EXPECT_EQ(cases.value_at("materials.surfaces.white_silicone_paint.emittance.factor").value_si, 1.0);
  try {
    cases.value_at("materials.surfaces.white_silicone_paint.emittence.factor");
    FAIL();
  } catch (const Error& error) {
    EXPECT_EQ(error.code(), Code::key_unknown);
    EXPECT_EQ(error.diagnostics().front().suggestion,
              "did you mean 'materials.surfaces.white_silicone_paint.emittance.factor'?");
  }
}

}  // namespace tileflux::tile::case_template_test
