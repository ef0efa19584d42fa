/// Margin policies, the propagation of uncertainties and the worst of many. A plate in the sun: T = (q/(e sigma))^(1/4), so
/// sigma_T/T = 1/4 of the relative standard deviations of q and 1/e added in squares (half of that of the distance). The largest
/// of N normal values: P(<= x) = Phi(x)^N; median by its inverse and mean by quadrature of the density, both outside the project.

#include <gtest/gtest.h>

#include <cmath>

#include "tileflux/studies/margins.h"
#include "tileflux/tile/policy.h"
#include "tileflux/tile/uncertain_inputs.h"
#include "verification/groups.h"
#include "verification/plain_spread.h"

namespace tileflux::verification::margins_test {

const char* const through_policies = "tile::policy_named";
const char* const through_spread = "studies::linear_spread";
const char* const through_margins = "tile::uncertain_inputs, studies::margins";
const char* const through_largest = "studies::largest_of_normals_quantile, _mean";

tile::Policy policy(const char* name) {
  return tile::policy_named(TILEFLUX_PROJECT_DIR "/materials/policies", name);
}

/// The case of the ladder, read with nothing of the library.
struct KnownPlate {
  tile::CaseTemplate cases{TILEFLUX_PROJECT_DIR "/cases/known_margins/case.yaml", {}};
  tile::UncertainInputs known = tile::uncertain_inputs(cases);
  studies::Margins margins;

  KnownPlate() {
    studies::MarginsProblem problem;
    problem.inputs = known.inputs;
    problem.case_at = [this](std::span<const double> values, bool end_of_life) {
      std::vector<tile::Override> overrides;
      for (std::size_t i = 0; i < values.size(); ++i) overrides.emplace_back(known.inputs[i].path, values[i]);
      return cases.with(overrides, end_of_life).description;
    };
    studies::MarginsOptions options{policy("smc_s_016"), false, {}};
    options.sampling.samples = 0;
    options.sampling.tiles = 100;
    margins = studies::margins(problem, options);
  }
};

Reproductions margin_policies() {
  const tile::Policy smc = policy("smc_s_016"), gsfc = policy("gsfc_std_7000");
  return {{"MRG-02", smc.uncertainty_K(false, 300.0), through_policies},
          {"MRG-03", 100.0 * smc.power_reserve->value, through_policies},
          {"MRG-13", gsfc.uncertainty_K(true, 300.0), through_policies},
          {"MRG-14", gsfc.active->value, through_policies},
          {"MRG-15", gsfc.uncertainty_K(false, 300.0), through_policies},
          {"MRG-32", standard_deviation_of_sum({3.0, 2.0, 4.0}), through_spread}};
}

ClosedForms margin_references() {
  ClosedForms forms;
  struct Largest {
    const char* count_text;
    double count, median, mean;
  };
  for (const Largest& one : {Largest{"1e2", 1e2, 2.4620378381, 2.5075936364}, Largest{"1e4", 1e4, 3.8106094309, 3.8516158171},
                             Largest{"1e8", 1e8, 5.6750731108, 5.7072184757}}) {
    constexpr double quadrature = 1e-9;
    forms.push_back({std::string("largest of ") + one.count_text + " standard normals: median", one.median, quadrature,
                     "ten digits", studies::largest_of_normals_quantile(one.count, 0.5), through_largest});
    forms.push_back({std::string("largest of ") + one.count_text + " standard normals: mean", one.mean, quadrature,
                     "ten digits", studies::largest_of_normals_mean(one.count), through_largest});
  }
  forms = sourced(std::move(forms), "Phi^-1(q^(1/N)) and quadrature of the density of the largest, outside the project");
  const KnownPlate plate;
  const char* const balance = "a balance to 1e-9";
  constexpr double balanced_K = 1e-6;
  for (const studies::MarginRow& row : plate.margins.rows) {
    const bool hot = row.stated.margin.upper;
    forms.push_back({std::string("plate of known_margins, ") + (hot ? "hot at end of life, K" : "cold at begin of life, K"),
                     hot ? 347.459924749 : 324.069911761, balanced_K, balance, row.bounding.value, through_margins});
  }
  const studies::Spread& spread = plate.margins.linear.front();
  constexpr double first_order_K = 1e-6;
  forms.push_back({"plate of known_margins: standard deviation, K", 2.517002557, first_order_K, "exact slopes",
                   spread.standard_deviation, through_margins});
  forms.push_back({"plate of known_margins: common to all tiles, K", 2.021865845, first_order_K, "exact slopes",
                   spread.common_deviation, through_margins});
  forms.push_back({"plate of known_margins: margin of the worst of 100, mean, K", 25.110581612, first_order_K, "exact slopes",
                   spread.worst->mean, through_margins});
  forms.push_back({"plate of known_margins: margin of the worst of 100, median, K", 25.116924717, first_order_K,
                   "exact slopes", spread.worst->median, through_margins});
  forms.push_back({"plate of known_margins: margin of the worst of 100, 5 %, K", 21.609923242, first_order_K, "exact slopes",
                   spread.worst->low, through_margins});
  return sourced(std::move(forms), "T = (q/(e sigma))^(1/4) with sigma_T/T a quarter of the relative deviations in squares, evaluated outside the project");
}

TEST(MarginPolicies, HoldThePublishedNumbers) { check_all(margin_policies()); }

TEST(MarginReferences, MeetTheClosedForms) { check_all(margin_references()); }

TEST(MarginPolicies, AreRefusedWithAnotherNumber) {
  expect_refused("MRG-02", policy("smc_s_016").uncertainty_K(true, 300.0));
  // Effects added as they are, not in squares.
  expect_refused("MRG-32", 3.0 + 2.0 + 4.0);
}

TEST(MarginReferences, LieBelowWhatIsRememberedOfTheWorstOfMany) {
  // sqrt(2 ln N), the orientation, is an upper bound: 3.03, 4.29, 6.07.
  for (const double count : {1e2, 1e4, 1e8})
    EXPECT_LT(studies::largest_of_normals_mean(count), std::sqrt(2.0 * std::log(count)));
}

}  // namespace tileflux::verification::margins_test
