#pragma once
/// Short ways to define the keys of a case, for the files that hold the definition.

#include <memory>
#include <utility>
#include <vector>

#include "tileflux/input/definition.h"

namespace tileflux::tile::definition {

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

}  // namespace tileflux::tile::definition

namespace tileflux::tile {

/// Sections that have a file of their own.
input::Section size_section();

}  // namespace tileflux::tile
