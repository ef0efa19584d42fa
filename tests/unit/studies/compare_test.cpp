#include "tileflux/studies/compare.h"

#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <sstream>

#include "support/shipped_library.h"
#include "support/swept_plates.h"
#include "tileflux/tile/case_difference.h"

namespace tileflux::studies::compare_test {

using Kind = ComparedOutput::Kind;

std::string text_of_case(const std::string& name) {
  std::ifstream file(std::string(TILEFLUX_PROJECT_DIR "/cases/") + name);
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

/// The text with words replaced; every one must be there.
std::string edited(std::string text, const std::vector<std::pair<std::string, std::string>>& edits) {
  for (const auto& [from, to] : edits) {
    const auto at = text.find(from);
    EXPECT_NE(at, std::string::npos) << from;
    if (at != std::string::npos) text.replace(at, from.size(), to);
  }
  return text;
}

/// Two case texts compared, without the duty.
struct ComparedTexts {
  tile::CaseTemplate a, b;
  tile::CasePair cases;
  std::vector<ComparedInput> inputs;
  Comparison result;

  ComparedTexts(const std::string& a_text, const std::string& b_text)
      : a(a_text, "a.yaml", test::shipped_library()), b(b_text, "b.yaml", test::shipped_library()), cases(a, b) {
    for (const tile::CaseDifference& one : cases.differences()) {
      if (!one.of_a_study)
        inputs.push_back({one.path, one.kind == tile::CaseDifference::Kind::value, std::string(one.dimension.si_unit),
                          one.a_si, one.b_si, one.a_text, one.b_text});
    }
    const auto between = [this](std::span<const double> shares) {
      std::vector<double> all(shares.begin(), shares.end());
      all.resize(cases.differences().size(), 0.0);
      return cases.between(all).description;
    };
    CompareOptions options;
    options.duty = false;
    result = compare(a.as_written().description, b.as_written().description, inputs, between, options);
  }

  std::vector<std::string> paths() const {
    std::vector<std::string> all;
    for (const tile::CaseDifference& one : cases.differences()) all.push_back(one.path);
    return all;
  }
};

/// Parts and corners against the change of every output; corners against the tolerance.
void expect_sums(const Comparison& result, double corners_within) {
  ASSERT_EQ(result.why_no_parts, "");
  for (std::size_t k = 0; k < result.outputs.size(); ++k) {
    double sum = result.at_corners[k], moved = 0.0;
    for (const ComparedPart& part : result.parts) {
      sum += part.change[k];
      moved += std::abs(part.change[k]);
    }
    // Two searches for the same state end within 1e-7 W or K of each other.
    EXPECT_NEAR(sum, result.outputs[k].change(), 1e-6) << "output " << k;
    EXPECT_LE(std::abs(result.at_corners[k]), corners_within * moved + 1e-6) << "output " << k;
  }
}

const ComparedPart& part_named(const ComparedTexts& texts, const std::string& path) {
  for (const ComparedPart& part : texts.result.parts) {
    for (const std::size_t i : part.inputs) {
      if (texts.inputs[i].name == path) return part;
    }
  }
  throw std::out_of_range(path);
}

TEST(Compare, OfAPlateGivesThePathIntegralsOfTheClosedForm) {
  // T = (alpha S / (sigma (0.85 + e)))^(1/4): dT/dalpha = T/(4 alpha), dT/de = -T/(4 (0.85 + e)).
  const double alpha_a = 0.9, alpha_b = 0.35, e_a = 0.88, e_b = 0.3;
  const tile::Case plate = test::plate_in_the_sun();
  const CaseBetween between = [&](std::span<const double> shares) {
    tile::Case one = plate;
    one.surfaces[0].absorptance = alpha_a + shares[0] * (alpha_b - alpha_a);
    one.surfaces[1].emittance = e_a + shares[1] * (e_b - e_a);
    return one;
  };
  const std::vector<ComparedInput> inputs{{"alpha", true, "1", alpha_a, alpha_b, "", ""},
                                          {"e", true, "1", e_a, e_b, "", ""}};
  const std::vector<double> none{0.0, 0.0}, all{1.0, 1.0};
  const Comparison result = compare(between(none), between(all), inputs, between);
  ASSERT_EQ(result.why_no_parts, "");
  ASSERT_EQ(result.outputs.size(), 1u);
  double of_alpha = 0.0, of_e = 0.0;
  constexpr int steps = 2000;  // of Simpson's rule: its error lies below 1e-12 K
  for (int i = 0; i <= steps; ++i) {
    const double t = static_cast<double>(i) / steps;
    const double alpha = alpha_a + t * (alpha_b - alpha_a), emitted = 0.85 + e_a + t * (e_b - e_a);
    const double temperature_K =
        std::pow(alpha * plate.sun.irradiance_W_per_m2() / (stefan_boltzmann_W_per_m2_K4 * emitted), 0.25);
    const double weight = (i == 0 || i == steps ? 1.0 : i % 2 == 1 ? 4.0 : 2.0) / (3.0 * steps);
    of_alpha += weight * temperature_K / (4.0 * alpha) * (alpha_b - alpha_a);
    of_e -= weight * temperature_K / (4.0 * emitted) * (e_b - e_a);
  }
  const double allowed_K = compare_tolerance * (std::abs(of_alpha) + std::abs(of_e));
  EXPECT_NEAR(result.parts[0].change[0], of_alpha, allowed_K);
  EXPECT_NEAR(result.parts[1].change[0], of_e, allowed_K);
  EXPECT_NEAR(result.outputs[0].change(), of_alpha + of_e, 1e-6);
  // What each alone does from A is another number, and does not add up.
  const std::vector<double> alpha_alone{1.0, 0.0}, e_alone{0.0, 1.0};
  const auto kelvin = [](const tile::Case& one) { return balance(one).beam_off.x.front(); };
  const double alone_K = kelvin(between(alpha_alone)) + kelvin(between(e_alone)) - 2.0 * kelvin(between(none));
  EXPECT_GT(std::abs(alone_K - (of_alpha + of_e)), 5.0);
  EXPECT_TRUE(result.corners.empty());
}

TEST(Compare, OfNumbersInOneRegimeAddsUpWithoutCorners) {
  const std::string text = text_of_case("lamplighter/case.yaml");
  const ComparedTexts texts(text, edited(text, {{"resistance: 0.6 K/W", "resistance: 0.45 K/W"},
                                                {"conductance: 3 W/K", "conductance: 3500 mW/K"},
                                                {"housekeeping: {on: computer, power: 6 W}",
                                                 "housekeeping: {on: computer, power: 9 W}"},
                                                {"absorbed_in: [{node: cells, share: 96 %}, {node: cover, share: 4 %}]",
                                                 "absorbed_in: [{node: cells, share: 90 %}, {node: cover, share: 10 %}]"},
                                                {"duration: 24 h", "duration: 12 h"}}));
  ASSERT_EQ(texts.inputs.size(), 5u);
  EXPECT_EQ(texts.cases.differences().size(), 6u);
  EXPECT_EQ(texts.paths().back(), "run.duration");
  expect_sums(texts.result, compare_tolerance);
  const std::size_t light = *texts.result.light();
  EXPECT_GT(part_named(texts, "lasers.west.resistance").change[light], 0.0);
  EXPECT_LT(part_named(texts, "housekeeping.power").change[light], 0.0);
  // Shares of one surface add up to 1: they go together.
  const ComparedPart& shares = part_named(texts, "surfaces.front.absorbed_in[0].share");
  EXPECT_EQ(shares.inputs.size(), 2u);
  EXPECT_FALSE(shares.in_one_step);
  for (const ComparedPart& part : texts.result.parts) EXPECT_EQ(part.least, part.most);
}

TEST(Compare, AcrossRegimesTellsTheCornersAndStillAddsUp) {
  const std::string text = text_of_case("lamplighter/case.yaml");
  const ComparedTexts texts(text, edited(text, {{"distance: 1 AU", "distance: 1.3 AU"}, {"1.38 V", "1.34 V"}}));
  EXPECT_EQ(texts.inputs.size(), 2u);
  EXPECT_FALSE(texts.result.corners.empty());
  // Nothing jumps there: usable light, margins and rating are continuous where the Sun begins to limit.
  expect_sums(texts.result, compare_tolerance);
}

TEST(Compare, LeavesToTheCornersWhatJumpsThere) {
  // Where the Sun limits, more drive changes nothing: once the cold computer binds, the rating falls over that plateau.
  const std::string text = text_of_case("lamplighter/case.yaml");
  const ComparedTexts texts(text, edited(text, {{"distance: 1 AU", "distance: 1.5 AU"}, {"1.38 V", "1.34 V"}}));
  expect_sums(texts.result, HUGE_VAL);
  const std::size_t light = *texts.result.light();
  for (std::size_t k = 0; k < texts.result.outputs.size(); ++k) {
    if (texts.result.outputs[k].kind == Kind::rating) {
      EXPECT_LT(texts.result.at_corners[k], -0.3);
    }
  }
  EXPECT_LT(std::abs(texts.result.at_corners[light]), compare_tolerance * std::abs(texts.result.outputs[light].change()));
}

TEST(Compare, TakesWordsInOneStepAndTellsHowTheOrderMatters) {
  const std::string text = text_of_case("lamplighter/case.yaml");
  const ComparedTexts texts(
      text, edited(text, {{"rear: {on: back, area: 1 m2, finish: white_silicone_paint",
                           "rear: {on: back, area: 1.2 m2, emittance: 70 %"},
                          {"wing_outer: {on: wing_outer, area: 0.12 m2, faces: 2, finish: white_silicone_paint",
                           "wing_outer: {on: wing_outer, area: 0.12 m2, faces: 2, finish: black_epoxy_paint"}}));
  expect_sums(texts.result, compare_tolerance);
  const ComparedPart& finish = part_named(texts, "surfaces.rear.finish");
  EXPECT_TRUE(finish.in_one_step);
  EXPECT_EQ(finish.inputs.size(), 2u) << "a finish goes only together with the emittance that stands for it";
  const ComparedPart& other = part_named(texts, "surfaces.wing_outer.finish");
  EXPECT_TRUE(other.in_one_step);
  EXPECT_EQ(other.inputs.size(), 1u);
  const std::size_t light = *texts.result.light();
  EXPECT_LT(finish.change[light], 0.0);
  EXPECT_LT(finish.least[light], finish.most[light]);
  EXPECT_FALSE(texts.cases.only_b_uses().empty());
}

TEST(Compare, OfAnotherStructureTakesWhatBelongsTogetherAtOnce) {
  const std::string text = text_of_case("lamplighter/case.yaml");
  const ComparedTexts texts(
      text, edited(text, {{"  optics: {material: fused_silica, mass: 0.35 kg}",
                           "  optics: {material: fused_silica, mass: 0.35 kg}\n"
                           "  flap: {material: aluminium_6061_t6, mass: 0.4 kg}"},
                          {"  - {between: [optics, bench], conductance: 0.6 W/K}",
                           "  - {between: [optics, bench], conductance: 0.6 W/K}\n"
                           "  - {between: [flap, bench], conductance: 2 W/K}"},
                          {"  aperture:", "  flap: {on: flap, area: 0.2 m2, finish: white_silicone_paint}\n  aperture:"},
                          {"resistance: 0.55 K/W", "resistance: 0.5 K/W"}}));
  EXPECT_EQ(texts.result.only_in_b, std::vector<std::string>{"flap"});
  expect_sums(texts.result, compare_tolerance);
  EXPECT_EQ(part_named(texts, "parts.flap").inputs.size(), 3u);
  EXPECT_GT(part_named(texts, "parts.flap").change[*texts.result.light()], 0.0);
}

TEST(Compare, OfTheSameTileInOtherWordsFindsNoDifference) {
  const std::string text = text_of_case("lamplighter/case.yaml");
  const ComparedTexts texts(text, edited(text, {{"resistance: 0.6 K/W", "resistance: 600 mK/W"},
                                                {"sun: {distance: 1 AU, tilt: 0 deg}", "sun: {distance: 1 AU}"},
                                                {"view_to_space: 96 %", "view_to_space: 0.96"}}));
  EXPECT_TRUE(texts.cases.differences().empty()) << texts.paths().front();
  EXPECT_TRUE(texts.result.parts.empty());
  for (const ComparedOutput& output : texts.result.outputs) EXPECT_EQ(output.change(), 0.0);
}

TEST(Compare, RefusesToAttributeWhereSomethingThatDiffersIsNotListed) {
  const tile::Case plate = test::plate_in_the_sun();
  const auto with = [&](double absorptance, double emittance) {
    tile::Case one = plate;
    one.surfaces[0].absorptance = absorptance;
    one.surfaces[1].emittance = emittance;
    return one;
  };
  const std::vector<ComparedInput> inputs{{"alpha", true, "1", 0.9, 0.5, "", ""}};
  const CaseBetween between = [&](std::span<const double> shares) { return with(0.9 - 0.4 * shares[0], 0.88); };
  EXPECT_EQ(compare(with(0.9, 0.88), with(0.5, 0.88), inputs, between).why_no_parts, "");
  const Comparison hidden = compare(with(0.9, 0.88), with(0.5, 0.87), inputs, between);
  EXPECT_NE(hidden.why_no_parts, "");
  EXPECT_TRUE(hidden.parts.empty());
}

}  // namespace tileflux::studies::compare_test
