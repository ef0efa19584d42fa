#include <memory>

#include "tileflux/materials/library.h"

namespace tileflux::materials {

namespace {

using input::Field;
using input::Range;
using input::Section;

constexpr double coldest_K = 1.0;
constexpr double hottest_K = 3000.0;

void add_pedigree(Section& section) {
  section.fields.push_back(Field{"source", input::TextType{800}, "document with table, page or equation", true, {}});
  section.fields.push_back(
      Field{"basis",
            input::ChoiceType{{"published", "transcribed", "memory"}},
            "published: the document was read; transcribed: a transcription was read; memory: no source seen",
            true,
            {}});
  section.fields.push_back(Field{"uncertainty", input::TextType{200}, "such as `5 %`, or `unknown`", true, {}});
  section.fields.push_back(Field{"note", input::TextType{800}, "what a user should know", false, {}});
}

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
  };
  add_pedigree(section);
  section.exactly_one_of = {{"value", "table"}};
  return std::make_shared<const Section>(std::move(section));
}

/// `of_what` tells apart the titles of properties that several kinds have.
Field property_field(const std::string& key, const char* unit, Range range, const std::string& meaning,
                     const std::string& of_what = {}) {
  return Field{key, input::SectionType{property_section(key + of_what, unit, range)}, meaning, true, {}};
}

Field fact_field(const std::string& key, input::QuantityType type, const std::string& meaning) {
  Section section;
  section.title = key;
  section.meaning = "One number with its pedigree.";
  section.fields = {Field{"value", std::move(type), "the value", true, {}}};
  add_pedigree(section);
  return Field{key, input::SectionType{std::make_shared<const Section>(std::move(section))}, meaning, true, {}};
}

/// A value with its hot and cold case.
Field case_values_field(const std::string& key, const input::QuantityType& type, const std::string& meaning) {
  Section section;
  section.title = key + " of a body";
  section.meaning = "The mean, and what is taken for hot and cold cases.";
  section.fields = {fact_field("mean", type, "the mean over the body and the year"),
                    fact_field("hot", type, "for hot cases"), fact_field("cold", type, "for cold cases")};
  section.fields[1].required = section.fields[2].required = false;
  section.together = {{"hot", "cold"}};
  return Field{key, input::SectionType{std::make_shared<const Section>(std::move(section))}, meaning, true, {}};
}

Field optional(Field field) {
  field.required = false;
  return field;
}

constexpr Range positive{0.0, 1e6, true};
constexpr Range positive_per_kg{0.0, 1e8, true};
constexpr Range temperatures{coldest_K, hottest_K};
constexpr Range share{0.0, 1.0};
constexpr Range positive_share{0.0, 1.0, true};

Field title_field() { return Field{"title", input::TextType{200}, "what it is, in a line", true, {}}; }

}  // namespace

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

Section medium_section() {
  const auto phase = [](const std::string& which) {
    const std::string of_what = " of a " + which + " medium";
    Section section;
    section.title = "Medium when " + which;
    section.meaning = "The medium when it is " + which + ".";
    section.fields = {
        property_field("density", "kg/m3", positive, "density", of_what),
        property_field("heat_capacity", "J/(kg K)", positive, "heat capacity at constant pressure", of_what),
        property_field("conductivity", "W/(m K)", positive, "thermal conductivity at rest", of_what)};
    return Field{which,
                 input::SectionType{std::make_shared<const Section>(std::move(section))},
                 "properties when " + which,
                 true,
                 {}};
  };
  Section section;
  section.title = "Melting medium";
  section.meaning = "A medium that stores heat by melting.";
  section.fields = {
      title_field(),
      fact_field("melting_temperature", {{"K"}, temperatures}, "middle of the melting range"),
      optional(fact_field("melting_range", {{"K", units::Kind::difference}, {1e-3, 100.0}},
                          "width over which it melts, around the melting temperature; 0.1 K if left out")),
      fact_field("latent_heat", {{"J/kg"}, positive_per_kg}, "heat of melting over the melting range"),
      phase("solid"),
      phase("liquid")};
  return section;
}

