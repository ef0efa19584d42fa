#pragma once
/// The full tile in its hot case with one radiator after another, and the parts of the answer that follow from it.

#include <array>
#include <functional>

#include "studies/radiator_search.h"
#include "tileflux/studies/size.h"

namespace tileflux::studies {

/// Steady states of the hot tile, each from the last one of the same beam. Holds references to what it is made from.
class HotTile {
 public:
  HotTile(const tile::Case& hot, const tile::Surface& surface) : hot_(hot), surface_(surface) {}

  struct State {
    double root_K = 0.0;
    double reached = 0.0;  ///< what the demand comes to: K or W
  };
  /// The state that a demand looks at; none where the tile has no steady state.
  std::optional<State> at(const Demand& demand, const tile::RadiatorDesign& design);

  /// How far a demand is missed, in K or W; zero or less where it is met.
  double excess(const Demand& demand, const tile::RadiatorDesign& design);

  /// The area of one face up to `most_m2` at which a design just meets a demand; 0 if it does with next to none,
  /// infinite if it does not with the most.
  double needed_m2(const Demand& demand, tile::RadiatorDesign design, double most_m2);

  const tile::Case& hot() const { return hot_; }
  const tile::Surface& surface() const { return surface_; }
  int balances() const { return balances_; }

 private:
  const tile::Case& hot_;
  const tile::Surface& surface_;
  std::array<std::vector<double>, 2> last_x_;
  int balances_ = 0;
};

/// The curves about the best radiator; `figures` completes a design.
std::vector<SizeCurve> curves_of(HotTile& tile, const RadiatorSearch& search, const std::vector<Demand>& demands,
                                 const SizedRadiator& best,
                                 const std::function<SizedRadiator(const tile::RadiatorDesign&)>& figures);

/// The sized tile in its cold case with the least heater power that holds every `above`.
ColdCase cold_case(const tile::Case& cold, const tile::SizeSettings& settings, const tile::RadiatorDesign& design);

}  // namespace tileflux::studies
