/// What `size` is asked of a case.

#include <algorithm>

#include "tile/case_builder.h"
#include "tileflux/base/spelling.h"

namespace tileflux::tile {

std::optional<Bounds> CaseBuilder::bounds(const Record& owner, const char* key) {
  if (!owner.has(key)) return std::nullopt;
  const std::vector<double>& ends = owner.quantities(key);
  if (!(ends[0] <= ends[1])) find(Code::value_out_of_range, owner.place(key, 1), "the lower bound must stand first");
  return Bounds{ends[0], ends[1]};
}

Surroundings CaseBuilder::surroundings(const Record& owner) {
  Surroundings made{owner.text("life") == "end", case_.sun};
  if (owner.has("distance")) made.sun.distance_m = owner.quantity("distance");
  if (owner.has("tilt")) made.sun.tilt_rad = owner.quantity("tilt");
  return made;
}

const Surface* CaseBuilder::sized_surface(const Record& record) {
  const std::string& name = record.text("surface");
  const auto found = std::find_if(case_.surfaces.begin(), case_.surfaces.end(),
                                  [&](const Surface& surface) { return surface.name == name; });
  if (found == case_.surfaces.end()) {
    std::vector<std::string> names;
    for (const Surface& surface : case_.surfaces) names.push_back(surface.name);
    const std::string nearest = nearest_spelling(name, names);
    find(Code::name_unknown, record.place("surface"), "'" + name + "' is no surface of this tile",
         nearest.empty() ? "" : "did you mean '" + nearest + "'?");
    return nullptr;
  }
  if (case_.cells && case_.cells->surface == name)
    find(Code::key_conflict, record.place("surface"),
         "the cells lie on '" + name + "': its area is not the radiator's alone; size another surface");
  if (!(found->view_to_space > 0.0))
    find(Code::key_conflict, record.place("surface"), "'" + name + "' sees no space: it is no radiator");
  for (const char* key : {"thickness", "pitch", "pipe_mass"}) {
    if (record.stated(key) && !found->fin)
      find(Code::key_conflict, record.place(key),
           std::string("`") + key + "` needs a `fin` on the surface '" + name + "'");
  }
  if (record.text("faces") == "either" && found->meets_sunlight())
    find(Code::key_conflict, record.place("faces"), "only one face of '" + name + "' can face the Sun");
  return &*found;
}

void CaseBuilder::build_size() {
  if (!record_.has("size")) return;
  const Record& record = record_.section("size");
  const Surface* surface = sized_surface(record);
  SizeSettings size;
  size.surface = record.text("surface");
  size.minimise = record.text("minimise") == "area" ? SizeSettings::Minimise::area : SizeSettings::Minimise::mass;
  size.area_m2 = *bounds(record, "area");
  size.thickness_m = bounds(record, "thickness");
  size.pitch_m = bounds(record, "pitch");
  size.either_face_count = record.text("faces") == "either";
  size.pipe_kg_per_m = record.quantity("pipe_mass");
  size.other_kg_per_m2 = record.quantity("other_mass");
  size.margin_K = record.quantity("margin");
  size.area_margin = record.quantity("area_margin");
  size.light_W = record.quantity_if("light");
  if (size.pitch_m && size.minimise == SizeSettings::Minimise::mass && !(size.pipe_kg_per_m > 0.0))
    find(Code::key_missing, record.place("pitch"),
         "a free pitch needs `pipe_mass`: pipes that weigh nothing would be laid side by side");
  if (size.light_W && (case_.lasers.empty() || !case_.beam))
    find(Code::key_conflict, record.place("light"), "a light to be reached needs `lasers` and `beam` in the case");
  const auto bound_above = [&](const std::string& name) {
    return std::any_of(case_.limits.begin(), case_.limits.end(),
                       [&](const Limit& limit) { return limit.below_K && (name.empty() || limit.node == name); });
  };
  if (record.has("hold")) {
    size.hold = record.names("hold");
    for (std::size_t i = 0; i < size.hold.size(); ++i) {
      if (bound_above(size.hold[i])) continue;
      check_node(size.hold[i], record.place("hold", i));
      if (std::find(nodes_.begin(), nodes_.end(), size.hold[i]) == nodes_.end()) continue;
      find(Code::key_missing, record.place("hold", i), "'" + size.hold[i] + "' has no `below` among the limits");
    }
  } else if (!size.light_W && !bound_above("")) {
    find(Code::key_missing, record.place(), "nothing is asked of the radiator: give a limit with `below`, or `light`");
  }
  size.hot = surroundings(record.section("hot"));
  if (record.has("cold")) {
    const Record& cold = record.section("cold");
    SizeSettings::Cold made{surroundings(cold), cold.text("beam") == "on", surface != nullptr ? surface->node : ""};
    if (cold.has("heater")) made.heater = node(cold, "heater");
    size.heater_margin = cold.quantity("heater_margin");
    size.cold = std::move(made);
  }
  case_.size = std::move(size);
}

}  // namespace tileflux::tile