Section fluid_section() {
  Section usable;
  usable.title = "Usable range";
  usable.meaning = "Between which temperatures pipes with this fluid are used.";
  usable.fields = {
      Field{"range", input::QuantityListType{{{"K"}, temperatures}, 2, 2}, "lowest and highest temperature", true, {}}};
  add_pedigree(usable);
  Section section;
  section.title = "Heat-pipe fluid";
  section.meaning =
      "A working fluid of heat pipes. How well it carries heat at a temperature is its merit, density x latent heat x "
      "surface tension / viscosity of the liquid: formed from these four, or stated as `merit`.";
  section.fields = {
      title_field(),
      fact_field("freezing_temperature", {{"K"}, temperatures}, "freezing (triple) point"),
      fact_field("critical_temperature", {{"K"}, temperatures}, "critical point"),
      Field{"usable_range",
            input::SectionType{std::make_shared<const Section>(std::move(usable))},
            "where pipes with this fluid are used",
            true,
            {}},
      optional(property_field("surface_tension", "N/m", {0.0, 10.0}, "surface tension of the liquid", " of a fluid")),
      optional(property_field("density", "kg/m3", positive, "density of the liquid", " of a fluid")),
      optional(property_field("latent_heat", "J/kg", {0.0, 1e8}, "heat of evaporation", " of a fluid")),
      optional(property_field("viscosity", "Pa s", {0.0, 1e3, true}, "dynamic viscosity of the liquid", " of a fluid")),
      optional(property_field("merit", "W/m2", {0.0, 1e15},
                              "the merit as a table; its first row is zero at the freezing temperature, its last zero "
                              "at the critical temperature"))};
  section.exactly_one_of = {{"surface_tension", "merit"}};
  section.together = {{"surface_tension", "density", "latent_heat", "viscosity"}};
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

Section body_section() {
  const input::QuantityType length{{"m"}, {1e3, 1e14}};
  const input::QuantityType exitance{{"W/m2"}, {0.0, 1e5}};
  Section section;
  section.title = "Body";
  section.meaning =
      "A planet, moon or airless body. Its infrared is the same everywhere (`infrared`), or follows the Sun from the "
      "exitance of the night side (`night_infrared`) so that the body radiates what it absorbs.";
  section.fields = {
      title_field(),
      fact_field("radius", length, "radius of the sphere that is taken for it"),
      fact_field("gravitational_parameter", {{"m3/s2"}, {1.0, 1e21}}, "constant of gravitation times mass"),
      fact_field("sun_distance", length, "semi-major axis of its way around the Sun; of a moon, that of its planet"),
      fact_field("sun_eccentricity", {{"1"}, {0.0, 0.99}}, "eccentricity of that way"),
      case_values_field("albedo", {{"1"}, share}, "share of sunlight reflected to all sides (Bond albedo)"),
      optional(case_values_field("infrared", exitance, "infrared that leaves a square metre")),
      optional(fact_field("night_infrared", exitance, "infrared that leaves a square metre of the night side"))};
  section.exactly_one_of = {{"infrared", "night_infrared"}};
  return section;
}

Section library_file_section() {
  const auto by_name = [](Section section) {
    return input::SectionType{std::make_shared<const Section>(std::move(section)), input::SectionType::Shape::by_name};
  };
  Section section;
  section.title = "Materials file";
  section.meaning =
      "Sourced properties of solids, melting media, heat-pipe fluids, surface finishes, cells and bodies.";
  section.fields = {Field{"tileflux_materials", input::CountType{1, 1}, "version of this format", true, {}},
                    Field{"solids", by_name(solid_section()), "solids by name", false, {}},
                    Field{"media", by_name(medium_section()), "media that store heat by melting, by name", false, {}},
                    Field{"fluids", by_name(fluid_section()), "working fluids of heat pipes by name", false, {}},
                    Field{"surfaces", by_name(surface_section()), "surface finishes by name", false, {}},
                    Field{"cells", by_name(cell_section()), "cell types by name", false, {}},
                    Field{"bodies", by_name(body_section()), "planets, moons and airless bodies by name", false, {}}};
  return section;
}

}  // namespace tileflux::materials
