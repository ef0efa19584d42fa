#include "tileflux/materials/library.h"

#include <algorithm>
#include <filesystem>
#include <iterator>
#include <system_error>

namespace tileflux::materials {

namespace {

using input::Record;

Pedigree pedigree_of(const Record& record) {
  return {record.text("source"), record.text("basis"), record.text("uncertainty"),
          record.has("note") ? record.text("note") : ""};
}

Fact fact_of(const Record& record) { return {pedigree_of(record), record.quantity("value")}; }

template <class Entry>
const Entry* find_in(const std::vector<Entry>& entries, const std::string& name) {
  const auto found =
      std::find_if(entries.begin(), entries.end(), [&](const Entry& entry) { return entry.name == name; });
  return found == entries.end() ? nullptr : &*found;
}

template <class Entry>
std::vector<std::string> names_of(const std::vector<Entry>& entries) {
  std::vector<std::string> names;
  for (const Entry& entry : entries) names.push_back(entry.name);
  return names;
}

/// Reads the entries of one document.
class EntryReader {
 public:
  EntryReader(const input::Document& document, std::vector<Diagnostic>& findings)
      : document_(document), findings_(findings) {}

  /// Reads every entry of a kind into `entries`, but for those whose name is taken.
  template <class Entry, class Read>
  void all(const Record& record, const char* kind, std::vector<Entry>& entries, const Read& read) const {
    for (const auto& [name, entry] : record.by_name(kind)) {
      if (find_in(entries, name) == nullptr) {
        entries.push_back(read(name, entry));
      } else {
        find(Code::name_taken, entry.place(), "there is an entry named '" + name + "' already");
      }
    }
  }

  Solid solid(const std::string& name, const Record& entry) const {
    return {name, entry.text("title"), property(entry, "density"), property(entry, "heat_capacity"),
            property(entry, "conductivity")};
  }
  Medium medium(const std::string& name, const Record& entry) const;
  Fluid fluid(const std::string& name, const Record& entry) const;
  Surface surface(const std::string& name, const Record& entry) const;
  CellType cell(const std::string& name, const Record& entry) const;
  Body body(const std::string& name, const Record& entry) const;

 private:
  void find(Code code, const Place& place, const std::string& message) const {
    findings_.push_back(document_.finding(code, place.line, place.column, place.path, message));
  }
  Property property(const Record& owner, const char* key) const;
  CaseValues case_values(const Record& owner, const char* key) const;
  PropertyTable stated_merit(const Record& entry, const Fluid& fluid) const;
  PropertyTable formed_merit(const Record& entry, const Fluid& fluid) const;

