/// Sunlight and bodies in the sun.
/// Inverse square: E = E0 / r^2. Plate in radiative balance: alpha E A_sunlit = sigma epsilon A_all (T^4 - Ts^4)
/// (Incropera, DeWitt, Bergman and Lavine, Fundamentals of Heat and Mass Transfer; Holman, Heat Transfer, example 8.20;
/// Cengel, Heat and Mass Transfer, examples 2.14 and 12.5). Tolerances are those of the rows: steady states close to 1e-9 of
/// the power, which is 1e-10 of T.

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "tileflux/base/constants.h"
#include "tileflux/units/quantity.h"
#include "verification/groups.h"
#include "verification/model.h"

namespace tileflux::verification::sun_test {

constexpr double sigma_holman = 5.669e-8, sigma_cengel = 5.67e-8;
constexpr double ice_point_of_source_K = 273.0;

double si(const char* text, const char* unit) { return units::parse_quantity(text, {unit}).value_si.value(); }

/// Sunlight that a sun-facing square metre meets at a distance.
double met_W_per_m2(double irradiance_W_per_m2, double distance_AU) {
  Model model;
  model.sun(irradiance_W_per_m2).massless("plate").sunlit("plate", 1.0, 1.0, 1.0);
  model.description.sun.distance_m = distance_AU * astronomical_unit_m;
  return Steady(model).ledger().sunlight_met_W;
}

/// Temperature of a body with one sunlit square metre and `dark_m2` of other surface, all of one finish.
double body_K(double irradiance_W_per_m2, double absorptance, double emittance, double dark_m2) {
  Model model;
  model.sun(irradiance_W_per_m2).massless("body").sunlit("body", 1.0, absorptance, emittance);
  if (dark_m2 > 0.0) model.radiate("body", dark_m2, emittance);
  return Steady(model).temperature_K("body");
}

/// Holman 8.20: a plate at G = 700 W/m2 in surroundings at 25 degC, in degC with 0 degC = 273 K.
double holman_plate_degC(double absorptance, double emittance) {
  Model model;
  model.sun(700.0).space(25.0 + ice_point_of_source_K).massless("plate");
  model.sunlit("plate", 1.0, absorptance, emittance * sigma_ratio(sigma_holman));
  return Steady(model).temperature_K("plate") - ice_point_of_source_K;
}

Steady solar_wall() {
  Model model;
  model.sun(800.0).fixed("room", 300.0).massless("outside").join("room", "outside", 1.2 / 0.06);
  model.sunlit("outside", 1.0, 0.26, 0.85 * sigma_ratio(sigma_cengel));
  return Steady(model);
}

constexpr double solar_W_per_m2 = 1361.0;

Reproductions sunlight() {
  const double eccentricity = 0.01671;
  const char* met = "studies::balance, sunlight met";
  const double perihelion = met_W_per_m2(1361.5, 1.0 - 0.0167);
  return {
      {"ENV-02", si("1 AU", "m"), "units::parse_quantity"},
      {"ENV-10", si("135.3 mW/cm2", "W/m2"), "units::parse_quantity"},
      {"ENV-09", perihelion, met},
      {"ENV-09c", perihelion, met},
      {"ENV-13c", met_W_per_m2(1366.1, 1.0 - eccentricity), met},
      {"ENV-13d", met_W_per_m2(1366.1, 1.0 + eccentricity), met},
  };
}

Reproductions plates_in_the_sun() {
  const char* balance = "studies::balance";
  const char* scaled = "emitting area times the ratio of the source's sigma to CODATA's; 0 degC = 273 K";
  Reproductions rows{
      {"ENV-15", body_K(solar_W_per_m2, 1.0, 1.0, 0.0), balance},
      {"ENV-16", body_K(solar_W_per_m2, 1.0, 1.0, 1.0), balance},
      {"ENV-20a", body_K(solar_W_per_m2, 0.12, 0.9, 0.0), balance},
      {"ENV-20b", body_K(solar_W_per_m2, 0.07, 0.74, 0.0), balance},
      {"ENV-20c", body_K(solar_W_per_m2, 0.08, 0.78, 0.0), balance},
      {"ENV-20d", body_K(solar_W_per_m2, 0.95, 0.85, 0.0), balance},
      {"ENV-20e", body_K(solar_W_per_m2, 0.4, 0.63, 0.0), balance},
      {"ENV-20f", body_K(solar_W_per_m2, 0.24, 0.08, 0.0), balance},
  };
  for (const char* id : {"ENV-21a", "ENV-21ac"}) rows.emplace_back(id, holman_plate_degC(0.12, 0.9), balance, scaled);
  for (const char* id : {"ENV-21b", "ENV-21bc"}) rows.emplace_back(id, holman_plate_degC(0.96, 0.95), balance, scaled);
  const Steady wall = solar_wall();
  for (const char* id : {"ENV-24", "ENV-24c"}) {
    rows.emplace_back(id, wall.temperature_K("outside"), balance, "emitting area times the ratio of the source's sigma to CODATA's");
  }
  rows.emplace_back("ENV-24q", wall.flow_W("room", "outside"), "studies::balance, heat flow", "emitting area times the ratio of the source's sigma to CODATA's");
  return rows;
}

Reproductions spheres() {
  const char* balance = "studies::balance";
  // Band averages of the absorptance (0.6 below 3 um, 0.3 above) over a black body's spectrum, by the series of the Planck
  // function's integral: an input, as the finish is.
  const auto absorptance_at = [](double black_body_K) {
    const double x = 14387.77 / (3.0 * black_body_K);
    double below = 0.0;
    for (int n = 1; n <= 60; ++n) below += std::exp(-n * x) * (x * x * x / n + 3.0 * x * x / (n * n) + 6.0 * x / std::pow(n, 3) + 6.0 / std::pow(n, 4));
    below *= 15.0 / std::pow(std::numbers::pi, 4);
    return 0.6 * below + 0.3 * (1.0 - below);
  };
  // The Earth's infrared, 340 W/m2 of a 280 K spectrum in parallel rays, is a load.
  const auto two_band = [&](double irradiance_W_per_m2) {
    Model model;
    model.sun(irradiance_W_per_m2).massless("sphere").sunlit("sphere", 1.0, absorptance_at(5800.0), 0.3).radiate("sphere", 3.0, 0.3);
    model.heat("sphere", absorptance_at(280.0) * 340.0);
    return Steady(model).temperature_K("sphere");
  };
  Model planet;
  planet.sun(1362.0).massless("planet").sunlit("planet", 1.0, 1.0 - 0.298, 1.0).radiate("planet", 3.0);
  const double outgoing_W_per_m2 = Steady(planet).ledger().to_space_W / 4.0;
  // The Sun's own surface: a plate beside it. Sixteen times the area halves the temperature: above 3000 K the search
  // for a steady state speaks of a runaway.
  Model beside;
  beside.sun(solar_W_per_m2).massless("plate").sunlit("plate", 1.0, 1.0, 1.0).radiate("plate", 15.0);
  beside.description.sun.distance_m = 695700e3;
  return {
      {"ENV-17", body_K(solar_W_per_m2, 1.0, 1.0, 3.0), balance},
      {"ENV-19", body_K(solar_W_per_m2, 0.5, 0.5, 5.0), balance},
      {"ENV-25a", two_band(0.0), balance, "the Earth's infrared as a load; band averages of the absorptance are inputs"},
      {"ENV-25b", two_band(1353.0), balance, "the Earth's infrared as a load; band averages of the absorptance are inputs"},
      {"ENV-27", outgoing_W_per_m2, "studies::balance, infrared to space"},
      {"ENV-27c", outgoing_W_per_m2, "studies::balance, infrared to space"},
      {"ENV-50", 2.0 * Steady(beside).temperature_K("plate"), balance, "plate at the Sun's radius with 16 times the area, T times 2"},
  };
}

/// Net radiation into a surface held at 320 K: tilted direct sun, diffuse light as a load, sky at 260 K. A witness plate
/// gives the case a temperature to find.
double net_to_selective_W(double absorptance, double emittance) {
  Model model;
  model.sun(400.0, 20.0 * std::numbers::pi / 180.0).space(260.0).fixed("surface", 320.0);
  model.massless("witness").join("witness", "surface", 1.0);
  model.sunlit("surface", 1.0, absorptance, emittance * sigma_ratio(5.67e-8)).heat("surface", absorptance * 300.0);
  return Steady(model).ledger().to_fixed_W;
}

Reproductions selective_surfaces() {
  Reproductions rows;
  const struct {
    const char *printed, *computed;
    double absorptance, emittance;
  } all[] = {{"ENV-56a", "ENV-56ac", 0.9, 0.9}, {"ENV-56b", "ENV-56bc", 0.1, 0.1}, {"ENV-56c", "ENV-56cc", 0.9, 0.1}, {"ENV-56d", "ENV-56dc", 0.1, 0.9}};
  for (const auto& each : all) {
    const double net_W = net_to_selective_W(each.absorptance, each.emittance);
    for (const char* id : {each.printed, each.computed}) {
      rows.emplace_back(id, net_W, "studies::balance, heat to what holds the part", "diffuse light as a load; emitting area times the ratio of the source's sigma to CODATA's");
    }
  }
  return rows;
}

TEST(Sunlight, FallsWithTheSquareOfTheDistance) { check_all(sunlight()); }

TEST(Sunlight, IsRefusedIfItFallsWithTheDistanceOnly) { expect_refused("ENV-13c", 1366.1 / (1.0 - 0.01671)); }

TEST(PlateInTheSun, StandsWherePublishedBalancesPutIt) { check_all(plates_in_the_sun()); }

TEST(PlateInTheSun, IsRefusedWithAFaceLeftOutOrTheSunFromBehind) {
  expect_refused("ENV-16", body_K(solar_W_per_m2, 1.0, 1.0, 0.0));
  expect_refused("ENV-20a", body_K(solar_W_per_m2, 0.9, 0.12, 0.0));
  Model behind;
  behind.sun(solar_W_per_m2, std::numbers::pi).space(3.0).massless("plate").sunlit("plate", 1.0, 1.0, 1.0);
  expect_refused("ENV-15", Steady(behind).temperature_K("plate"));
}

TEST(Sphere, StandsWherePublishedBalancesPutIt) { check_all(spheres()); }

TEST(Sphere, IsRefusedIfItAbsorbsOnItsWholeSurface) { expect_refused("ENV-17", body_K(solar_W_per_m2, 1.0, 1.0, 0.0)); }

TEST(SelectiveSurface, GainsWhatTheExampleSays) { check_all(selective_surfaces()); }

TEST(SelectiveSurface, IsRefusedWithFacesExchanged) { expect_refused("ENV-56c", net_to_selective_W(0.1, 0.9)); }

}  // namespace tileflux::verification::sun_test
