/// Margins of a plate in the sun against its closed form: bounding cases, ages, what the policy adds, what is counted twice.

#include "tileflux/studies/margins.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "support/swept_plates.h"
#include "tileflux/base/constants.h"

namespace tileflux::studies::margins_test {

using test::limited_plate;
using test::plate_K;
using testing::Contains;
using testing::Field;
using testing::HasSubstr;
using tile::InputLaw;

constexpr double balanced_K = 1e-6;  // what a balance leaves

tile::Policy eleven_and_seventeen() {
  tile::Policy policy;
  policy.name = "ours";
  policy.tested = tile::PolicyNumber{{}, 11.0};
  policy.untested = tile::PolicyNumber{{}, 17.0};
  policy.acceptance = tile::PolicyNumber{{}, 5.0};
  policy.qualification = tile::PolicyNumber{{}, 5.0};
  policy.radiator_area = tile::PolicyNumber{{}, 0.1};
  policy.heater_duty = tile::PolicyNumber{{}, 0.8};
  return policy;
}

/// Absorptance (0.9; 0.95 at end of life) and distance of the sample plate.
struct PlateProblem {
  MarginsProblem problem;
  MarginsOptions options;

  explicit PlateProblem(const tile::Case& plate) {
    tile::UncertainInput absorptance;
    absorptance.path = "surfaces.front.absorptance";
    absorptance.law = {InputLaw::Kind::uniform, 1.0, 0.0, 0.98, 1.03};
    tile::UncertainInput distance;
    distance.path = "sun.distance";
    distance.law = {InputLaw::Kind::uniform, 1.0, 0.0, 0.99, 1.02};
    problem.inputs = {absorptance, distance};
    problem.case_at = [plate](std::span<const double> values, bool end_of_life) {
      tile::Case made = test::at_distance(plate, values[1]);
      for (tile::Surface& surface : made.surfaces) {
        if (surface.name == "front") surface.absorptance = values[0] * (end_of_life ? 0.95 : 0.9);
      }
      return made;
    };
    options.policy = eleven_and_seventeen();
    options.sampling.samples = 0;
  }
  Margins run() const { return margins(problem, options); }
};

double aged_K(double absorptance, double distance_AU) { return plate_K(distance_AU, absorptance); }

TEST(Margins, TakeEveryInputToItsWorseEndAndOneAgeThroughout) {
  tile::Case plate = limited_plate(380.0);
  plate.limits[0].above_K = 300.0;
  const Margins result = PlateProblem(plate).run();
  ASSERT_EQ(result.rows.size(), 2u);
  const MarginRow& cold = result.rows[0].stated.margin.upper ? result.rows[1] : result.rows[0];
  const MarginRow& hot = result.rows[0].stated.margin.upper ? result.rows[0] : result.rows[1];
  EXPECT_NEAR(hot.bounding.value, aged_K(0.95 * 1.03, 0.99), balanced_K);
  EXPECT_TRUE(hot.bounding.end_of_life);
  EXPECT_THAT(hot.bounding.moved, testing::ElementsAre(1, -1));
  EXPECT_NEAR(cold.bounding.value, aged_K(0.9 * 0.98, 1.02), balanced_K);
  EXPECT_FALSE(cold.bounding.end_of_life);
  EXPECT_THAT(cold.bounding.moved, testing::ElementsAre(-1, 1));
  ASSERT_TRUE(hot.other_age);
  EXPECT_NEAR(hot.other_age->value, aged_K(0.9 * 1.03, 0.99), balanced_K);
  EXPECT_NEAR(hot.stated.margin.value, aged_K(0.9, 1.0), balanced_K);
  EXPECT_NEAR(hot.predicted, hot.bounding.value + 17.0, 1e-12);
  EXPECT_NEAR(cold.predicted, cold.bounding.value - 17.0, 1e-12);
}

TEST(Margins, GiveOneAgeAloneAndSayWhatIsMissing) {
  PlateProblem plate(limited_plate(380.0));
  Diagnostic missing;
  missing.code = Code::life_unknown;
  missing.message = "'white' has begin-of-life values only";
  plate.problem.no_end_of_life = {missing};
  const Margins result = plate.run();
  EXPECT_FALSE(result.rows[0].bounding.end_of_life);
  EXPECT_FALSE(result.rows[0].other_age);
  EXPECT_THAT(result.warnings, Contains(Field(&Diagnostic::code, Code::life_unknown)));
}

TEST(Margins, AreJudgedWithWhatThePolicyAdds) {
  const double worst_K = aged_K(0.95 * 1.03, 0.99);
  EXPECT_EQ(PlateProblem(limited_plate(worst_K + 17.1)).run().verdict(), Verdict::kept);
  EXPECT_EQ(PlateProblem(limited_plate(worst_K + 16.9)).run().verdict(), Verdict::too_small);
  EXPECT_EQ(PlateProblem(limited_plate(worst_K - 0.1)).run().verdict(), Verdict::broken);
  PlateProblem tested(limited_plate(worst_K + 11.1));
  tested.options.tested = true;
  EXPECT_EQ(tested.run().verdict(), Verdict::kept);
}

TEST(Margins, StackStepsForAcceptanceAndQualification) {
  for (const auto& [level, step_K] : {std::pair{tile::LimitLevel::design, 0.0}, {tile::LimitLevel::acceptance, 5.0},
                                     {tile::LimitLevel::qualification, 10.0}}) {
    tile::Case plate = limited_plate(400.0);
    plate.limits[0].level = level;
    EXPECT_DOUBLE_EQ(PlateProblem(plate).run().rows[0].step_K, step_K);
  }
  tile::Case plate = limited_plate(400.0);
  plate.limits[0].level = tile::LimitLevel::qualification;
  PlateProblem without(plate);
  without.options.policy.qualification.reset();
  EXPECT_THAT(without.run().warnings, Contains(Field(&Diagnostic::code, Code::margin_differs)));
}

TEST(Margins, TakeStandardDeviationsWhereThePolicySaysSo) {
  PlateProblem plate(limited_plate(400.0));
  plate.options.policy.tested.reset();
  plate.options.policy.untested.reset();
  plate.options.policy.sigmas = tile::PolicyNumber{{}, 2.0};
  const MarginRow row = plate.run().rows[0];
  // The distance surrounds the tile and is moved; the absorptance is the tile's: T/4 sigma_q/q, twice.
  EXPECT_THAT(row.bounding.moved, testing::ElementsAre(0, -1));
  EXPECT_NEAR(row.uncertainty, 2.0 * 0.25 * aged_K(0.9, 1.0) * 0.05 / std::sqrt(12.0), 1e-6);
  EXPECT_NEAR(row.bounding.value, aged_K(0.95, 0.99), balanced_K);
}

TEST(Margins, SpreadAsThePlatesClosedFormSays) {
  PlateProblem plate(limited_plate(400.0));
  plate.options.sampling.samples = 400;
  plate.options.sampling.tiles = 1000;
  const Margins result = plate.run();
  const double stated_K = aged_K(0.9, 1.0), root = std::sqrt(12.0);
  const double deviation_K = stated_K * std::hypot(0.25 * 0.05 / root, 0.5 * 0.03 / root);
  const Spread& linear = result.linear[result.rows[0].watched];
  EXPECT_NEAR(linear.standard_deviation, deviation_K, 1e-6);
  EXPECT_NEAR(linear.worst->mean, linear.mean - largest_of_normals_mean(1000) * deviation_K, 1e-5);
  ASSERT_TRUE(result.sampled);
  // The second order of the plate is a thousandth of the deviation; the error of 400 samples 3.5 %, three times.
  EXPECT_NEAR(result.sampled->outputs[result.rows[0].watched].standard_deviation, deviation_K, 0.11 * deviation_K);
  EXPECT_EQ(result.disagreements[result.rows[0].watched], "");
}

TEST(Margins, WarnOfTheSameMarginTwice) {
  // The policy's kelvins and the moved absorptance: both stand for what is not known of the tile.
  const Margins moved = PlateProblem(limited_plate(400.0)).run();
  EXPECT_THAT(moved.warnings, Contains(Field(&Diagnostic::message, HasSubstr("surfaces.front.absorptance"))));
  PlateProblem held(limited_plate(400.0));
  held.problem.inputs[0].bounding = false;
  EXPECT_TRUE(held.run().warnings.empty());
  tile::Case lowered = limited_plate(400.0);
  lowered.limits[0].includes_margin_K = 11.0;
  PlateProblem twice(lowered);
  twice.problem.inputs[0].bounding = false;
  const Margins result = twice.run();
  ASSERT_EQ(result.warnings.size(), 1u);
  EXPECT_EQ(result.warnings[0].code, Code::margin_twice);
  EXPECT_THAT(result.warnings[0].message, HasSubstr("11 K are counted twice"));
}

TEST(Margins, HoldTheRadiatorAgainstThePolicysArea) {
  tile::Case plate = limited_plate(400.0);
  plate.size = tile::SizeSettings{.surface = "rear", .margin_K = 17.0};
  PlateProblem problem(plate);
  problem.problem.inputs.clear();
  problem.problem.case_at = [plate](std::span<const double>, bool) { return plate; };
  const Margins result = problem.run();
  ASSERT_TRUE(result.area && result.area->worst);
  const double smaller_K = std::pow(0.9 * 1361.0 / ((0.85 + 0.88 / 1.1) * stefan_boltzmann_W_per_m2_K4), 0.25);
  EXPECT_NEAR(result.area->worst->value, smaller_K, 1e-4);
  EXPECT_TRUE(result.warnings.empty());
  plate.size->margin_K = 11.0;
  plate.size->area_margin = 0.0;
  problem.problem.case_at = [plate](std::span<const double>, bool) { return plate; };
  EXPECT_EQ(problem.run().warnings.size(), 2u);
}

TEST(Margins, FindWhatIsNotMonotone) {
  // A tilt around zero: both ways the plate gets colder.
  PlateProblem plate(limited_plate(400.0));
  plate.problem.inputs[1].path = "sun.tilt";
  plate.problem.inputs[1].law = {InputLaw::Kind::uniform, 0.0, 0.0, -0.2, 0.2};
  const tile::Case flat = limited_plate(400.0);
  plate.problem.case_at = [flat](std::span<const double> values, bool) {
    tile::Case made = flat;
    made.sun.tilt_rad = std::abs(values[1]);
    return made;
  };
  const Bounding hot = plate.run().rows[0].bounding;
  EXPECT_THAT(hot.not_monotone, testing::ElementsAre(1u));
  EXPECT_EQ(hot.moved[1], 0);
  EXPECT_NEAR(hot.value, plate_K(1.0), balanced_K);
}

TEST(Margins, RefuseALawThatReachesWhereTheCaseIsNotSound) {
  PlateProblem plate(limited_plate(400.0));
  plate.problem.case_at = [inner = plate.problem.case_at](std::span<const double> values, bool end) {
    if (values[0] > 1.02) throw Error(Code::value_out_of_range, "too much");
    return inner(values, end);
  };
  try {
    plate.run();
    FAIL();
  } catch (const Error& error) {
    EXPECT_EQ(error.code(), Code::value_out_of_range);
    EXPECT_THAT(error.what(), HasSubstr("surfaces.front.absorptance"));
  }
}

}  // namespace tileflux::studies::margins_test
