#include <fmt/format.h>

#include <algorithm>

#include "cli/print.h"
#include "cli/print_parts.h"
#include "cli/text.h"
#include "tileflux/base/constants.h"

namespace tileflux::cli {

namespace {

std::string pedigree_text(const materials::Pedigree& pedigree) {
  const std::string text =
      fmt::format("    uncertainty {}; {}: {}\n", pedigree.uncertainty, pedigree.basis, pedigree.source);
  return pedigree.note.empty() ? text : text + "    note: " + pedigree.note + '\n';
}

std::string fact_text(const std::string& name, const std::string& unit, const materials::Fact& fact) {
  return fmt::format("  {}\n    {:.7g} {}\n", name, fact.value, unit) + pedigree_text(fact);
}

std::string property_text(const std::string& name, const std::string& unit, const materials::Property& property) {
  std::string text = "  " + name + '\n';
  if (property.table.constant()) {
    text += fmt::format("    {:.6g}{}, {:.4g} to {:.4g} K\n", property.table.values()[0],
                        unit.empty() ? "" : ' ' + unit, property.table.valid_from_K(), property.table.valid_to_K());
  } else {
    Table table({"K", unit.empty() ? "-" : unit});
    for (std::size_t i = 0; i < property.table.values().size(); ++i) {
      table.row({fmt::format("{:.6g}", property.table.temperatures_K()[i]),
                 fmt::format("{:.6g}", property.table.values()[i])});
    }
    text += table.text({});
  }
  return text + pedigree_text(property);
}

std::string at_room(const materials::Property& property) { return fmt::format("{:.5g}", property.table.value(293.15)); }

std::string weakest(std::vector<std::string> bases) {
  for (const char* basis : {"memory", "transcribed"}) {
    if (std::find(bases.begin(), bases.end(), basis) != bases.end()) return basis;
  }
  return "published";
}

std::vector<std::string> bases_of(const materials::Medium& medium) {
  std::vector<std::string> bases{medium.melting_temperature.basis, medium.latent_heat.basis};
  for (const materials::Phase* phase : {&medium.solid, &medium.liquid}) {
    bases.insert(bases.end(), {phase->density.basis, phase->heat_capacity.basis, phase->conductivity.basis});
  }
  return bases;
}

std::vector<std::string> bases_of(const materials::Fluid& fluid) {
  std::vector<std::string> bases{fluid.freezing_temperature.basis, fluid.critical_temperature.basis,
                                 fluid.usable_from.basis};
  if (fluid.merit_source) bases.push_back(fluid.merit_source->basis);
  if (fluid.liquid) {
    bases.insert(bases.end(), {fluid.liquid->surface_tension.basis, fluid.liquid->density.basis,
                               fluid.liquid->latent_heat.basis, fluid.liquid->viscosity.basis});
  }
  return bases;
}

std::vector<std::string> bases_of(const materials::Surface& surface) {
  std::vector<std::string> bases{surface.begin.absorptance.basis, surface.begin.emittance.basis};
  if (surface.end) bases.insert(bases.end(), {surface.end->absorptance.basis, surface.end->emittance.basis});
  return bases;
}

std::vector<std::string> bases_of(const materials::CellType& cell) {
  std::vector<std::string> bases{cell.efficiency.basis, cell.slope.basis};
  if (cell.remaining) bases.push_back(cell.remaining->basis);
  return bases;
}

std::vector<std::string> bases_of(const materials::Body& body) {
  std::vector<std::string> bases{body.radius.basis, body.gravitational_parameter.basis, body.sun_distance.basis,
                                 body.sun_eccentricity.basis, body.albedo.mean.basis};
  bases.push_back(body.infrared ? body.infrared->mean.basis : body.night_infrared->basis);
  return bases;
}

}  // namespace

std::string print_materials(const materials::Library& library) {
  Table solids({"Solids at 20 degC", "kg/m3", "J/(kg K)", "W/(m K)", "weakest basis", "title"});
  for (const materials::Solid& solid : library.solids) {
    solids.row({solid.name, at_room(solid.density), at_room(solid.heat_capacity), at_room(solid.conductivity),
                weakest({solid.density.basis, solid.heat_capacity.basis, solid.conductivity.basis}), solid.title});
  }
  Table media({"Melting media", "K", "kJ/kg", "weakest basis", "title"});
  for (const materials::Medium& medium : library.media) {
    media.row({medium.name, fmt::format("{:.6g}", medium.melting_temperature.value),
               fmt::format("{:.4g}", 1e-3 * medium.latent_heat.value), weakest(bases_of(medium)), medium.title});
  }
  Table fluids({"Heat-pipe fluids", "freezes K", "from K", "to K", "critical K", "weakest basis", "title"});
  for (const materials::Fluid& fluid : library.fluids) {
    fluids.row({fluid.name, fmt::format("{:.5g}", fluid.freezing_temperature.value),
                fmt::format("{:.4g}", fluid.usable_from.value), fmt::format("{:.4g}", fluid.usable_to.value),
                fmt::format("{:.5g}", fluid.critical_temperature.value), weakest(bases_of(fluid)), fluid.title});
  }
  Table surfaces({"Surface finishes", "absorptance", "emittance", "at end of life", "weakest basis", "title"});
  for (const materials::Surface& surface : library.surfaces) {
    surfaces.row({surface.name, at_room(surface.begin.absorptance), at_room(surface.begin.emittance),
                  surface.end ? at_room(surface.end->absorptance) + " / " + at_room(surface.end->emittance) : "unknown",
                  weakest(bases_of(surface)), surface.title});
  }
  Table cells({"Cell types", "efficiency", "slope %/K", "remaining", "weakest basis", "title"});
  for (const materials::CellType& cell : library.cells) {
    cells.row({cell.name, percent(cell.efficiency.table.value(293.15), 1),
               fmt::format("{:.3g}", 100.0 * cell.slope.table.value(293.15)),
               cell.remaining ? at_room(*cell.remaining) : "unknown", weakest(bases_of(cell)), cell.title});
  }
  Table bodies({"Planets and moons", "radius km", "AU", "albedo", "infrared W/m2", "weakest basis", "title"});
  for (const materials::Body& body : library.bodies) {
    bodies.row({body.name, fmt::format("{:.6g}", 1e-3 * body.radius.value),
                fmt::format("{:.4g}", body.sun_distance.value / astronomical_unit_m),
                fmt::format("{:.3g}", body.albedo.mean.value),
                body.infrared ? fmt::format("{:.4g}", body.infrared->mean.value)
                              : fmt::format("night {:.3g}", body.night_infrared->value),
                weakest(bases_of(body)), body.title});
  }
  return solids.text({0, 4, 5}) + '\n' + media.text({0, 3, 4}) + '\n' + fluids.text({0, 5, 6}) + '\n' +
         surfaces.text({0, 4, 5}) + '\n' + cells.text({0, 4, 5}) + '\n' + bodies.text({0, 5, 6}) +
         "\n`tileflux materials NAME` shows an entry with its sources, validity and uncertainty.\n";
}

namespace {

std::string print_medium(const materials::Medium& medium) {
  std::string text = fmt::format("{}: {}\n", medium.name, medium.title) +
                     fact_text("melting temperature", "K", medium.melting_temperature) +
                     fact_text("latent heat", "J/kg", medium.latent_heat);
  text += medium.melting_range
              ? fact_text("melting range", "K", *medium.melting_range)
              : fmt::format("  melting range\n    {:.4g} K, taken for a melting point\n", medium.melting_range_K());
  for (const bool molten : {false, true}) {
    const materials::Phase& phase = molten ? medium.liquid : medium.solid;
    const std::string which = molten ? ", liquid" : ", solid";
    text += property_text("density" + which, "kg/m3", phase.density) +
            property_text("heat capacity" + which, "J/(kg K)", phase.heat_capacity) +
            property_text("conductivity" + which, "W/(m K)", phase.conductivity);
  }
  return text;
}

std::string print_fluid(const materials::Fluid& fluid) {
  std::string text =
      fmt::format("{}: {}\n", fluid.name, fluid.title) +
      fact_text("freezing temperature", "K", fluid.freezing_temperature) +
      fact_text("critical temperature", "K", fluid.critical_temperature) +
      fmt::format("  usable range\n    {:.5g} to {:.5g} K\n", fluid.usable_from.value, fluid.usable_to.value) +
      pedigree_text(fluid.usable_from);
  if (fluid.liquid) {
    text += property_text("surface tension", "N/m", fluid.liquid->surface_tension) +
            property_text("density, liquid", "kg/m3", fluid.liquid->density) +
            property_text("heat of evaporation", "J/kg", fluid.liquid->latent_heat) +
            property_text("viscosity, liquid", "Pa s", fluid.liquid->viscosity);
  }
  Table merit({"K", "W/m2", "relative"});
  for (std::size_t i = 0; i < fluid.merit.values().size(); ++i) {
    merit.row({fmt::format("{:.6g}", fluid.merit.temperatures_K()[i]), fmt::format("{:.4g}", fluid.merit.values()[i]),
               fmt::format("{:.4f}", fluid.relative_merit.values()[i])});
  }
  text += "  merit, density x heat of evaporation x surface tension / viscosity\n" + merit.text({});
  return fluid.merit_source ? text + pedigree_text(*fluid.merit_source) : text;
}

std::string case_values_text(const std::string& what, const char* unit, const materials::CaseValues& values) {
  std::string text = fact_text(what + ", mean", unit, values.mean);
  if (values.hot) text += fact_text(what + ", hot case", unit, *values.hot);
  if (values.cold) text += fact_text(what + ", cold case", unit, *values.cold);
  return text;
}

std::string print_body(const materials::Body& body) {
  return fmt::format("{}: {}\n", body.name, body.title) + fact_text("radius", "m", body.radius) +
         fact_text("gravitational parameter", "m3/s2", body.gravitational_parameter) +
         fact_text("semi-major axis around the Sun", "m", body.sun_distance) +
         fact_text("eccentricity around the Sun", "", body.sun_eccentricity) +
         case_values_text("albedo", "", body.albedo) +
         (body.infrared ? case_values_text("infrared", "W/m2", *body.infrared)
                        : fact_text("infrared of the night side", "W/m2", *body.night_infrared));
}

}  // namespace

std::string print_entry(const materials::Library& library, const std::string& name) {
  if (const materials::Solid* solid = library.solid(name)) {
    return fmt::format("{}: {}\n", solid->name, solid->title) + property_text("density", "kg/m3", solid->density) +
           property_text("heat capacity", "J/(kg K)", solid->heat_capacity) +
           property_text("conductivity", "W/(m K)", solid->conductivity);
  }
  if (const materials::Medium* medium = library.medium(name)) return print_medium(*medium);
  if (const materials::Fluid* fluid = library.fluid(name)) return print_fluid(*fluid);
  if (const materials::Surface* surface = library.surface(name)) {
    std::string text = fmt::format("{}: {}\n", surface->name, surface->title) +
                       property_text("absorptance", "", surface->begin.absorptance) +
                       property_text("emittance", "", surface->begin.emittance);
    if (!surface->end) return text + "  end of life: unknown\n";
    return text + "  end of life, after " + surface->end_after + '\n' +
           property_text("absorptance", "", surface->end->absorptance) +
           property_text("emittance", "", surface->end->emittance);
  }
  if (const materials::CellType* cell = library.cell(name)) {
    std::string text = fmt::format("{}: {}\n", cell->name, cell->title) +
                       property_text("efficiency", "", cell->efficiency) +
                       property_text("reference temperature", "K", cell->reference_temperature) +
                       property_text("slope", "1/K", cell->slope);
    return cell->remaining ? text + "  end of life, after " + cell->end_after + '\n' +
                                 property_text("remaining factor", "", *cell->remaining)
                           : text + "  end of life: unknown\n";
  }
  if (const materials::Body* body = library.body(name)) return print_body(*body);
  return "";
}

std::string print_check(const tile::CaseFile& file, const tile::TileSystem& system) {
  std::string text = print_head(file);
  text += fmt::format("The case is sound. Nodes {}, unknowns {}, surfaces {}, laser banks {}, limits {}.\n",
                      system.network().node_count(), system.size(), file.description.surfaces.size(),
                      file.description.lasers.size(), system.limits().size() + system.differences().size());
  if (!file.sources.empty()) {
    Table table({"Material values used", "property", "basis", "uncertainty", "source"});
    for (const tile::UsedSource& used : file.sources)
      table.row({used.material, used.property, used.basis, used.uncertainty, used.source});
    text += '\n' + table.text({0, 1, 2, 3, 4});
    const auto from_memory = std::count_if(file.sources.begin(), file.sources.end(),
                                           [](const tile::UsedSource& s) { return s.basis == "memory"; });
    if (from_memory > 0)
      text += fmt::format("\n  {} of {} values rest on memory alone: re-check them before relying on the result.\n",
                          from_memory, file.sources.size());
  }
  return text + print_notes(file, {});
}

}  // namespace tileflux::cli
