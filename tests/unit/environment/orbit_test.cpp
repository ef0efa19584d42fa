#include "tileflux/environment/orbit.h"

#include <gtest/gtest.h>

#include <Eigen/Geometry>
#include <cmath>
#include <numbers>

#include "tileflux/base/errors.h"

namespace tileflux::environment::orbit_test {

constexpr double pi = std::numbers::pi;
constexpr double round_off = 1e-13;               // of some ten operations with angles of a turn
constexpr double round_off_of_turns = 1e-11;      // of angles of several turns, near the pole of a cosine
constexpr double round_off_m = 1e-6;              // of 1e8 m
constexpr double nothing_rad_per_s = 1e-22;       // round-off of rates of 1e-7 rad/s at cos(pi / 2)
double radians(double degrees) { return degrees * pi / 180.0; }

/// The Sun and the plate as vectors, by rotations about the axes: another way to the same angles.
struct Vectors {
  Eigen::Vector3d sun, plate;
};
Vectors vectors(const OrbitPlane& plane, const SunDirection& sun, double true_anomaly_rad) {
  using Eigen::AngleAxisd;
  using Eigen::Vector3d;
  const auto about_z = [](double angle) { return AngleAxisd(angle, Vector3d::UnitZ()); };
  const Vector3d plate = about_z(plane.ascending_node_rad) * AngleAxisd(plane.inclination_rad, Vector3d::UnitX()) *
                         about_z(plane.argument_of_periapsis_rad + true_anomaly_rad) * Vector3d::UnitX();
  const Vector3d to_sun = about_z(sun.right_ascension_rad) * AngleAxisd(-sun.declination_rad, Vector3d::UnitY()) * Vector3d::UnitX();
  return {to_sun, plate};
}

TEST(PlanetOrbit, HasTheSunWhereRotationsPutIt) {
  const Ellipse ellipse{3.986e14, 9e6, 0.2, 0.0};
  for (const double inclination : {0.0, 28.5, 51.6, 98.0, 150.0}) {
    for (const double node : {0.0, 77.0, 200.0}) {
      for (const double season : {0.0, 50.0, 180.0, 271.0}) {
        const OrbitPlane plane{radians(inclination), radians(node), radians(33.0)};
        const SunDirection sun = sun_direction(radians(season), radians(23.44));
        const PlanetOrbit orbit = orbit_of(ellipse, plane, sun);
        for (double anomaly = -3.0; anomaly < 3.0; anomaly += 0.7) {
          const Vectors expected = vectors(plane, sun, anomaly);
          EXPECT_NEAR(std::cos(orbit.at_true_anomaly(anomaly).sun_zenith_rad), expected.sun.dot(expected.plate), round_off);
        }
      }
    }
  }
}

TEST(PlanetOrbit, IsNearestToTheSunAtNoon) {
  const OrbitPlane plane{radians(51.6), radians(40.0), 0.0};
  const SunDirection sun{radians(100.0), radians(-20.0)};
  const PlanetOrbit orbit = orbit_of({3.986e14, 7e6, 0.0, 0.0}, plane, sun);
  const double noon = noon_rad(plane, sun);
  EXPECT_NEAR(orbit.at_true_anomaly(noon).sun_zenith_rad, std::abs(orbit.beta_rad), round_off);
  EXPECT_NEAR(orbit.at_true_anomaly(noon).from_noon_rad, 0.0, round_off);
  EXPECT_NEAR(orbit.at_true_anomaly(noon + pi).sun_zenith_rad, pi - std::abs(orbit.beta_rad), round_off);
}

TEST(PlanetOrbit, AtTheTerminatorNeverLosesTheSun) {
  const PlanetOrbit orbit = circular_orbit(3.986e14, 6.378e6, 8e5, 0.5 * pi);
  for (double time_s = 0.0; time_s < 6000.0; time_s += 500.0) EXPECT_NEAR(orbit.at(time_s).sun_zenith_rad, 0.5 * pi, round_off);
}

TEST(PlanetOrbit, IsRefusedBelowTheSurface) {
  EXPECT_THROW(circular_orbit(3.986e14, 6.378e6, 0.0, 0.0), Error);
  EXPECT_THROW(circular_orbit(3.986e14, 6.378e6, -1e5, 0.0), Error);
}

TEST(PlanetOrbit, BetweenTwoAltitudesReachesBoth) {
  const Ellipse ellipse = ellipse_between(3.986e14, 6.378e6, 3e5, 3.5786e7);
  EXPECT_NEAR(ellipse.periapsis_m(), 6.678e6, round_off_m);
  EXPECT_NEAR(ellipse.apoapsis_m(), 4.2164e7, round_off_m);
  EXPECT_THROW(ellipse_between(3.986e14, 6.378e6, 3e5, 2e5), Error);
  EXPECT_THROW(ellipse_between(3.986e14, 6.378e6, -3e5, 2e5), Error);
}

TEST(BetaOverTime, KeepsWithTheSunInASunSynchronousOrbit) {
  // Node a quarter turn from the Sun all the year; a circular path of the Sun on the equator keeps beta exactly.
  const double rate = 2.0 * pi / (365.25 * 86400.0);
  const BetaOverTime drift{{radians(98.0), radians(90.0), 0.0}, rate, 0.0, rate, 0.0};
  for (double day = 0.0; day < 366.0; day += 40.0) EXPECT_NEAR(drift.at_rad(day * 86400.0), radians(82.0), round_off_of_turns);
  EXPECT_NEAR(drift.mean_rad(0.0, 1e7), radians(82.0), round_off_of_turns);
  const BetaOverTime fixed{{radians(98.0), radians(90.0), 0.0}, 0.0, 0.0, rate, 0.0};
  EXPECT_LT(fixed.at_rad(182.6 * 86400.0), 0.0) << "the control: a node that stands still is lit from the other side";
}

TEST(BetaOverTime, AveragesToNothingOverAYearOfAnEquatorialOrbit) {
  const double year_s = 365.25 * 86400.0;
  const BetaOverTime drift{{}, 0.0, 0.0, 2.0 * pi / year_s, radians(23.44)};
  EXPECT_NEAR(drift.mean_rad(0.0, year_s), 0.0, round_off_of_turns);
  // Half a year: the mean of asin(sin e sin l) over half a turn is 2/pi times Legendre's chi function of
  // k = sin e, the sum of k^n / n^2 over odd n.
  const double k = std::sin(radians(23.44));
  constexpr double promised_rad = 1e-6;  // by the contract
  const double chi = k + std::pow(k, 3) / 9.0 + std::pow(k, 5) / 25.0 + std::pow(k, 7) / 49.0 + std::pow(k, 9) / 81.0 + std::pow(k, 11) / 121.0;
  EXPECT_NEAR(drift.mean_rad(0.0, 0.5 * year_s), 2.0 / pi * chi, promised_rad);
}

TEST(Beta, ChangesSignWithTheSideOfTheOrbit) {
  const SunDirection sun{0.0, radians(23.44)};
  EXPECT_NEAR(beta_rad({0.0, 0.0, 0.0}, sun), radians(23.44), round_off);
  EXPECT_NEAR(beta_rad({pi, 0.0, 0.0}, sun), radians(-23.44), round_off) << "the same plane, flown the other way";
}

TEST(SunDirection, IsNorthAtMidsummerAndOnTheEquatorAtTheEquinox) {
  EXPECT_NEAR(sun_direction(0.0, radians(23.44)).declination_rad, 0.0, round_off);
  EXPECT_NEAR(sun_direction(radians(90.0), radians(23.44)).declination_rad, radians(23.44), round_off);
  EXPECT_NEAR(sun_direction(radians(90.0), radians(23.44)).right_ascension_rad, radians(90.0), round_off);
}

TEST(OblatenessRates, TurnANodeWithTheSunInASunSynchronousOrbit) {
  // Earth, 800 km, 98.6 deg: 0.9856 deg a day, textbook value of the inclination to 0.1 deg, which is 1 % of the rate.
  const OblatenessRates rates = oblateness_rates({3.986004418e14, 6378137.0 + 8e5, 0.0, 0.0}, radians(98.6), 1.08263e-3, 6378137.0);
  EXPECT_NEAR(rates.ascending_node_rad_per_s * 86400.0 * 180.0 / pi, 0.9856, 0.01);
}

TEST(OblatenessRates, StandStillAtThePoleAndAtTheCriticalInclination) {
  const Ellipse ellipse{3.986004418e14, 2.66e7, 0.7, 0.0};
  EXPECT_NEAR(oblateness_rates(ellipse, 0.5 * pi, 1.08263e-3, 6378137.0).ascending_node_rad_per_s, 0.0, nothing_rad_per_s);
  EXPECT_NEAR(oblateness_rates(ellipse, std::asin(std::sqrt(0.8)), 1.08263e-3, 6378137.0).periapsis_rad_per_s, 0.0, nothing_rad_per_s);
  EXPECT_LT(oblateness_rates(ellipse, radians(30.0), 1.08263e-3, 6378137.0).ascending_node_rad_per_s, -1e-9) << "the control";
}

}  // namespace tileflux::environment::orbit_test
