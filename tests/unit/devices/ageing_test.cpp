#include "tileflux/devices/ageing.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "support/random_values.h"

namespace tileflux::devices::ageing_test {

/// A few products and an exponential of an argument up to 30, relative.
constexpr double round_off = 1e-13;
constexpr double year_s = 365.25 * 86400.0;

/// The state after a time by the classical Runge-Kutta method of order 4 in 1000 steps: error (step / time constant)^4 or
/// below 1e-11 where the time is a few time constants.
constexpr double runge_kutta_error = 1e-11;
template <class Rate>
double integrate(double y, double duration_s, Rate&& rate) {
  constexpr int steps = 1000;
  const double h = duration_s / steps;
  for (int i = 0; i < steps; ++i) {
    const double a = rate(y), b = rate(y + 0.5 * h * a), c = rate(y + 0.5 * h * b), d = rate(y + h * c);
    y += h / 6.0 * (a + 2.0 * b + 2.0 * c + d);
  }
  return y;
}

TEST(Arrhenius, IsOneAtTheReferenceAndWithoutActivationEnergy) {
  EXPECT_EQ((ArrheniusLaw{0.5, 298.15}.factor(298.15)), 1.0);
  EXPECT_EQ((ArrheniusLaw{0.0, 298.15}.factor(400.0)), 1.0);
  EXPECT_GT((ArrheniusLaw{0.5, 298.15}.factor(310.0)), 1.0);
  EXPECT_LT((ArrheniusLaw{0.5, 298.15}.factor(280.0)), 1.0);
}

RC_GTEST_PROP(Arrhenius, FactorsOfTwoStepsMultiply, ()) {
  const double a = test::between(200.0, 400.0), b = test::between(200.0, 400.0), c = test::between(200.0, 400.0);
  const double whole = ArrheniusLaw{0.7, a}.factor(c);
  RC_ASSERT(std::abs(ArrheniusLaw{0.7, a}.factor(b) * ArrheniusLaw{0.7, b}.factor(c) - whole) <= 10.0 * round_off * whole);
}

TEST(CellFading, FollowsTheExponential) {
  const CellFading law{.share_per_s = 0.02 / year_s, .temperature = {0.6, 320.0}};
  const double factor = ArrheniusLaw{0.6, 320.0}.factor(340.0);
  const double after = integrate(1.0, 10.0 * year_s, [&](double D) { return law.rate_per_s(D, 340.0); });
  EXPECT_NEAR(after, std::exp(-0.2 * factor), runge_kutta_error);
}

TEST(RadiationDamage, AsARateGivesTheLogarithmOfTheFluence) {
  const RadiationDamage law{.share_per_decade = 0.2, .knee_per_m2 = 2e18, .flux_per_m2_s = 1e19 / (15.0 * year_s)};
  const double after = integrate(1.0, 15.0 * year_s, [&](double D) { return law.rate_per_s(D); });
  EXPECT_NEAR(after, law.remaining_at(1e19), runge_kutta_error);
  EXPECT_EQ(law.remaining_at(0.0), 1.0);
  EXPECT_NEAR(law.remaining_at(9.0 * 2e18), 0.8, round_off);  // one decade
}

TEST(AbsorptanceGrowth, ApproachesItsEndInTheLightOnly) {
  const AbsorptanceGrowth law{.end = 0.3, .time_constant_s = year_s};
  const double after = integrate(0.1, 2.0 * year_s, [&](double a) { return law.rate_per_s(a, 0.6); });
  EXPECT_NEAR(after, 0.3 - 0.2 * std::exp(-1.2), runge_kutta_error);
  EXPECT_EQ(law.rate_per_s(0.1, 0.0), 0.0);
  EXPECT_EQ(law.rate_per_s(0.3, 1.0), 0.0);
}

const DiodeWear wear{.rate_per_s = 0.02 / year_s, .temperature = {0.5, 313.15}, .drive_exponent = 2.0};

TEST(DiodeWear, GrowsWithDriveAndTemperature) {
  EXPECT_DOUBLE_EQ(wear.wear_per_s(313.15, 1.0), 0.02 / year_s);
  EXPECT_NEAR(wear.wear_per_s(313.15, 0.5) / wear.wear_per_s(313.15, 1.0), 0.25, round_off);
  EXPECT_NEAR(wear.life_s(0.2, 313.15, 1.0), 10.0 * year_s, round_off * 10.0 * year_s);
  EXPECT_LT(wear.life_s(0.2, 333.15, 1.0), 0.5 * wear.life_s(0.2, 313.15, 1.0));
}

TEST(DiodeWear, IsNoneAtRestWhateverTheExponent) {
  for (const double exponent : {0.0, 0.5, 2.0}) {
    DiodeWear law = wear;
    law.drive_exponent = exponent;
    EXPECT_EQ(law.wear_per_s(350.0, 0.0), 0.0);
    const Dual<2> rate = law.wear_per_s(variable<2>(350.0, 0), variable<2>(0.0, 1));
    EXPECT_EQ(rate.derivatives()[0], 0.0);
    EXPECT_EQ(rate.derivatives()[1], 0.0);
  }
}

TEST(DiodeWear, TakesLightDownToNone) {
  EXPECT_EQ(DiodeWear::light_factor(0.0), 1.0);
  EXPECT_EQ(DiodeWear::light_factor(0.25), 0.75);
  EXPECT_EQ(DiodeWear::light_factor(1.5), 0.0);
}

RC_GTEST_PROP(Ageing, DerivativesEqualDifferenceQuotients, ()) {
  const double T = test::temperature_between(250, 400), share = test::between(0.1, 1.0);
  const auto check = [T, share](const Dual<2>& exact, auto f, double size) {
    const double by_temperature = test::difference_quotient([&](double t) { return f(t, share); }, T);
    const double by_share = test::difference_quotient([&](double x) { return f(T, x); }, share);
    // E_a / k T is up to 28: third derivatives are its cube larger than f / T^3.
    constexpr double steepness = 28.0 * 28.0 * 28.0 / 100.0;
    RC_ASSERT(std::abs(exact.derivatives()[0] - by_temperature) <= steepness * test::difference_error(size, T));
    RC_ASSERT(std::abs(exact.derivatives()[1] - by_share) <= test::difference_error(size, share));
  };
  const auto worn = [](const auto& t, const auto& x) { return wear.wear_per_s(t, x); };
  check(wear.wear_per_s(variable<2>(T, 0), variable<2>(share, 1)), worn, wear.wear_per_s(T, share));
  const CellFading fading{1e-9, {0.6, 320.0}};
  const auto faded = [&](double t, double x) { return fading.rate_per_s(x, t); };
  check(fading.rate_per_s(variable<2>(share, 1), variable<2>(T, 0)), faded, -fading.rate_per_s(share, T));
  const RadiationDamage damage{0.2, 2e18, 2e10};
  const Dual<1> rate = damage.rate_per_s(variable<1>(share, 0));
  const double by_share = test::difference_quotient([&](double x) { return damage.rate_per_s(x); }, share);
  // exp(11.5 D): third derivatives are the cube of 11.5 D larger.
  constexpr double steepness = 11.5 * 11.5 * 11.5 / 100.0;
  RC_ASSERT(std::abs(rate.derivatives()[0] - by_share) <= steepness * test::difference_error(-damage.rate_per_s(share), share));
}

TEST(Arrhenius, IsRefusedWithTheTemperaturesTurnedRound) {
  EXPECT_GT((ArrheniusLaw{0.5, 298.15}.factor(338.15)), 9.9);
  EXPECT_LT((ArrheniusLaw{0.5, 338.15}.factor(298.15)), 0.2);
}

}  // namespace tileflux::devices::ageing_test
