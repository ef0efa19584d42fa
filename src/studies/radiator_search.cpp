#include "studies/radiator_search.h"

#include <algorithm>
#include <boost/math/tools/minima.hpp>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>

#include "tileflux/base/constants.h"

namespace tileflux::studies {

using tile::Bounds;
using tile::RadiatorDesign;

namespace {

/// Areas at a bound are met up to this share: the last digits of a search.
constexpr double hair = 1e-9;

/// The value in [low, high] at which a falling function of its logarithm crosses zero; `low` is where it is positive.
double crossing(const std::function<double(double)>& excess, double low, double high) {
  if (excess(high) >= 0.0) return high;  // met there by the last digits only
  std::uintmax_t steps = 100;
  const auto bracket =
      boost::math::tools::toms748_solve([&](double x) { return excess(std::exp(x)); }, std::log(low), std::log(high),
                                        boost::math::tools::eps_tolerance<double>(46), steps);
  return std::exp(bracket.second);
}

/// The least value of a function with one valley over the logarithm of [least, most]; ends count, exactly.
double lowest(const std::function<double(double)>& cost, Bounds bounds) {
  if (!(bounds.least < bounds.most)) return bounds.most;
  constexpr int digits = 30;  // of a valley: about the square root of a double
  std::uintmax_t steps = 80;
  const auto [place, value] = boost::math::tools::brent_find_minima(
      [&](double x) { return cost(std::exp(x)); }, std::log(bounds.least), std::log(bounds.most), digits, steps);
  if (cost(bounds.least) <= value) return bounds.least;
  if (cost(bounds.most) <= value) return bounds.most;
  return std::exp(place);
}

}  // namespace

RadiatorSearch::RadiatorSearch(const tile::Case& hot, const tile::Surface& surface,
                               const std::vector<RequiredHeat>& required)
    : hot_(hot), surface_(surface), settings_(*hot.size), required_(required) {}

RadiatorDesign RadiatorSearch::strongest(const tile::Surface& surface, const tile::SizeSettings& settings) {
  RadiatorDesign design = tile::design_of(surface);
  design.area_m2 = settings.area_m2.most;
  if (settings.either_face_count) design.faces = 2;
  if (settings.thickness_m) design.thickness_m = settings.thickness_m->most;
  if (settings.pitch_m) design.pitch_m = settings.pitch_m->least;
  return design;
}

double RadiatorSearch::drawn_W_per_m2(const RadiatorDesign& design, double root_K) const {
  RadiatorDesign unit = design;
  unit.area_m2 = 1.0;
  const tile::Surface surface = tile::resized(surface_, unit);
  if (!(surface.view_to_space > 0.0)) return 0.0;
  if (surface.fin) return tile::fin_law(hot_, surface).flow(root_K);
  const double emittance = surface.emittance_over_K ? surface.emittance_over_K->value(root_K) : surface.emittance;
  return emittance * surface.view_to_space * surface.area_m2 * stefan_boltzmann_W_per_m2_K4 *
         (fourth_power(root_K) - fourth_power(hot_.space_K));
}

double RadiatorSearch::needed_m2(const RadiatorDesign& design, const RequiredHeat& one) const {
  if (!(one.heat_W > 0.0)) return 0.0;
  const double drawn = drawn_W_per_m2(design, one.root_K);
  return drawn > 0.0 ? correction_ * one.heat_W / drawn : HUGE_VAL;
}

double RadiatorSearch::needed_m2(const RadiatorDesign& design) const {
  double most = 0.0;
  for (const RequiredHeat& one : required_) most = std::max(most, needed_m2(design, one));
  return most;
}

SizedRadiator RadiatorSearch::figures(RadiatorDesign design, double needed_m2) const {
  SizedRadiator made;
  design.area_m2 = std::max(settings_.area_m2.least, needed_m2 * (1.0 + settings_.area_margin));
  made.design = design;
  made.needed_m2 = needed_m2;
  if (surface_.fin) {
    made.sheet_kg = design.area_m2 * design.thickness_m * surface_.fin->density_kg_per_m3;
    made.pipes_kg = design.area_m2 / design.pitch_m * settings_.pipe_kg_per_m;
  }
  made.other_kg = design.area_m2 * settings_.other_kg_per_m2;
  double area_m2 = -1.0;
  for (const RequiredHeat& one : required_) {
    const double its_m2 = this->needed_m2(design, one);
    if (its_m2 <= area_m2 || !(one.heat_W > 0.0)) continue;
    area_m2 = its_m2;
    made.root_K = one.root_K;
    made.heat_W = one.heat_W;
  }
  if (surface_.fin && made.root_K > 0.0) {
    const network::RadiatingFin law = tile::fin_law(hot_, tile::resized(surface_, design));
    made.zeta = law.zeta(made.root_K);
    made.efficiency = law.efficiency(made.root_K);
  }
  return made;
}

double RadiatorSearch::cost(const SizedRadiator& radiator) const {
  return least_mass() && radiator.mass_kg() > 0.0 ? radiator.mass_kg() : radiator.design.area_m2;
}

bool RadiatorSearch::fits(const RadiatorDesign& design) const {
  return needed_m2(design) * (1.0 + settings_.area_margin) <= settings_.area_m2.most * (1.0 + hair);
}

std::optional<RadiatorDesign> RadiatorSearch::best_thickness(RadiatorDesign design, Bounds thickness_m) const {
  const auto with = [&](double thickness) {
    RadiatorDesign changed = design;
    changed.thickness_m = thickness;
    return changed;
  };
  if (!fits(with(thickness_m.most))) return std::nullopt;
  if (!least_mass() || !(thickness_m.least < thickness_m.most)) return with(thickness_m.most);
  if (!fits(with(thickness_m.least))) {
    const double most_m2 = settings_.area_m2.most / (1.0 + settings_.area_margin);
    thickness_m.least =
        std::min(thickness_m.most, crossing([&](double t) { return std::log(needed_m2(with(t)) / most_m2); },
                                            thickness_m.least, thickness_m.most));
  }
  return with(lowest([&](double t) { return cost(with(t)); }, thickness_m));
}

std::optional<RadiatorDesign> RadiatorSearch::best_pitch(RadiatorDesign design, Bounds thickness_m,
                                                         Bounds pitch_m) const {
  const auto with = [&](double pitch) {
    RadiatorDesign changed = design;
    changed.pitch_m = pitch;
    return changed;
  };
  const auto thickest = [&](double pitch) {
    RadiatorDesign changed = with(pitch);
    changed.thickness_m = thickness_m.most;
    return changed;
  };
  if (!fits(thickest(pitch_m.least))) return std::nullopt;
  if (!least_mass() || !(pitch_m.least < pitch_m.most)) return best_thickness(with(pitch_m.least), thickness_m);
  if (!fits(thickest(pitch_m.most))) {
    const double most_m2 = settings_.area_m2.most / (1.0 + settings_.area_margin);
    pitch_m.most =
        crossing([&](double p) { return std::log(most_m2 / needed_m2(thickest(p))); }, pitch_m.least, pitch_m.most);
    while (!fits(thickest(pitch_m.most))) pitch_m.most *= 1.0 - hair;
  }
  const auto cost_at = [&](double pitch) {
    const auto chosen = best_thickness(with(pitch), thickness_m);
    return chosen ? cost(*chosen) : HUGE_VAL;
  };
  return best_thickness(with(lowest(cost_at, pitch_m)), thickness_m);
}

std::optional<RadiatorDesign> RadiatorSearch::best(const Held& held) const {
  RadiatorDesign design = tile::design_of(surface_);
  const auto range = [](const std::optional<double>& value, const std::optional<Bounds>& free, double stated) {
    if (value) return Bounds{*value, *value};
    return free ? *free : Bounds{stated, stated};
  };
  const Bounds thickness_m = range(held.thickness_m, settings_.thickness_m, design.thickness_m);
  const Bounds pitch_m = range(held.pitch_m, settings_.pitch_m, design.pitch_m);
  std::optional<RadiatorDesign> best;
  for (const int faces : settings_.either_face_count ? std::vector<int>{1, 2} : std::vector<int>{design.faces}) {
    design.faces = faces;
    std::optional<RadiatorDesign> found;
    if (surface_.fin) {
      found = best_pitch(design, thickness_m, pitch_m);
    } else if (fits(design)) {
      found = design;
    }
    if (found && (!best || cost(*found) < cost(*best))) best = found;
  }
  return best;
}

}  // namespace tileflux::studies
