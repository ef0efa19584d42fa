#include "tileflux/environment/spectrum.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <vector>

#include "tileflux/base/errors.h"

namespace tileflux::environment::spectrum_test {

constexpr double promised = 1e-14;
constexpr double hot_K = 1000.0;

TEST(BlackBody, HasAQuarterOfItsRadiationBelowThePeakOfItsSpectrum) {
  // Textbook value below Wien's peak, x = 4.965114231744276: 0.25005.
  constexpr double half_a_digit = 1e-5;
  EXPECT_NEAR(black_body_share_below(second_radiation_constant_m_K / 4.965114231744276 / hot_K, hot_K), 0.25005, half_a_digit);
}

TEST(BlackBody, RisesAsPlancksLawSays) {
  // The difference quotient of the share over x is the integrand 15/pi^4 x^3/(e^x - 1).
  for (const double x : {0.05, 0.2999, 0.3001, 1.0, 5.0, 20.0}) {
    const double step = 1e-4 * x;
    const auto share = [](double at) { return black_body_share_below(second_radiation_constant_m_K / at / hot_K, hot_K); };
    const double quotient = (share(x - step) - share(x + step)) / (2.0 * step);
    const double planck = 15.0 / std::pow(std::numbers::pi, 4) * x * x * x / std::expm1(x);
    constexpr double of_the_quotient = 1e-6;
    EXPECT_NEAR(quotient / planck, 1.0, of_the_quotient) << x;
  }
}

TEST(BlackBody, GoesOnWhereOneSeriesTakesOverFromTheOther) {
  constexpr double switch_over = 0.3, hair = 1e-13;
  const auto share = [](double at) { return black_body_share_below(second_radiation_constant_m_K / at / hot_K, hot_K); };
  EXPECT_NEAR(share(switch_over - hair), share(switch_over + hair), 2.0 * promised);
}

TEST(BlackBody, HasNothingAtTheShortEndAndAllAtTheLongOne) {
  EXPECT_EQ(black_body_share_below(0.0, hot_K), 0.0);
  EXPECT_EQ(black_body_share_below(1e-9, hot_K), 0.0);
  EXPECT_EQ(black_body_share_below(std::numeric_limits<double>::infinity(), hot_K), 1.0);
}

TEST(BlackBody, IsRefusedWithoutTemperature) {
  EXPECT_THROW(black_body_share_below(1e-6, 0.0), Error);
  EXPECT_THROW(black_body_share_below(-1e-6, 300.0), Error);
}

TEST(SpectralMean, OfAGreySurfaceIsItsValue) {
  const std::vector<SpectralBand> grey{{0.0, 3e-6, 0.4}, {3e-6, std::numeric_limits<double>::infinity(), 0.4}};
  for (const double temperature_K : {200.0, 1000.0, sun_temperature_K}) EXPECT_NEAR(spectral_mean(grey, temperature_K), 0.4, promised);
}

TEST(SpectralMean, OfASelectiveSurfaceDiffersInSunlightAndInfrared) {
  const std::vector<SpectralBand> white{{0.0, 3e-6, 0.1}, {3e-6, std::numeric_limits<double>::infinity(), 0.9}};
  EXPECT_LT(spectral_mean(white, sun_temperature_K), 0.13);
  EXPECT_GT(spectral_mean(white, 300.0), 0.89);
}

TEST(SpectralMean, IsRefusedForBandsThatOverlapOrRunBackwards) {
  EXPECT_THROW(spectral_mean(std::vector<SpectralBand>{{0.0, 3e-6, 0.1}, {2e-6, 4e-6, 0.9}}, 300.0), Error);
  EXPECT_THROW(spectral_mean(std::vector<SpectralBand>{{3e-6, 1e-6, 0.1}}, 300.0), Error);
}

}  // namespace tileflux::environment::spectrum_test
