#include "tileflux/devices/amplifier.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "support/random_values.h"

namespace tileflux::devices::amplifier_test {

/// A few products and an exponential, relative.
constexpr double round_off = 1e-14;

/// Invented: a narrow absorption peak at 976 nm, as ytterbium has, on a broad foot.
const FibreAmplifierLaw stage{.pump_nm = 976.0, .reference_K = 298.15, .shift_nm_per_K = 0.3,
                              .absorption_per_m = PropertyTable({960.0, 970.0, 976.0, 982.0, 995.0}, {0.15, 0.3, 1.2, 0.3, 0.05}),
                              .length_m = 3.0, .signal_nm = 1064.0, .slope_efficiency = 0.84, .threshold_W = 1.0};

TEST(FibreAmplifier, AbsorbsTheShareOfBeerAndLambert) {
  EXPECT_NEAR(stage.absorbed_share(298.15), 1.0 - std::exp(-3.6), round_off);
  EXPECT_NEAR(stage.flows(100.0, 298.15).unabsorbed, 100.0 * std::exp(-3.6), 100.0 * round_off);
}

TEST(FibreAmplifier, PumpRunsOffThePeakWithTemperature) {
  EXPECT_DOUBLE_EQ(stage.pump_wavelength_nm(318.15), 982.0);
  EXPECT_NEAR(stage.absorbed_share(318.15), 1.0 - std::exp(-0.9), round_off);
  EXPECT_LT(stage.flows(100.0, 318.15).signal, stage.flows(100.0, 298.15).signal);
  EXPECT_LT(stage.flows(100.0, 278.15).signal, stage.flows(100.0, 298.15).signal);
}

TEST(FibreAmplifier, TellsWhereItsAbsorptionIsNotKnown) {
  EXPECT_TRUE(stage.covers(298.15));
  EXPECT_FALSE(stage.covers(298.15 + 20.0 / 0.3));   // 996 nm
  EXPECT_FALSE(stage.covers(298.15 - 17.0 / 0.3));   // 959 nm
  EXPECT_DOUBLE_EQ(stage.absorbed_share(400.0), stage.absorbed_share(500.0));  // the end is held
}

TEST(FibreAmplifier, SignalIsSlopeTimesAbsorbedAboveThreshold) {
  const AmplifierFlows<double> flows = stage.flows(100.0, 298.15);
  EXPECT_NEAR(flows.signal, 0.84 * (flows.absorbed - 1.0), 100.0 * round_off);
  EXPECT_NEAR(flows.quantum_defect, flows.signal * (1064.0 / 976.0 - 1.0), 100.0 * round_off);
}

TEST(FibreAmplifier, BelowThresholdAllThatIsAbsorbedIsHeat) {
  const AmplifierFlows<double> flows = stage.flows(0.5, 298.15);
  EXPECT_EQ(flows.signal, 0.0);
  EXPECT_EQ(flows.quantum_defect, 0.0);
  EXPECT_EQ(flows.other_heat, flows.absorbed);
  EXPECT_EQ(stage.flows(0.0, 298.15).fibre_heat, 0.0);
}

TEST(FibreAmplifier, NoPhotonGivesTwo) {
  FibreAmplifierLaw too_good = stage;
  too_good.slope_efficiency = 1.0;
  too_good.threshold_W = 0.0;
  const AmplifierFlows<double> flows = too_good.flows(100.0, 298.15);
  EXPECT_NEAR(flows.signal / flows.absorbed, 976.0 / 1064.0, round_off);
  EXPECT_NEAR(flows.other_heat, 0.0, 100.0 * round_off);
  too_good.signal_nm = 970.0;  // a pump of less energy than the signal: held at the energy
  EXPECT_NEAR(too_good.flows(100.0, 298.15).fibre_heat, 0.0, 100.0 * round_off);
}

TEST(FibreAmplifier, WithoutFibreAllPumpIsLeftOver) {
  FibreAmplifierLaw none = stage;
  none.length_m = 0.0;
  EXPECT_EQ(none.flows(100.0, 298.15).unabsorbed, 100.0);
}

RC_GTEST_PROP(FibreAmplifier, PumpEndsAsSignalDefectHeatOrIsLeftOver, ()) {
  FibreAmplifierLaw law = stage;
  law.slope_efficiency = test::between(0.0, 1.0);
  const double pump_W = test::between(0.0, 500.0), T = test::between(200.0, 400.0);
  const AmplifierFlows<double> flows = law.flows(pump_W, T);
  const double sum_W = flows.signal + flows.quantum_defect + flows.other_heat + flows.unabsorbed;
  RC_ASSERT(std::abs(sum_W - pump_W) <= round_off * 500.0);
  for (const double part_W : {flows.signal, flows.quantum_defect, flows.unabsorbed}) RC_ASSERT(part_W >= 0.0);
  RC_ASSERT(flows.other_heat >= -round_off * 500.0);
  RC_ASSERT(std::abs(flows.fibre_heat - flows.quantum_defect - flows.other_heat) <= round_off * 500.0);
}

RC_GTEST_PROP(FibreAmplifier, DerivativesEqualDifferenceQuotients, ()) {
  // Whole kelvins from 278.15 K on put the pump within a difference step of no row of the table: 0.3 nm/K, rows at 970, 976, 982 nm.
  const double pump_W = test::between(20.0, 300.0), T = 278.65 + *rc::gen::inRange(0, 39);
  const auto flows = stage.flows(variable<2>(pump_W, 0), variable<2>(T, 1));
  const auto check = [&](const Dual<2>& exact, auto part) {
    const double by_power = test::difference_quotient([&](double p) { return part(stage.flows(p, T)); }, pump_W);
    const double by_temperature = test::difference_quotient([&](double t) { return part(stage.flows(pump_W, t)); }, T);
    RC_ASSERT(std::abs(exact.derivatives()[0] - by_power) <= test::difference_error(pump_W, pump_W));
    // exp(-a L) changes over 1 / (L da/dT) = 7 K, not over a third of T: the third derivative is larger by its cube.
    constexpr double steepness = 1e3;
    RC_ASSERT(std::abs(exact.derivatives()[1] - by_temperature) <= steepness * test::difference_error(pump_W, T));
  };
  check(flows.signal, [](const AmplifierFlows<double>& f) { return f.signal; });
  check(flows.unabsorbed, [](const AmplifierFlows<double>& f) { return f.unabsorbed; });
  check(flows.quantum_defect, [](const AmplifierFlows<double>& f) { return f.quantum_defect; });
  check(flows.other_heat, [](const AmplifierFlows<double>& f) { return f.other_heat; });
}

TEST(FibreAmplifier, IsRefusedWithTheWavelengthShiftTurnedRound) {
  FibreAmplifierLaw wrong = stage;
  wrong.shift_nm_per_K = -0.3;
  constexpr double difference_W = 1.0;  // the peak of `stage` is lopsided from 982 and 970 nm outwards
  EXPECT_GT(std::abs(wrong.flows(100.0, 333.15).signal - stage.flows(100.0, 333.15).signal), difference_W);
}

}  // namespace tileflux::devices::amplifier_test
