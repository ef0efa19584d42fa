// The spread of margins against SciPy's laws and independent samples of a closed form, on the case of the ladder.
//
// Tolerances, four errors each: the command draws a Latin hypercube of 2000 and so knows mean and deviation (2.5 K) at least as well as to
// 2.5/sqrt(2000) = 0.056 K; the script draws 400 000. Quantiles at 5 % have a density of 0.04/K: 0.12 K. The median of the worst of 20 from
// 100 arrays of the command, which spread by about 2.2 K: 1.25 x 2.2/sqrt(100) = 0.28 K.

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "referee/comparison.h"
#include "support/child_process.h"

namespace tileflux::referee::margins_referee_test {

constexpr double mean_tolerance_K = 0.22, quantile_tolerance_K = 0.48, worst_tolerance_K = 1.1;
constexpr double exact_worst_K = 0.1;  // first order against samples of the whole law: second order of the plate

TEST(MarginsReferee, AgreesOnTheSpreadOfAPlateAndOnTheWorstOfTwenty) {
  const std::string file = project_file("cases/known_margins/case.yaml").string();
  const test::ProgramResult ran =
      test::run_program({TILEFLUX_COMMAND, "margins", file, "--samples", "2000", "--tiles", "20", "--json"});
  const test::ProgramResult judged = test::run_program(
      {"/usr/bin/python3", project_file("tests/referee/margins_referee.py").string(), file, "400000", "50000", "20"});
  ASSERT_EQ(judged.exit_status, 0) << judged.standard_error;
  const auto ours = nlohmann::json::parse(ran.standard_output), theirs = nlohmann::json::parse(judged.standard_output);
  const nlohmann::json* chance = nullptr;
  for (const auto& row : ours.at("margins")) {
    if (row.at("bound") == "below") chance = &row.at("chance");
  }
  ASSERT_NE(chance, nullptr);
  const auto& drawn = chance->at("sampled");
  const auto number = [](const nlohmann::json& json, const char* key) { return json.at(key).get<double>(); };
  EXPECT_NEAR(number(drawn, "mean_K"), number(theirs, "mean_K"), mean_tolerance_K);
  EXPECT_NEAR(number(drawn, "standard_deviation_K"), number(theirs, "deviation_K"), mean_tolerance_K);
  EXPECT_NEAR(number(drawn, "quantile_5_percent_K"), number(theirs, "low_K"), quantile_tolerance_K);
  EXPECT_NEAR(number(drawn, "quantile_95_percent_K"), number(theirs, "high_K"), quantile_tolerance_K);
  EXPECT_NEAR(number(drawn.at("worst_tile"), "median_K"), number(theirs, "worst_median_K"), worst_tolerance_K);
  const auto& first = chance->at("first_order");
  EXPECT_NEAR(number(first, "standard_deviation_K"), number(theirs, "deviation_K"), mean_tolerance_K);
  EXPECT_NEAR(number(first.at("worst_tile"), "median_K"), number(theirs, "worst_median_K"), exact_worst_K);
  // Were the common part averaged away, the worst of twenty would lie at 1.82 whole deviations: the judge tells the two apart.
  const double without_common = number(theirs, "mean_K") - 1.8175 * number(theirs, "deviation_K");
  EXPECT_GT(std::abs(without_common - number(theirs, "worst_median_K")), 5.0 * exact_worst_K);
}

}  // namespace tileflux::referee::margins_referee_test
