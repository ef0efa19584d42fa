#pragma once
/// What a file may say, as data. One definition serves the reader, the reference page and the JSON Schema.

#include <limits>
#include <memory>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "tileflux/units/quantity.h"

namespace tileflux::input {

struct Section;

/// A range in SI units; an exclusive end is marked.
struct Range {
  double least = -std::numeric_limits<double>::infinity();
  double most = std::numeric_limits<double>::infinity();
  bool least_excluded = false;
  bool most_excluded = false;
};

/// A value with a unit (or a dimensionless number when the unit is `1`).
struct QuantityType {
  units::Dimension dimension;
  Range range;
};

/// A whole number.
struct CountType {
  long least = 0;
  long most = 1'000'000;
};

/// Free text for people.
struct TextType {
  std::size_t longest = 400;
};

/// A name that other entries may refer to, or such a reference: letters a-z, digits and _, a letter first, at most 64
/// bytes; `dotted` allows `laser.junction` and `sheet.2`.
struct NameType {
  bool dotted = false;
};

/// One of a few words.
struct ChoiceType {
  std::vector<std::string> words;
};

/// yes or no (also true, false).
struct FlagType {};

/// A sequence of quantities; `least` to `most` entries.
struct QuantityListType {
  QuantityType item;
  std::size_t least = 1;
  std::size_t most = 1000;
};

/// A sequence of names.
struct NameListType {
  NameType item;
  std::size_t least = 1;
  std::size_t most = 1000;
};

/// A sequence of rows, each a sequence with one quantity per column: `[[77 K, 83 W/(m K)], ...]`.
struct TableType {
  std::vector<QuantityType> columns;
  std::size_t least_rows = 2;
  std::size_t most_rows = 1000;
  bool rising = true;  ///< the first column must rise from row to row
};

/// A nested map, a sequence of maps, or a map from names of the user's choice to maps.
struct SectionType {
  enum class Shape { one, list, by_name };
  std::shared_ptr<const Section> section;
  Shape shape = Shape::one;
  std::size_t most = 1000;  ///< entries of a list or by name
  NameType name = {};       ///< the names, when `by_name`
};

using FieldType = std::variant<QuantityType, CountType, TextType, NameType, ChoiceType, FlagType, QuantityListType,
                               NameListType, TableType, SectionType>;

/// One key of a section.
struct Field {
  std::string key;
  FieldType type;
  std::string meaning;  ///< for the reference: what it is, sign, when to change it
  bool required = false;
  std::optional<std::string> default_text;  ///< as it would be written in the file; read by the same code. A section
                                            ///< that is a map and all of whose fields may be absent can have `{}`
};

/// A map of the file: its fields and what they owe each other.
struct Section {
  std::string title;
  std::string meaning;
  std::vector<Field> fields;
  std::vector<std::vector<std::string>> exactly_one_of;  ///< of each group exactly one key must stand
  std::vector<std::vector<std::string>> at_most_one_of;
  std::vector<std::vector<std::string>> together;  ///< all keys of a group or none
};

/// The definition as a JSON Schema (draft 2020-12) text. Quantities are strings whose description names the unit.
std::string json_schema(const Section& root, const std::string& title);

/// The definition as a reference page in Markdown: one table per section.
std::string reference_page(const Section& root, const std::string& title, const std::string& introduction);

}  // namespace tileflux::input
