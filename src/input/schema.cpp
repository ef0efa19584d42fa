#include <nlohmann/json.hpp>

#include "input/wording.h"
#include "tileflux/input/definition.h"

namespace tileflux::input {

namespace {

using Json = nlohmann::ordered_json;

constexpr const char* name_pattern = "^[a-z][a-z0-9_]{0,63}$";
constexpr const char* dotted_pattern = "^[a-z][a-z0-9_]*(\\.[a-z0-9][a-z0-9_]*)*$";
constexpr const char* number_pattern = "^\\s*[-+]?([0-9]+\\.?[0-9]*|\\.[0-9]+)([eE][-+]?[0-9]+)?";

Json section_schema(const Section& section);

Json schema_of(const QuantityType& type) {
  const units::DimensionName name = units::name_of(type.dimension);
  const bool plain = type.dimension.si_unit == "1";
  std::string description =
      name.name + ", in SI: " + std::string(type.dimension.si_unit) + ", for example " + name.example;
  if (plain) description = "a plain number, or one in %";
  const std::string range = range_text(type.range, type.dimension.si_unit);
  if (!range.empty()) description += "; " + range;
  Json schema;
  if (plain) {
    schema["type"] = Json::array({"number", "string"});
    schema["pattern"] = std::string(number_pattern) + "\\s*%?\\s*$";
  } else {
    schema["type"] = "string";
    schema["pattern"] =
        std::string(number_pattern) + "\\s*(?![eE][-+0-9])[^\\s0-9.].*$|" + number_pattern + "\\s+1\\s?/.*$";
  }
  schema["description"] = description;
  return schema;
}

Json schema_of(const CountType& type) { return {{"type", "integer"}, {"minimum", type.least}, {"maximum", type.most}}; }
Json schema_of(const TextType& type) { return {{"type", "string"}, {"minLength", 1}, {"maxLength", type.longest}}; }
Json schema_of(const NameType& type) {
  return {{"type", "string"}, {"pattern", type.dotted ? dotted_pattern : name_pattern}, {"maxLength", 64}};
}
Json schema_of(const ChoiceType& type) { return {{"enum", type.words}}; }
Json schema_of(const FlagType&) { return {{"enum", Json::array({"yes", "no", true, false})}}; }

Json array_schema(Json item, std::size_t least, std::size_t most) {
  return {{"type", "array"}, {"items", std::move(item)}, {"minItems", least}, {"maxItems", most}};
}

Json schema_of(const QuantityListType& type) { return array_schema(schema_of(type.item), type.least, type.most); }
Json schema_of(const NameListType& type) { return array_schema(schema_of(type.item), type.least, type.most); }

Json schema_of(const TableType& type) {
  Json row{{"type", "array"}, {"minItems", type.columns.size()}, {"maxItems", type.columns.size()}};
  row["prefixItems"] = Json::array();
  for (const QuantityType& column : type.columns) row["prefixItems"].push_back(schema_of(column));
  return array_schema(std::move(row), type.least_rows, type.most_rows);
}

Json schema_of(const SectionType& type) {
  Json inner = section_schema(*type.section);
  if (type.shape == SectionType::Shape::one) return inner;
  if (type.shape == SectionType::Shape::list) return array_schema(std::move(inner), 0, type.most);
  return {{"type", "object"},
          {"propertyNames", schema_of(type.name)},
          {"additionalProperties", std::move(inner)},
          {"maxProperties", type.most}};
}

/// Holds if none of the keys stands.
Json none_of(const std::vector<std::string>& keys) {
  Json any = Json::array();
  for (const std::string& key : keys) any.push_back({{"required", {key}}});
  return {{"not", {{"anyOf", any}}}};
}

Json exactly_one(const std::vector<std::string>& keys) {
  Json one = Json::array();
  for (const std::string& key : keys) one.push_back({{"required", {key}}});
  return {{"oneOf", one}};
}

Json section_schema(const Section& section) {
  Json schema{{"type", "object"}};
  if (!section.title.empty()) schema["title"] = section.title;
  if (!section.meaning.empty()) schema["description"] = section.meaning;
  schema["properties"] = Json::object();
  Json required = Json::array();
  for (const Field& field : section.fields) {
    Json property = std::visit([](const auto& type) { return schema_of(type); }, field.type);
    const std::string own = property.value("description", "");
    if (!field.meaning.empty())
      property["description"] = own.empty() ? field.meaning : field.meaning + " (" + own + ')';
    if (field.default_text) property["default"] = *field.default_text;
    if (field.required && !field.default_text) required.push_back(field.key);
    schema["properties"][field.key] = std::move(property);
  }
  if (!required.empty()) schema["required"] = std::move(required);
  schema["additionalProperties"] = false;
  Json all = Json::array();
  for (const auto& group : section.exactly_one_of) all.push_back(exactly_one(group));
  for (const auto& group : section.at_most_one_of) {
    Json either = exactly_one(group);
    either["oneOf"].push_back(none_of(group));
    all.push_back(std::move(either));
  }
  if (!all.empty()) schema["allOf"] = std::move(all);
  for (const auto& group : section.together) {
    for (const std::string& key : group) {
      for (const std::string& other : group) {
        if (other != key) schema["dependentRequired"][key].push_back(other);
      }
    }
  }
  return schema;
}

}  // namespace

std::string json_schema(const Section& root, const std::string& title) {
  Json schema{{"$schema", "https://json-schema.org/draft/2020-12/schema"}};
  schema.update(section_schema(root));
  schema["title"] = title;
  constexpr int indent = 2;
  return schema.dump(indent) + '\n';
}

}  // namespace tileflux::input
