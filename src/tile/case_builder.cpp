#include "tile/case_builder.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "tileflux/base/spelling.h"
#include "tileflux/devices/power_chain.h"
#include "tileflux/network/laws.h"

namespace tileflux::tile {

namespace {

std::optional<double> start_of(const input::Record& record) { return record.quantity_if("start"); }

/// The SI unit of a property of the library, whichever phase it is of.
std::string_view unit_of_property(std::string_view property) {
  constexpr std::pair<std::string_view, std::string_view> units[] = {
      {"density", "kg/m3"},
      {"heat_capacity", "J/(kg K)"},
      {"conductivity", "W/(m K)"},
      {"slope", "1/K"},
      {"radius", "m"},
      {"gravitational_parameter", "m3/s2"},
      {"infrared", "W/m2"},
      {"merit", "W/m2"},
      {"melting_temperature", "K"},
      {"latent_heat", "J/kg"},
      {"surface_tension", "N/m"},
  };
  for (const auto& [ending, unit] : units) {
    if (property.ends_with(ending)) return unit;
  }
  return "1";  // absorptance, emittance, efficiency, what remains of it, albedo
}

}  // namespace

void CaseBuilder::find(Code code, const Place& place, const std::string& message, const std::string& suggestion,
                       Severity severity) {
  Diagnostic diagnostic = document_.finding(code, place.line, place.column, place.path, message);
  diagnostic.suggestion = suggestion;
  diagnostic.severity = severity;
  findings_.push_back(std::move(diagnostic));
}

Case CaseBuilder::build() {
  case_.title = record_.text("title");
  case_.end_of_life = record_.text("life") == "end";
  case_.space_K = record_.quantity("space");
  build_sun();
  build_orbit();
  if (surroundings_) {
    case_.end_of_life = surroundings_->end_of_life;
    case_.sun = surroundings_->sun;
  }
  if (end_of_life_) case_.end_of_life = *end_of_life_;
  collect_nodes();
  build_stack();
  build_parts();
  build_joins();
  build_infrared();
  build_pipes();
  build_stores();
  build_surfaces();
  build_enclosures();
  check_sky();
  build_loads();
  build_cells();
  build_chain();
  build_battery();
  build_bus();
  build_heaters();
  build_lasers();
  build_limits();
  build_differences();
  build_beam();
  build_failures();
  build_ageing();
  build_settings();
  build_campaign();
  if (!surroundings_) build_size();
  build_margins();
  build_uncertainty();
  return std::move(case_);
}

Case CaseBuilder::build(const Surroundings& surroundings, const std::string& who) {
  surroundings_ = surroundings;
  who_says_end_ = who;
  return build();
}

Case CaseBuilder::build_at(bool end_of_life, const std::string& who) {
  end_of_life_ = end_of_life;
  who_says_end_ = who;
  return build();
}

void CaseBuilder::collect_nodes() {
  const auto add = [&](const std::string& name, const Place& place) {
    const bool taken = std::find(nodes_.begin(), nodes_.end(), name) != nodes_.end();
    if (taken) find(Code::name_taken, place, "there is a part named '" + name + "' already");
    if (!taken) nodes_.push_back(name);
    return !taken;
  };
  if (record_.has("stack")) {
    const Record& stack = record_.section("stack");
    const std::vector<std::string> zones =
        stack.has("zones") ? stack.section("zones").names("names") : std::vector<std::string>{};
    const auto add_layer = [&](const std::string& bare, const Place& place) {
      if (!zones.empty()) zoned_.push_back(bare);
      if (zones.empty()) add(bare, place);
      for (const std::string& zone : zones) add(bare + '.' + zone, place);
    };
    for (const Record& layer : stack.list("layers")) {
      const long slices = layer.count("slices");
      const std::string& name = layer.text("name");
      if (slices == 1) add_layer(name, layer.place("name"));
      for (long i = 1; slices > 1 && i <= slices; ++i) add_layer(name + '.' + std::to_string(i), layer.place("name"));
    }
  }
  for (const auto& [name, part] : record_.by_name("parts")) add(name, part.place());
  for (const auto& [name, surface] : record_.by_name("surfaces")) {
    const long segments = surface.has("fin") ? surface.section("fin").count("segments") : 0;
    for (long i = 1; i <= segments; ++i) add(name + '.' + std::to_string(i), surface.place());
  }
  for (const auto& [name, store] : record_.by_name("stores")) {
    const long slices = store.count("slices");
    for (long i = 1; i <= slices; ++i) {
      const std::string slice = slices == 1 ? name : name + '.' + std::to_string(i);
      if (add(slice, store.place())) store_nodes_.push_back(slice);
    }
  }
  for (const auto& [name, pipe] : record_.by_name("heat_pipes")) {
    add(name + ".evaporator", pipe.place());
    add(name + ".condenser", pipe.place());
  }
  for (const auto& [name, bank] : record_.by_name("lasers")) add(name + ".junction", bank.place());
}

bool CaseBuilder::is_zoned(const std::string& name) const {
  return std::find(zoned_.begin(), zoned_.end(), name) != zoned_.end();
}

void CaseBuilder::check_path_end(const std::string& name, const Place& place) {
  if (std::find(store_nodes_.begin(), store_nodes_.end(), name) == store_nodes_.end()) return;
  find(Code::key_conflict, place, "'" + name + "' is a store, which takes heat through its wall only",
       "name the part that holds it");
}

void CaseBuilder::check_node(const std::string& name, const Place& place) {
  if (std::find(nodes_.begin(), nodes_.end(), name) != nodes_.end() || is_zoned(name)) return;
  const std::string nearest = nearest_spelling(name, nodes_);
  find(Code::name_unknown, place, "'" + name + "' is no part, layer or junction of this tile",
       nearest.empty() ? "" : "did you mean '" + nearest + "'?");
}

void CaseBuilder::check_one_node(const std::string& name, const Place& place) {
  if (!is_zoned(name)) return check_node(name, place);
  find(Code::name_unknown, place, "'" + name + "' has zones, and one node is wanted here",
       "say which zone, such as '" + name + '.' + record_.section("stack").section("zones").names("names")[0] + "'");
}

std::string CaseBuilder::node(const Record& owner, const std::string& key) {
  check_one_node(owner.text(key), owner.place(key));
  return owner.text(key);
}

std::string CaseBuilder::nodes_named(const Record& owner, const std::string& key) {
  const std::string& name = owner.text(key);
  check_node(name, owner.place(key));
  return name;
}

void CaseBuilder::unknown_material(const Record& owner, const std::string& key, const std::string& kind,
                                   const std::vector<std::string>& known) {
  const std::string nearest = nearest_spelling(owner.text(key), known);
  find(Code::name_unknown, owner.place(key), "no " + kind + " named '" + owner.text(key) + "' is known",
       nearest.empty() ? "see `tileflux materials` for the names" : "did you mean '" + nearest + "'?");
}

std::pair<std::string, std::string> CaseBuilder::between(const Record& owner) {
  const std::vector<std::string>& names = owner.names("between");
  for (std::size_t i = 0; i < 2; ++i) {
    check_node(names[i], owner.place("between", i));
    check_path_end(names[i], owner.place("between", i));
  }
  if (names[0] == names[1]) find(Code::name_taken, owner.place("between", 1), "a path must join two different nodes");
  return {names[0], names[1]};
}

void CaseBuilder::note_source(const std::string& material, const std::string& property,
                              const materials::Property& value) {
  constexpr double told_at_K = 293.15;
  note_source(material, property, value, value.table.value(told_at_K), !value.table.constant());
}

void CaseBuilder::note_source(const std::string& material, const std::string& property, const materials::Fact& value) {
  note_source(material, property, value, value.value, false);
}

void CaseBuilder::note_source(const std::string& material, const std::string& property,
                              const materials::Pedigree& pedigree, double value_si, bool table) {
  const bool known = std::any_of(sources_.begin(), sources_.end(),
                                 [&](const UsedSource& s) { return s.material == material && s.property == property; });
  if (known) return;
  sources_.push_back({material, property, pedigree.basis, pedigree.source, pedigree.uncertainty, value_si,
                      unit_of_property(property), table});
}

const materials::Solid* CaseBuilder::solid(const Record& owner, const std::string& key) {
  const std::string& name = owner.text(key);
  const materials::Solid* found = library_.solid(name);
  if (found == nullptr) unknown_material(owner, key, "solid", library_.solid_names());
  return found;
}

Material CaseBuilder::material_of(const materials::Solid& solid) {
  note_source(solid.name, "density", solid.density);
  note_source(solid.name, "heat_capacity", solid.heat_capacity);
  note_source(solid.name, "conductivity", solid.conductivity);
  return {solid.name, solid.density.table.value(293.15), solid.heat_capacity.table, solid.conductivity.table};
}

TimePattern CaseBuilder::pattern(const Record& owner) {
  TimePattern pattern{owner.quantity("on"), 0.0, owner.quantity("first")};
  if (owner.has("every")) {
    pattern.every_s = owner.quantity("every");
  } else if (case_.orbit) {
    pattern.every_s = case_.orbit->path.ellipse.period_s() / static_cast<double>(owner.count("per_orbit"));
  } else {
    find(Code::key_missing, owner.place("per_orbit"), "`per_orbit` needs an `orbit` in the case");
    pattern.every_s = pattern.on_s;
  }
  if (pattern.on_s > pattern.every_s)
    find(Code::pattern_contradicts, owner.place("on"), "the time on is longer than the period");
  return pattern;
}

void CaseBuilder::build_stack() {
  if (!record_.has("stack")) return;
  const Record& record = record_.section("stack");
  Stack stack;
  stack.area_m2 = record.quantity("area");
  for (const Record& entry : record.list("layers")) {
    const materials::Solid* found = solid(entry, "material");
    if (found == nullptr) continue;
    stack.layers.push_back({entry.text("name"), material_of(*found), entry.quantity("thickness"),
                            static_cast<int>(entry.count("slices")), entry.quantity_if("contact_below"),
                            start_of(entry)});
  }
  if (record.has("zones")) build_zones(record.section("zones"), stack);
  case_.stack = std::move(stack);
}

void CaseBuilder::build_zones(const Record& record, Stack& stack) {
  const std::vector<std::string>& names = record.names("names");
  stack.border_m = record.quantity("border");
  stack.distance_m = record.quantity("distance");
  std::vector<double> shares(names.size(), 1.0 / static_cast<double>(names.size()));
  if (record.has("shares")) shares = record.quantities("shares");
  if (shares.size() != names.size()) {
    find(Code::count_out_of_bounds, record.place("shares"), "there must be as many shares as zones");
    return;
  }
  double whole = 0.0;
  for (std::size_t z = 0; z < names.size(); ++z) {
    stack.zones.push_back({names[z], shares[z]});
    whole += shares[z];
  }
  constexpr double printed_digits = 1e-9;
  if (std::abs(whole - 1.0) > printed_digits)
    find(Code::shares_not_whole, record.place("shares"), "the shares of the zones do not add up to 100 %");
}

void CaseBuilder::build_parts() {
  for (const auto& [name, record] : record_.by_name("parts")) {
    Part part;
    part.name = name;
    part.start_K = start_of(record);
    part.fixed_K = record.quantity_if("fixed");
    if (record.has("massless") && !record.flag("massless")) {
      find(Code::part_not_described, record.place("massless"), "`massless: no` does not say what the part is");
    }
    if (const auto capacity = record.quantity_if("heat_capacity")) part.capacity_J_per_K = PropertyTable(*capacity);
    if (record.has("material")) {
      const materials::Solid* found = solid(record, "material");
      if (found == nullptr) continue;
      note_source(found->name, "heat_capacity", found->heat_capacity);
      part.material = found->name;
      part.mass_kg = record.quantity("mass");
      part.capacity_J_per_K = found->heat_capacity.table.scaled(part.mass_kg);
    }
    case_.parts.push_back(std::move(part));
  }
  const auto held =
      std::count_if(case_.parts.begin(), case_.parts.end(), [](const Part& part) { return part.fixed_K.has_value(); });
  if (static_cast<std::size_t>(held) == nodes_.size()) {
    find(Code::part_not_described, record_.has("parts") ? record_.place("parts") : record_.place(),
         "the tile has no part whose temperature is to be found");
  }
}

void CaseBuilder::build_loads() {
  static const std::map<std::string, Load::When> words{{"always", Load::When::always},
                                                       {"beam_on", Load::When::beam_on},
                                                       {"beam_off", Load::When::beam_off},
                                                       {"pattern", Load::When::pattern}};
  for (const Record& record : record_.list("loads")) {
    Load load;
    load.node = nodes_named(record, "on");
    load.power_W = record.quantity("power");
    load.when = words.at(record.text("when"));
    if (record.has("pattern") != (load.when == Load::When::pattern)) {
      const Place place = record.has("pattern") ? record.section("pattern").place() : record.place("when");
      find(Code::key_conflict, place, "`when: pattern` and `pattern` belong together");
    }
    if (record.has("pattern")) load.pattern = pattern(record.section("pattern"));
    case_.loads.push_back(std::move(load));
  }
}

void CaseBuilder::build_limits() {
  for (const auto& entry : record_.by_name("limits")) {
    const std::string& name = entry.first;
    const Record& record = entry.second;
    Limit limit;
    limit.node = name;
    check_node(name, record.place());
    limit.below_K = record.quantity_if("below");
    limit.above_K = record.quantity_if("above");
    limit.throttle_from_K = record.quantity_if("throttle_from");
    limit.rate_below_K_per_s = record.quantity_if("rate_below");
    const auto contradict = [&](const char* key, const char* message) {
      find(Code::limits_contradict, record.place(key), message);
    };
    if (!limit.below_K && !limit.above_K && !limit.rate_below_K_per_s)
      find(Code::key_missing, record.place(), "a limit needs `below`, `above` or `rate_below`");
    if (limit.rate_below_K_per_s && is_massless(name))
      contradict("rate_below", "`rate_below` needs a heat capacity: without one a temperature jumps");
    if (limit.below_K && limit.above_K && *limit.above_K >= *limit.below_K)
      contradict("above", "`above` must lie under `below`");
    if (limit.throttle_from_K && !limit.below_K)
      contradict("throttle_from", "`throttle_from` needs `below`, where the drive ends");
    if (limit.throttle_from_K && limit.below_K && *limit.throttle_from_K >= *limit.below_K)
      contradict("throttle_from", "`throttle_from` must lie under `below`");
    if (record.has("trip")) {
      const Record& trip = record.section("trip");
      limit.trip_reset_K = trip.quantity("reset_below");
      limit.trip_min_off_s = trip.quantity("minimum_off");
      limit.trip_to = trip.quantity("to");
      if (!limit.below_K || *limit.trip_reset_K >= *limit.below_K) {
        find(Code::limits_contradict, trip.place("reset_below"), "`reset_below` must lie under `below`");
      }
    }
    static const std::map<std::string, LimitLevel> levels{{"design", LimitLevel::design},
                                                          {"acceptance", LimitLevel::acceptance},
                                                          {"qualification", LimitLevel::qualification}};
    if (record.has("level")) limit.level = levels.at(record.text("level"));
    if (record.has("includes_margin")) limit.includes_margin_K = record.quantity("includes_margin");
    if (limit.includes_margin_K > 0.0 && !limit.below_K && !limit.above_K)
      find(Code::key_missing, record.place("includes_margin"), "`includes_margin` needs `below` or `above`");
    case_.limits.push_back(std::move(limit));
  }
}

bool CaseBuilder::is_massless(const std::string& name) const {
  const auto part =
      std::find_if(case_.parts.begin(), case_.parts.end(), [&](const Part& one) { return one.name == name; });
  if (part != case_.parts.end()) return !part->fixed_K && !part->capacity_J_per_K;
  for (const HeatPipe& pipe : case_.pipes) {
    if (!pipe.capacity_J_per_K && (name == pipe.name + ".evaporator" || name == pipe.name + ".condenser")) return true;
  }
  return std::any_of(case_.lasers.begin(), case_.lasers.end(),
                     [&](const Bank& bank) { return name == bank.name + ".junction" && !bank.capacity_J_per_K; });
}

void CaseBuilder::build_differences() {
  for (const Record& record : record_.list("differences")) {
    DifferenceLimit limit;
    const std::vector<std::string>& names = record.names("between");
    for (std::size_t i = 0; i < 2; ++i) check_node(names[i], record.place("between", i));
    if (names[0] == names[1])
      find(Code::name_taken, record.place("between", 1), "a difference is between two different nodes");
    limit.a = names[0];
    limit.b = names[1];
    limit.below_K = record.quantity_if("below");
    limit.gradient_below_K_per_m = record.quantity_if("gradient_below");
    if (record.has("distance")) limit.distance_m = record.quantity("distance");
    if (limit.gradient_below_K_per_m && !record.has("distance"))
      find(Code::key_missing, record.place("gradient_below"), "a gradient needs the `distance` of its nodes");
    if (limit.below_K && record.has("distance"))
      find(Code::key_conflict, record.place("distance"), "`distance` belongs to `gradient_below`, not to `below`");
    case_.differences.push_back(std::move(limit));
  }
}

void CaseBuilder::build_beam() {
  if (!record_.has("beam")) return;
  const Record& record = record_.section("beam");
  Beam beam;
  beam.drive = record.quantity("drive");
  beam.light_W = record.quantity_if("light");
  if (record.has("on") != (record.has("every") || record.has("per_orbit")))
    find(Code::key_missing, record.place(record.has("on") ? "on" : record.has("every") ? "every" : "per_orbit"),
         "`on` and a period, `every` or `per_orbit`, stand together or not at all");
  else if (record.has("on"))
    beam.pattern = pattern(record);
  case_.beam = beam;
  if (!record_.has("emitting_path")) return;
  const std::vector<std::string>& path = record_.names("emitting_path");
  for (std::size_t i = 0; i < path.size(); ++i) check_one_node(path[i], record_.place("emitting_path", i));
  case_.emitting_path = path;
}

void CaseBuilder::build_settings() {
  static const std::map<std::string, Start::From> words{{"temperature", Start::From::temperature},
                                                        {"beam_off_balance", Start::From::beam_off_balance},
                                                        {"beam_on_balance", Start::From::beam_on_balance}};
  const Record& start = record_.section("start");
  case_.start = {words.at(start.text("from")), start.quantity("temperature")};
  const Record& run = record_.section("run");
  case_.run = {run.quantity("duration"), run.quantity("output_every")};
  if (case_.run.duration_s / case_.run.output_every_s > most_series_rows) {
    find(Code::value_out_of_range, run.place("output_every"),
         "the series would hold more than 5 million rows; output less often");
  }
  const Record& duty = record_.section("duty");
  case_.duty = {duty.quantity("recovered_within"), duty.quantity("longest_wait"),
                100.0 * duty.quantity("charge_within")};
  const Record& accuracy = record_.section("accuracy");
  case_.accuracy = {accuracy.quantity("relative"), accuracy.quantity("absolute")};
}

}  // namespace tileflux::tile
