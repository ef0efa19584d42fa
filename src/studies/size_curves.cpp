#include <algorithm>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <span>

#include "studies/size_parts.h"

namespace tileflux::studies {

using tile::Bounds;
using tile::RadiatorDesign;

namespace {

/// Factors on the best value; a row that falls outside the bounds moves to the bound. The least area lies at a bound,
/// and far from it little changes: there the steps are wide.
constexpr double valley[] = {0.5, 0.63, 0.8, 1.0, 1.25, 1.6, 2.0};
constexpr double slope[] = {1.0 / 32, 1.0 / 16, 0.125, 0.25, 0.5, 1.0, 2.0, 4.0, 8.0, 16.0, 32.0};

std::vector<double> values_about(double best, const Bounds& bounds, std::span<const double> factors = valley) {
  std::vector<double> values;
  constexpr double apart = 1.02;  // rows nearer than this tell the same
  for (const double factor : factors) {
    const double value = factor == 1.0 ? best : std::clamp(factor * best, bounds.least, bounds.most);
    const bool near_best = factor != 1.0 && std::max(value / best, best / value) < apart;
    if (!near_best && (values.empty() || value > values.back() * apart)) values.push_back(value);
  }
  return values;
}

/// Where the cost stays within a share of the least, from the best value out to a bound.
double end_of_valley(const std::function<double(double)>& cost, double best, double bound, double allowed) {
  if (best == bound || cost(bound) <= allowed) return bound;
  constexpr double outside = 1e3;  // stands for no design at all: a root finder takes no infinity
  const auto excess = [&](double x) { return std::min(cost(std::exp(x)) / allowed - 1.0, outside); };
  std::uintmax_t steps = 60;
  const auto bracket =
      boost::math::tools::toms748_solve(excess, std::log(std::min(best, bound)), std::log(std::max(best, bound)),
                                        boost::math::tools::eps_tolerance<double>(16), steps);
  return std::exp(best < bound ? bracket.first : bracket.second);
}

SizeCurve curve_over(SizeCurve::Variable variable, const Bounds& bounds, double best_value,
                     const RadiatorSearch& search, const std::function<SizedRadiator(const RadiatorDesign&)>& figures) {
  SizeCurve curve;
  curve.variable = variable;
  const auto design_at = [&](double value) {
    RadiatorSearch::Held held;
    (variable == SizeCurve::Variable::thickness ? held.thickness_m : held.pitch_m) = value;
    return search.best(held);
  };
  const std::span<const double> factors = search.least_mass() ? std::span<const double>(valley) : slope;
  for (const double value : values_about(best_value, bounds, factors)) {
    if (const auto design = design_at(value)) curve.rows.push_back(figures(*design));
  }
  const auto cost = [&](double value) {
    const auto design = design_at(value);
    return design ? search.cost(*design) : HUGE_VAL;
  };
  constexpr double flat = 1.01;
  const double allowed = flat * cost(best_value);
  curve.within_one_percent = {end_of_valley(cost, best_value, bounds.least, allowed),
                              end_of_valley(cost, best_value, bounds.most, allowed)};
  return curve;
}

}  // namespace

std::vector<SizeCurve> curves_of(HotTile& tile, const RadiatorSearch& search, const std::vector<Demand>& demands,
                                 const SizedRadiator& best,
                                 const std::function<SizedRadiator(const RadiatorDesign&)>& figures) {
  const tile::SizeSettings& settings = *tile.hot().size;
  std::vector<SizeCurve> curves;
  const auto is_free = [](const std::optional<Bounds>& bounds) { return bounds && bounds->least < bounds->most; };
  if (is_free(settings.thickness_m))
    curves.push_back(
        curve_over(SizeCurve::Variable::thickness, *settings.thickness_m, best.design.thickness_m, search, figures));
  if (is_free(settings.pitch_m))
    curves.push_back(curve_over(SizeCurve::Variable::pitch, *settings.pitch_m, best.design.pitch_m, search, figures));
  if (!curves.empty()) return curves;
  SizeCurve curve;
  curve.variable = SizeCurve::Variable::area;
  for (const double area_m2 : values_about(best.design.area_m2, settings.area_m2)) {
    RadiatorDesign design = best.design;
    design.area_m2 = area_m2;
    const auto state = tile.at(demands.front(), design);
    if (!state) continue;
    SizedRadiator row = search.figures(design, area_m2 / (1.0 + settings.area_margin));
    row.design.area_m2 = area_m2;
    curve.rows.push_back(row);
    curve.reached.push_back(state->reached);
  }
  curves.push_back(std::move(curve));
  return curves;
}

}  // namespace tileflux::studies
