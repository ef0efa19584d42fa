#include "tileflux/studies/size.h"

#include <algorithm>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <functional>

#include "studies/modes.h"
#include "studies/radiator_search.h"
#include "studies/size_parts.h"
#include "tileflux/solvers/steady.h"

namespace tileflux::studies {

using tile::RadiatorDesign;

namespace {

const tile::Surface& sized_surface(const tile::Case& description) {
  const std::string& name = description.size->surface;
  const auto found = std::find_if(description.surfaces.begin(), description.surfaces.end(),
                                  [&](const tile::Surface& surface) { return surface.name == name; });
  if (found == description.surfaces.end())
    throw Error(Code::name_unknown, "`size` refers to the surface '" + name + "', which is not described");
  return *found;
}

/// What is asked in the hot case: every held limit with the beam off and on, and the light.
std::vector<Demand> demands_of(const tile::Case& hot) {
  const tile::SizeSettings& settings = *hot.size;
  std::vector<Demand> demands;
  for (const tile::Limit& limit : hot.limits) {
    if (!limit.below_K) continue;
    if (!settings.hold.empty() && std::count(settings.hold.begin(), settings.hold.end(), limit.node) == 0) continue;
    Demand demand{limit.node, false, *limit.below_K - settings.margin_K, *limit.below_K, false, 0.0};
    demands.push_back(demand);
    if (!hot.beam) continue;
    demand.beam = true;
    // A tile that is sized for temperatures is to deliver its drive: its throttles must not begin.
    constexpr double at_rest_K = 1e-3;  // below it, so that no last digit lets the throttle begin
    if (!settings.light_W && limit.throttle_from_K && *limit.throttle_from_K - at_rest_K < demand.wanted) {
      demand.wanted = *limit.throttle_from_K - at_rest_K;
      demand.before_throttle = true;
    }
    demands.push_back(demand);
  }
  if (settings.light_W) demands.push_back({"", true, *settings.light_W, 0.0, false, 0.0});
  if (demands.empty()) throw Error(Code::key_missing, "nothing is asked of the radiator: no limit to hold, no light");
  return demands;
}

}  // namespace

tile::Case with_radiator(tile::Case description, const std::string& surface, const RadiatorDesign& design) {
  for (tile::Surface& one : description.surfaces) {
    if (one.name == surface) one = tile::resized(std::move(one), design);
  }
  return description;
}

std::optional<HotTile::State> HotTile::at(const Demand& demand, const RadiatorDesign& design) {
  ++balances_;
  tile::TileSystem system(with_radiator(hot_, surface_.name, design));
  system.set_mode(steady_mode(hot_, demand.beam, true));
  const auto size = static_cast<std::size_t>(system.size());
  std::vector<double>& last = last_x_[demand.beam ? 1 : 0];
  if (last.size() != size) last.assign(size, system.uniform_guess_K());
  solvers::SteadyOptions options;
  options.residual_scale_W = system.power_scale_W();
  const solvers::SteadySolution solution = solvers::find_steady(system, last, options);
  if (!solution.found()) {
    last.clear();
    return std::nullopt;
  }
  last = solution.x;
  const auto temperature_K = [&](const std::string& node) {
    return system.network().temperature_K(system.network().find(node), last);
  };
  return State{temperature_K(surface_.node),
               demand.is_light() ? system.chain_flows(last).light_out : temperature_K(demand.node)};
}

double HotTile::excess(const Demand& demand, const RadiatorDesign& design) {
  // A tile without a steady state is too hot.
  constexpr double far_too_hot = 1e3;
  const std::optional<State> state = at(demand, design);
  if (!state) return far_too_hot;
  return demand.is_light() ? demand.wanted - state->reached : state->reached - demand.wanted;
}

double HotTile::needed_m2(const Demand& demand, RadiatorDesign design, double most_m2) {
  const auto excess_at = [&](double area_m2) {
    design.area_m2 = area_m2;
    return excess(demand, design);
  };
  // Down from an area that does, in steps that keep the last state a good guess.
  constexpr double step = 3.0, next_to_nothing = 1e-5;
  double high_m2 = most_m2, high = excess_at(most_m2), low_m2 = high_m2, low = high;
  if (high > 0.0) return HUGE_VAL;
  while (low <= 0.0) {
    if (low_m2 < next_to_nothing * most_m2) return 0.0;
    high_m2 = low_m2;
    high = low;
    low_m2 /= step;
    low = excess_at(low_m2);
  }
  if (high == 0.0) return high_m2;
  std::uintmax_t steps = 60;
  const auto bracket = boost::math::tools::toms748_solve([&](double x) { return excess_at(std::exp(x)); },
                                                         std::log(low_m2), std::log(high_m2), low, high,
                                                         boost::math::tools::eps_tolerance<double>(42), steps);
  return std::exp(bracket.second);
}

namespace {

/// A demand that the strongest radiator fails to meet, with the best that the bounds allow.
Shortfall shortfall_of(HotTile& tile, const Demand& demand, const RadiatorDesign& strongest, double least_m2) {
  const double hotter = demand.is_light() ? -1.0 : 1.0;
  const auto reached = [&](const RadiatorDesign& design) {
    const auto state = tile.at(demand, design);
    return state ? state->reached : HUGE_VAL * hotter;
  };
  Shortfall shortfall{demand, strongest, reached(strongest), 0.0, Regime::beam_off};
  RadiatorDesign other = strongest;
  other.area_m2 = least_m2;  // a radiator that the Sun heats does better small
  const double small = reached(other);
  if (hotter * small < hotter * shortfall.reached) {
    shortfall.reached = small;
    shortfall.nearest = other;
  }
  constexpr double endless = 1e3;
  other.area_m2 = endless * strongest.area_m2;
  shortfall.endless = reached(other);
  tile::TileSystem system(with_radiator(tile.hot(), tile.surface().name, shortfall.nearest));
  system.set_mode(steady_mode(tile.hot(), demand.beam, true));
  shortfall.regime = operating_point(system).regime;
  return shortfall;
}

/// Required heats by demand, from the states in which the strongest radiator just meets each.
std::vector<RequiredHeat> required_heats(HotTile& tile, const std::vector<Demand>& demands,
                                         const RadiatorDesign& strongest, double most_m2,
                                         std::vector<Shortfall>& shortfalls) {
  const std::vector<RequiredHeat> none;
  const RadiatorSearch law(tile.hot(), tile.surface(), none);
  RadiatorDesign design = strongest;
  design.area_m2 = most_m2;
  std::vector<RequiredHeat> required;
  for (const Demand& demand : demands) {
    const double area_m2 = tile.needed_m2(demand, design, most_m2);
    required.emplace_back();
    if (area_m2 == HUGE_VAL) {
      shortfalls.push_back(shortfall_of(tile, demand, design, tile.hot().size->area_m2.least));
    } else if (area_m2 > 0.0) {
      RadiatorDesign just = design;
      just.area_m2 = area_m2;
      if (const auto state = tile.at(demand, just))
        required.back() = {state->root_K, area_m2 * law.drawn_W_per_m2(design, state->root_K)};
    }
  }
  return required;
}

std::vector<std::string> at_bounds(const tile::SizeSettings& settings, const SizedRadiator& best) {
  std::vector<std::string> names;
  constexpr double same = 1e-6;
  const auto check = [&](const char* name, const std::optional<tile::Bounds>& bounds, double value) {
    if (!bounds || !(bounds->least < bounds->most)) return;
    if (value <= bounds->least * (1.0 + same)) names.push_back(std::string(name) + " at its least");
    if (value >= bounds->most * (1.0 - same)) names.push_back(std::string(name) + " at its most");
  };
  // That the least area is more than needed is told by itself.
  if (best.needed_m2 * (1.0 + settings.area_margin) >= settings.area_m2.least)
    check("area", settings.area_m2, best.design.area_m2);
  check("thickness", settings.thickness_m, best.design.thickness_m);
  check("pitch", settings.pitch_m, best.design.pitch_m);
  return names;
}

bool in_segments(const tile::Surface& surface) { return surface.fin && surface.fin->segments > 0; }

/// The area that a design needs for each demand, by the tile's own model: the fin of the search is exact, one in
/// segments is not.
std::vector<double> needed_areas_m2(HotTile& tile, const RadiatorSearch& search, const std::vector<Demand>& demands,
                                    const std::vector<RequiredHeat>& required, const RadiatorDesign& design) {
  std::vector<double> areas_m2;
  for (std::size_t i = 0; i < demands.size(); ++i) {
    areas_m2.push_back(search.needed_m2(design, required[i]));
    constexpr double room = 3.0;
    if (in_segments(tile.surface()) && areas_m2.back() > 0.0)
      areas_m2.back() = tile.needed_m2(demands[i], design, room * areas_m2.back());
  }
  return areas_m2;
}

double largest(const std::vector<double>& values) { return *std::max_element(values.begin(), values.end()); }

/// The best design. One in segments is looked for again with the areas that its segments need near there.
RadiatorDesign best_design(RadiatorSearch& search, const RadiatorDesign& strongest,
                           const std::function<double(const RadiatorDesign&)>& needed_m2) {
  // The strongest fits: each demand was met with it. A search that sees none has come down to it.
  RadiatorDesign best = search.best({}).value_or(strongest);
  constexpr int most_rounds = 6;
  constexpr double settled = 1e-7;
  for (int round = 0; round < most_rounds; ++round) {
    const double found_m2 = search.needed_m2(best);
    const double factor = found_m2 > 0.0 ? needed_m2(best) / found_m2 : 1.0;
    if (std::abs(factor - 1.0) < settled) break;
    search.correct_areas(factor);
    best = search.best({}).value_or(strongest);
  }
  return best;
}

/// The binding demand in a balance of its own, less what is wanted.
double check_of(const tile::Case& hot, const tile::Surface& surface, const Demand& demand, const SizedRadiator& best) {
  RadiatorDesign needed = best.design;
  needed.area_m2 = best.needed_m2;
  HotTile fresh(hot, surface);
  const auto state = fresh.at(demand, needed);
  if (!state) throw Error(Code::steady_not_found, "the sized tile has no steady state in the hot case");
  return state->reached - demand.wanted;
}

/// A radiator's sink is found for one steady sunlight; a mean would hide what a planet adds and where the tile turns
/// to.
void refuse_changing_sun(const tile::Case& description) {
  const bool changes = description.orbit || description.course || description.sun_ellipse ||
                       !description.stow.empty() || description.tilt_law != tile::TiltLaw::fixed;
  if (changes)
    throw Error(Code::key_conflict,
                "`size` takes a fixed distance and tilt: no `orbit`, `ellipse`, `course`, `stow` or turning tile");
}

}  // namespace

Size size(const tile::Case& hot, const std::optional<tile::Case>& cold) {
  if (!hot.size) throw Error(Code::key_missing, "`size` needs `size` in the case");
  refuse_changing_sun(hot);
  if (cold) refuse_changing_sun(*cold);
  const tile::SizeSettings& settings = *hot.size;
  const tile::Surface& surface = sized_surface(hot);
  Size result;
  result.demands = demands_of(hot);
  result.sink_K = tile::sink_temperature_K(hot, surface);
  HotTile tile(hot, surface);

  const RadiatorDesign strongest = RadiatorSearch::strongest(surface, settings);
  const double most_m2 = settings.area_m2.most / (1.0 + settings.area_margin);
  const std::vector<RequiredHeat> required =
      required_heats(tile, result.demands, strongest, most_m2, result.shortfalls);
  result.balances = tile.balances();
  if (!result.shortfalls.empty()) return result;

  RadiatorSearch search(hot, surface, required);
  const auto areas_m2 = [&](const RadiatorDesign& design) {
    return needed_areas_m2(tile, search, result.demands, required, design);
  };
  const auto needed_m2 = [&](const RadiatorDesign& design) { return largest(areas_m2(design)); };
  const auto figures = [&](const RadiatorDesign& design) { return search.figures(design, needed_m2(design)); };
  const RadiatorDesign best = best_design(search, strongest, needed_m2);
  result.possible = true;
  result.best = figures(best);
  std::vector<Demand> demands = result.demands;
  const std::vector<double> needs_m2 = areas_m2(best);
  for (std::size_t i = 0; i < demands.size(); ++i) demands[i].needed_m2 = needs_m2[i];
  std::stable_sort(demands.begin(), demands.end(),
                   [](const Demand& a, const Demand& b) { return a.needed_m2 > b.needed_m2; });
  result.at_least_area = result.best.needed_m2 * (1.0 + settings.area_margin) < settings.area_m2.least;
  result.at_bounds = at_bounds(settings, result.best);
  if (!result.at_least_area) result.check = check_of(hot, surface, demands.front(), result.best);
  result.curves = curves_of(tile, search, demands, result.best, figures);
  result.demands = std::move(demands);
  result.hot = balance(with_radiator(hot, surface.name, result.best.design));
  if (cold && settings.cold) result.cold = cold_case(*cold, settings, result.best.design);
  result.balances = tile.balances();
  return result;
}

}  // namespace tileflux::studies
