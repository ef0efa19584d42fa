/// View factors: closed forms of the library, and polygons by contour integration where the row's surfaces are flat and finite.
/// Catalogue numbers after Howell, A Catalog of Radiation Heat Transfer Configuration Factors: C-11 parallel rectangles, C-14
/// perpendicular rectangles, C-41 coaxial discs, C-1 and C-5a strips. Examples of Incropera et al.,
/// Cengel, Holman, Kreith and Lienhard. Closed forms are exact to round-off; rows ask for 1e-7.

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "tileflux/base/constants.h"
#include "tileflux/network/view_factors.h"
#include "verification/groups.h"

namespace tileflux::verification::view_factors_test {

using namespace network;
constexpr double pi = std::numbers::pi;

void add_pair(Reproductions& rows, const std::string& id, double value, const char* through, const char* note = "") {
  rows.emplace_back(id, value, through, note);
  rows.emplace_back(id + "c", value, through, note);
}

const char* const parallel = "network::parallel_rectangles_view_factor";
const char* const perpendicular = "network::perpendicular_rectangles_view_factor";
const char* const discs = "network::coaxial_discs_view_factor";
const char* const strips = "network::parallel_strips_view_factor";
const char* const hinged = "network::hinged_strips_view_factor";

Reproductions rectangle_factors() {
  Reproductions rows;
  const char* const sides[][2] = {{"1", "1"}, {"1", "2"}, {"2", "2"}, {"2", "3"}, {"10", "1"}, {"10", "10"}, {"0.1", "0.1"}, {"0.5", "0.25"}};
  for (const auto& [x, y] : sides) {
    rows.emplace_back(std::string("VF-01_") + x + '_' + y, parallel_rectangles_view_factor(std::stod(x), std::stod(y), 1.0), parallel);
  }
  add_pair(rows, "VF-05", parallel_rectangles_view_factor(10.0, 10.0, 1.0), parallel);
  add_pair(rows, "VF-07", parallel_rectangles_view_factor(1.0, 0.5, 0.5), parallel);
  add_pair(rows, "VF-08", parallel_rectangles_view_factor(10.0, 1.0, 1.0), parallel);
  const char* const widths[][2] = {{"1", "1"}, {"0.5", "1"}, {"2", "1"}, {"1", "2"}, {"0.25", "0.5"}, {"3", "0.2"}};
  for (const auto& [h, w] : widths) {
    rows.emplace_back(std::string("VF-09_") + h + '_' + w, perpendicular_rectangles_view_factor(std::stod(w), std::stod(h), 1.0), perpendicular);
  }
  rows.emplace_back("VF-10a", parallel_rectangles_view_factor(1.0, 1.0, 1.0) + 4.0 * perpendicular_rectangles_view_factor(1.0, 1.0, 1.0), "both rectangle factors");
  rows.emplace_back("VF-10b",
                    parallel_rectangles_view_factor(1.0, 2.0, 3.0) + 2.0 * perpendicular_rectangles_view_factor(2.0, 3.0, 1.0) +
                        2.0 * perpendicular_rectangles_view_factor(1.0, 3.0, 2.0),
                    "both rectangle factors");
  rows.emplace_back("VF-10c", 1.0 * perpendicular_rectangles_view_factor(1.0, 2.0, 1.0) - 2.0 * perpendicular_rectangles_view_factor(2.0, 1.0, 1.0), perpendicular);
  return rows;
}

Reproductions round_factors() {
  Reproductions rows;
  const char* const radii[][2] = {{"1", "1"}, {"0.5", "0.5"}, {"0.25", "0.25"}, {"0.25", "0.5"}, {"1", "0.5"}, {"1", "0.8"}};
  for (const auto& [a, b] : radii) rows.emplace_back(std::string("VF-11_") + a + '_' + b, coaxial_discs_view_factor(std::stod(a), std::stod(b), 1.0), discs);
  add_pair(rows, "VF-12", coaxial_discs_view_factor(0.5, 0.5, 1.0), discs);
  add_pair(rows, "VF-13", (1.0 - coaxial_discs_view_factor(0.5, 0.5, 1.0)) / 4.0, discs, "sum and reciprocity of the tube's three surfaces");
  add_pair(rows, "VF-14", coaxial_discs_view_factor(0.25, 0.25, 1.0), discs);
  add_pair(rows, "VF-15", coaxial_discs_view_factor(0.1, 0.05, 0.1), discs);
  add_pair(rows, "VF-16", coaxial_discs_view_factor(0.1, 0.08, 0.1), discs);
  add_pair(rows, "VF-17", coaxial_discs_view_factor(1.0, 1.0, 1.0), discs);
  constexpr double small = 1e-6;  // a disc this small is an element to 1e-12
  rows.emplace_back("VF-33", coaxial_discs_view_factor(small, 1.0, 1.0), discs, "a disc of 1e-6 as the element");
  return rows;
}

Reproductions strip_factors() {
  Reproductions rows;
  add_pair(rows, "VF-21", hinged_strips_view_factor(1.0, 2.0, pi / 2.0), hinged);
  add_pair(rows, "VF-22", parallel_strips_view_factor(1.0, 2.4), strips);
  for (const char* ratio : {"0.1", "0.5", "1", "2", "5"}) rows.emplace_back(std::string("VF-23_") + ratio, parallel_strips_view_factor(1.0, std::stod(ratio)), strips);
  for (const char* ratio : {"0.5", "1", "2"}) rows.emplace_back(std::string("VF-24_") + ratio, hinged_strips_view_factor(1.0, std::stod(ratio), pi / 2.0), hinged);
  for (const char* angle : {"30", "60", "90", "120"}) rows.emplace_back(std::string("VF-25_") + angle, hinged_strips_view_factor(1.0, 1.0, std::stod(angle) * pi / 180.0), hinged);
  return rows;
}

TEST(RectangleFactors, AreThoseOfTheCatalogue) { check_all(rectangle_factors()); }

TEST(RectangleFactors, AreRefusedWithSurfacesExchanged) {
  expect_refused("VF-09_2_1", perpendicular_rectangles_view_factor(2.0, 1.0, 1.0));
  expect_refused("VF-05", 0.2353);
}

TEST(RoundFactors, AreThoseOfTheCatalogue) { check_all(round_factors()); }

TEST(RoundFactors, AreRefusedWithDiscsExchanged) { expect_refused("VF-11_1_0.5", coaxial_discs_view_factor(0.5, 1.0, 1.0)); }

TEST(StripFactors, AreThoseOfCrossedStrings) { check_all(strip_factors()); }

TEST(StripFactors, AreRefusedAtTheSupplementaryAngle) { expect_refused("VF-25_60", hinged_strips_view_factor(1.0, 1.0, 120.0 * pi / 180.0)); }

}  // namespace tileflux::verification::view_factors_test
