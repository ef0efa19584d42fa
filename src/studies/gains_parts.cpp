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

void find_regime_ends(const GainInput& input, InputGains& gains) {
  gains.ends_sought = true;
  // From half to twice the value, as far as it may go; of nothing, over all that is allowed.
  constexpr double wide = 2.0;
  double low = input.least, high = input.most;
  if (input.value > 0.0) {
    low = std::max(low, input.value / wide);
    high = std::min(high, input.value * wide);
  }
  if (!std::isfinite(low) || !std::isfinite(high) || !(low < high)) return;
  constexpr int values = 4;  // either side
  std::vector<double> all;
  for (int i = -values; i <= values; ++i) {
    const double end = i < 0 ? low : high;
    const double value = i == 0 ? input.value : input.value + (end - input.value) * std::abs(i) / values;
    if (all.empty() || value > all.back()) all.push_back(value);
  }
  SweepOptions options;
  options.duty = false;
  options.tilt = false;
  for (const Crossing& crossing : sweep(input.case_at, all, options).crossings) {
    const bool told = crossing.kind == Crossing::Kind::regime || crossing.kind == Crossing::Kind::binding ||
                      crossing.kind == Crossing::Kind::answer;
    if (!told) continue;
    if (crossing.value < input.value) {
      gains.below = RegimeEnd{crossing.value, crossing.kind, crossing.to, crossing.from};
    } else if (!gains.above) {
      gains.above = RegimeEnd{crossing.value, crossing.kind, crossing.from, crossing.to};
    }
  }
}

}  // namespace tileflux::studies
