/// The radiating side of a case: surfaces, finishes, fins, louvres, enclosures.

#include <algorithm>
#include <cmath>
#include <map>

#include "tile/case_builder.h"
#include "tileflux/base/spelling.h"
#include "tileflux/network/enclosure.h"
#include "tileflux/network/view_factors.h"

namespace tileflux::tile {

namespace {

std::string percent(double share) {
  char text[32];
  std::snprintf(text, sizeof text, "%.4g %%", 100.0 * share);
  return text;
}

}  // namespace

const materials::SurfaceValues* CaseBuilder::finish_values(const Record& owner) {
  const std::string& name = owner.text("finish");
  const materials::Surface* found = library_.surface(name);
  if (found == nullptr) {
    const std::string nearest = nearest_spelling(name, library_.surface_names());
    find(Code::name_unknown, owner.place("finish"), "no surface finish named '" + name + "' is known",
         nearest.empty() ? "see `tileflux materials` for the names" : "did you mean '" + nearest + "'?");
    return nullptr;
  }
  if (case_.end_of_life && !found->end) {
    find(Code::life_unknown, owner.place("finish"),
         "'" + name + "' has begin-of-life values only, and " + who_says_end_,
           "give the case an entry of its own with `end_of_life`, or ask for begin of life");
    return nullptr;
  }
  const materials::SurfaceValues& values = case_.end_of_life ? *found->end : found->begin;
  note_source(found->name, "emittance", values.emittance);
  return &values;
}

void CaseBuilder::build_finish(const Record& owner, Surface& surface) {
  // Until it is known, so that what is wrong with a finish is told once and not again by what rests on it.
  surface.absorptance = 1.0;
  if (!owner.has("finish")) {
    if (owner.has("louvre")) {
      build_louvre(owner.section("louvre"), surface);
    } else {
      surface.emittance = owner.quantity("emittance");
    }
    if (owner.has("absorptance")) {
      surface.absorptance = owner.quantity("absorptance");
    } else if (surface.meets_sunlight()) {
      find(Code::key_missing, owner.place(),
           "a surface that faces the Sun needs `absorptance` beside its emittance, or a `finish`");
    } else {
      surface.absorptance = 0.0;
    }
    return;
  }
  surface.finish = owner.text("finish");
  const materials::SurfaceValues* values = finish_values(owner);
  if (values == nullptr) return;
  surface.emittance = values->emittance.table.value(293.15);
  if (!surface.meets_sunlight()) return;
  note_source(surface.finish, "absorptance", values->absorptance);
  surface.absorptance = values->absorptance.table.value(293.15);
}

void CaseBuilder::build_louvre(const Record& record, Surface& surface) {
  const double from_K = record.quantity("closed_below"), to_K = record.quantity("open_above");
  if (!(from_K < to_K)) {
    find(Code::limits_contradict, record.place("open_above"), "`open_above` must lie above `closed_below`");
    return;
  }
  surface.emittance = record.quantity("open");
  surface.emittance_over_K = PropertyTable({from_K, to_K}, {record.quantity("closed"), record.quantity("open")});
}

void CaseBuilder::build_fin(const Record& record, Surface& surface) {
  const materials::Solid* found = solid(record, "material");
  if (found == nullptr) return;
  note_source(found->name, "conductivity", found->conductivity);
  const double thickness_m = record.quantity("thickness");
  Fin fin;
  fin.length_m = record.quantity("length");
  fin.conductance_W_per_K = found->conductivity.table.scaled(thickness_m);
  fin.capacity_J_per_m2_K = found->heat_capacity.table.scaled(found->density.table.value(293.15) * thickness_m);
  fin.material = found->name;
  fin.segments = static_cast<int>(record.count("segments"));
  fin.thickness_m = thickness_m;
  fin.density_kg_per_m3 = found->density.table.value(293.15);
  if (fin.segments > 0) {
    note_source(found->name, "density", found->density);
    note_source(found->name, "heat_capacity", found->heat_capacity);
  }
  surface.fin = std::move(fin);
}

void CaseBuilder::build_facing(const Record& record, Surface& surface) {
  using Facing = Surface::Facing;
  static const std::map<std::string, Facing> words{
      {"front", Facing::front}, {"rear", Facing::rear}, {"both", Facing::both}, {"shielded", Facing::shielded}};
  const bool two = record.count("faces") == 2;
  if (record.flag("sunlit")) {
    surface.facing = two ? Facing::both : Facing::front;
    if (two && !record.has("fin"))
      find(Code::key_conflict, record.place("faces"),
           "only one face can face the Sun: say `facing: both`, or describe the rear as a surface of its own");
  }
  if (!record.has("facing")) return;
  surface.facing = words.at(record.text("facing"));
  if (record.flag("sunlit") && surface.front_m2() <= 0.0)
    find(Code::key_conflict, record.place("facing"), "`sunlit: yes` says that it faces the front");
  if (surface.facing != Facing::shielded && two != (surface.facing == Facing::both))
    find(Code::key_conflict, record.place("facing"),
         two ? "of two faces one looks to the front and one to the rear: `both`"
             : "one face looks one way: `both` needs `faces: 2`");
}

void CaseBuilder::build_surfaces() {
  for (const auto& [name, record] : record_.by_name("surfaces")) {
    Surface surface;
    surface.name = name;
    surface.node = record.has("fin") ? node(record, "on") : nodes_named(record, "on");
    check_path_end(surface.node, record.place("on"));
    surface.area_m2 = record.quantity("area") * static_cast<double>(record.count("faces"));
    surface.faces = static_cast<int>(record.count("faces"));
    surface.view_to_space = record.quantity("view_to_space");
    build_facing(record, surface);
    build_finish(record, surface);
    if (record.has("fin")) build_fin(record.section("fin"), surface);
    double whole = 0.0;
    for (const Record& deposit : record.list("absorbed_in")) {
      surface.deposits.push_back({nodes_named(deposit, "node"), deposit.quantity("share")});
      whole += surface.deposits.back().share;
    }
    constexpr double printed_digits = 1e-9;  // shares are written with a few digits; their sum is exact up to round-off
    if (!surface.deposits.empty() && std::abs(whole - 1.0) > printed_digits) {
      find(Code::shares_not_whole, record.place("absorbed_in"),
           "the shares add up to " + percent(whole) + ", not to 100 %");
    }
    case_.surfaces.push_back(std::move(surface));
  }
}

void CaseBuilder::build_enclosures() {
  for (const auto& [name, record] : record_.by_name("enclosures")) {
    Enclosure enclosure;
    enclosure.name = name;
    std::vector<network::Polygon> polygons;
    for (const auto& [face_name, face] : record.by_name("faces")) {
      EnclosureFace made{face_name, node(face, "on"), 0.0, 0.5};
      check_path_end(made.node, face.place("on"));
      if (face.has("area")) made.area_m2 = face.quantity("area");
      if (face.has("emittance")) {
        made.emittance = face.quantity("emittance");
      } else if (const materials::SurfaceValues* values = finish_values(face)) {
        made.emittance = values->emittance.table.value(293.15);
      }
      if (face.has("corners")) {
        network::Polygon polygon;
        for (const std::vector<double>& corner : face.table("corners"))
          polygon.emplace_back(corner[0], corner[1], corner[2]);
        made.area_m2 = network::polygon_area(polygon);
        polygons.push_back(std::move(polygon));
      }
      enclosure.faces.push_back(std::move(made));
    }
    if (enclosure.faces.empty()) continue;
    if (!polygons.empty() && polygons.size() != enclosure.faces.size()) {
      find(Code::key_conflict, record.place("faces"), "either every face states `corners`, or none does");
      continue;
    }
    if (polygons.empty() == record.list("views").empty()) {
      find(Code::key_conflict, record.place(),
           polygons.empty() ? "state `views`, or `corners` of every face"
                            : "`views` do not go with `corners`, from which they follow");
      continue;
    }
    const bool found = polygons.empty() ? read_views(record, enclosure) : compute_views(record, polygons, enclosure);
    if (found && close_views(record, enclosure)) case_.enclosures.push_back(std::move(enclosure));
  }
}

bool CaseBuilder::read_views(const Record& record, Enclosure& enclosure) {
  const std::size_t size = enclosure.faces.size();
  std::vector<std::string> names;
  for (const EnclosureFace& face : enclosure.faces) names.push_back(face.name);
  enclosure.view_factors.assign(size, std::vector<double>(size, 0.0));
  std::vector<std::vector<char>> stated(size, std::vector<char>(size, 0));
  bool sound = true;
  const auto place_of = [&](const Record& view, const char* key) {
    const auto found = std::find(names.begin(), names.end(), view.text(key));
    if (found == names.end()) {
      const std::string nearest = nearest_spelling(view.text(key), names);
      find(Code::name_unknown, view.place(key), "'" + view.text(key) + "' is no face of this enclosure",
           nearest.empty() ? "" : "did you mean '" + nearest + "'?");
      sound = false;
    }
    return static_cast<std::size_t>(found - names.begin());
  };
  for (const Record& view : record.list("views")) {
    const std::size_t from = place_of(view, "from"), to = place_of(view, "to");
    if (from >= size || to >= size) continue;
    if (stated[from][to]) {
      find(Code::name_taken, view.place("to"), "this view factor is stated already");
      sound = false;
    }
    stated[from][to] = 1;
    enclosure.view_factors[from][to] = view.quantity("factor");
  }
  for (std::size_t i = 0; i < size; ++i) {
    for (std::size_t j = 0; j < size; ++j) {
      const double ratio = enclosure.faces[i].area_m2 / enclosure.faces[j].area_m2;
      if (stated[i][j] && !stated[j][i]) enclosure.view_factors[j][i] = ratio * enclosure.view_factors[i][j];
    }
  }
  return sound;
}

bool CaseBuilder::compute_views(const Record& record, const std::vector<network::Polygon>& polygons,
                                Enclosure& enclosure) {
  const std::size_t size = polygons.size();
  enclosure.view_factors.assign(size, std::vector<double>(size, 0.0));
  for (std::size_t i = 0; i < size; ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      try {
        enclosure.view_factors[i][j] = network::polygon_view_factor(polygons[i], polygons[j]);
        enclosure.view_factors[j][i] =
            enclosure.view_factors[i][j] * enclosure.faces[i].area_m2 / enclosure.faces[j].area_m2;
      } catch (const Error& error) {
        find(error.code(), record.place("faces"), error.diagnostics().front().message);
        return false;
      }
    }
  }
  return true;
}

