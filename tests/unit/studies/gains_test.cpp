#include "tileflux/studies/gains.h"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>

#include "support/shipped_library.h"
#include "support/temporary_directory.h"
#include "tileflux/studies/run.h"
#include "tileflux/studies/sustainable.h"
#include "tileflux/studies/why.h"
#include "tileflux/tile/case_template.h"

namespace tileflux::studies::gains_test {

using Kind = GainOutput::Kind;

const tile::CaseTemplate& lamplighter_of_gains() {
  static const tile::CaseTemplate cases(std::string(TILEFLUX_PROJECT_DIR "/cases/lamplighter/case.yaml"),
                                        test::shipped_library());
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
    inputs.push_back(
        {one.path, std::string(one.dimension.si_unit), one.value_si, one.range.least, one.range.most, case_at});
    if (one.path.starts_with("orbit.")) inputs.back().step_share = GainInput::step_share_of_quadratures;
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
  const std::vector<std::pair<double, double>> central{
      {2.0, -1.0 / 12}, {1.0, 8.0 / 12}, {-1.0, -8.0 / 12}, {-2.0, 1.0 / 12}};
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

tile::CaseTemplate case_of_gains(const std::string& text) {
  return tile::CaseTemplate(std::string_view(text), "case.yaml", test::shipped_library());
}

/// d ln(output) / d ln(input).
double elasticity(const Gains& gains, const std::string& input, Kind kind) {
  const std::size_t output = *gains.output(kind);
  for (const InputGains& one : gains.inputs) {
    if (one.name == input) return *one.slopes[output] * one.value / gains.outputs[output].value;
  }
  return 0.0;
}

// Slopes against differences of whole answers: what a difference quotient of such answers can resolve.
constexpr double quotient_accuracy = 1e-5;

TEST(SteadyGains, AgreeWithDifferenceQuotientsOfTheWholeAnswers) {
  const tile::CaseTemplate& cases = lamplighter_of_gains();
  std::vector<GainInput> inputs = inputs_of(cases);
  // Shares that must add up to a whole cannot be moved alone.
  std::erase_if(inputs, [](const GainInput& one) { return one.name.find("absorbed_in") != std::string::npos; });
  const SteadyGains gains = steady_gains(cases.as_written().description, inputs);
  const std::vector<double> now = steady_outputs(cases.as_written().description);
  ASSERT_EQ(gains.outputs.size(), now.size());
  int compared = 0;
  for (std::size_t i = 0; i < inputs.size(); ++i) {
    const Eigen::VectorXd slopes = gains.slopes.col(static_cast<Eigen::Index>(i));
    ASSERT_TRUE(slopes.allFinite()) << inputs[i].name;
    const double per = inputs[i].value != 0.0 ? std::abs(inputs[i].value) : 1.0;
    if ((slopes * per).cwiseAbs().maxCoeff() < 1e-9) continue;
    const std::vector<double> other = quotient(inputs[i], steady_outputs, 1e-4);
    for (std::size_t k = 0; k < now.size(); ++k) {
      const double slope = slopes[static_cast<Eigen::Index>(k)];
      // The quotient itself is not better than the digits of the answers over its step.
      const double digits = 1e-7 * std::max(1.0, std::abs(now[k])) / per;
      EXPECT_NEAR(slope, other[k], quotient_accuracy * std::abs(other[k]) + digits)
          << inputs[i].name << ", output " << k;
      compared += std::abs(slope) > 100.0 * digits ? 1 : 0;
    }
  }
  EXPECT_GT(compared, 500);
}

TEST(SteadyGains, OfAnInputThatCannotBeMovedAreNotNumbers) {
  const tile::CaseTemplate& cases = lamplighter_of_gains();
  const GainInput share = named(inputs_of(cases), "surfaces.front.absorbed_in[0].share");
  EXPECT_TRUE(steady_gains(cases.as_written().description, {share}).slopes.array().isNaN().all());
  const Gains all = gains(cases.as_written().description, {share}, {.duty = false, .regime_ends = 0});
  ASSERT_EQ(all.inputs.size(), 1u);
  EXPECT_NE(all.inputs[0].why_none.find("100 %"), std::string::npos) << all.inputs[0].why_none;
}

void expect_duty_slopes(const tile::CaseTemplate& cases, const std::vector<tile::Override>& tight,
                        const std::vector<std::string>& names, double share, double accuracy = quotient_accuracy) {
  const std::vector<GainInput> all = inputs_of(cases, tight);
  std::vector<GainInput> inputs;
  for (const std::string& name : names) inputs.push_back(named(all, name));
  const Gains result = gains(cases.with(tight).description, inputs, {.regime_ends = 0});
  ASSERT_EQ(result.duty_note, "");
  const std::size_t duty = *result.output(Kind::duty);
  const auto light = result.output(Kind::duty_light);
  const auto outputs = [](const tile::Case& one) {
    tile::TileSystem system(one);
    const SustainableDuty found = sustainable_duty(system, one.beam->pattern->every_s);
    return std::vector<double>{found.fraction, found.mean_light_W};
  };
  ASSERT_EQ(result.inputs.size(), inputs.size());
  for (std::size_t i = 0; i < inputs.size(); ++i) {
    const std::vector<double> other = quotient(inputs[i], outputs, share);
    EXPECT_NEAR(*result.inputs[i].slopes[duty] / other[0], 1.0, accuracy) << inputs[i].name;
    if (light) {
      EXPECT_NEAR(*result.inputs[i].slopes[*light] / other[1], 1.0, accuracy) << inputs[i].name;
    }
  }
}

TEST(GainsOfTheDuty, AgreeWithDifferenceQuotients) {
  // Tight, for a quotient of what is searched for. The lasers begin short of sunlight: a corner in every pulse, over which
  // steps go, and which moves with the drive most of all.
  const std::vector<tile::Override> tight{{"accuracy.relative", 1e-9}, {"accuracy.absolute", 1e-7}};
  expect_duty_slopes(lamplighter_of_gains(), tight,
                     {"sun.distance", "beam.every", "joins[1].conductance", "limits.west.junction.below",
                      "materials.solids.aluminium_6061_t6.heat_capacity.factor"},
                     1e-4);
  expect_duty_slopes(lamplighter_of_gains(), {{"accuracy.relative", 1e-11}, {"accuracy.absolute", 1e-9}}, {"beam.drive"}, 1e-4);
}

TEST(GainsOfTheDuty, AgreeWithDifferenceQuotientsAroundAPlanet) {
  const tile::CaseTemplate cases = case_of_gains(R"(tileflux: 1
title: plate around a planet
sun: {tilt: 0 deg}
orbit: {body: earth, altitude: 550 km, beta: 20 deg}
parts: {plate: {heat_capacity: 20 kJ/K}, lid: {massless: yes}}
joins: [{between: [plate, lid], conductance: 8 W/K}]
surfaces:
  front: {on: plate, area: 1 m2, emittance: 80 %, absorptance: 60 %, facing: front}
  rear: {on: lid, area: 1 m2, emittance: 85 %, absorptance: 30 %, facing: rear}
loads: [{on: lid, power: 600 W, when: beam_on}]
limits: {plate: {below: 335 K}}
beam: {on: 5 min, per_orbit: 3, first: 10 min}
accuracy: {relative: 1e-9, absolute: 1e-7 K}
)");
  // The altitude makes the whole cycle longer, and the pulses with it. What the plate sees of the planet comes from
  // quadratures, and a quotient of them is known to fewer digits.
  constexpr double of_quadratures = 1e-3;
  expect_duty_slopes(cases, {}, {"parts.plate.heat_capacity", "orbit.altitude", "beam.first"}, 3e-4, of_quadratures);
}

TEST(GainsOverARun, AgreeWithDifferenceQuotients) {
  const tile::CaseTemplate& cases = lamplighter_of_gains();
  const std::vector<tile::Override> tight{
      {"accuracy.relative", 1e-9}, {"accuracy.absolute", 1e-7}, {"run.duration", 1400.0}};
  const std::vector<GainInput> all = inputs_of(cases, tight);
  std::vector<GainInput> inputs;
  for (const char* name : {"sun.distance", "beam.on", "beam.every", "parts.bench.mass", "lasers.west.resistance",
                           "limits.west.junction.throttle_from", "surfaces.rear.area"})
    inputs.push_back(named(all, name));
  const Gains result = gains(cases.with(tight).description, inputs, {.run = true, .duty = false, .regime_ends = 0});
  ASSERT_EQ(result.run_note, "");
  const std::size_t first = *result.output(Kind::run_light);
  const auto outputs = [](const tile::Case& one) {
    tile::TileSystem system(one);
    const RunResult found = run(system, nullptr);
    std::vector<double> numbers{found.mean_light_W};
    for (const Margin& margin : found.margins) numbers.push_back(margin.margin);
    return numbers;
  };
  ASSERT_EQ(result.inputs.size(), inputs.size());
  int compared = 0;
  for (const InputGains& input : result.inputs) {
    const std::vector<double> other = quotient(named(all, input.name), outputs, 1e-4);
    ASSERT_EQ(first + other.size(), result.outputs.size());
    for (std::size_t k = 0; k < other.size(); ++k) {
      // Extremes of a run are known to what its steps are.
      const double digits = 1e-3 / input.value;
      EXPECT_NEAR(*input.slopes[first + k], other[k], quotient_accuracy * std::abs(other[k]) + digits)
          << input.name << ", output " << k;
      compared += std::abs(other[k]) > 100.0 * digits ? 1 : 0;
    }
  }
  EXPECT_GT(compared, 20);
}

TEST(GainsOverARun, AreNotMadeUpWhereTemperaturesSwitch) {
  const tile::CaseTemplate cases(std::string(TILEFLUX_PROJECT_DIR "/cases/cold_night/case.yaml"), test::shipped_library());
  const Gains result = gains(cases.as_written().description, {}, {.run = true, .duty = false, .regime_ends = 0});
  EXPECT_NE(result.run_note.find("thermostats"), std::string::npos) << result.run_note;
  EXPECT_FALSE(result.output(Kind::run_margin));
}

/// The day on battery and sun with another battery.
tile::CaseTemplate battery_day_of_gains(const std::string& battery) {
  std::string text = test::read_file(TILEFLUX_PROJECT_DIR "/cases/battery_day/case.yaml");
  const std::string as_written = "capacity: 400 Wh";
  text.replace(text.find(as_written), as_written.size(), battery);
  return case_of_gains(text + "accuracy: {relative: 1e-8, absolute: 1e-6 K}\n");
}

/// The search for a duty lets the lasers lack 1e-7 of what they ask for, so a quotient of what it finds has fewer
/// digits.
constexpr double of_tolerated_shortage = 1e-3, wide_share = 3e-2;

TEST(GainsOfTheDuty, WhereTheBatteryIsTooSmallAgreeWithDifferenceQuotients) {
  expect_duty_slopes(battery_day_of_gains("capacity: 400 Wh"), {}, {"battery.capacity", "beam.every"}, wide_share,
                     of_tolerated_shortage);
}

TEST(GainsOfTheDuty, WhereTheBatteryLosesChargeByItselfAgreeWithDifferenceQuotients) {
  expect_duty_slopes(battery_day_of_gains("capacity: 4 MJ\n  self_discharge: 8 %/day"), {},
                     {"battery.self_discharge", "battery.depth_of_discharge"}, wide_share, of_tolerated_shortage);
}

TEST(GainsOfTheDuty, WhereARateBindsAgreeWithDifferenceQuotients) {
  // Cooling when the load goes off, from where the cycle has brought the plate.
  const tile::CaseTemplate cases = case_of_gains(R"(tileflux: 1
title: plate that may not cool too fast
sun: {distance: 1 AU, tilt: 0 deg}
parts: {plate: {heat_capacity: 2 kJ/K}, lid: {heat_capacity: 3 kJ/K}}
joins: [{between: [plate, lid], conductance: 8 W/K}]
surfaces:
  front: {on: plate, area: 1 m2, emittance: 80 %, absorptance: 30 %, sunlit: yes}
  rear: {on: lid, area: 1 m2, emittance: 85 %}
loads: [{on: plate, power: 300 W, when: beam_on}]
limits: {plate: {rate_below: 7 K/min}, lid: {below: 2.5 degC}}
beam: {on: 10 s, every: 20 s}
accuracy: {relative: 1e-10, absolute: 1e-8 K}
)");
  expect_duty_slopes(
      cases, {}, {"parts.plate.heat_capacity", "loads[0].power", "surfaces.rear.emittance", "limits.plate.rate_below"},
      1e-4);
}

TEST(GainsOfTheDuty, WhereEveryJouleIsKeptAgreeWithDifferenceQuotients) {
  expect_duty_slopes(battery_day_of_gains("capacity: 4 MJ"), {}, {"housekeeping.power"}, wide_share, 1e-4);
}

/// Lasers on a radiator that alone takes their heat, with more than enough electricity from cells elsewhere:
/// light = heat eta / (1 - eta), with the heat that the radiator rejects at the limit.
std::string heat_limited(double efficiency) {
  return R"(tileflux: 1
title: heat-limited
sun: {distance: 1 AU}
space: 1 K
parts: {radiator: {heat_capacity: 2 kJ/K}, panel: {heat_capacity: 2 kJ/K}}
surfaces: {face: {on: radiator, area: 1 m2, emittance: 88 %}, front: {on: panel, area: 20 m2, emittance: 85 %, absorptance: 90 %, sunlit: yes}}
cells: {surface: front, on: panel, efficiency: 30 %, slope: 0 %/K}
lasers:
  main: {mount: radiator, modules: 40, resistance: 0.5 K/W, table: {rated_input: 80 W, efficiency: )" +
         std::to_string(efficiency) + R"(}}
limits: {radiator: {below: 330 K}}
beam: {drive: 100 %}
)";
}

TEST(Gains, OfAHeatLimitedTileAreOneOverTheLoss) {
  // dlnP/dln(eta) = 1/(1 - eta): by hand from P = q eta / (1 - eta).
  for (const double efficiency : {0.5, 0.7}) {
    const tile::CaseTemplate cases = case_of_gains(heat_limited(efficiency));
    const Gains result = gains(cases.as_written().description, inputs_of(cases), {.duty = false});
    const double heat_W = 0.88 * 5.670374419e-8 * (std::pow(330.0, 4) - 1.0);
    EXPECT_NEAR(result.outputs[*result.output(Kind::light)].value, heat_W * efficiency / (1.0 - efficiency), 1e-6);
    EXPECT_NEAR(elasticity(result, "lasers.main.table.efficiency", Kind::light), 1.0 / (1.0 - efficiency), 1e-7);
    EXPECT_NEAR(elasticity(result, "surfaces.face.area", Kind::light), 1.0, 1e-7);
    // 4 T^4/(T^4 - Ts^4), the sink at 1 K.
    EXPECT_NEAR(elasticity(result, "limits.radiator.below", Kind::light), 4.0 / (1.0 - std::pow(330.0, -4)), 1e-6);
    ASSERT_EQ(result.steps.size(), 2u);
    EXPECT_EQ(result.steps[1].name, "laser");
    EXPECT_NEAR(result.steps[1].efficiency, efficiency, 1e-9);
    EXPECT_NEAR(result.steps[1].light_W, 0.01 * heat_W / ((1.0 - efficiency) * (1.0 - efficiency)), 1e-4);
  }
}

TEST(Gains, OfASunLimitedTileAreOne) {
  const tile::CaseTemplate cases = case_of_gains(R"(tileflux: 1
title: sun-limited
sun: {distance: 1 AU}
parts: {panel: {heat_capacity: 3 kJ/K}}
surfaces: {front: {on: panel, area: 1 m2, emittance: 85 %, absorptance: 90 %, sunlit: yes}, rear: {on: panel, area: 1 m2, emittance: 88 %}}
cells: {surface: front, on: panel, efficiency: 30 %, slope: 0 %/K}
lasers: {main: {mount: panel, modules: 40, resistance: 0.5 K/W, table: {rated_input: 80 W, efficiency: 50 %}}}
limits: {panel: {below: 400 K}}
beam: {drive: 100 %}
)");
  const Gains result = gains(cases.as_written().description, inputs_of(cases), {.duty = false});
  EXPECT_EQ(result.balance.beam_on->regime, Regime::sun_limited);
  EXPECT_NEAR(elasticity(result, "lasers.main.table.efficiency", Kind::light), 1.0, 1e-7);
  EXPECT_NEAR(elasticity(result, "cells.efficiency", Kind::light), 1.0, 1e-7);
  EXPECT_NEAR(elasticity(result, "sun.distance", Kind::light), -2.0, 1e-7);
  // No light follows the radiator here; the margin does.
  EXPECT_EQ(elasticity(result, "surfaces.rear.area", Kind::light), 0.0);
  EXPECT_EQ(result.radiator->surface, "rear");
}

TEST(Gains, OfTheRadiatorHoldTheTemperature) {
  // Q = A eps sigma T^4: with T held the area goes with the power.
  const tile::CaseTemplate cases = case_of_gains(R"(tileflux: 1
title: plate
sun: {distance: 1 AU, irradiance_at_1AU: 0 W/m2}
space: 1 K
parts: {plate: {material: aluminium_6061_t6, mass: 3 kg}}
surfaces: {face: {on: plate, area: 2 m2, emittance: 80 %}}
loads: [{on: plate, power: 700 W}]
limits: {plate: {below: 350 K}}
)");
  const Gains result = gains(cases.as_written().description, inputs_of(cases), {});
  EXPECT_NEAR(elasticity(result, "loads[0].power", Kind::radiator_area), 1.0, 1e-7);
  EXPECT_NEAR(elasticity(result, "surfaces.face.emittance", Kind::radiator_area), -1.0, 1e-7);
  EXPECT_NEAR(*result.radiator->areal_mass_kg_per_m2, 1.5, 1e-12);
  EXPECT_FALSE(result.output(Kind::light));
  EXPECT_NE(std::find(result.without_effect.begin(), result.without_effect.end(),
                      "materials.solids.aluminium_6061_t6.heat_capacity.factor"),
            result.without_effect.end());
}

TEST(Gains, TellWhereTheRegimeEnds) {
  const tile::CaseTemplate& cases = lamplighter_of_gains();
  const Gains result =
      gains(cases.as_written().description, {named(inputs_of(cases), "surfaces.rear.area")}, {.duty = false});
  ASSERT_EQ(result.inputs.size(), 1u);
  const InputGains& area = result.inputs[0];
  ASSERT_TRUE(area.below && area.above);
  EXPECT_EQ(area.above->from, "heat-limited");
  EXPECT_EQ(area.above->to, "drive-limited");
  const GainInput input = named(inputs_of(cases), "surfaces.rear.area");
  const auto regime_at = [&](double value) { return balance(input.case_at(value)).beam_on->regime; };
  constexpr double beside = 1e-5;
  EXPECT_EQ(regime_at(area.above->value * (1.0 - beside)), Regime::heat_limited);
  EXPECT_EQ(regime_at(area.above->value * (1.0 + beside)), Regime::drive_limited);
  const auto binds_at = [&](double value) {
    const Balance found = balance(input.case_at(value));
    return limits_over_states(found.beam_off, found.beam_on).binding->margin.node;
  };
  EXPECT_EQ(binds_at(area.below->value * (1.0 + beside)), "west.junction");
  EXPECT_EQ(binds_at(area.below->value * (1.0 - beside)), "computer");
}

TEST(Gains, CompareLasersAtTheEfficienciesAskedFor) {
  const tile::CaseTemplate& cases = lamplighter_of_gains();
  GainOptions options{.duty = false, .laser_efficiencies = {0.35, 0.5, 0.69, 0.999}, .regime_ends = 0};
  const Gains result = gains(cases.as_written().description, {}, options);
  ASSERT_EQ(result.lasers.size(), 5u);
  for (std::size_t i = 0; i < 3; ++i) EXPECT_LT(result.lasers[i].usable_light_W, result.lasers[i + 1].usable_light_W);
  EXPECT_NEAR(result.lasers[0].efficiency, 0.35, 1e-10);
  EXPECT_NEAR(result.lasers[1].efficiency, 0.5, 1e-10);
  EXPECT_TRUE(result.lasers[2].present);
  EXPECT_DOUBLE_EQ(result.lasers[2].usable_light_W, result.balance.usable_laser_W);
  EXPECT_NEAR(result.lasers[3].efficiency, 0.69, 1e-10);
  EXPECT_TRUE(result.lasers[4].trouble || result.lasers[4].efficiency > 0.998);
  // With that area of the radiator the whole command is just kept up.
  tile::Case larger = cases.as_written().description;
  for (tile::Bank& bank : larger.lasers) bank.devices.light_factor = result.lasers[1].light_factor;
  for (tile::Surface& surface : larger.surfaces) {
    if (surface.name == result.radiator->surface) surface.area_m2 = *result.lasers[1].area_m2;
  }
  tile::TileSystem system(larger);
  EXPECT_NEAR(continuous_rating(system).drive, 1.0, 1e-8);
}

TEST(Why, RanksChangesAndWeakValues) {
  const tile::CaseTemplate cases = case_of_gains(heat_limited(0.5));
  std::vector<WeighedInput> inputs;
  for (const GainInput& one : inputs_of(cases)) {
    WeighedInput input{one, !one.name.starts_with("limits."), {}, {}, {}, {}};
    if (one.name == "surfaces.face.area") input.kg_per_unit = 4.0;
    if (one.name == "surfaces.face.emittance") input = {one, true, {}, 0.05, "memory", "5 %"};
    if (one.name == "surfaces.front.area") input = {one, true, {}, {}, "published", "unknown"};
    inputs.push_back(input);
  }
  const Why found = why(cases.as_written().description, inputs);
  EXPECT_EQ(found.regime, Regime::heat_limited);
  EXPECT_EQ(found.binding->margin.node, "radiator");
  ASSERT_TRUE(found.of_light);
  // P = q eta/(1 - eta): one per cent of eta is worth twice one per cent of q = eps sigma A T^4.
  const double light_W = 0.88 * 5.670374419e-8 * (std::pow(330.0, 4) - 1.0);
  ASSERT_GE(found.per_cent.size(), 3u);
  EXPECT_EQ(found.per_cent[0].input, "lasers.main.table.efficiency");
  EXPECT_NEAR(found.per_cent[0].gained, 0.02 * light_W, 1e-5);
  EXPECT_EQ(found.per_cent[1].input, "lasers.main.light_factor");
  EXPECT_NEAR(found.per_cent[2].gained, 0.01 * light_W, 1e-5);
  ASSERT_EQ(found.per_kg.size(), 1u);
  EXPECT_NEAR(found.per_kg[0].gained, light_W / 4.0, 1e-4);  // of 1 m2
  ASSERT_EQ(found.weak.size(), 1u) << "no light hangs on the cells' area here";
  EXPECT_EQ(found.weak[0].share, memory_share);
  EXPECT_TRUE(found.weak[0].taken_otherwise);
  EXPECT_NEAR(found.weak[0].matters, memory_share * light_W, 1e-4);
}

}  // namespace tileflux::studies::gains_test
