#include "tileflux/materials/library.h"

#include <algorithm>
#include <filesystem>
#include <system_error>

namespace tileflux::materials {

namespace {

using input::Field;
using input::Range;
using input::Record;
using input::Section;

constexpr double coldest_K = 1.0;
constexpr double hottest_K = 3000.0;

std::shared_ptr<const Section> property_section(const std::string& title, const char* unit, Range range) {
  const input::QuantityType value{{unit}, range};
  const input::QuantityType temperature{{"K"}, {coldest_K, hottest_K}};
  Section section;
  section.title = title;
  section.meaning = "One property with its pedigree. A table is linear between its rows and is not extrapolated.";
  section.fields = {
      Field{"value", value, "the value, constant over the range of validity", false, {}},
      Field{"table",
            input::TableType{{temperature, value}},
            "rows of temperature and value, temperatures rising",
            false,
            {}},
      Field{"valid",
            input::QuantityListType{temperature, 2, 2},
            "temperatures between which the source holds; for a table its ends",
            true,
            {}},
      Field{"source", input::TextType{800}, "document with table, page or equation", true, {}},
      Field{"basis",
            input::ChoiceType{{"published", "transcribed", "memory"}},
            "published: the document was read; transcribed: a transcription was read; memory: no source seen",
            true,
            {}},
      Field{"uncertainty", input::TextType{200}, "such as `5 %`, or `unknown`", true, {}},
      Field{"note", input::TextType{800}, "what a user should know", false, {}},
  };
  section.exactly_one_of = {{"value", "table"}};
  return std::make_shared<const Section>(std::move(section));
}

Field property_field(const std::string& key, const char* unit, Range range, const std::string& meaning) {
  return Field{key, input::SectionType{property_section(key, unit, range)}, meaning, true, {}};
}

constexpr Range positive{0.0, 1e6, true};
constexpr Range share{0.0, 1.0};
constexpr Range positive_share{0.0, 1.0, true};

Field title_field() { return Field{"title", input::TextType{200}, "what it is, in a line", true, {}}; }

/// Reads one property and checks that its table and validity agree.
Property property_of(const Record& record, const input::Document& document, std::vector<Diagnostic>& findings) {
  Property property;
  property.source = record.text("source");
  property.basis = record.text("basis");
  property.uncertainty = record.text("uncertainty");
  if (record.has("note")) property.note = record.text("note");
  const std::vector<double>& valid = record.quantities("valid");
  const auto find = [&](Code code, const std::string& key, const std::string& message) {
    const Place place = record.place(key);
    findings.push_back(document.finding(code, place.line, place.column, place.path, message));
  };
  if (!(valid[0] < valid[1])) find(Code::table_not_rising, "valid", "the lower temperature must stand first");
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
    const Place place = record.place("table", i);
    findings.push_back(document.finding(Code::table_not_rising, place.line, place.column, place.path,
                                        "this row's temperature is not above that of the row before"));
    return property;
  }
  if (temperature_K.front() != valid[0] || temperature_K.back() != valid[1]) {
    find(Code::table_shape, "valid", "the range of validity must be the table's first and last temperature");
  }
  property.table = PropertyTable(std::move(temperature_K), std::move(value));
  return property;
}

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

}  // namespace

const Solid* Library::solid(const std::string& name) const { return find_in(solids, name); }
const Surface* Library::surface(const std::string& name) const { return find_in(surfaces, name); }
const CellType* Library::cell(const std::string& name) const { return find_in(cells, name); }
std::vector<std::string> Library::solid_names() const { return names_of(solids); }
std::vector<std::string> Library::surface_names() const { return names_of(surfaces); }
std::vector<std::string> Library::cell_names() const { return names_of(cells); }

Section solid_section() {
  Section section;
  section.title = "Solid";
  section.meaning = "A material that fills a layer, a part or a bar.";
  section.fields = {title_field(), property_field("density", "kg/m3", positive, "density"),
                    property_field("heat_capacity", "J/(kg K)", positive, "heat capacity at constant pressure"),
                    property_field("conductivity", "W/(m K)", positive,
                                   "thermal conductivity in the direction that the name or title says")};
  return section;
}

