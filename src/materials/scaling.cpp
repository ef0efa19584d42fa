#include "tileflux/materials/scaling.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "tileflux/base/spelling.h"

namespace tileflux::materials {

namespace {

/// One value or table of a property; the property may have several of them.
struct Scalable {
  PropertyTable* table = nullptr;  ///< one of the two is set
  double* value = nullptr;
  bool share = false;  ///< at most 1
  std::optional<bool> end_of_life;  ///< of which age it is; none: of both

  void scale(double factor) const {
    if (table != nullptr)
      *table = table->scaled(factor);
    else
      *value *= factor;
  }
  double largest() const {
    if (value != nullptr) return *value;
    return *std::max_element(table->values().begin(), table->values().end());
  }
};

/// Calls visit(path, parts) for every property of a library.
class Walk {
 public:
  template <class Visit>
  static void through(Library& library, const Visit& visit) {
    for (Solid& solid : library.solids) {
      const auto tell = [&](const char* property, Property& value) {
        visit(PropertyPath{"solids", solid.name, property}, {part(value)});
      };
      tell("density", solid.density);
      tell("heat_capacity", solid.heat_capacity);
      tell("conductivity", solid.conductivity);
    }
    for (Medium& medium : library.media) {
      visit(PropertyPath{"media", medium.name, "latent_heat"}, {part(medium.latent_heat)});
      phase(medium, "solid.", medium.solid, visit);
      phase(medium, "liquid.", medium.liquid, visit);
    }
    for (Surface& surface : library.surfaces) {
      std::vector<Scalable> absorptance{of_age(part(surface.begin.absorptance, true), false)};
      std::vector<Scalable> emittance{of_age(part(surface.begin.emittance, true), false)};
      if (surface.end) absorptance.push_back(of_age(part(surface.end->absorptance, true), true));
      if (surface.end) emittance.push_back(of_age(part(surface.end->emittance, true), true));
      visit(PropertyPath{"surfaces", surface.name, "absorptance"}, absorptance);
      visit(PropertyPath{"surfaces", surface.name, "emittance"}, emittance);
    }
    for (CellType& cell : library.cells) {
      visit(PropertyPath{"cells", cell.name, "efficiency"}, {part(cell.efficiency, true)});
      visit(PropertyPath{"cells", cell.name, "slope"}, {part(cell.slope)});
      if (cell.remaining) visit(PropertyPath{"cells", cell.name, "remaining"}, {of_age(part(*cell.remaining, true), true)});
    }
    for (Body& body : library.bodies) {
      const auto tell = [&](const char* property, const std::vector<Scalable>& parts) {
        visit(PropertyPath{"bodies", body.name, property}, parts);
      };
      tell("radius", {part(body.radius)});
      tell("gravitational_parameter", {part(body.gravitational_parameter)});
      tell("albedo", values(body.albedo, true));
      if (body.infrared) tell("infrared", values(*body.infrared, false));
      if (body.night_infrared) tell("night_infrared", {part(*body.night_infrared)});
    }
  }

 private:
  static Scalable part(Property& property, bool share = false) { return {&property.table, nullptr, share, {}}; }
  static Scalable part(Fact& fact, bool share = false) { return {nullptr, &fact.value, share, {}}; }
  static Scalable of_age(Scalable part, bool end_of_life) {
    part.end_of_life = end_of_life;
    return part;
  }
  static std::vector<Scalable> values(CaseValues& all, bool share) {
    std::vector<Scalable> parts{part(all.mean, share)};
    if (all.hot) parts.push_back(part(*all.hot, share));
    if (all.cold) parts.push_back(part(*all.cold, share));
    return parts;
  }
  template <class Visit>
  static void phase(const Medium& medium, const std::string& which, Phase& phase, const Visit& visit) {
    visit(PropertyPath{"media", medium.name, which + "density"}, {part(phase.density)});
    visit(PropertyPath{"media", medium.name, which + "heat_capacity"}, {part(phase.heat_capacity)});
    visit(PropertyPath{"media", medium.name, which + "conductivity"}, {part(phase.conductivity)});
  }
};

}  // namespace

std::vector<PropertyPath> scalable_properties(const Library& library) {
  Library copy = library;  // the walk hands out what may be changed
  std::vector<PropertyPath> paths;
  Walk::through(copy, [&](const PropertyPath& path, const std::vector<Scalable>&) { paths.push_back(path); });
  return paths;
}

void scale(Library& library, std::string_view path, double factor, std::optional<bool> end_of_life) {
  if (!(factor > 0.0 && std::isfinite(factor)))
    throw Error(Code::value_out_of_range, "the factor on " + std::string(path) + " must be above zero");
  bool found = false, too_much = false;
  Walk::through(library, [&](const PropertyPath& one, const std::vector<Scalable>& parts) {
    if (found || one.text() != path) return;
    found = true;
    for (const Scalable& part : parts) {
      part.scale(factor);
      const bool asked = !end_of_life || !part.end_of_life || *part.end_of_life == *end_of_life;
      too_much = too_much || (asked && part.share && part.largest() > 1.0);
    }
  });
  if (too_much)
    throw Error(Code::value_out_of_range,
                "the factor on " + std::string(path) + " would make more than 100 % of what is a share");
  if (found) return;
  std::vector<std::string> known;
  for (const PropertyPath& one : scalable_properties(library)) known.push_back(one.text());
  Diagnostic finding;
  finding.code = Code::name_unknown;
  finding.message = "no property '" + std::string(path) + "' of the library can be scaled";
  const std::string nearest = nearest_spelling(std::string(path), known);
  if (!nearest.empty()) finding.suggestion = "did you mean '" + nearest + "'?";
  throw Error(std::move(finding));
}

}  // namespace tileflux::materials
