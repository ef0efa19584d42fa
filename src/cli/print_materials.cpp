#include <fmt/format.h>

#include <algorithm>

#include "cli/print.h"
#include "cli/print_parts.h"
#include "cli/text.h"

namespace tileflux::cli {

namespace {

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
  text += fmt::format("    uncertainty {}; {}: {}\n", property.uncertainty, property.basis, property.source);
  if (!property.note.empty()) text += "    note: " + property.note + '\n';
  return text;
}

std::string at_room(const materials::Property& property) { return fmt::format("{:.5g}", property.table.value(293.15)); }

std::string weakest(std::vector<std::string> bases) {
  for (const char* basis : {"memory", "transcribed"}) {
    if (std::find(bases.begin(), bases.end(), basis) != bases.end()) return basis;
  }
  return "published";
}

}  // namespace

std::string print_materials(const materials::Library& library) {
  Table solids({"Solids at 20 degC", "kg/m3", "J/(kg K)", "W/(m K)", "weakest basis", "title"});
  for (const materials::Solid& solid : library.solids) {
    solids.row({solid.name, at_room(solid.density), at_room(solid.heat_capacity), at_room(solid.conductivity),
                weakest({solid.density.basis, solid.heat_capacity.basis, solid.conductivity.basis}), solid.title});
  }
  Table surfaces({"Surface finishes", "absorptance", "emittance", "at end of life", "weakest basis", "title"});
  for (const materials::Surface& surface : library.surfaces) {
    surfaces.row({surface.name, at_room(surface.begin.absorptance), at_room(surface.begin.emittance),
                  surface.end ? at_room(surface.end->absorptance) + " / " + at_room(surface.end->emittance) : "unknown",
                  weakest({surface.begin.absorptance.basis, surface.begin.emittance.basis}), surface.title});
  }
  Table cells({"Cell types", "efficiency", "slope %/K", "remaining", "weakest basis", "title"});
  for (const materials::CellType& cell : library.cells) {
    cells.row({cell.name, percent(cell.efficiency.table.value(293.15), 1),
               fmt::format("{:.3g}", 100.0 * cell.slope.table.value(293.15)),
               cell.remaining ? at_room(*cell.remaining) : "unknown",
               weakest({cell.efficiency.basis, cell.slope.basis}), cell.title});
  }
  return solids.text({0, 4, 5}) + '\n' + surfaces.text({0, 4, 5}) + '\n' + cells.text({0, 4, 5}) +
         "\n`tileflux materials NAME` shows an entry with its sources, validity and uncertainty.\n";
}

std::string print_entry(const materials::Library& library, const std::string& name) {
  if (const materials::Solid* solid = library.solid(name)) {
    return fmt::format("{}: {}\n", solid->name, solid->title) + property_text("density", "kg/m3", solid->density) +
           property_text("heat capacity", "J/(kg K)", solid->heat_capacity) +
           property_text("conductivity", "W/(m K)", solid->conductivity);
  }
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
  return "";
}

std::string print_check(const tile::CaseFile& file, const tile::TileSystem& system) {
  std::string text = print_head(file);
  text += fmt::format("The case is sound. Nodes {}, unknown temperatures {}, surfaces {}, laser banks {}, limits {}.\n",
                      system.network().node_count(), system.size(), file.description.surfaces.size(),
                      file.description.lasers.size(), system.limits().size());
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
