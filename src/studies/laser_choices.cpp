/// The tile with better and worse lasers, side by side.

#include <algorithm>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>

#include "studies/gains_parts.h"
#include "studies/modes.h"
#include "tileflux/studies/sustainable.h"

namespace tileflux::studies {

namespace {

constexpr int bits = 40;

tile::Case with_factor(tile::Case description, double factor) {
  for (tile::Bank& bank : description.lasers) bank.devices.light_factor *= factor;
  return description;
}

/// Light of all lasers over their input at the steady point with the beam on; 0 where they take nothing.
double wall_plug(const OperatingPoint& point) {
  double light_W = 0.0;
  for (const devices::BankFlows<double>& bank : point.chain.bank) light_W += bank.light;
  return point.chain.laser_input > 0.0 ? light_W / point.chain.laser_input : 0.0;
}

OperatingPoint beam_on(const tile::Case& description) {
  tile::TileSystem system(description);
  system.set_mode(steady_mode(description, true, true));
  return operating_point(system);
}

/// The factor on the lasers' light with which they work at an efficiency.
double factor_for(const tile::Case& description, double efficiency) {
  const auto excess = [&](double factor) {
    return wall_plug(beam_on(with_factor(description, factor))) - efficiency;
  };
  const double present = wall_plug(beam_on(description));
  if (!(present > 0.0)) throw Error(Code::nothing_feasible, "the lasers are given nothing at the steady point");
  double low = efficiency / present, high = low;
  double at_low = excess(low), at_high = at_low;
  constexpr double wider = 1.15;
  constexpr int most_tries = 40;
  for (int i = 0; at_low > 0.0 && i < most_tries; ++i) at_low = excess(low /= wider);
  for (int i = 0; at_high < 0.0 && i < most_tries; ++i) at_high = excess(high *= wider);
  if (at_low == 0.0) return low;
  if (at_high == 0.0) return high;
  if (at_low > 0.0 || at_high < 0.0)
    throw Error(Code::nothing_feasible, "no factor on the light of the lasers makes them work at this efficiency");
  std::uintmax_t most_steps = 60;
  const boost::math::tools::eps_tolerance<double> close(bits);
  return boost::math::tools::toms748_solve(excess, low, high, at_low, at_high, close, most_steps).first;
}

/// The area of a surface with which the commanded drive, without throttle, just meets every limit in both states. None:
/// even a hundred times as much does not, or a hundredth still does.
std::optional<double> area_for_full_drive(const tile::Case& description, const std::string& surface) {
  tile::Case other = description;
  const auto place = std::find_if(other.surfaces.begin(), other.surfaces.end(),
                                  [&](const tile::Surface& one) { return one.name == surface; });
  const double present_m2 = place->area_m2;
  const auto margin = [&](double logarithm) {
    place->area_m2 = present_m2 * std::exp(logarithm);
    constexpr double hopeless = -1e3;
    double least = HUGE_VAL;
    for (const bool beam : {false, true}) {
      try {
        tile::TileSystem system(other);
        system.set_mode(steady_mode(other, beam, false));
        const OperatingPoint point = operating_point(system);
        const std::optional<Margin> worst = binding(point.margins);
        if (worst) least = std::min(least, worst->comparable());
      } catch (const Error& error) {
        if (error.exit_status() != 3) throw;
        least = hopeless;
      }
    }
    return least;
  };
  const double most = std::log(100.0), step = std::log(1.5);
  const double here = margin(0.0);
  double low = 0.0, high = 0.0, at_low = here, at_high = here;
  while (at_high < 0.0 && high < most) {
    low = high;
    at_low = at_high;
    at_high = margin(high += step);
  }
  while (at_low >= 0.0 && low > -most) {
    high = low;
    at_high = at_low;
    at_low = margin(low -= step);
  }
  if (at_low >= 0.0 || at_high < 0.0) return std::nullopt;
  std::uintmax_t most_steps = 60;
  const boost::math::tools::eps_tolerance<double> close(bits);
  return present_m2 *
         std::exp(boost::math::tools::toms748_solve(margin, low, high, at_low, at_high, close, most_steps).first);
}

LaserChoice choice_at(const tile::Case& description, double factor, const Gains& gains, const GainOptions& options) {
  LaserChoice choice;
  choice.light_factor = factor;
  const tile::Case changed = with_factor(description, factor);
  tile::TileSystem system(changed);
  const Balance found = balance(system);
  choice.efficiency = wall_plug(*found.beam_on);
  choice.usable_light_W = found.usable_laser_W;
  choice.usable_drive = found.usable_drive;
  choice.regime = found.beam_on->regime;
  choice.binding = limits_over_states(found).binding;
  for (std::size_t b = 0; b < changed.lasers.size(); ++b)
    choice.junction_K =
        std::max(choice.junction_K, system.network().temperature_K(system.junction_of(b), found.beam_on->x));
  if (changed.cells) {
    for (const auto& member : system.members(changed.cells->node, "cells"))
      choice.cells_K = std::max(choice.cells_K, system.network().temperature_K(member.node, found.beam_on->x));
  }
  system.set_mode(steady_mode(changed, true, true));
  choice.rating = found.rating ? found.rating->drive : continuous_rating(system).drive;
  if (gains.radiator) choice.area_m2 = area_for_full_drive(changed, gains.radiator->surface);
  if (options.duty && gains.output(GainOutput::Kind::duty)) {
    const SustainableDuty duty = sustainable_duty(system, changed.beam->pattern->every_s);
    choice.duty = duty.fraction;
    choice.duty_light_W = duty.mean_light_W;
  }
  return choice;
}

}  // namespace

std::vector<LaserChoice> laser_choices(const tile::Case& description, const Gains& gains, const GainOptions& options) {
  std::vector<LaserChoice> choices;
  if (options.laser_efficiencies.empty()) return choices;
  if (!gains.balance.beam_on || description.lasers.empty())
    throw Error(Code::key_missing, "a comparison of lasers needs `lasers` and `beam` in the case");
  choices.push_back(choice_at(description, 1.0, gains, options));
  choices.back().present = true;
  for (const double efficiency : options.laser_efficiencies) {
    try {
      choices.push_back(choice_at(description, factor_for(description, efficiency), gains, options));
    } catch (const Error& error) {
      require_users_error(error);
      choices.push_back({});
      choices.back().efficiency = efficiency;
      choices.back().trouble = error.diagnostics().front();
    }
  }
  std::stable_sort(choices.begin(), choices.end(),
                   [](const LaserChoice& a, const LaserChoice& b) { return a.efficiency < b.efficiency; });
  return choices;
}

}  // namespace tileflux::studies