  const input::Document& document_;
  std::vector<Diagnostic>& findings_;
};

/// Reads one property and checks that its table and validity agree.
Property EntryReader::property(const Record& owner, const char* key) const {
  const Record& record = owner.section(key);
  Property property;
  static_cast<Pedigree&>(property) = pedigree_of(record);
  const std::vector<double>& valid = record.quantities("valid");
  if (!(valid[0] < valid[1]))
    find(Code::table_not_rising, record.place("valid"), "the lower temperature must stand first");
  if (record.has("value")) {
    property.table = PropertyTable(record.quantity("value"), valid[0], valid[1]);
    return property;
  }
  std::vector<double> temperature_K, value;
  for (const std::vector<double>& row : record.table("table")) {
    temperature_K.push_back(row[0]);
    value.push_back(row[1]);
  }
  for (std::size_t i = 1; i < temperature_K.size(); ++i) {
    if (temperature_K[i] > temperature_K[i - 1]) continue;
    find(Code::table_not_rising, record.place("table", i),
         "this row's temperature is not above that of the row before");
    return property;
  }
  if (temperature_K.front() != valid[0] || temperature_K.back() != valid[1]) {
    find(Code::table_shape, record.place("valid"),
         "the range of validity must be the table's first and last temperature");
  }
  property.table = PropertyTable(std::move(temperature_K), std::move(value));
  return property;
}

Medium EntryReader::medium(const std::string& name, const Record& entry) const {
  const auto phase = [&](const char* which) {
    const Record& of = entry.section(which);
    return Phase{property(of, "density"), property(of, "heat_capacity"), property(of, "conductivity")};
  };
  Medium medium;
  medium.name = name;
  medium.title = entry.text("title");
  medium.melting_temperature = fact_of(entry.section("melting_temperature"));
  medium.latent_heat = fact_of(entry.section("latent_heat"));
  if (entry.has("melting_range")) medium.melting_range = fact_of(entry.section("melting_range"));
  medium.solid = phase("solid");
  medium.liquid = phase("liquid");
  return medium;
}

PropertyTable EntryReader::stated_merit(const Record& entry, const Fluid& fluid) const {
  const PropertyTable table = property(entry, "merit").table;
  const Record& merit = entry.section("merit");
  if (table.constant()) {
    if (merit.has("value"))
      find(Code::table_shape, merit.place("value"),
           "the merit must be a table: it is zero at the freezing and at the critical temperature");
    return table;
  }
  const auto is_zero_at = [&](std::size_t row, double temperature_K) {
    return table.values()[row] == 0.0 && table.temperatures_K()[row] == temperature_K;
  };
  if (!is_zero_at(0, fluid.freezing_temperature.value))
    find(Code::table_shape, merit.place("table", 0), "the first row must be zero at the freezing temperature");
  const std::size_t last = table.values().size() - 1;
  if (!is_zero_at(last, fluid.critical_temperature.value))
    find(Code::table_shape, merit.place("table", last), "the last row must be zero at the critical temperature");
  return table;
}

PropertyTable EntryReader::formed_merit(const Record& entry, const Fluid& fluid) const {
  const SaturatedLiquid& liquid = *fluid.liquid;
  const auto four = {&liquid.surface_tension, &liquid.density, &liquid.latent_heat, &liquid.viscosity};
  std::vector<double> temperature_K;
  for (const Property* one : four) {
    for (const double at_K : one->table.temperatures_K()) {
      const bool covered =
          std::all_of(four.begin(), four.end(), [&](const Property* other) { return other->table.covers(at_K); });
      if (covered && at_K > fluid.freezing_temperature.value && at_K < fluid.critical_temperature.value)
        temperature_K.push_back(at_K);
    }
  }
  if (temperature_K.empty()) {
    find(Code::table_shape, entry.place("surface_tension"),
         "no row of the four properties lies where all four hold, between the freezing and the critical temperature");
    return PropertyTable();
  }
  temperature_K.insert(temperature_K.end(), {fluid.freezing_temperature.value, fluid.critical_temperature.value});
  std::sort(temperature_K.begin(), temperature_K.end());
  temperature_K.erase(std::unique(temperature_K.begin(), temperature_K.end()), temperature_K.end());
  std::vector<double> merit_W_per_m2(temperature_K.size(), 0.0);
  for (std::size_t i = 1; i + 1 < temperature_K.size(); ++i) {
    const double at_K = temperature_K[i];
    merit_W_per_m2[i] = liquid.density.table.value(at_K) * liquid.latent_heat.table.value(at_K) *
                        liquid.surface_tension.table.value(at_K) / liquid.viscosity.table.value(at_K);
  }
  return PropertyTable(std::move(temperature_K), std::move(merit_W_per_m2));
}

Fluid EntryReader::fluid(const std::string& name, const Record& entry) const {
  Fluid fluid;
  fluid.name = name;
  fluid.title = entry.text("title");
  fluid.freezing_temperature = fact_of(entry.section("freezing_temperature"));
  fluid.critical_temperature = fact_of(entry.section("critical_temperature"));
  const Record& usable = entry.section("usable_range");
  fluid.usable_from = {pedigree_of(usable), usable.quantities("range")[0]};
  fluid.usable_to = {pedigree_of(usable), usable.quantities("range")[1]};
  const double in_order_K[] = {fluid.freezing_temperature.value, fluid.usable_from.value, fluid.usable_to.value,
                               fluid.critical_temperature.value};
  if (!std::is_sorted(std::begin(in_order_K), std::end(in_order_K)) || in_order_K[1] == in_order_K[2])
    find(Code::table_not_rising, usable.place("range"),
         "the usable range must rise and lie between the freezing and the critical temperature");
  const std::size_t found_before = findings_.size();
  if (entry.has("merit")) {
    fluid.merit_source = pedigree_of(entry.section("merit"));
    fluid.merit = stated_merit(entry, fluid);
  } else {
    fluid.liquid = SaturatedLiquid{property(entry, "surface_tension"), property(entry, "density"),
                                   property(entry, "latent_heat"), property(entry, "viscosity")};
    if (findings_.size() == found_before) fluid.merit = formed_merit(entry, fluid);
  }
  if (findings_.size() > found_before) return fluid;
  const double highest = *std::max_element(fluid.merit.values().begin(), fluid.merit.values().end());
  if (highest > 0.0) {
    fluid.relative_merit = fluid.merit.scaled(1.0 / highest);
  } else {
    find(Code::table_shape, entry.place(), "the merit is zero at every temperature");
  }
  return fluid;
}

Surface EntryReader::surface(const std::string& name, const Record& entry) const {
  Surface surface{name, entry.text("title"), {property(entry, "absorptance"), property(entry, "emittance")}, {}, {}};
  if (entry.has("end_of_life")) {
    const Record& end = entry.section("end_of_life");
    surface.end = SurfaceValues{property(end, "absorptance"), property(end, "emittance")};
    surface.end_after = end.text("after");
  }
  return surface;
}

CellType EntryReader::cell(const std::string& name, const Record& entry) const {
  CellType cell{name,
                entry.text("title"),
                property(entry, "efficiency"),
                property(entry, "reference_temperature"),
                property(entry, "slope"),
                {},
                {}};
  if (entry.has("end_of_life")) {
    const Record& end = entry.section("end_of_life");
    cell.remaining = property(end, "remaining");
    cell.end_after = end.text("after");
  }
  return cell;
}

CaseValues EntryReader::case_values(const Record& owner, const char* key) const {
  const Record& record = owner.section(key);
  CaseValues values{fact_of(record.section("mean")), {}, {}};
  if (!record.has("hot")) return values;
  values.hot = fact_of(record.section("hot"));
  values.cold = fact_of(record.section("cold"));
  if (!(values.cold->value <= values.mean.value && values.mean.value <= values.hot->value))
    find(Code::table_not_rising, record.place(), "the mean must lie between the cold and the hot value");
  return values;
}

Body EntryReader::body(const std::string& name, const Record& entry) const {
  Body body;
  body.name = name;
  body.title = entry.text("title");
  body.radius = fact_of(entry.section("radius"));
  body.gravitational_parameter = fact_of(entry.section("gravitational_parameter"));
  body.sun_distance = fact_of(entry.section("sun_distance"));
  body.sun_eccentricity = fact_of(entry.section("sun_eccentricity"));
  body.albedo = case_values(entry, "albedo");
  if (entry.has("infrared")) body.infrared = case_values(entry, "infrared");
  if (entry.has("night_infrared")) body.night_infrared = fact_of(entry.section("night_infrared"));
  return body;
}

}  // namespace

const Solid* Library::solid(const std::string& name) const { return find_in(solids, name); }
const Medium* Library::medium(const std::string& name) const { return find_in(media, name); }
const Fluid* Library::fluid(const std::string& name) const { return find_in(fluids, name); }
const Surface* Library::surface(const std::string& name) const { return find_in(surfaces, name); }
const CellType* Library::cell(const std::string& name) const { return find_in(cells, name); }
const Body* Library::body(const std::string& name) const { return find_in(bodies, name); }
std::vector<std::string> Library::solid_names() const { return names_of(solids); }
std::vector<std::string> Library::medium_names() const { return names_of(media); }
std::vector<std::string> Library::fluid_names() const { return names_of(fluids); }
std::vector<std::string> Library::surface_names() const { return names_of(surfaces); }
std::vector<std::string> Library::cell_names() const { return names_of(cells); }
std::vector<std::string> Library::body_names() const { return names_of(bodies); }

void add_entries(const Record& record, const input::Document& document, Library& library,
                 std::vector<Diagnostic>& findings) {
  const EntryReader read(document, findings);
  read.all(record, "solids", library.solids, [&](auto&... one) { return read.solid(one...); });
  read.all(record, "media", library.media, [&](auto&... one) { return read.medium(one...); });
  read.all(record, "fluids", library.fluids, [&](auto&... one) { return read.fluid(one...); });
  read.all(record, "surfaces", library.surfaces, [&](auto&... one) { return read.surface(one...); });
  read.all(record, "cells", library.cells, [&](auto&... one) { return read.cell(one...); });
}

void add_bodies(const Record& record, const input::Document& document, Library& library,
                std::vector<Diagnostic>& findings) {
  const EntryReader read(document, findings);
  read.all(record, "bodies", library.bodies, [&](auto&... one) { return read.body(one...); });
}

Library read_library(const std::string& directory) {
  std::vector<std::string> files;
  std::error_code trouble;
  for (const auto& entry : std::filesystem::directory_iterator(directory, trouble)) {
    if (entry.path().extension() == ".yaml") files.push_back(entry.path().string());
  }
  if (trouble)
    throw Error(Code::file_unreadable, "cannot read the materials directory " + directory + ": " + trouble.message());
  if (files.empty())
    throw Error(Code::file_unreadable, "there is no materials file (*.yaml) in the directory " + directory);
  std::sort(files.begin(), files.end());
  const input::Section definition = library_file_section();
  Library library;
  std::vector<Diagnostic> findings;
  for (const std::string& file : files) {
    const input::Document document = input::read_document(file, findings);
    if (!findings.empty()) break;
    const input::Reading reading = input::read_record(document, definition, findings);
    if (!findings.empty()) break;
    add_entries(reading.record, document, library, findings);
    add_bodies(reading.record, document, library, findings);
  }
  if (!findings.empty()) throw Error(std::move(findings));
  return library;
}

}  // namespace tileflux::materials
