#include "tileflux/tile/ageing.h"

#include <algorithm>

namespace tileflux::tile {

namespace {

bool cells_age(const Ageing& ageing) { return ageing.cells || ageing.radiation; }

template <class List>
auto& named(List& list, const std::string& name) {
  const auto found = std::find_if(list.begin(), list.end(), [&](const auto& one) { return one.name == name; });
  if (found == list.end()) throw Error(Code::name_unknown, "ageing refers to '" + name + "', which is not described");
  return *found;
}

/// Share of the rated drive that a bank runs at.
double drive_of(const devices::LaserBank& bank, double input_W) {
  if (bank.modules == 0) return 0.0;
  if (const auto* diode = std::get_if<devices::DiodeLaw>(&bank.law))
    return diode->current_A(input_W / bank.modules) / diode->rated_current_A;
  return input_W / (bank.modules * std::get<devices::EfficiencyLaw>(bank.law).rated_input_W);
}

}  // namespace

std::vector<std::string> age_names(const Case& description) {
  std::vector<std::string> names;
  if (!description.ageing) return names;
  if (cells_age(*description.ageing)) names.emplace_back("cells.remaining");
  for (const Ageing::Finish& finish : description.ageing->finishes) names.push_back(finish.surface + ".absorptance");
  for (const Ageing::Diodes& diodes : description.ageing->diodes) names.push_back(diodes.bank + ".wear");
  return names;
}

std::vector<double> age_of(const Case& description) {
  std::vector<double> age;
  if (!description.ageing) return age;
  if (cells_age(*description.ageing)) age.push_back(description.cells ? description.cells->remaining : 1.0);
  for (const Ageing::Finish& finish : description.ageing->finishes)
    age.push_back(named(description.surfaces, finish.surface).absorptance);
  for (const Ageing::Diodes& diodes : description.ageing->diodes)
    age.push_back(1.0 - named(description.lasers, diodes.bank).devices.remaining);
  return age;
}

void set_age(Case& description, std::span<const double> age) {
  if (!description.ageing) return;
  std::size_t k = 0;
  if (cells_age(*description.ageing)) {
    if (description.cells) description.cells->remaining = age[k];
    ++k;
  }
  for (const Ageing::Finish& finish : description.ageing->finishes)
    named(description.surfaces, finish.surface).absorptance = age[k++];
  for (const Ageing::Diodes& diodes : description.ageing->diodes)
    named(description.lasers, diodes.bank).devices.remaining = devices::DiodeWear::light_factor(age[k++]);
}

std::vector<bool> take_over(const Case& before, const Case& after, std::span<double> age) {
  const std::vector<double> was = age_of(before), is = age_of(after);
  std::vector<bool> changed(age.size(), false);
  for (std::size_t k = 0; k < age.size(); ++k) {
    if (was[k] == is[k]) continue;
    age[k] = is[k];
    changed[k] = true;
  }
  return changed;
}

void age_rates(const TileSystem& system, double time_s, std::span<const double> x, std::span<double> rate) {
  const Case& description = system.description();
  if (!description.ageing) return;
  const Ageing& ageing = *description.ageing;
  std::size_t k = 0;
  if (cells_age(ageing)) {
    double mean_K = 0.0;
    for (const TileSystem::Member& member : system.members(description.cells->node, "ageing"))
      mean_K += member.share * system.network().temperature_K(member.node, x);
    const double remaining = description.cells->remaining;
    rate[k] = 0.0;
    if (ageing.cells) rate[k] += ageing.cells->rate_per_s(remaining, mean_K);
    if (ageing.radiation) rate[k] += ageing.radiation->rate_per_s(remaining);
    ++k;
  }
  for (const Ageing::Finish& finish : ageing.finishes) {
    const Surface& surface = named(description.surfaces, finish.surface);
    const SkyState sky = system.sky(time_s, x);
    const bool lit = (surface.front_m2() > 0.0 && sky.front_sun_W_per_m2 > 0.0) ||
                     (surface.rear_m2() > 0.0 && sky.rear_sun_W_per_m2 > 0.0);
    rate[k++] = finish.law.rate_per_s(surface.absorptance, lit);
  }
  if (ageing.diodes.empty()) return;
  const devices::ChainFlows<double> flows = system.chain_flows(time_s, x);
  for (const Ageing::Diodes& diodes : ageing.diodes) {
    const Bank& bank = named(description.lasers, diodes.bank);
    const auto index = static_cast<std::size_t>(&bank - description.lasers.data());
    const double junction_K = system.network().temperature_K(system.junction_of(index), x);
    rate[k++] = diodes.law.wear_per_s(junction_K, drive_of(bank.devices, flows.bank[index].input));
  }
}

}  // namespace tileflux::tile
