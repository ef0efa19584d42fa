#include "tileflux/network/laws.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "support/random_values.h"

namespace tileflux::network::laws_test {

/// Sums and products of a few doubles, relative to the largest term.
constexpr double round_off = 1e-14;
constexpr double sigma = stefan_boltzmann_W_per_m2_K4;

PropertyTable conductivity() { return PropertyTable({100.0, 250.0, 400.0}, {2.0, 5.0, 4.0}); }

/// Dual derivatives against difference quotients of both ends; `size_W` is that of the law's largest term.
template <class Law>
void check_derivatives(const Law& law, double a_K, double b_K, double size_W) {
  const Dual<2> q = law.flow(variable<2>(a_K, 0), variable<2>(b_K, 1));
  const double by_a = test::difference_quotient([&](double t) { return law.flow(t, b_K); }, a_K);
  const double by_b = test::difference_quotient([&](double t) { return law.flow(a_K, t); }, b_K);
  RC_ASSERT(q.value() == law.flow(a_K, b_K));
  RC_ASSERT(std::abs(q.derivatives()[0] - by_a) <= test::difference_error(size_W, a_K));
  RC_ASSERT(std::abs(q.derivatives()[1] - by_b) <= test::difference_error(size_W, b_K));
}

TEST(Conductance, CarriesHeatFromWarmToCold) {
  EXPECT_DOUBLE_EQ((Conductance{2.0}.flow(310.0, 300.0)), 20.0);
  EXPECT_DOUBLE_EQ((Conductance{2.0}.flow(300.0, 310.0)), -20.0);
}

TEST(Conduction, WithConstantConductivityIsAConductance) {
  EXPECT_DOUBLE_EQ((Conduction{PropertyTable(2.0)}.flow(310.0, 300.0)), 20.0);
}

TEST(Conduction, TakesTheIntegralMeanOfTheConductivity) {
  // From 200 to 300 K: k = 4 at 200, 5 at 250, 4.667 at 300; integral 50 x 4.5 + 50 x 4.8333 = 466.67.
  EXPECT_NEAR((Conduction{conductivity()}.flow(300.0, 200.0)), 50.0 * 4.5 + 50.0 * (5.0 + 14.0 / 3.0) / 2.0, 1e3 * round_off);
}

TEST(LayerConduction, PutsHalvesAndContactInSeries) {
  const LayerConduction law{PropertyTable(10.0), PropertyTable(20.0), 0.05};
  EXPECT_NEAR(law.flow(320.0, 300.0), 20.0 / (0.1 + 0.05 + 0.05), 100.0 * round_off);
}

TEST(LayerConduction, WithoutContactResistanceIsTheTwoHalves) {
  const LayerConduction law{PropertyTable(10.0), PropertyTable(10.0), 0.0};
  EXPECT_NEAR(law.flow(301.0, 300.0), 5.0, 10.0 * round_off);
}

TEST(SwitchedConductance, TakesItsConductanceFromItsFirstEnd) {
  const SwitchedConductance law{PropertyTable({290.0, 300.0}, {0.1, 2.1})};
  EXPECT_NEAR(law.flow(310.0, 280.0), 2.1 * 30.0, 1e2 * round_off);
  EXPECT_NEAR(law.flow(295.0, 280.0), 1.1 * 15.0, 1e2 * round_off);
  EXPECT_NEAR(law.flow(280.0, 310.0), 0.1 * -30.0, 1e2 * round_off);  // open, however warm its second end is
}

TEST(RadiationExchange, IsTheDifferenceOfFourthPowers) {
  EXPECT_NEAR((RadiationExchange{0.5}.flow(400.0, 300.0)), 0.5 * sigma * (2.56e10 - 8.1e9), 1e3 * round_off);
}

TEST(RadiationExchange, OfWideParallelSurfacesHasTheTextbookArea) {
  EXPECT_DOUBLE_EQ(parallel_exchange_area_m2(2.0, 1.0, 1.0), 2.0);                    // black: the area itself
  EXPECT_DOUBLE_EQ(parallel_exchange_area_m2(2.0, 0.8, 0.5), 2.0 / (1.25 + 2.0 - 1.0));
}

TEST(RadiationToSpace, EmitsTheFourthPowerOfTheTemperature) {
  const RadiationToSpace law{0.88, 0.0};
  // 404, 523 and 667 W at 300, 320 and 340 K, printed to the watt.
  constexpr double half_a_printed_watt = 0.5;
  EXPECT_NEAR(law.flow(300.0), 404.0, half_a_printed_watt);
  EXPECT_NEAR(law.flow(320.0), 523.0, half_a_printed_watt);
  EXPECT_NEAR(law.flow(340.0), 667.0, half_a_printed_watt);
  EXPECT_NEAR(law.flow(600.0) / law.flow(300.0), 16.0, 16.0 * round_off);
}

TEST(RadiationToSpace, TakesInWhatSpaceSends) {
  EXPECT_EQ((RadiationToSpace{0.88, 250.0}.flow(250.0)), 0.0);
  EXPECT_LT((RadiationToSpace{0.88, 250.0}.flow(240.0)), 0.0);
}

RC_GTEST_PROP(EveryLaw, CarriesNothingBetweenEqualTemperatures, ()) {
  const double T = test::temperature_between(3, 1000);
  RC_ASSERT(Conductance{3.0}.flow(T, T) == 0.0);
  RC_ASSERT(Conduction{conductivity()}.flow(T, T) == 0.0);
  RC_ASSERT((LayerConduction{conductivity(), PropertyTable(3.0), 0.1}.flow(T, T)) == 0.0);
  RC_ASSERT(SwitchedConductance{conductivity()}.flow(T, T) == 0.0);
  RC_ASSERT(RadiationExchange{0.3}.flow(T, T) == 0.0);
  RC_ASSERT((RadiationToSpace{0.3, T}.flow(T)) == 0.0);
}

RC_GTEST_PROP(EveryLaw, CarriesTheOppositeWithItsEndsExchanged, ()) {
  const double a = test::temperature_between(3, 1000), b = test::temperature_between(3, 1000);
  RC_ASSERT(Conductance{3.0}.flow(a, b) == -Conductance{3.0}.flow(b, a));
  RC_ASSERT(Conduction{conductivity()}.flow(a, b) == -Conduction{conductivity()}.flow(b, a));
  const PropertyTable other(3.0);
  const double there = LayerConduction{conductivity(), other, 0.1}.flow(a, b), back = LayerConduction{other, conductivity(), 0.1}.flow(b, a);
  RC_ASSERT(std::abs(there + back) <= round_off * std::abs(there));
  RC_ASSERT(RadiationExchange{0.3}.flow(a, b) == -RadiationExchange{0.3}.flow(b, a));
}

RC_GTEST_PROP(EveryLaw, CarriesHeatFromWarmToCold, ()) {
  const double a = test::temperature_between(100, 400), b = test::temperature_between(100, 400);
  RC_PRE(a > b);
  RC_ASSERT(Conductance{3.0}.flow(a, b) > 0.0);
  RC_ASSERT(Conduction{conductivity()}.flow(a, b) > 0.0);
  RC_ASSERT((LayerConduction{conductivity(), PropertyTable(3.0), 0.1}.flow(a, b)) > 0.0);
  RC_ASSERT(SwitchedConductance{conductivity()}.flow(a, b) > 0.0);
  RC_ASSERT(RadiationExchange{0.3}.flow(a, b) > 0.0);
  RC_ASSERT((RadiationToSpace{0.3, b}.flow(a)) > 0.0);
}

RC_GTEST_PROP(EveryLaw, HasDerivativesThatEqualDifferenceQuotients, ()) {
  const double a = test::temperature_between(60, 600), b = test::temperature_between(60, 600);
  check_derivatives(Conductance{3.0}, a, b, 3.0 * (a + b));
  check_derivatives(Conduction{conductivity()}, a, b, 5.0 * (a + b));
  check_derivatives(LayerConduction{conductivity(), PropertyTable(3.0), 0.1}, a, b, 5.0 * (a + b));
  check_derivatives(SwitchedConductance{conductivity()}, a, b, 5.0 * (a + b));
  check_derivatives(RadiationExchange{0.3}, a, b, 0.3 * sigma * (fourth_power(a) + fourth_power(b)));
  const RadiationToSpace space{0.3, 100.0};
  const double by_a = test::difference_quotient([&](double t) { return space.flow(t); }, a);
  RC_ASSERT(std::abs(space.flow(variable<1>(a, 0)).derivatives()[0] - by_a) <= test::difference_error(0.3 * sigma * (fourth_power(a) + 1e8), a));
}

}  // namespace tileflux::network::laws_test
