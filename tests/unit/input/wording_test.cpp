#include "input/wording.h"

#include <gtest/gtest.h>

#include <string>

using namespace tileflux::input;

TEST(Wording, QuotesOnOneLineAndCutsLongTexts) {
  EXPECT_EQ(in_quotes("1 mm"), "'1 mm'");
  EXPECT_EQ(in_quotes("a\nb\tc"), "'a b c'");
  EXPECT_EQ(in_quotes(std::string(61, 'x')), "'" + std::string(60, 'x') + "...'");
  EXPECT_EQ(in_quotes(std::string(59, 'x') + "é"), "'" + std::string(59, 'x') + "...'");  // never half a character
}

TEST(Wording, ListsChoices) {
  EXPECT_EQ(choice_of({"a"}), "'a'");
  EXPECT_EQ(choice_of({"a", "b"}), "'a' or 'b'");
  EXPECT_EQ(choice_of({"a", "b", "c"}), "'a', 'b' or 'c'");
}

TEST(Wording, WritesNumbersShortly) {
  EXPECT_EQ(number_text(0.001, "m"), "0.001 m");
  EXPECT_EQ(number_text(0.1, "1"), "0.1");
  EXPECT_EQ(number_text(1e9, "m"), "1e+09 m");
}

TEST(Wording, SaysRanges) {
  EXPECT_EQ(range_text({}, "m"), "");
  EXPECT_EQ(range_text({.least = 0.0}, "K"), "at least 0 K");
  EXPECT_EQ(range_text({.most = 1.0}, "1"), "at most 1");
  EXPECT_EQ(range_text({0.0, 1.0, true, false}, "m"), "more than 0 m and at most 1 m");
  EXPECT_EQ(range_text({0.0, 1.0, false, true}, "m"), "at least 0 m and less than 1 m");
}

TEST(Wording, SaysCounts) {
  EXPECT_EQ(count_text(2, 2), "2");
  EXPECT_EQ(count_text(0, 5), "at most 5");
  EXPECT_EQ(count_text(2, 5), "2 to 5");
}

TEST(Wording, SaysWhatANodeIs) {
  Node node;
  EXPECT_EQ(kind_text(node), "nothing");
  node.kind = Node::Kind::scalar;
  node.text = "x";
  EXPECT_EQ(kind_text(node), "'x'");
  node.kind = Node::Kind::map;
  EXPECT_EQ(kind_text(node), "a map");
  node.kind = Node::Kind::sequence;
  EXPECT_EQ(kind_text(node), "a list");
}

TEST(Ranges, IncludeTheirEndsUnlessExcluded) {
  EXPECT_TRUE(is_within(0.0, {.least = 0.0}));
  EXPECT_FALSE(is_within(0.0, {.least = 0.0, .least_excluded = true}));
  EXPECT_TRUE(is_within(1.0, {.most = 1.0}));
  EXPECT_FALSE(is_within(1.0, {.most = 1.0, .most_excluded = true}));
  EXPECT_FALSE(is_within(-1e-300, {.least = 0.0}));
}

TEST(Names, AreLowerCaseWords) {
  for (const char* name : {"a", "plate", "aluminium_6061_t6", "x9"}) EXPECT_TRUE(is_name(name, {})) << name;
  for (const char* name : {"", "9x", "_a", "Plate", "a-b", "a b", "a.b", "é"}) EXPECT_FALSE(is_name(name, {})) << name;
  EXPECT_TRUE(is_name(std::string(64, 'a'), {}));
  EXPECT_FALSE(is_name(std::string(65, 'a'), {}));
}

TEST(Names, MayBeDottedWhereAllowed) {
  for (const char* name : {"laser", "laser.junction", "a.b1.c_", "sheet.2"}) EXPECT_TRUE(is_name(name, {.dotted = true})) << name;
  for (const char* name : {".a", "a.", "a..b", "9.a", "a._", "."}) EXPECT_FALSE(is_name(name, {.dotted = true})) << name;
}
