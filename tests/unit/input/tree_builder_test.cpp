#include "input/tree_builder.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <string>
#include <vector>

#include "findings.h"

using namespace tileflux;
using namespace tileflux::input;
using tileflux::input::samples::places_of;

namespace tree_builder_test {

/// The tree with every place: `{a@1:1: 'x'@1:4}`.
std::string shown(const Node& node) {
  const std::string place = '@' + std::to_string(node.line) + ':' + std::to_string(node.column);
  std::string inner;
  switch (node.kind) {
    case Node::Kind::null:
      return '~' + place;
    case Node::Kind::scalar:
      return '\'' + node.text + '\'' + place;
    case Node::Kind::sequence:
      for (const Node& item : node.items) inner += (inner.empty() ? "" : ", ") + shown(item);
      return '[' + inner + ']' + place;
    case Node::Kind::map:
      for (const Node::Entry& entry : node.entries) {
        inner += (inner.empty() ? "" : ", ") + entry.key + '@' + std::to_string(entry.line) + ':' +
                 std::to_string(entry.column) + ": " + shown(entry.value);
      }
      return '{' + inner + '}' + place;
  }
  return {};
}

struct Built {
  Document document;
  std::vector<Diagnostic> findings;
};

Built build(const std::string& text, const Bounds& bounds = {}) {
  Built built;
  built.document = parse_document(text, "case.yaml", built.findings, bounds);
  return built;
}

std::string tree_of(const std::string& text) {
  const Built built = build(text);
  return built.findings.empty() ? shown(built.document.root) : places_of(built.findings);
}

std::string findings_of(const std::string& text, const Bounds& bounds = {}) {
  return places_of(build(text, bounds).findings);
}

std::string message_of(const std::string& text) {
  const Built built = build(text);
  return built.findings.empty() ? "none" : built.findings[0].message;
}

TEST(Tree, HasTheExactPlaceOfEveryKeyAndValue) {
  EXPECT_EQ(tree_of("sun:\n  distance: 1 AU\nlist:\n  - a\n  - {b: c}\n"),
            "{sun@1:1: {distance@2:3: '1 AU'@2:13}@2:3, list@3:1: ['a'@4:5, {b@5:6: 'c'@5:9}@5:5]@4:3}@1:1");
}

TEST(Tree, CountsColumnsInBytes) { EXPECT_EQ(tree_of("{é: x, y: z}"), "{é@1:2: 'x'@1:6, y@1:9: 'z'@1:12}@1:1"); }

TEST(Tree, HasThePlacesOfAFileWithCarriageReturns) {
  EXPECT_EQ(tree_of("a: 1\r\nb: 2\r\n"), "{a@1:1: '1'@1:4, b@2:1: '2'@2:4}@1:1");
}

TEST(Tree, KeepsScalarsAsText) {
  EXPECT_EQ(tree_of("a: 010"), "{a@1:1: '010'@1:4}@1:1");
  EXPECT_EQ(tree_of("a: yes"), "{a@1:1: 'yes'@1:4}@1:1");
  EXPECT_EQ(tree_of("a: \"1 mm\""), "{a@1:1: '1 mm'@1:4}@1:1");
  EXPECT_EQ(tree_of("a: ''"), "{a@1:1: ''@1:4}@1:1");
  EXPECT_EQ(tree_of("a: \"null\""), "{a@1:1: 'null'@1:4}@1:1");
  EXPECT_EQ(tree_of("a: 800 W/(m2 K)"), "{a@1:1: '800 W/(m2 K)'@1:4}@1:1");
  EXPECT_EQ(tree_of("a: |\n  two\n  lines\n"), "{a@1:1: 'two\nlines\n'@1:4}@1:1");
}

TEST(Tree, PutsAMissingValueAtItsKey) {
  EXPECT_EQ(tree_of("a:\nb: 1\n"), "{a@1:1: ~@1:1, b@2:1: '1'@2:4}@1:1");
  EXPECT_EQ(tree_of("a:   # remark\n\n\nnext: 1\n"), "{a@1:1: ~@1:1, next@4:1: '1'@4:7}@1:1");
  EXPECT_EQ(tree_of("a:\n  b:\nc: 1\n"), "{a@1:1: {b@2:3: ~@2:3}@2:3, c@3:1: '1'@3:4}@1:1");
  EXPECT_EQ(tree_of("a:"), "{a@1:1: ~@1:1}@1:1");
  EXPECT_EQ(tree_of("{a: , b: 1}"), "{a@1:2: ~@1:2, b@1:7: '1'@1:10}@1:1");
  EXPECT_EQ(tree_of("{a, b: 1}"), "{a@1:2: ~@1:2, b@1:5: '1'@1:8}@1:1");
  EXPECT_EQ(tree_of("a:\nnull_key: 1\n"), "{a@1:1: ~@1:1, null_key@2:1: '1'@2:11}@1:1");
}

TEST(Tree, PutsAMissingItemAtItsDash) {
  EXPECT_EQ(tree_of("- a\n-\n- b\n"), "['a'@1:3, ~@2:1, 'b'@3:3]@1:1");
  EXPECT_EQ(tree_of("- a\n-  # remark\n\n- b\n"), "['a'@1:3, ~@2:1, 'b'@4:3]@1:1");
  EXPECT_EQ(tree_of("x:\n  - a\n  -\ny: 1\n"), "{x@1:1: ['a'@2:5, ~@3:3]@2:3, y@4:1: '1'@4:4}@1:1");
  EXPECT_EQ(tree_of("- a\n-\t# remark\n- b\n"), "['a'@1:3, ~@2:1, 'b'@3:3]@1:1");
  EXPECT_EQ(tree_of("-"), "[~@1:1]@1:1");
}

TEST(Tree, PutsAWrittenNullWhereItStands) {
  EXPECT_EQ(tree_of("a: ~\nb: null\n"), "{a@1:1: ~@1:4, b@2:1: ~@2:4}@1:1");
  EXPECT_EQ(tree_of("[~, null]"), "[~@1:2, ~@1:5]@1:1");
}

TEST(Tree, OfAnEmptyTextIsNull) {
  for (const char* text : {"", "\n\n", "# remark\n"}) {
    const Built built = build(text);
    EXPECT_TRUE(built.findings.empty());
    EXPECT_TRUE(built.document.complete);
    EXPECT_EQ(built.document.root.kind, Node::Kind::null);
  }
}

TEST(Tree, ReportsEveryDuplicateKeyAndKeepsTheFirst) {
  const Built built = build("a: 1\nb: 2\na: 3\nc: {d: 1, d: 2, d: 3}\n");
  EXPECT_EQ(places_of(built.findings), "key-duplicate 3:1\nkey-duplicate 4:11\nkey-duplicate 4:17");
  EXPECT_EQ(built.findings[0].message, "the key 'a' stands twice in this map, first in line 1");
  EXPECT_EQ(built.findings[1].place.path, "c");
  EXPECT_EQ(shown(built.document.root), "{a@1:1: '1'@1:4, b@2:1: '2'@2:4, c@4:1: {d@4:5: '1'@4:8}@4:4}@1:1");
  EXPECT_TRUE(built.document.complete);
}

TEST(Tree, HasWordsAsKeysOnly) {
  EXPECT_EQ(findings_of("? [a, b]\n: 1\n"), "key-not-text 1:3");
  EXPECT_EQ(findings_of("{{a: 1}: 2}"), "key-not-text 1:2");
  EXPECT_EQ(findings_of(": 1"), "key-not-text 1:1");
  EXPECT_EQ(findings_of("~: 1"), "key-not-text 1:1");
}

TEST(Tree, HasNoAnchorsAliasesAndMergeKeys) {
  EXPECT_EQ(findings_of("a: &x 1\n"), "yaml-anchor 1:4");
  EXPECT_EQ(findings_of("a: &x 1\nb: *x\n"), "yaml-anchor 1:4\nyaml-anchor 2:4");
  EXPECT_EQ(findings_of("a: &x\n  b: 1\n"), "yaml-anchor 1:4");
  EXPECT_EQ(findings_of("a: &x [*x]\n"), "yaml-anchor 1:4\nyaml-anchor 1:8");
  EXPECT_EQ(findings_of("a: *unknown\n"), "yaml-anchor 1:4");
  EXPECT_EQ(findings_of("<<: {a: 1}\n"), "yaml-anchor 1:1");
  EXPECT_EQ(findings_of("a: &x {b: 1}\nc:\n  <<: *x\n"), "yaml-anchor 1:4\nyaml-anchor 3:3\nyaml-anchor 3:7");
}

TEST(Tree, HasNoTags) {
  EXPECT_EQ(findings_of("a: !!str 1\n"), "yaml-tag 1:4");
  EXPECT_EQ(findings_of("a: !mine {b: 1}\n"), "yaml-tag 1:4");
  EXPECT_EQ(findings_of("a: ! 1\n"), "yaml-tag 1:4");
  EXPECT_EQ(findings_of("a: !<tag:x> [1]\n"), "yaml-tag 1:4");
  EXPECT_EQ(findings_of("!x a: 1\n"), "yaml-tag 1:1");
  EXPECT_EQ(findings_of("a: 'text!'\nb: \"!x\"\n"), "");
}

TEST(Tree, IsOfOneDocument) {
  EXPECT_EQ(findings_of("---\na: 1\n"), "");
  EXPECT_EQ(findings_of("a: 1\n...\n"), "");
  EXPECT_EQ(findings_of("a: 1\n---\nb: 2\n"), "yaml-second-document 2:1");
  EXPECT_EQ(findings_of("a: 1\n---\n"), "yaml-second-document 2:1");
  EXPECT_EQ(findings_of("---\n---\na: 1\n"), "yaml-second-document 2:1");
  EXPECT_EQ(findings_of("a: 1\n...\nb: 2\n"), "yaml-second-document 3:1");
  EXPECT_EQ(findings_of("a: 1\n---\n[ : ]: {\n"), "yaml-second-document 2:1");
}

TEST(Tree, IsBoundedInDepth) {
  EXPECT_EQ(findings_of("[[[]]]", {.depth = 3}), "");
  EXPECT_EQ(findings_of("[[[[]]]]", {.depth = 3}), "yaml-too-deep 1:4");
  EXPECT_EQ(findings_of(std::string(10'000, '[') + std::string(10'000, ']')), "yaml-too-deep 1:13");
  for (const char* bracket : {"[", "{", "[{", "[: ", "? ", "{a: "}) {
    std::string text;
    for (int i = 0; i < 100'000; ++i) text += bracket;
    const Built built = build(text);
    ASSERT_FALSE(built.findings.empty()) << bracket;
    EXPECT_EQ(built.findings.back().code, Code::yaml_too_deep) << bracket;
  }
  std::string stairs;
  for (std::size_t i = 0; i < 500; ++i) stairs += std::string(i, ' ') + "a:\n";
  EXPECT_EQ(findings_of(stairs), "yaml-too-deep 13:13");
  std::string dashes;
  for (int i = 0; i < 100'000; ++i) dashes += "- ";
  EXPECT_EQ(findings_of(dashes), "yaml-too-deep 1:25");
}

TEST(Tree, IsBoundedInNodes) {
  EXPECT_EQ(findings_of("[1, 2, 3]", {.nodes = 4}), "");
  EXPECT_EQ(findings_of("[1, 2, 3, 4]", {.nodes = 4}), "yaml-too-many-nodes 1:11");
  EXPECT_EQ(findings_of("{a: 1, b: 2}", {.nodes = 4}), "yaml-too-many-nodes 1:11");
  EXPECT_FALSE(build("[1, 2, 3, 4]", {.nodes = 4}).document.complete);
}

TEST(Tree, IsBoundedInTheLengthOfAValue) {
  EXPECT_EQ(findings_of("a: " + std::string(10, 'x'), {.scalar_bytes = 10}), "");
  EXPECT_EQ(findings_of("a: " + std::string(11, 'x'), {.scalar_bytes = 10}), "text-too-large 1:4");
  EXPECT_EQ(findings_of("\"" + std::string(11, 'x') + "\": 1", {.scalar_bytes = 10}), "text-too-large 1:1");
}

TEST(Tree, StopsAfterAHundredFindings) {
  std::string text;
  for (int i = 0; i < 1000; ++i) text += "a: 1\n";
  const Built built = build(text);
  EXPECT_EQ(built.findings.size(), most_findings);
  EXPECT_FALSE(built.document.complete);
}

TEST(Tree, HasNoControlCharactersMadeByEscapes) {
  EXPECT_EQ(findings_of(R"(a: "\e[31m")"), "text-encoding 1:4");
  EXPECT_EQ(findings_of(R"(a: "\0")"), "text-encoding 1:4");
  EXPECT_EQ(findings_of(R"("\x07": 1)"), "text-encoding 1:1");
  EXPECT_EQ(findings_of(R"(a: "\t\n")"), "");
}

TEST(Tree, ReportsSyntaxInOwnWords) {
  EXPECT_EQ(findings_of("a: b: c\n"), "yaml-syntax 1:5");
  EXPECT_EQ(message_of("a: b: c\n"),
            "a second ': ' in one line, or a key indented too far; text that holds ': ' belongs in quotes");
  EXPECT_EQ(findings_of("a: {b: 1\nc: 2\n"), "yaml-syntax 2:2");
  EXPECT_EQ(message_of("a: {b: 1\nc: 2\n"), "the brace '{' is not closed");
  EXPECT_EQ(findings_of("a: [1, 2\n"), "yaml-syntax 2:1");
  EXPECT_EQ(message_of("a: \"\\q\"\n"),
            "an unknown escape in double quotes; in single quotes the backslash means itself");
  EXPECT_EQ(findings_of("a:\n    b: 1\n  c: 2\n"), "yaml-syntax 3:3");
  EXPECT_EQ(message_of("a: 1\n- b\n"), "this line does not fit the map above it: check its indentation");
  EXPECT_EQ(findings_of("  a: 1\n b: 2\n"), "yaml-syntax 2:2");
  EXPECT_EQ(findings_of("- a\nb: 1\n"), "yaml-syntax 2:1");
  EXPECT_EQ(message_of("- a\nb: 1\n"), "this line does not fit what stands above it: check its indentation");
  EXPECT_EQ(findings_of("a: @x\n"), "yaml-syntax 1:4");
  EXPECT_EQ(message_of("a: @x\n"), "a character that may not begin a value: put the text in quotes");
  EXPECT_FALSE(build("a: b: c\n").document.complete);
  EXPECT_FALSE(build("- a\nb: 1\n").document.complete);
}

TEST(Tree, ReportsAQuoteThatIsNotClosed) {
  // Without these checks the parser takes all that follows into the text.
  EXPECT_EQ(findings_of("a: 'open\nb: 1\n"), "yaml-syntax 1:4");
  EXPECT_EQ(findings_of("a: \"open\nb: 1\n"), "yaml-syntax 1:4");
  EXPECT_EQ(findings_of("a: \"open\\\"\n"), "yaml-syntax 1:4");
  EXPECT_EQ(findings_of("a: 'open''\n"), "yaml-syntax 1:4");
  EXPECT_EQ(findings_of("é: 'open\r\nb: 1\r\n"), "yaml-syntax 1:5");
  EXPECT_EQ(message_of("a: 'open\nb: 1\n"), "the quoted text is not closed");
  EXPECT_EQ(message_of("a: 'open"), "the quoted text is not closed");
  EXPECT_EQ(findings_of("a: 'it''s'\nb: \"\\\\\"\nc: \"\\\"\"\n"), "");
  EXPECT_EQ(findings_of("é: 'two\r\n  lines'\r\nb: \"x\"\r\n"), "");
}

TEST(Tree, HasNoDirectives) {
  EXPECT_EQ(findings_of("%YAML 1.2\n---\na: 1\n"), "yaml-syntax 1:1");
  EXPECT_EQ(findings_of("# remark\n\n%TAG ! tag:x,2000:\n---\na: 1\n"), "yaml-syntax 3:1");
  EXPECT_EQ(findings_of("a: |\n  x\n"), "");
}

RC_GTEST_PROP(Tree, NeverThrowsOnAnyText, ()) {
  const auto text =
      *rc::gen::container<std::string>(rc::gen::element('a', ':', ' ', '\n', '-', '[', ']', '{', '}', ',', '\'', '"',
                                                        '#', '&', '*', '!', '?', '|', '>', '%', '~', '\\', '.'));
  const Built built = build(text);
  RC_ASSERT(built.document.complete || !built.findings.empty());
  for (const Diagnostic& finding : built.findings) RC_ASSERT(finding.place.line >= 0);
}

}  // namespace tree_builder_test
