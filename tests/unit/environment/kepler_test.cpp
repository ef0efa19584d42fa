#include "tileflux/environment/kepler.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "tileflux/base/constants.h"
#include "tileflux/base/errors.h"

namespace tileflux::environment::kepler_test {

constexpr double pi = std::numbers::pi;
constexpr double asked = 1e-14;      // of the residual of Kepler's equation
constexpr double round_off = 1e-13;  // of some ten operations with angles of a turn

Ellipse earth_year() { return {sun_gravitational_parameter_m3_per_s2, astronomical_unit_m, 0.0167, 0.0}; }

TEST(KeplersEquation, IsSolvedAtEveryEccentricityAndAnomaly) {
  for (const double e : {0.0, 1e-9, 0.0167, 0.3, 0.7, 0.9, 0.99, 0.999999}) {
    for (double mean = -pi; mean <= pi; mean += pi / 90.0) {
      const double anomaly = eccentric_anomaly_rad(mean, e);
      EXPECT_NEAR(anomaly - e * std::sin(anomaly), mean, asked) << e << ' ' << mean;
    }
    for (const double mean : {1e-12, 1e-6, 1e-3}) {
      const double anomaly = eccentric_anomaly_rad(mean, e);
      EXPECT_NEAR(anomaly - e * std::sin(anomaly), mean, asked) << e << ' ' << mean;
    }
  }
}

TEST(KeplersEquation, HasTheMeanAnomalyForACircle) {
  for (double mean = -7.0; mean < 7.0; mean += 0.37) EXPECT_NEAR(eccentric_anomaly_rad(mean, 0.0), mean, asked);
}

TEST(KeplersEquation, CountsWholeTurns) {
  EXPECT_NEAR(eccentric_anomaly_rad(1.0 + 10.0 * pi, 0.4), eccentric_anomaly_rad(1.0, 0.4) + 10.0 * pi, round_off);
}

TEST(KeplersEquation, IsRefusedForWhatIsNoEllipse) {
  for (const double e : {-0.1, 1.0, 1.5, std::nan("")}) EXPECT_THROW(eccentric_anomaly_rad(1.0, e), Error) << e;
  EXPECT_THROW((Ellipse{0.0, 1.0, 0.0, 0.0}).require_sound(), Error);
  EXPECT_THROW((Ellipse{1.0, -1.0, 0.0, 0.0}).require_sound(), Error);
  EXPECT_THROW((Ellipse{1.0, 1.0, 1.0, 0.0}).require_sound(), Error);
  EXPECT_NO_THROW(earth_year().require_sound());
}

TEST(Ellipse, TakesAGaussianYearAroundTheSun) {
  // 365.2568983 days for a body without mass at 1 AU: 2 pi / 0.01720209895 (Gauss's constant of 1809, exact by
  // definition until 2012); IAU's nominal gravity of the Sun has eight digits.
  constexpr double gaussian_year_s = 365.2568983 * 86400.0, eight_digits = 2e-7;
  EXPECT_NEAR(earth_year().period_s() / gaussian_year_s, 1.0, eight_digits);
}

TEST(Ellipse, IsNearestAtPeriapsisAndFarthestHalfAPeriodLater) {
  const Ellipse ellipse = earth_year();
  EXPECT_NEAR(ellipse.distance_m(0.0) / ellipse.periapsis_m(), 1.0, round_off);
  EXPECT_NEAR(ellipse.distance_m(0.5 * ellipse.period_s()) / ellipse.apoapsis_m(), 1.0, round_off);
  EXPECT_NEAR(ellipse.true_anomaly_rad(ellipse.period_s()), 2.0 * pi, round_off);
}

TEST(Ellipse, SweepsEqualAreasInEqualTimes) {
  Ellipse ellipse{3.986e14, 2.4e7, 0.7, 0.3};
  const double area_rate = 0.5 * std::sqrt(ellipse.gravitational_parameter_m3_per_s2 * ellipse.semi_major_axis_m * (1.0 - 0.49));
  constexpr double step_s = 1.0;
  for (double time_s = 0.0; time_s < ellipse.period_s(); time_s += 1234.5) {
    const double swept = ellipse.true_anomaly_rad(time_s + step_s) - ellipse.true_anomaly_rad(time_s - step_s);
    const double r = ellipse.distance_m(time_s);
    constexpr double second_order = 1e-5;  // of two seconds in some hours
    EXPECT_NEAR(0.5 * r * r * swept / (2.0 * step_s) / area_rate, 1.0, second_order);
  }
}

TEST(Ellipse, GivesDistanceByTimeAndByAnomalyAlike) {
  const Ellipse ellipse{3.986e14, 2.4e7, 0.7, 1.1};
  for (double time_s = -1e5; time_s < 1e5; time_s += 3333.0) {
    const double anomaly = ellipse.true_anomaly_rad(time_s);
    EXPECT_NEAR(ellipse.distance_at_m(anomaly) / ellipse.distance_m(time_s), 1.0, round_off * 10.0);
    constexpr double round_off_s = 1e-8;  // of an anomaly of several turns
    EXPECT_NEAR(ellipse.time_at_s(anomaly), time_s, round_off_s);
  }
}

TEST(Ellipse, MeetsOnAverageTheSunlightOfTheClosedForm) {
  // The mean of 1/r^2 over time is 1 / (a^2 sqrt(1 - e^2)), from the integral of areas.
  for (const double e : {0.0167, 0.2056, 0.6}) {
    const Ellipse ellipse{1.0, 1.0, e, 0.0};
    double sum = 0.0;
    constexpr int samples = 400;  // equal steps of a periodic function: error falls exponentially
    for (int i = 0; i < samples; ++i) sum += std::pow(ellipse.distance_m(ellipse.period_s() * i / samples), -2.0);
    constexpr double round_off_of_a_sum = 1e-12;
    EXPECT_NEAR(sum / samples, 1.0 / std::sqrt(1.0 - e * e), round_off_of_a_sum) << e;
  }
}

TEST(Ellipse, MovesLinearlyInTimeIfTheEquationOfKeplerIsLeftOut) {
  const Ellipse ellipse{1.0, 1.0, 0.2, 0.0};
  EXPECT_GT(std::abs(ellipse.true_anomaly_rad(1.0) - 1.0), 0.1) << "the control: mean and true anomaly differ";
}

}  // namespace tileflux::environment::kepler_test
