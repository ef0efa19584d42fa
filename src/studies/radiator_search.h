#pragma once
/// The search for the best radiator over thickness, pitch and faces, from the states in which demands are just met.

#include <functional>
#include <optional>
#include <vector>

#include "tileflux/studies/size.h"

namespace tileflux::studies {

/// A state of the tile in which a demand is just met: what it asks of any radiator.
struct RequiredHeat {
  double root_K = 0.0;
  double heat_W = 0.0;
};

/// Areas, masses and the optimum of radiators that draw required heats. Holds references to what it is made from.
class RadiatorSearch {
 public:
  RadiatorSearch(const tile::Case& hot, const tile::Surface& surface, const std::vector<RequiredHeat>& required);

  /// The design that draws most heat per area: thickest sheet, closest pipes, most faces.
  static tile::RadiatorDesign strongest(const tile::Surface& surface, const tile::SizeSettings& settings);

  /// Heat per area of one face that a design draws from a root, less the sunlight that it absorbs.
  double drawn_W_per_m2(const tile::RadiatorDesign& design, double root_K) const;

  /// The area of one face that a design needs for one required heat, and for all of them.
  double needed_m2(const tile::RadiatorDesign& design, const RequiredHeat& one) const;
  double needed_m2(const tile::RadiatorDesign& design) const;

  /// Areas are this much larger than those of the exact fin: what a fin in segments differs by near some design.
  void correct_areas(double factor) { correction_ *= factor; }

  /// Everything about a design, given the area that it needs.
  SizedRadiator figures(tile::RadiatorDesign design, double needed_m2) const;

  /// The best design, with some variables held at a value instead of free; none if no design fits the bounds.
  struct Held {
    std::optional<double> thickness_m, pitch_m;
  };
  std::optional<tile::RadiatorDesign> best(const Held& held) const;

  bool least_mass() const { return settings_.minimise == tile::SizeSettings::Minimise::mass; }

  /// What is to be least: mass in kg or area in m2.
  double cost(const SizedRadiator& radiator) const;
  double cost(const tile::RadiatorDesign& design) const { return cost(figures(design, needed_m2(design))); }

 private:
  bool fits(const tile::RadiatorDesign& design) const;
  std::optional<tile::RadiatorDesign> best_thickness(tile::RadiatorDesign design, tile::Bounds thickness_m) const;
  std::optional<tile::RadiatorDesign> best_pitch(tile::RadiatorDesign design, tile::Bounds thickness_m,
                                                 tile::Bounds pitch_m) const;

  const tile::Case& hot_;
  const tile::Surface& surface_;
  const tile::SizeSettings& settings_;
  const std::vector<RequiredHeat>& required_;
  double correction_ = 1.0;
};

}  // namespace tileflux::studies
