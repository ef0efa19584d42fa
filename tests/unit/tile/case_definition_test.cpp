#include <gtest/gtest.h>

#include <set>

#include "tileflux/tile/case_reader.h"

namespace tileflux::tile::case_definition_test {

TEST(CaseDefinition, ExplainsEveryKeyOfTheFileOnce) {
  const input::Section definition = case_definition();
  std::set<std::string> keys;
  for (const input::Field& field : definition.fields) {
    EXPECT_TRUE(keys.insert(field.key).second) << field.key;
    EXPECT_FALSE(field.meaning.empty()) << field.key;
  }
  EXPECT_EQ(definition.fields.front().key, "tileflux");
  for (const char* key : {"sun", "stack", "parts", "joins", "infrared", "surfaces", "loads", "cells", "conditioning", "lasers", "optics", "limits", "beam"}) EXPECT_TRUE(keys.count(key)) << key;
}

TEST(CaseDefinition, GivesADefaultOnlyToKeysThatMayBeLeftOut) {
  for (const input::Field& field : case_definition().fields) EXPECT_FALSE(field.required && field.default_text) << field.key;
}

}  // namespace tileflux::tile::case_definition_test