bool CaseBuilder::close_views(const Record& record, Enclosure& enclosure) {
  const std::size_t size = enclosure.faces.size();
  const auto count = static_cast<Eigen::Index>(size);
  Eigen::MatrixXd factors(count, count);
  std::vector<double> areas;
  for (std::size_t i = 0; i < size; ++i) {
    areas.push_back(enclosure.faces[i].area_m2);
    for (std::size_t j = 0; j < size; ++j)
      factors(static_cast<Eigen::Index>(i), static_cast<Eigen::Index>(j)) = enclosure.view_factors[i][j];
  }
  const network::ViewFactorCheck check = network::check_view_factors(factors, areas);
  // Printed view factors have three or four digits.
  constexpr double printed_digits = 2e-3;
  const auto name = [&](int face) { return '\'' + enclosure.faces[static_cast<std::size_t>(face)].name + '\''; };
  if (check.worst_reciprocity > printed_digits) {
    find(Code::view_factors_not_reciprocal, record.place(),
         "area times view factor from " + name(check.reciprocity_row) + " to " + name(check.reciprocity_column) +
             " differs from the way back by " + percent(check.worst_reciprocity) + " of the smaller face");
    return false;
  }
  const bool open = record.flag("open");
  if (check.largest_row_sum > 1.0 + printed_digits || (!open && check.smallest_row_sum < 1.0 - printed_digits)) {
    const bool over = check.largest_row_sum > 1.0 + printed_digits;
    find(Code::view_factors_open, record.place(),
         over ? "view factors of a face add up to " + percent(check.largest_row_sum) + ", more than 100 %"
              : "view factors of " + name(check.open_row) + " add up to " + percent(check.smallest_row_sum) +
                    ", not to 100 %");
    return false;
  }
  for (std::size_t i = 0; i < size; ++i) {
    double sum = 0.0;
    for (std::size_t j = 0; j < size; ++j) sum += enclosure.view_factors[i][j];
    // What the printed digits leave over or have too much goes to the face's view of itself: it changes no balance.
    if (!open || sum > 1.0) enclosure.view_factors[i][i] += 1.0 - sum;
  }
  return true;
}

}  // namespace tileflux::tile
