#include "studies/gains_parts.h"

#include <algorithm>
#include <cmath>

#include "studies/modes.h"
#include "tileflux/studies/sustainable.h"

namespace tileflux::studies {

void require_users_error(const Error& error) {
  constexpr int fault_of_ours = 4;
  if (error.exit_status() == fault_of_ours && error.code() != Code::internal) throw error;
}

std::vector<RadiatorInput> radiator_inputs(const tile::Case& description) {
  std::vector<RadiatorInput> inputs;
  for (std::size_t i = 0; i < description.surfaces.size(); ++i) {
    const tile::Surface& surface = description.surfaces[i];
    const bool emits = surface.view_to_space > 0.0 && (surface.emittance > 0.0 || surface.emittance_over_K);
    if (surface.meets_sunlight() || !emits || !(surface.area_m2 > 0.0)) continue;
    const auto case_at = [description, i](double area_m2) {
      tile::Case other = description;
      other.surfaces[i].area_m2 = area_m2;
      return other;
    };
    inputs.push_back({surface.name, {surface.name, "m2", surface.area_m2, 0.0, 1e9, case_at}});
  }
  return inputs;
}

GainRadiator radiator_of(const tile::Case& description, const std::string& name,
                         std::optional<double> areal_mass_kg_per_m2) {
  const auto surface = std::find_if(description.surfaces.begin(), description.surfaces.end(),
                                    [&](const tile::Surface& one) { return one.name == name; });
  GainRadiator radiator{name, surface->area_m2, areal_mass_kg_per_m2, "as stated"};
  if (areal_mass_kg_per_m2) return radiator;
  if (surface->fin && surface->fin->density_kg_per_m3 > 0.0) {
    radiator.areal_mass_kg_per_m2 = surface->fin->density_kg_per_m3 * surface->fin->thickness_m / surface->faces;
    radiator.mass_of = "its sheet, pipes not counted";
    return radiator;
  }
  const auto part = std::find_if(description.parts.begin(), description.parts.end(),
                                 [&](const tile::Part& one) { return one.name == surface->node; });
  if (part == description.parts.end() || !(part->mass_kg > 0.0)) {
    radiator.mass_of = "not known: state its mass per area";
    return radiator;
  }
  radiator.areal_mass_kg_per_m2 = part->mass_kg / surface->area_m2;
  radiator.mass_of = "the mass of '" + part->name + "' over this area";
  return radiator;
}

std::optional<double> areal_mass_kg_per_m2(const tile::Case& description, const std::string& surface) {
  return radiator_of(description, surface, std::nullopt).areal_mass_kg_per_m2;
}

std::vector<StepInput> conversion_steps(const tile::Case& description, const Balance& balance) {
  std::vector<StepInput> steps;
  if (!balance.beam_on) return steps;
  const devices::ChainFlows<double>& flows = balance.beam_on->chain;
  constexpr double point = 0.01;
  const auto add = [&](const char* name, double efficiency, double value, double per_point, auto change) {
    const auto case_at = [description, change](double other) {
      tile::Case changed = description;
      change(changed, other);
      return changed;
    };
    steps.push_back({{name, "1", value, value, value, case_at}, efficiency, per_point});
  };
  if (description.cells) {
    add("cells", description.cells->efficiency, description.cells->efficiency, point,
        [](tile::Case& one, double value) { one.cells->efficiency = value; });
  }
  const double delivered_W = flows.drawn - flows.conditioning_loss;
  if (description.conditioning && delivered_W > 0.0) {
    // efficiency = delivered / drawn: one point more is so much less loss per delivered power.
    const double less_loss = point * flows.drawn * flows.drawn / (delivered_W * delivered_W);
    add("conditioning", delivered_W / flows.drawn, description.conditioning->proportional, -less_loss,
        [](tile::Case& one, double value) { one.conditioning->proportional = value; });
  }
  double light_W = 0.0;
  for (const devices::BankFlows<double>& bank : flows.bank) light_W += bank.light;
  if (flows.laser_input > 0.0 && light_W > 0.0) {
    const double efficiency = light_W / flows.laser_input;
    add("laser", efficiency, 1.0, point / efficiency, [](tile::Case& one, double value) {
      for (tile::Bank& bank : one.lasers) bank.devices.light_factor *= value;
    });
  }
  if (description.optics && !description.lasers.empty()) {
    add("optics", description.optics->transmission, description.optics->transmission, point,
        [](tile::Case& one, double value) { one.optics->transmission = value; });
  }
  return steps;
}

namespace {

/// What regime a tile is in and what binds it.
struct Standing {
  std::string regime, binding;
  SteadyGuess guess;
  bool allowed = true;
};

/// The standing at a value, sought from the states of a neighbour.
Standing standing_at(const GainInput& input, double value, const SteadyGuess& guess) {
  Standing standing;
  try {
    tile::TileSystem system(input.case_at(value));
    const SteadyStates states = steady_states(system, guess);
    standing.guess = {states.beam_off.x, states.beam_on ? states.beam_on->x : std::vector<double>{}};
    standing.regime = name_of((states.beam_on ? *states.beam_on : states.beam_off).regime);
    const LimitsOverStates limits = limits_over_states(states.beam_off, states.beam_on);
    if (!limits.binding) return standing;
    const Margin& margin = limits.binding->margin;
    standing.binding = margin.where() + (margin.kind == LimitKind::temperature && !margin.upper ? " (lower limit)" : "") +
                       (limits.binding->beam ? ", on" : ", off");
  } catch (const Error& error) {
    require_users_error(error);
    // Beyond what the case allows there is no regime to be in.
    constexpr int wrong_input = 2;
    standing.allowed = error.exit_status() != wrong_input;
    standing.regime = "no answer";
  }
  return standing;
}

/// Goes from the present value to an end in a few steps, and closes in on the first change.
std::optional<RegimeEnd> first_end(const GainInput& input, const Standing& here, double end) {
  constexpr int steps = 5;
  constexpr double close = 1e-7;  // of the way
  Standing last = here;
  double from = input.value;
  for (int i = 1; i <= steps; ++i) {
    double to = input.value + (end - input.value) * i / steps;
    Standing next = standing_at(input, to, last.guess);
    if (next.regime == here.regime && next.binding == here.binding) {
      last = std::move(next);
      from = to;
      continue;
    }
    while (std::abs(to - from) > close * std::abs(end - input.value)) {
      const double middle = 0.5 * (from + to);
      Standing between = standing_at(input, middle, last.guess);
      const bool same = between.regime == here.regime && between.binding == here.binding;
      (same ? from : to) = middle;
      (same ? last : next) = std::move(between);
    }
    if (!next.allowed) return std::nullopt;
    if (next.regime != here.regime) return RegimeEnd{to, Crossing::Kind::regime, here.regime, next.regime};
    return RegimeEnd{to, Crossing::Kind::binding, here.binding, next.binding};
  }
  return std::nullopt;
}

}  // namespace

void find_regime_ends(const GainInput& input, InputGains& gains) {
  // From half to twice the value, as far as it may go; a share or an angle of nothing up to all of it.
  constexpr double wide = 2.0, largest_from_nothing = 10.0;
  const double low = input.value > 0.0 ? std::max(input.least, input.value / wide) : input.least;
  const double high = input.value > 0.0 ? std::min(input.most, input.value * wide) : input.most;
  if (input.value == 0.0 && !(high - low <= largest_from_nothing)) return;
  gains.ends_sought = true;
  const Standing here = standing_at(input, input.value, {});
  if (low < input.value) gains.below = first_end(input, here, low);
  if (high > input.value) gains.above = first_end(input, here, high);
}

}  // namespace tileflux::studies
