#pragma once
/// The words in which the keys of a case are defined.

#include <string>
#include <vector>

#include "tileflux/input/definition.h"

namespace tileflux::tile {

using input::ChoiceType;
using input::CountType;
using input::Field;
using input::FlagType;
using input::NameListType;
using input::NameType;
using input::QuantityListType;
using input::QuantityType;
using input::Range;
using input::Section;
using input::SectionType;
using input::TableType;
using input::TextType;

// Smaller values are slips, and their products would vanish in the arithmetic.
inline constexpr Range positive{1e-12, 1e12};
inline constexpr Range period{1e-3, 1e12};
inline constexpr Range not_negative{0.0, 1e12};
inline constexpr Range share{0.0, 1.0};
inline constexpr Range positive_share{0.0, 1.0, true};
inline constexpr Range temperature_range{1.0, 3000.0};

inline Field quantity(const char* key, const char* unit, Range range, const char* meaning) {
  return {key, QuantityType{{unit}, range}, meaning, false, {}};
}
inline Field needed(Field field) {
  field.required = true;
  return field;
}
inline Field with_default(Field field, const char* text) {
  field.default_text = text;
  return field;
}
inline Field temperature(const char* key, const char* meaning) {
  return quantity(key, "K", temperature_range, meaning);
}
inline Field node(const char* key, const char* meaning) { return {key, NameType{true}, meaning, true, {}}; }
inline Field section(const char* key, Section inner, const char* meaning,
                     SectionType::Shape shape = SectionType::Shape::one, std::size_t most = 1000) {
  return {key, SectionType{std::make_shared<const Section>(std::move(inner)), shape, most}, meaning, false, {}};
}
inline Section section_of(const char* title, const char* meaning, std::vector<Field> fields) {
  Section inner;
  inner.title = title;
  inner.meaning = meaning;
  inner.fields = std::move(fields);
  return inner;
}

inline Section pattern_section() {
  return section_of("Pattern", "On for a while in every period.",
                    {needed(quantity("on", "s", not_negative, "time on in each period")),
                     needed(quantity("every", "s", period, "period")),
                     with_default(quantity("first", "s", not_negative, "time of the first switching on"), "0 s")});
}

/// The sections of a case, by what they are about.
Section sun_section();
Section orbit_section();
Section stack_section();
Section part_section();
Section join_section();
Section infrared_section();
Section pipe_section();
Section store_section();
Section surface_section();
Section enclosure_section();
Section load_section();
Section cells_section();
Section battery_section();
Section bus_section();
Section conditioning_section();
Section heater_section();
Section laser_section();
Section ageing_section();
Section campaign_section();
Section size_section();
Section margins_section();
Section uncertainty_section();

}  // namespace tileflux::tile
