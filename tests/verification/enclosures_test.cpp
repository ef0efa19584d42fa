/// Heat between surfaces that see each other.
/// Black: q = A F sigma (Ta^4 - Tb^4). Grey: each surface is a node behind its surface resistance (exchange area
/// eps A/(1 - eps)) and a massless node that stands for its radiosity; between radiosities the exchange area is A F
/// (Oppenheim's network; Incropera et al., chapter 13; Cengel, chapter 13; Holman, chapter 8; Lienhard, chapter 10).
/// Exchange areas carry the ratio of the example's sigma to CODATA's.

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "tileflux/network/view_factors.h"
#include "verification/groups.h"
#include "verification/model.h"

namespace tileflux::verification::enclosures_test {

const char* const flow = "studies::balance, heat flow";
const char* const grey = "studies::balance, radiosities as massless nodes";
const char* const scaled = "exchange areas times the ratio of the source's sigma to CODATA's";
constexpr double sigma_5670 = 5.67e-8, sigma_holman = 5.669e-8;
constexpr double pi = std::numbers::pi;

/// A case of surfaces at fixed temperatures. A witness joined to the first one gives the case a temperature to find.
class Enclosure {
 public:
  explicit Enclosure(double sigma) : ratio_(sigma_ratio(sigma)) {}

  Enclosure& black(const std::string& name, double temperature_K) {
    model.fixed(name, temperature_K);
    if (!witnessed_) model.massless("witness").join("witness", name, 1.0);
    witnessed_ = true;
    return *this;
  }
  /// The node `name'` is its radiosity.
  Enclosure& grey(const std::string& name, double temperature_K, double area_m2, double emittance) {
    black(name, temperature_K);
    model.massless(name + "'");
    return link(name, name + "'", area_m2 * emittance / (1.0 - emittance));
  }
  /// A thin shield between two spaces: its faces are `name.inner` and `name.outer`.
  Enclosure& shield(const std::string& name, double area_m2, double emittance) {
    model.massless(name).massless(name + ".inner").massless(name + ".outer");
    for (const char* side : {".inner", ".outer"}) link(name, name + side, area_m2 * emittance / (1.0 - emittance));
    return *this;
  }
  Enclosure& link(const std::string& a, const std::string& b, double exchange_area_m2) {
    model.infrared(a, b, exchange_area_m2 * ratio_);
    return *this;
  }
  double flow_W(const std::string& a, const std::string& b) const { return Steady(model).flow_W(a, b); }
  double temperature_K(const std::string& node) const { return Steady(model).temperature_K(node); }

  Model model;

