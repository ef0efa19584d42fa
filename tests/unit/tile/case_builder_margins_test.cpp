/// What the reader makes of `uncertainty` and `margins`, and what the library says where the case says nothing.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "support/shipped_library.h"
#include "tileflux/tile/uncertain_inputs.h"

namespace tileflux::tile::case_builder_margins_test {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

std::string painted_plate(const std::string& more) {
  return "tileflux: 1\ntitle: plate\nsun: {distance: 1 AU, tilt: 20 deg}\nparts:\n  plate: {massless: yes}\n"
         "surfaces:\n  front: {on: plate, area: 0.5 m2, finish: white_silicone_paint, sunlit: yes}\n"
         "  back: {on: plate, area: 0.5 m2, emittance: 0.88}\nlimits: {plate: {below: 40 degC, level: acceptance}}\n" +
         more;
}

CaseTemplate template_of(const std::string& more) {
  return CaseTemplate(std::string_view(painted_plate(more)), "case.yaml", test::shipped_library());
}

UncertainInput entry(const std::string& text) {
  return template_of("uncertainty:\n  - {" + text + "}\n").as_written().description.uncertainty.at(0);
}

TEST(UncertaintyKeys, AreReadInTheUnitOfTheirInput) {
  const UncertainInput percent = entry("input: surfaces.back.emittance, normal: {standard_deviation: 2 %}");
  EXPECT_EQ(percent.law.kind, InputLaw::Kind::normal);
  EXPECT_DOUBLE_EQ(percent.law.standard_deviation, 0.0176);
  EXPECT_EQ(percent.law.value, 0.88);
  EXPECT_EQ(percent.correlation, 0.0);
  const UncertainInput absolute = entry("input: surfaces.back.area, uniform: {plus_minus: 10 cm2}");
  EXPECT_DOUBLE_EQ(absolute.law.from, 0.499);
  EXPECT_DOUBLE_EQ(absolute.law.to, 0.501);
  const UncertainInput kelvins = entry("input: space, bounded: {standard_deviation: 0.1 degC, from: 2 K, to: 3 K}");
  EXPECT_TRUE(kelvins.temperature);
  EXPECT_DOUBLE_EQ(kelvins.law.standard_deviation, 0.1);
  const UncertainInput factor = entry(
      "input: materials.surfaces.white_silicone_paint.absorptance.factor, normal: {standard_deviation: 5 %}, batch: paint, "
      "correlation: 0.3, bounding: no");
  EXPECT_DOUBLE_EQ(factor.law.standard_deviation, 0.05);
  EXPECT_EQ(factor.batch, "paint");
  EXPECT_EQ(factor.correlation, 0.3);
  EXPECT_EQ(factor.bounding, false);
  EXPECT_EQ(entry("input: sun.distance, normal: {standard_deviation: 1 %}, batch: orbit").correlation, 1.0);
}

TEST(MarginsKeys, HaveDefaults) {
  const Case plain = template_of("").as_written().description;
  EXPECT_EQ(plain.margins.policy, "smc_s_016");
  EXPECT_FALSE(plain.margins.tested);
  EXPECT_EQ(plain.limits[0].level, LimitLevel::acceptance);
  const Case stated = template_of("margins: {policy: ours, tested: yes, tiles: 1000}\n").as_written().description;
  EXPECT_EQ(stated.margins.policy, "ours");
  EXPECT_TRUE(stated.margins.tested);
  EXPECT_EQ(stated.margins.tiles, 1000);
}

TEST(UncertainInputs, TakeTheLibrarysWordWhereTheCaseSaysNothing) {
  const UncertainInputs known = uncertain_inputs(template_of(""));
  ASSERT_EQ(known.inputs.size(), 2u);
  EXPECT_EQ(known.inputs[0].path, "materials.surfaces.white_silicone_paint.absorptance.factor");
  EXPECT_EQ(known.inputs[0].law.kind, InputLaw::Kind::uniform);
  EXPECT_DOUBLE_EQ(known.inputs[0].law.from, 0.9);
  EXPECT_DOUBLE_EQ(known.inputs[0].law.to, 1.1);
  EXPECT_EQ(known.inputs[0].from_library, "10 %");
  EXPECT_EQ(known.inputs[0].correlation, 1.0);
  EXPECT_THAT(known.unknown, IsEmpty());
  const UncertainInputs one = uncertain_inputs(template_of(
      "uncertainty:\n  - {input: materials.surfaces.white_silicone_paint.emittance.factor, uniform: {plus_minus: 2 %}}\n"));
  ASSERT_EQ(one.inputs.size(), 2u);
  EXPECT_TRUE(one.inputs[0].from_library.empty());
  EXPECT_DOUBLE_EQ(one.inputs[0].law.to, 1.02);
}

/// Black paint of the library: absorptance 0.95 to 10 %, and no end of life.
CaseTemplate black_plate() {
  std::string text = painted_plate("");
  const std::string white = "white_silicone_paint";
  text.replace(text.find(white), white.size(), "black_polyurethane_paint");
  return CaseTemplate(std::string_view(text), "case.yaml", test::shipped_library());
}

TEST(UncertainInputs, CutALawWhereAShareWouldExceedOne) {
  const UncertainInputs known = uncertain_inputs(black_plate());
  EXPECT_THAT(known.shortened, ElementsAre("materials.surfaces.black_polyurethane_paint.absorptance.factor"));
  constexpr double close_enough = 1e-4;  // how close the end is looked for
  EXPECT_LE(known.inputs[0].law.to, 1.0 / 0.95);
  EXPECT_GE(known.inputs[0].law.to, 1.0 / 0.95 - close_enough);
}

TEST(UncertainInputs, ReadWhatCanBeReadAsAShare) {
  EXPECT_EQ(stated_share("5 %"), 0.05);
  EXPECT_EQ(stated_share("1e-3"), 1e-3);
  EXPECT_FALSE(stated_share("unknown"));
  EXPECT_FALSE(stated_share("10 K"));
  EXPECT_FALSE(stated_share("0.02 absolute"));
}

TEST(CaseTemplate, MakesTheCaseAtAnotherAgeAndSaysWhatHasNone) {
  const CaseTemplate cases = template_of("");
  EXPECT_NE(cases.with({}, true).description.surfaces[0].absorptance, cases.with({}, false).description.surfaces[0].absorptance);
  EXPECT_TRUE(cases.with({}, true).description.end_of_life);
  const CaseTemplate ageless = black_plate();
  try {
    ageless.with({}, true);
    FAIL();
  } catch (const Error& error) {
    EXPECT_EQ(error.code(), Code::life_unknown);
  }
}

TEST(IsSurrounding, TellsTheSunFromTheTile) {
  EXPECT_TRUE(is_surrounding("sun.distance"));
  EXPECT_TRUE(is_surrounding("space"));
  EXPECT_TRUE(is_surrounding("materials.bodies.earth.albedo.factor"));
  EXPECT_FALSE(is_surrounding("surfaces.sunny.area"));
  EXPECT_FALSE(is_surrounding("materials.surfaces.white.absorptance.factor"));
}

}  // namespace tileflux::tile::case_builder_margins_test
