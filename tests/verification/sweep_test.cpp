/// Sweeps of a plate over its distance from the Sun, through a case file: sigma (ef + eb) T^4 = (alpha - export) S0 cos(tilt)/r^2 with
/// alpha 0.9, faces of 0.85 and 0.88 and S0 = 1361 W/m2. Temperatures and tilts were evaluated outside the project to the digits
/// given. Distances: r^2 = (alpha - export) S0/(sigma (ef + eb) T^4) by hand to eight digits.

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <string>
#include <vector>

#include "tileflux/base/constants.h"
#include "tileflux/input/value_range.h"
#include "tileflux/studies/sweep.h"
#include "tileflux/tile/case_template.h"
#include "verification/groups.h"

namespace tileflux::verification::sweep_test {

/// `chain` holds what exports light, or nothing.
studies::Sweep swept(const std::string& distances, const std::string& chain) {
  const std::string text = R"(tileflux: 1
title: A plate
sun: {distance: 1 AU}
space: 1 K
parts: {plate: {massless: yes}}
surfaces:
  front: {on: plate, area: 1 m2, emittance: 0.85, absorptance: 0.9, sunlit: yes}
  back: {on: plate, area: 1 m2, emittance: 0.88}
limits: {plate: {below: 350 K}}
)" + chain;
  const tile::CaseTemplate cases(std::string_view(text), "closed-form", {});
  constexpr int points = 5;
  const input::ValueRange range =
      input::read_value_range(distances, cases.value_at("sun.distance").type, points, input::Spacing::automatic);
  const auto case_at = [&](double distance_m) { return cases.with({{"sun.distance", distance_m}}).description; };
  return studies::sweep(case_at, range.values_si);
}

/// A tenth of the sunlight met leaves as light: cells of 40 %, a laser of 25 % that takes all they give.
const char* const exporting = R"(cells: {surface: front, on: plate, efficiency: 40 %, slope: 0 1/K}
lasers: {bank: {mount: plate, resistance: 0.001 K/W, table: {rated_input: 100 kW, efficiency: 25 %}}}
beam: {drive: 100 %}
)";

const char* const through_sweep = "tile::CaseTemplate, studies::sweep";
const char* const printed = "half a unit of the last digit";

double distance_AU(const studies::Sweep& sweep, studies::Crossing::Kind kind, bool beam) {
  for (const studies::Crossing& crossing : sweep.crossings) {
    if (crossing.kind == kind && (!crossing.from_limit || crossing.from_limit->beam == beam))
      return crossing.value / astronomical_unit_m;
  }
  return 0.0;
}

ClosedForms sweeps() {
  ClosedForms forms;
  constexpr double half_of_mK = 0.5e-3, half_of_tenth_deg = 0.05;
  const double expected_K[] = {610.309, 472.744, 334.280, 192.997, 149.495};
  const studies::Sweep plain = swept("0.3, 0.5, 1, 3, 5 AU", "");
  for (std::size_t i = 0; i < plain.points.size(); ++i) {
    const studies::SweepPoint& point = plain.points[i];
    forms.push_back({fmt::format("swept plate at {} AU, K", point.value / astronomical_unit_m), expected_K[i], half_of_mK, printed, point.off_K.at(0), through_sweep});
  }
  const double expected_deg[] = {83.0, 77.5, 70.2, 48.5};
  const studies::Sweep lit = swept("0.3, 0.4, 0.5, 0.7, 1.2 AU", exporting);
  for (std::size_t i = 0; i + 1 < lit.points.size(); ++i) {
    const studies::SweepPoint& point = lit.points[i];
    forms.push_back({fmt::format("tilt that holds 350 K with 10 % exported at {} AU, deg", point.value / astronomical_unit_m), expected_deg[i], half_of_tenth_deg, printed,
                     180.0 / std::numbers::pi * point.tilt->on_rad.value_or(0.0), through_sweep});
  }
  // A margin is a root of balances that close to 1e-9; space at 1 K is worth 1e-10. A tilt is closed in on to 1e-6.
  constexpr double eight_digits = 1e-8;
  forms.push_back({"distance at which the plate has 350 K, AU", 0.912190004, eight_digits, "closed form by hand, eight digits", distance_AU(plain, studies::Crossing::Kind::margin, false), through_sweep});
  forms.push_back({"the same with 10 % exported, AU", 0.860020983, eight_digits, "closed form by hand, eight digits", distance_AU(lit, studies::Crossing::Kind::margin, true), through_sweep});
  forms.push_back({"distance from which it need not tilt, AU", 0.912190004, studies::crossing_tolerance, "what crossings are closed in on to", distance_AU(plain, studies::Crossing::Kind::tilt, false), through_sweep});
  return sourced(std::move(forms), "sigma (ef + eb) T^4 = (alpha - export) S0 cos(tilt)/r^2, evaluated outside the project");
}

TEST(Sweeps, MeetTheClosedForms) { check_all(sweeps()); }

TEST(Sweeps, WouldNotMeetThemWithTheWrongShareExported) {
  const studies::Sweep plain = swept("0.3, 0.5 AU", "");
  constexpr double half_of_tenth_deg = 0.05;
  EXPECT_GT(std::abs(180.0 / std::numbers::pi * plain.points[1].tilt->tilt_rad - 70.2), half_of_tenth_deg);
}

}  // namespace tileflux::verification::sweep_test
