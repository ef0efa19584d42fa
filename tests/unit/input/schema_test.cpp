#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <regex>
#include <string>

#include "definitions.h"

using namespace tileflux::input;

namespace schema_test {

nlohmann::json schema() { return nlohmann::json::parse(json_schema(samples::every_field(), "tileflux case")); }

bool matches(const nlohmann::json& property, const std::string& text) {
  return std::regex_search(text, std::regex(property["pattern"].get<std::string>()));
}

TEST(Schema, HasTitleAndDraft) {
  EXPECT_EQ(schema()["title"], "tileflux case");
  EXPECT_EQ(schema()["$schema"], "https://json-schema.org/draft/2020-12/schema");
}

TEST(Schema, ListsEveryKeyAndAllowsNoOther) {
  const nlohmann::json all = schema();
  const Section definition = samples::every_field();
  EXPECT_EQ(all["properties"].size(), definition.fields.size());
  for (const Field& field : definition.fields) EXPECT_TRUE(all["properties"].contains(field.key)) << field.key;
  EXPECT_EQ(all["additionalProperties"], false);
  EXPECT_EQ(all["required"], nlohmann::json::array({"tileflux"}));
}

TEST(Schema, DescribesQuantitiesWithUnitAndRange) {
  const nlohmann::json thickness = schema()["properties"]["stack"]["items"]["properties"]["thickness"];
  EXPECT_EQ(thickness["type"], "string");
  EXPECT_EQ(thickness["description"],
            "Measured across the layer. (a length, in SI: m, for example 1 mm; more than 0 m and at most 1 m)");
  for (const char* text : {"1 mm", "-1.5e-3 m", "5m", "+.5 W/(m2 K)", "2 1/K"})
    EXPECT_TRUE(matches(thickness, text)) << text;
  for (const char* text : {"1", "1.5e3", "mm", "1 000 m", ""}) EXPECT_FALSE(matches(thickness, text)) << text;
}

TEST(Schema, AllowsPlainNumbersWithoutDimensionOnly) {
  const nlohmann::json efficiency = schema()["properties"]["efficiency"];
  EXPECT_EQ(efficiency["type"], nlohmann::json::array({"number", "string"}));
  EXPECT_TRUE(matches(efficiency, "30 %"));
  EXPECT_TRUE(matches(efficiency, "0.3"));
  EXPECT_FALSE(matches(efficiency, "30 kg"));
  EXPECT_EQ(efficiency["default"], "30 %");
}

TEST(Schema, DescribesEveryKindOfField) {
  const nlohmann::json properties = schema()["properties"];
  EXPECT_EQ(properties["tileflux"]["type"], "integer");
  EXPECT_EQ(properties["tileflux"]["maximum"], 1);
  EXPECT_EQ(properties["title"]["maxLength"], 20);
  EXPECT_EQ(properties["life"]["enum"], nlohmann::json::array({"begin", "end"}));
  EXPECT_EQ(properties["massless"]["enum"], nlohmann::json::array({"yes", "no", true, false}));
  EXPECT_TRUE(matches(properties["part"], "laser.junction"));
  EXPECT_FALSE(matches(properties["part"], "Laser"));
  EXPECT_EQ(properties["widths"]["minItems"], 2);
  EXPECT_EQ(properties["between"]["items"]["type"], "string");
  EXPECT_EQ(properties["conductivity"]["items"]["prefixItems"].size(), 2u);
  EXPECT_EQ(properties["conductivity"]["items"]["maxItems"], 2);
  EXPECT_EQ(properties["sun"]["required"], nlohmann::json::array({"distance"}));
  EXPECT_EQ(properties["stack"]["maxItems"], 3);
  EXPECT_EQ(properties["limits"]["additionalProperties"]["type"], "object");
  EXPECT_EQ(properties["limits"]["propertyNames"]["type"], "string");
}

TEST(Schema, CarriesWhatKeysOweEachOther) {
  Section definition = samples::every_field();
  definition.exactly_one_of = {{"title", "part"}};
  const nlohmann::json all = nlohmann::json::parse(json_schema(definition, "x"));
  EXPECT_EQ(all["dependentRequired"]["on"], nlohmann::json::array({"period"}));
  EXPECT_EQ(all["dependentRequired"]["period"], nlohmann::json::array({"on"}));
  ASSERT_EQ(all["allOf"].size(), 2u);
  EXPECT_EQ(all["allOf"][0], nlohmann::json::parse(R"({"oneOf": [{"required": ["title"]}, {"required": ["part"]}]})"));
  EXPECT_EQ(all["allOf"][1],
            nlohmann::json::parse(R"({"oneOf": [{"required": ["mass"]}, {"required": ["heat_capacity"]},
                                     {"not": {"anyOf": [{"required": ["mass"]}, {"required": ["heat_capacity"]}]}}]})"));
}

}  // namespace schema_test