Section surface_section() {
  const auto absorptance = [] {
    return property_field("absorptance", "1", share, "share of sunlight that is absorbed");
  };
  const auto emittance = [] {
    return property_field("emittance", "1", positive_share, "hemispherical infrared emittance");
  };
  Section end;
  end.title = "Surface at end of life";
  end.meaning = "Both values after the stated exposure; begin and end of life are never mixed.";
  end.fields = {Field{"after", input::TextType{200}, "the exposure that these values stand for", true, {}},
                absorptance(), emittance()};
  Section section;
  section.title = "Surface finish";
  section.meaning = "How a surface meets sunlight and infrared.";
  section.fields = {title_field(), absorptance(), emittance(),
                    Field{"end_of_life",
                          input::SectionType{std::make_shared<const Section>(std::move(end))},
                          "values at end of life, where known",
                          false,
                          {}}};
  return section;
}

Section cell_section() {
  Section end;
  end.title = "Cell at end of life";
  end.meaning = "What is left of the power after the stated exposure.";
  end.fields = {Field{"after", input::TextType{200}, "the exposure that this value stands for", true, {}},
                property_field("remaining", "1", positive_share, "remaining factor on power")};
  Section section;
  section.title = "Cell type";
  section.meaning = "How sunlight becomes electricity.";
  section.fields = {
      title_field(), property_field("efficiency", "1", positive_share, "efficiency at the reference temperature"),
      property_field("reference_temperature", "K", {coldest_K, hottest_K}, "temperature at which the efficiency holds"),
      property_field("slope", "1/K", {-0.05, 0.05}, "relative change of efficiency per kelvin, normally negative"),
      Field{"end_of_life",
            input::SectionType{std::make_shared<const Section>(std::move(end))},
            "value at end of life, where known",
            false,
            {}}};
  return section;
}

Section library_file_section() {
  const auto by_name = [](Section section) {
    return input::SectionType{std::make_shared<const Section>(std::move(section)), input::SectionType::Shape::by_name};
  };
  Section section;
  section.title = "Materials file";
  section.meaning = "Sourced properties of solids, surface finishes and cells.";
  section.fields = {Field{"tileflux_materials", input::CountType{1, 1}, "version of this format", true, {}},
                    Field{"solids", by_name(solid_section()), "solids by name", false, {}},
                    Field{"surfaces", by_name(surface_section()), "surface finishes by name", false, {}},
                    Field{"cells", by_name(cell_section()), "cell types by name", false, {}}};
  return section;
}

void add_entries(const Record& record, const input::Document& document, Library& library,
                 std::vector<Diagnostic>& findings) {
  const auto property = [&](const Record& owner, const char* key) {
    return property_of(owner.section(key), document, findings);
  };
  const auto taken = [&](bool is_taken, const Record& entry, const std::string& name) {
    if (!is_taken) return false;
    const Place place = entry.place();
    findings.push_back(document.finding(Code::name_taken, place.line, place.column, place.path,
                                        "there is an entry named '" + name + "' already"));
    return true;
  };
  for (const auto& [name, entry] : record.by_name("solids")) {
    if (taken(library.solid(name) != nullptr, entry, name)) continue;
    library.solids.push_back({name, entry.text("title"), property(entry, "density"), property(entry, "heat_capacity"),
                              property(entry, "conductivity")});
  }
  for (const auto& [name, entry] : record.by_name("surfaces")) {
    if (taken(library.surface(name) != nullptr, entry, name)) continue;
    Surface surface{name, entry.text("title"), {property(entry, "absorptance"), property(entry, "emittance")}, {}, {}};
    if (entry.has("end_of_life")) {
      const Record& end = entry.section("end_of_life");
      surface.end = SurfaceValues{property(end, "absorptance"), property(end, "emittance")};
      surface.end_after = end.text("after");
    }
    library.surfaces.push_back(std::move(surface));
  }
  for (const auto& [name, entry] : record.by_name("cells")) {
    if (taken(library.cell(name) != nullptr, entry, name)) continue;
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
    library.cells.push_back(std::move(cell));
  }
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
  const Section definition = library_file_section();
  Library library;
  std::vector<Diagnostic> findings;
  for (const std::string& file : files) {
    const input::Document document = input::read_document(file, findings);
    if (!findings.empty()) break;
    const input::Reading reading = input::read_record(document, definition, findings);
    if (!findings.empty()) break;
    add_entries(reading.record, document, library, findings);
  }
  if (!findings.empty()) throw Error(std::move(findings));
  return library;
}

}  // namespace tileflux::materials