 private:
  double ratio_;
  bool witnessed_ = false;
};

void add_pair(Reproductions& rows, const std::string& id, double value, const char* through, const char* note = scaled) {
  rows.emplace_back(id, value, through, note);
  rows.emplace_back(id + "c", value, through, note);
}

Reproductions black_enclosures() {
  Reproductions rows;
  Enclosure cube(sigma_5670);  // Cengel 13.6: 5 m, view factors 0.8 to the sides and 0.2 to the top
  cube.black("base", 800.0).black("sides", 500.0).black("top", 1500.0).link("base", "sides", 25.0 * 0.8).link("base", "top", 25.0 * 0.2);
  const double to_sides_kW = 1e-3 * cube.flow_W("base", "sides"), to_top_kW = 1e-3 * cube.flow_W("base", "top");
  add_pair(rows, "VF-41a", to_sides_kW, flow);
  add_pair(rows, "VF-41b", to_top_kW, flow);
  add_pair(rows, "VF-41c", to_sides_kW + to_top_kW, flow);

  const double opening_m2 = pi * 0.075 * 0.075 / 4.0;
  Enclosure furnace(sigma_5670);  // Incropera 13.4: its open top is black at the room's temperature
  furnace.black("room", 300.0).black("wall", 1623.0).black("bottom", 1923.0);
  furnace.link("wall", "room", opening_m2 * (1.0 - 0.056)).link("bottom", "room", opening_m2 * 0.056);
  add_pair(rows, "VF-44", furnace.flow_W("wall", "room") + furnace.flow_W("bottom", "room"), flow);

  Enclosure plates(sigma_holman);  // Holman 8.2
  plates.black("hot", 1273.0).black("cold", 773.0).link("hot", "cold", 0.5 * 0.285);
  add_pair(rows, "VF-52", 1e-3 * plates.flow_W("hot", "cold"), flow);

  Enclosure heater(sigma_5670);  // Lienhard 10.2
  const double to_opening = network::coaxial_discs_view_factor(0.05, 0.1, 0.2);
  heater.black("disc", 1473.0).black("shield", 373.0).link("disc", "shield", pi * 0.1 * 0.1 / 4.0 * (1.0 - to_opening));
  add_pair(rows, "VF-53", heater.flow_W("disc", "shield"), "studies::balance, network::coaxial_discs_view_factor");
  return rows;
}

double parallel_plates_W(double area_m2) {
  Enclosure plates(sigma_5670);
  plates.grey("hot", 800.0, 1.0, 0.2).grey("cold", 500.0, 1.0, 0.7).link("hot'", "cold'", area_m2);
  return plates.flow_W("hot", "hot'");
}

/// Incropera 13.5: concentric tubes per metre, with or without a shield between them.
double concentric_tubes_W(bool shielded) {
  const double inner_m2 = pi * 0.02, outer_m2 = pi * 0.05, shield_m2 = pi * 0.035;
  Enclosure tubes(sigma_5670);
  tubes.grey("inner", 77.0, inner_m2, 0.02).grey("outer", 300.0, outer_m2, 0.05);
  if (shielded) {
    tubes.shield("shield", shield_m2, 0.02).link("inner'", "shield.inner", inner_m2).link("shield.outer", "outer'", shield_m2);
  } else {
    tubes.link("inner'", "outer'", inner_m2);
  }
  return tubes.flow_W("inner", "inner'");
}

/// Holman 8.9: land of 5, grooves with walls of 60 behind an opening of 10, per depth; emission over that of a black face.
double finned_face_emittance(double emittance) {
  Model model;
  model.fixed("face", 300.0).massless("groove").infrared("face", "groove", 60.0 * emittance / (1.0 - emittance));
  model.radiate("groove", 10.0).radiate("face", 5.0, emittance);
  Model black;
  black.fixed("face", 300.0).massless("witness").join("face", "witness", 1.0).radiate("face", 15.0);
  return Steady(model).ledger().to_space_W / Steady(black).ledger().to_space_W;
}

/// Holman 8.11: a cylinder in a coaxial open shield in a room.
Enclosure open_shield() {
  const double inner_m2 = pi * 0.1 * 0.2, shield_m2 = pi * 0.2 * 0.2;
  Enclosure shield(sigma_holman);
  shield.grey("cylinder", 1000.0, inner_m2, 0.8).black("room", 300.0).shield("shield", shield_m2, 0.2);
  shield.link("cylinder'", "shield.inner", inner_m2 * 0.8253).link("cylinder'", "room", inner_m2 * 0.1747);
  return shield.link("shield.inner", "room", shield_m2 * 0.2588).link("shield.outer", "room", shield_m2);
}

Reproductions grey_enclosures() {
  Reproductions rows;
  add_pair(rows, "VF-40", parallel_plates_W(1.0), grey);

  Enclosure triangle(sigma_5670);  // Cengel 13.9: the third side passes on what it gets
  triangle.black("hot", 1000.0).grey("cold", 600.0, 1.0, 0.7).model.massless("insulated");
  triangle.link("hot", "cold'", 0.5).link("hot", "insulated", 0.5).link("insulated", "cold'", 0.5);
  add_pair(rows, "VF-42", 1e-3 * triangle.flow_W("cold'", "cold"), grey);

  const double bare_W = concentric_tubes_W(false);
  add_pair(rows, "VF-45a", bare_W, grey);
  add_pair(rows, "VF-45b", 100.0 * (concentric_tubes_W(true) - bare_W) / bare_W, grey);
  const char* none = "";
  add_pair(rows, "VF-49a", finned_face_emittance(0.2), grey, none);
  add_pair(rows, "VF-49b", finned_face_emittance(0.5), grey, none);
  add_pair(rows, "VF-49c", finned_face_emittance(0.8), grey, none);
  add_pair(rows, "VF-51a", open_shield().temperature_K("shield"), grey);
  Enclosure alone(sigma_holman);
  alone.grey("cylinder", 1000.0, pi * 0.1 * 0.2, 0.8).black("room", 300.0).link("cylinder'", "room", pi * 0.1 * 0.2);
  add_pair(rows, "VF-51b", alone.flow_W("cylinder", "cylinder'"), grey);
  return rows;
}

/// Heat through a stack of parallel shields, by wide parallel grey exchange areas, over that of black walls.
double effective_emittance(double wall_a, double wall_b, double shield, int shields) {
  Model model;
  model.fixed("hot", 400.0).fixed("cold", 200.0).massless("witness").join("witness", "hot", 1.0);
  std::string above = "hot";
  double above_emittance = wall_a;
  for (int i = 0; i < shields; ++i) {
    const std::string name = "shield " + std::to_string(i);
    model.massless(name).infrared(above, name, network::parallel_exchange_area_m2(1.0, above_emittance, shield));
    above = name;
    above_emittance = shield;
  }
  model.infrared(above, "cold", network::parallel_exchange_area_m2(1.0, above_emittance, wall_b));
  Model black;
  black.fixed("hot", 400.0).fixed("cold", 200.0).massless("witness").join("witness", "hot", 1.0).infrared("hot", "cold", 1.0);
  return Steady(model).flow_W(above, "cold") / Steady(black).flow_W("hot", "cold");
}

Reproductions shields() {
  const char* parallel = "studies::balance, network::parallel_exchange_area_m2";
  Reproductions rows;
  for (const int count : {0, 1, 5, 10, 20}) rows.emplace_back("VF-59_" + std::to_string(count), effective_emittance(0.8, 0.8, 0.03, count), parallel);
  // Holman 8.10: percentage of the heat that one shield keeps off.
  add_pair(rows, "VF-50", 100.0 * (1.0 - effective_emittance(0.3, 0.8, 0.04, 1) / effective_emittance(0.3, 0.8, 0.04, 0)), parallel, "");
  return rows;
}

constexpr double line_m = 0.00635, tube_m = 0.0127, chamber_K = 230.0;

/// Lienhard 10.8: a line at 80 K in a wide chamber, per metre, bare or in a tube.
Enclosure cryogenic_line(bool shielded) {
  Enclosure line(sigma_5670);
  line.grey("line", 80.0, pi * line_m, 0.2).black("chamber", chamber_K);
  if (!shielded) return line.link("line'", "chamber", pi * line_m);
  return line.shield("tube", pi * tube_m, 0.2).link("line'", "tube.inner", pi * line_m).link("tube.outer", "chamber", pi * tube_m);
}
double cryogenic_line_W(bool shielded) { return cryogenic_line(shielded).flow_W("line'", "line"); }

Reproductions cryogenic_lines() {
  Reproductions rows;
  const double bare_W = cryogenic_line_W(false);
  add_pair(rows, "VF-54a", bare_W, grey);
  add_pair(rows, "VF-54b", 100.0 * (1.0 - cryogenic_line_W(true) / bare_W), grey);
  add_pair(rows, "VF-54c", cryogenic_line(true).temperature_K("tube"), grey);

  constexpr double rounded_pi = 3.14, latent_heat_J_per_kg = 201e3, day_s = 86400.0;
  const double inner_m2 = rounded_pi * 0.32 * 0.32, outer_m2 = rounded_pi * 0.36 * 0.36;
  Enclosure dewar(sigma_5670);  // Sukhatme 3.13
  dewar.grey("inner", 77.0, inner_m2, 0.02).grey("outer", 303.0, outer_m2, 0.02).link("outer'", "inner'", inner_m2);
  add_pair(rows, "VF-57", dewar.flow_W("inner'", "inner") / latent_heat_J_per_kg * day_s, grey);
  return rows;
}

TEST(BlackEnclosure, ExchangesThePublishedHeat) { check_all(black_enclosures()); }

TEST(BlackEnclosure, IsRefusedWithViewFactorsExchanged) {
  Enclosure cube(sigma_5670);
  cube.black("base", 800.0).black("sides", 500.0).link("base", "sides", 25.0 * 0.2);
  expect_refused("VF-41a", 1e-3 * cube.flow_W("base", "sides"));
}

TEST(GreyEnclosure, ExchangesThePublishedHeat) { check_all(grey_enclosures()); }

TEST(GreyEnclosure, IsRefusedAtAnotherAreaOrSign) {
  expect_refused("VF-40", parallel_plates_W(0.9));
  expect_refused("VF-45a", -concentric_tubes_W(false));
}

TEST(Shields, KeepOffThePublishedShareOfHeat) { check_all(shields()); }

TEST(Shields, AreRefusedIfOneIsMissing) { expect_refused("VF-59_5", effective_emittance(0.8, 0.8, 0.03, 4)); }

TEST(CryogenicLine, GainsThePublishedHeat) { check_all(cryogenic_lines()); }

TEST(CryogenicLine, IsRefusedInItsShieldWhereItIsBare) { expect_refused("VF-54a", cryogenic_line_W(true)); }

}  // namespace tileflux::verification::enclosures_test
