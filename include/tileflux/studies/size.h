#pragma once
/// The radiator for a temperature limit or for a light: area, sheet, pitch and faces of least mass or least area.
///
/// A radiator draws its heat at the node that it is rooted in. So the state of the tile in which a demand is just met
/// fixes a root temperature and a heat, whatever the radiator looks like, and every design meets that demand with the
/// area heat / (what it draws per area at that root temperature). The states are found once on the full tile; the
/// search over designs then costs no balance.

#include <optional>
#include <string>
#include <vector>

#include "tileflux/studies/balance.h"
#include "tileflux/tile/radiator.h"

namespace tileflux::studies {

/// What the radiator must hold in the hot case: a node at or below a temperature, or a light at or above a power.
struct Demand {
  std::string node;              ///< empty: the light
  bool beam = false;             ///< in which of the two hot states
  double wanted = 0.0;           ///< K, or W of light: what is held, margin included
  double limit_K = 0.0;          ///< of the case, before the margin; 0 for a light
  bool before_throttle = false;  ///< `wanted` is where the node's throttle would begin, not its limit less the margin
  /// Area of one face at which the chosen design just meets it, before the area margin; 0: met with next to none.
  double needed_m2 = 0.0;

  bool is_light() const { return node.empty(); }
};

/// One radiator that meets all demands, with its figures.
struct SizedRadiator {
  tile::RadiatorDesign design;  ///< as built: with the area margin
  double needed_m2 = 0.0;       ///< area of one face before the margin
  double sheet_kg = 0.0, pipes_kg = 0.0, other_kg = 0.0;
  double efficiency = 1.0;  ///< of the fin at the root temperature of the binding demand; 1 without a fin
  double zeta = 0.0;        ///< of the fin there; 0 without one
  double root_K = 0.0;      ///< that temperature; 0 if nothing binds
  double heat_W = 0.0;      ///< drawn by the needed area there

  double mass_kg() const { return sheet_kg + pipes_kg + other_kg; }
};

/// The least mass (or area) over one free variable, everything else free chosen anew for each of its values.
struct SizeCurve {
  enum class Variable { thickness, pitch, area };
  Variable variable = Variable::thickness;
  std::vector<SizedRadiator> rows;
  /// For `area`, when nothing else is free: what the binding demand comes to with each area as built (K or W).
  std::vector<double> reached;
  /// Where the mass (or area) stays within 1 % of the least; cut off at the variable's bounds.
  tile::Bounds within_one_percent;
};

/// A demand that no radiator within the bounds meets, and what comes nearest to it.
struct Shortfall {
  Demand demand;
  tile::RadiatorDesign nearest;
  double reached = 0.0;  ///< K or W with that radiator, before the area margin
  double endless = 0.0;  ///< K or W with a thousand times the largest area: what its surroundings allow at all
  Regime regime = Regime::beam_off;  ///< of the tile with the nearest radiator
};

/// The sized tile where it is coldest.
struct ColdCase {
  std::string heater;        ///< node
  double heater_W = 0.0;     ///< least power that holds every `above`
  double installed_W = 0.0;  ///< with the margin on power
  bool held = true;          ///< whether some power does
  std::string unreached;     ///< node that stays too cold at any power, if not held
  OperatingPoint point;      ///< with the heater at that power
  double sink_K = 0.0;       ///< of the radiator's surface there
};

struct Size {
  bool possible = false;
  std::vector<Demand> demands;  ///< the one that sets the area first
  SizedRadiator best;
  bool at_least_area = false;          ///< the lower bound on area, not a demand, sets it
  std::vector<std::string> at_bounds;  ///< `thickness at its least` ...
  double sink_K = 0.0;                 ///< of the radiator's surface in the hot case
  std::vector<SizeCurve> curves;
  std::optional<Balance> hot;  ///< of the tile as built
  double check = 0.0;  ///< the binding demand in a fresh balance with the needed area, less what is wanted: K or W
  std::optional<ColdCase> cold;
  std::vector<Shortfall> shortfalls;  ///< if not possible
  int balances = 0;                   ///< steady states solved on the way
};

/// `hot` carries the settings (`hot.size`); `cold` is the same tile in its cold case, if there is one. Throws Error:
/// key_missing without settings or if nothing is asked; name_unknown if the surface is not there; what
/// operating_point throws.
Size size(const tile::Case& hot, const std::optional<tile::Case>& cold = std::nullopt);

/// The case with another radiator.
tile::Case with_radiator(tile::Case description, const std::string& surface, const tile::RadiatorDesign& design);

}  // namespace tileflux::studies
