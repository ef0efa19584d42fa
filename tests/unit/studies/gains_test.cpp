#include "tileflux/studies/gains.h"

#include <gtest/gtest.h>

#include <cmath>

#include "tileflux/studies/sustainable.h"
#include "tileflux/tile/case_template.h"

namespace tileflux::studies {
namespace {

using Kind = GainOutput::Kind;

const materials::Library& library_of_gains() {
  static const materials::Library all = materials::read_library(TILEFLUX_PROJECT_DIR "/materials");
  return all;
}

const tile::CaseTemplate& lamplighter_of_gains() {
  static const tile::CaseTemplate cases(std::string(TILEFLUX_PROJECT_DIR "/cases/lamplighter/case.yaml"),
                                        library_of_gains());
  return cases;
}

std::vector<GainInput> inputs_of(const tile::CaseTemplate& cases, const std::vector<tile::Override>& besides = {}) {
  std::vector<GainInput> inputs;
  for (const tile::CaseInput& one : cases.inputs()) {
    const auto case_at = [&cases, besides, path = one.path](double value) {
      std::vector<tile::Override> values = besides;
      values.emplace_back(path, value);
      return cases.with(values).description;
    };
    inputs.push_back({one.path, std::string(one.dimension.si_unit), one.value_si, one.range.least, one.range.most, case_at});
  }
  return inputs;
}

GainInput named(const std::vector<GainInput>& inputs, const std::string& name) {
  for (const GainInput& input : inputs) {
    if (input.name == name) return input;
  }
  throw std::out_of_range(name);
}

/// Light, margins without and with beam, rating: the steady outputs, each found anew.
std::vector<double> steady_outputs(const tile::Case& description) {
  tile::TileSystem system(description);
  const Balance found = balance(system);
  std::vector<double> all{found.usable_laser_W};
  for (const Margin& margin : found.beam_off.margins) all.push_back(margin.margin);
  for (const Margin& margin : found.beam_on->margins) all.push_back(margin.margin);
  all.push_back(found.rating ? found.rating->drive : continuous_rating(system).drive);
  return all;
}

/// A difference quotient of fourth order of whole answers; on one side where the other is not allowed.
std::vector<double> quotient(const GainInput& input, const std::function<std::vector<double>(const tile::Case&)>& of,
                             double share) {
  const double h = input.value != 0.0 ? share * std::abs(input.value) : share;
  const std::vector<std::pair<double, double>> central{{2.0, -1.0 / 12}, {1.0, 8.0 / 12}, {-1.0, -8.0 / 12}, {-2.0, 1.0 / 12}};
  const std::vector<std::pair<double, double>> forward{
      {0.0, -25.0 / 12}, {1.0, 4.0}, {2.0, -3.0}, {3.0, 4.0 / 3}, {4.0, -0.25}};
  for (const double direction : {0.0, 1.0, -1.0}) {
    std::vector<double> all;
    try {
      for (const auto& [steps, weight] : direction == 0.0 ? central : forward) {
        const double signed_h = direction < 0.0 ? -h : h;
        const std::vector<double> part = of(input.case_at(input.value + steps * signed_h));
        all.resize(part.size(), 0.0);
        for (std::size_t i = 0; i < part.size(); ++i) all[i] += weight / signed_h * part[i];
      }
      return all;
    } catch (const Error&) {
      continue;
    }
  }
  throw std::out_of_range(input.name);
}

TEST(SteadyGains, AgreeWithDifferenceQuotientsOfTheWholeAnswers) {
  const tile::CaseTemplate& cases = lamplighter_of_gains();
  const std::vector<GainInput> inputs = inputs_of(cases);
  const SteadyGains gains = steady_gains(cases.as_written().description, inputs);
  const std::vector<double> now = steady_outputs(cases.as_written().description);
  ASSERT_EQ(gains.outputs.size(), now.size());
  int compared = 0;
  for (std::size_t i = 0; i < inputs.size(); ++i) {
    const Eigen::VectorXd slopes = gains.slopes.col(static_cast<Eigen::Index>(i));
    ASSERT_TRUE(slopes.allFinite()) << inputs[i].name;
    if (slopes.cwiseAbs().maxCoeff() == 0.0) continue;
    const std::vector<double> other = quotient(inputs[i], steady_outputs, 1e-3);
    for (std::size_t k = 0; k < now.size(); ++k) {
      const double slope = slopes[static_cast<Eigen::Index>(k)];
      // The quotient itself is not better than the digits of the answers over its step.
      const double per = inputs[i].value != 0.0 ? std::abs(inputs[i].value) : 1.0;
      const double digits = 1e-8 * std::max(1.0, std::abs(now[k])) / per;
      EXPECT_NEAR(slope, other[k], 1e-5 * std::abs(other[k]) + digits) << inputs[i].name << ", output " << k;
      compared += std::abs(slope) > 100.0 * digits ? 1 : 0;
    }
  }
  EXPECT_GT(compared, 1000);
}

TEST(Gains, OfTheDutyAgreeWithDifferenceQuotients) {
  const tile::CaseTemplate& cases = lamplighter_of_gains();
  // Periods and drives at which the duty is found; tight, for a quotient of it.
  const std::vector<tile::Override> tight{{"accuracy.relative", 1e-9}, {"accuracy.absolute", 1e-7}};
  const std::vector<GainInput> all = inputs_of(cases, tight);
  std::vector<GainInput> inputs;
  for (const char* name :
       {"sun.distance", "beam.every", "beam.drive", "parts.bench.mass", "joins[1].conductance", "lasers.west.resistance",
        "limits.west.junction.below", "surfaces.rear.area", "materials.solids.aluminium_6061_t6.heat_capacity.factor"})
    inputs.push_back(named(all, name));
  const tile::Case description = cases.with(tight).description;
  GainOptions options;
  options.regime_ends = 0;
  const Gains result = gains(description, inputs, options);
  ASSERT_EQ(result.duty_note, "");
  const std::size_t duty = *result.output(Kind::duty), light = *result.output(Kind::duty_light);
  const auto outputs = [](const tile::Case& one) {
    tile::TileSystem system(one);
    const SustainableDuty found = sustainable_duty(system, one.beam->pattern->every_s);
    return std::vector<double>{found.fraction, found.mean_light_W};
  };
  ASSERT_EQ(result.inputs.size(), inputs.size());
  for (std::size_t i = 0; i < inputs.size(); ++i) {
    const std::vector<double> other = quotient(inputs[i], outputs, 1e-4);
    EXPECT_NEAR(*result.inputs[i].slopes[duty] / other[0], 1.0, 1e-5) << inputs[i].name;
    EXPECT_NEAR(*result.inputs[i].slopes[light] / other[1], 1.0, 1e-5) << inputs[i].name;
  }
}

}  // namespace
}  // namespace tileflux::studies
