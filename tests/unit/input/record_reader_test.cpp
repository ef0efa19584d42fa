#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <string>
#include <vector>

#include "definitions.h"
#include "findings.h"
#include "tileflux/input/record.h"

using namespace tileflux;
using namespace tileflux::input;
using tileflux::input::samples::every_field;
using tileflux::input::samples::places_of;

namespace record_reader_test {

std::vector<Diagnostic> read(const std::string& text, const Section& definition = every_field()) {
  std::vector<Diagnostic> findings;
  const Document document = parse_document(text, "case.yaml", findings);
  read_record(document, definition, findings);
  return findings;
}

/// Findings of a text below a sound first line: what stands in `text` begins in line 2.
std::vector<Diagnostic> read_below(const std::string& text) { return read("tileflux: 1\n" + text); }

void expect_one(const std::string& text, const std::string& place, const std::string& message,
                const std::string& suggestion = {}) {
  const std::vector<Diagnostic> findings = read_below(text);
  EXPECT_EQ(places_of(findings), place) << text;
  if (findings.empty()) return;
  EXPECT_EQ(findings[0].message, message) << text;
  EXPECT_EQ(findings[0].suggestion, suggestion) << text;
}

TEST(Reader, AcceptsTheLeast) { EXPECT_EQ(places_of(read("tileflux: 1\n")), ""); }

TEST(Reader, RefusesATextThatIsNoMap) {
  EXPECT_EQ(places_of(read("")), "empty-value 1:1");
  EXPECT_EQ(places_of(read("- a\n")), "wrong-kind 1:1");
  EXPECT_EQ(places_of(read("tileflux\n")), "wrong-kind 1:1");
}

TEST(Reader, SuggestsTheNearestKey) {
  expect_one("lief: end\n", "key-unknown 2:1", "the key 'lief' is not known here", "did you mean 'life'?");
  expect_one("stack:\n  - {name: a, thickness: 1 mm, thicknes: 1 mm}\n", "key-unknown 3:32",
             "the key 'thicknes' is not known here", "did you mean 'thickness'?");
  expect_one("sun: {distance: 1 AU, orbit: 3}\n", "key-unknown 2:23", "the key 'orbit' is not known here",
             "known here: 'distance' or 'tilt'");
  expect_one("orbit: 3\n", "key-unknown 2:1", "the key 'orbit' is not known here");
  expect_one("life:end\n", "key-unknown 2:1", "the key 'life:end' is not known here",
             "a blank belongs behind the colon");
}

TEST(Reader, MissesAKeyAtTheKeyOfItsSection) {
  expect_one("sun:\n  tilt: 1 deg\n", "key-missing 2:1",
             "the key 'distance' is missing: expected a length such as '1 mm'");
  expect_one("sun: {}\n", "key-missing 2:1", "the key 'distance' is missing: expected a length such as '1 mm'");
  expect_one("stack:\n  - {name: a, thickness: 1 mm}\n  - {name: b}\n", "key-missing 4:5",
             "the key 'thickness' is missing: expected a length such as '1 mm'");
  EXPECT_EQ(places_of(read("title: x\n")), "key-missing 1:1");
}

TEST(Reader, NamesThePathOfEveryFinding) {
  EXPECT_EQ(read_below("sun: {distance: 3 kg}\n")[0].place.path, "sun.distance");
  EXPECT_EQ(read_below("stack: [{name: a, thickness: 1 mm}, {name: b, thickness: 1}]\n")[0].place.path,
            "stack[1].thickness");
  EXPECT_EQ(read_below("widths: [1 mm, 1 kg]\n")[0].place.path, "widths[1]");
  EXPECT_EQ(read_below("conductivity: [[1 K, 1 W/(m K)], [2 K, 1 W]]\n")[0].place.path, "conductivity[1][1]");
  EXPECT_EQ(read_below("limits: {plate: {below: 5}}\n")[0].place.path, "limits.plate.below");
  EXPECT_EQ(read_below("sun: {distance: 1 AU, flurb: 1}\n")[0].place.path, "sun");
}

TEST(Reader, PlacesTroubleInsideTheValue) {
  expect_one("mass: 3 W/m K\n", "unit-ambiguous 2:13", "'W/m K' can be read in two ways: write 'W/(m K)'");
  expect_one("mass: \"3 flurbs\"\n", "unit-unknown 2:10", "the unit 'flurbs' is not known");
  expect_one("mass: '3 flurbs'\n", "unit-unknown 2:10", "the unit 'flurbs' is not known");
  expect_one("mass: \"3\\tflurbs\"\n", "unit-unknown 2:7",
             "the unit 'flurbs' is not known");  // an escape: place of the value
  expect_one("mass: 3\n  flurbs\n", "unit-unknown 2:7",
             "the unit 'flurbs' is not known");  // two lines: place of the value
}

TEST(Reader, SaysWhatQuantityItExpects) {
  expect_one("widths: [3 kg, 1 mm]\n", "dimension-wrong 2:12",
             "expected a length such as '1 mm', found '3 kg' (a mass)");
  expect_one("mass: 3\n", "unit-missing 2:7",
             "expected a mass, found '3' without a unit: write the unit, for example '1.4 kg'");
  expect_one("mass: heavy\n", "number-malformed 2:7", "expected a mass such as '1.4 kg', found 'heavy'");
  expect_one("mass: nan kg\n", "number-not-finite 2:7", "expected a finite number, found 'nan kg'");
  expect_one("efficiency: 3 kg\n", "unit-unexpected 2:15", "expected a plain number or one in %, found '3 kg'");
  expect_one("mass: [3 kg]\n", "wrong-kind 2:7", "expected a mass such as '1.4 kg', found a list");
  expect_one("mass: {a: 3 kg}\n", "wrong-kind 2:7", "expected a mass such as '1.4 kg', found a map");
  expect_one("mass:\n", "empty-value 2:1", "expected a mass such as '1.4 kg', found nothing");
  expect_one("mass: ~\n", "empty-value 2:7", "expected a mass such as '1.4 kg', found nothing");
}

TEST(Reader, NamesTheRangeInSI) {
  expect_one("stack: [{name: a, thickness: 3000 mm}]\n", "value-out-of-range 2:30",
             "expected more than 0 m and at most 1 m, found '3000 mm' (3 m)");
  expect_one("stack: [{name: a, thickness: 0 m}]\n", "value-out-of-range 2:30",
             "expected more than 0 m and at most 1 m, found '0 m'");
  expect_one("limits: {a: {below: -300 degC}}\n", "value-out-of-range 2:21",
             "expected at least 0 K, found '-300 degC' (-26.850000000000023 K)");
  expect_one("efficiency: 130 %\n", "value-out-of-range 2:13",
             "expected at least 0 and at most 1, found '130 %' (1.3)");
  expect_one("period: 0 s\non: 0 s\n", "value-out-of-range 2:9", "expected more than 0 s, found '0 s'");
}

TEST(Reader, ReadsWholeNumbers) {
  const auto expect_count = [](const std::string& text, const std::string& place, const std::string& tail = {}) {
    expect_one("stack: [{name: a, thickness: 1 mm, nodes: " + text + "}]\n", place,
               "expected a whole number from 1 to 20, found '" + text + '\'' + tail);
  };
  EXPECT_EQ(places_of(read_below("stack: [{name: a, thickness: 1 mm, nodes: +20}]\n")), "");
  expect_count("0", "count-out-of-bounds 2:43");
  expect_count("-5", "count-out-of-bounds 2:43");
  expect_count("21", "count-out-of-bounds 2:43");
  expect_count("99999999999999999999", "count-out-of-bounds 2:43");
  expect_count("1.5", "number-malformed 2:43");
  expect_count("1e1", "number-malformed 2:43");
  expect_count("many", "number-malformed 2:43");
  expect_count("0x4", "number-malformed 2:43");
  expect_count("010", "number-malformed 2:43", ": write it without leading zeros");
  expect_count("4 K", "unit-unexpected 2:43");
  expect_count("4%", "unit-unexpected 2:43");
}

TEST(Reader, ReadsTextsNamesChoicesAndFlags) {
  expect_one("title: " + std::string(21, 'x') + "\n", "text-too-long 2:8",
             "expected a text of at most 20 bytes, found 21");
  expect_one("title: ''\n", "empty-value 2:8", "expected a text, found nothing");
  expect_one("title: [a]\n", "wrong-kind 2:8", "expected a text, found a list");
  expect_one("part: Laser\n", "name-malformed 2:7",
             "expected a name of a-z, 0-9 and _, a letter first, at most 64 characters, with dots between names, found "
             "'Laser'");
  expect_one("between: [a, b.c]\n", "name-malformed 2:14",
             "expected a name of a-z, 0-9 and _, a letter first, at most 64 characters, found 'b.c'");
  expect_one("life: middle\n", "choice-unknown 2:7", "expected 'begin' or 'end', found 'middle'");
  expect_one("life: begn\n", "choice-unknown 2:7", "expected 'begin' or 'end', found 'begn'", "did you mean 'begin'?");
  expect_one("massless: maybe\n", "choice-unknown 2:11", "expected 'yes' or 'no', found 'maybe'");
  for (const char* word : {"yes", "no", "true", "false", "\"yes\""})
    EXPECT_EQ(places_of(read_below("massless: " + std::string(word))), "") << word;
}

TEST(Reader, CountsEntriesOfLists) {
  expect_one("widths: [1 mm]\n", "count-out-of-bounds 2:9", "expected 2 to 4 entries, found 1");
  expect_one("widths: [1 mm, 1 mm, 1 mm, 1 mm, 1 mm]\n", "count-out-of-bounds 2:9", "expected 2 to 4 entries, found 5");
  expect_one("between: [a]\n", "count-out-of-bounds 2:10", "expected 2 names, found 1");
  expect_one("widths: 1 mm\n", "wrong-kind 2:9", "expected a list, each entry a length, found '1 mm'");
  expect_one("between: a\n", "wrong-kind 2:10", "expected a list of names, found 'a'");
  expect_one("stack: [{}, {}, {}, {}]\n", "count-out-of-bounds 2:8", "expected at most 3 entries, found 4");
  expect_one("limits: {a: {}, b: {}, c: {}, d: {}, e: {}, f: {}}\n", "count-out-of-bounds 2:9",
             "expected at most 5 entries, found 6");
}

TEST(Reader, ChecksTheShapeOfTables) {
  expect_one("conductivity: [[1 K, 1 W/(m K)]]\n", "count-out-of-bounds 2:15", "expected 2 to 1000 rows, found 1");
  expect_one("conductivity: [[1 K, 1 W/(m K)], [2 K]]\n", "table-shape 2:34", "expected a row of 2 values, found 1");
  expect_one("conductivity: [[1 K, 1 W/(m K)], 2 K]\n", "wrong-kind 2:34",
             "expected a list of rows with 2 values each, found '2 K'");
  expect_one("conductivity: [[2 K, 1 W/(m K)], [2 K, 1 W/(m K)]]\n", "table-not-rising 2:34",
             "the first column must rise, found '2 K' after '2 K'");
  expect_one("conductivity: [[20 degC, 1 W/(m K)], [280 K, 1 W/(m K)]]\n", "table-not-rising 2:38",
             "the first column must rise, found '280 K' after '20 degC'");
}

TEST(Reader, ChecksTheShapeOfSections) {
  expect_one("sun: 5\n", "wrong-kind 2:6", "expected a map, found '5'");
  expect_one("sun:\n", "empty-value 2:1", "expected a map, found nothing");
  expect_one("stack: {}\n", "wrong-kind 2:8", "expected a list of maps, found a map");
  expect_one("stack: [a]\n", "wrong-kind 2:9", "expected a map, found 'a'");
  expect_one("stack:\n  -\n", "empty-value 3:3", "expected a map, found nothing");
  expect_one("limits: [a]\n", "wrong-kind 2:9", "expected a map from names to maps, found a list");
  expect_one("limits: {a: 5}\n", "wrong-kind 2:13", "expected a map, found '5'");
  expect_one(
      "limits: {A: {}}\n", "name-malformed 2:10",
      "expected a name of a-z, 0-9 and _, a letter first, at most 64 characters, with dots between names, found 'A'");
}

TEST(Reader, ChecksKeysAgainstEachOther) {
  expect_one("heat_capacity: 1 J/K\nmass: 1 kg\n", "key-conflict 3:1", "'mass' and 'heat_capacity' exclude each other");
  expect_one("on: 1 s\n", "key-conflict 2:1", "'on' needs 'period' too");
  expect_one("limits: {a: {below: 1 K, above: 1 K}}\n", "key-conflict 2:26", "'above' and 'below' exclude each other");
}

TEST(Reader, WantsExactlyOneOfAGroup) {
  Section definition = every_field();
  definition.exactly_one_of = {{"mass", "heat_capacity"}};
  const std::vector<Diagnostic> none = read("tileflux: 1\n", definition);
  EXPECT_EQ(places_of(none), "key-missing 1:1");
  EXPECT_EQ(none[0].message, "one of 'mass' or 'heat_capacity' is missing");
  EXPECT_EQ(places_of(read("tileflux: 1\nmass: 1 kg\n", definition)), "");
  definition.at_most_one_of.clear();
  EXPECT_EQ(places_of(read("tileflux: 1\nmass: 1 kg\nheat_capacity: 1 J/K\n", definition)), "key-conflict 3:1");
}

TEST(Reader, CollectsAllFindingsInTheOrderOfTheFile) {
  const std::vector<Diagnostic> findings = read(
      "title: ''\n"
      "mass: 3\n"
      "mass: 4 kg\n"
      "flurb: 1\n"
      "stack:\n"
      "  - {thickness: 5 kg}\n"
      "life: never\n"
      "tileflux: one\n");
  EXPECT_EQ(places_of(findings),
            "empty-value 1:8\n"
            "unit-missing 2:7\n"
            "key-duplicate 3:1\n"
            "key-unknown 4:1\n"
            "key-missing 6:5\n"
            "dimension-wrong 6:19\n"
            "choice-unknown 7:7\n"
            "number-malformed 8:11");
}

TEST(Reader, KeepsFindingsOfOtherFilesFirst) {
  Diagnostic other;
  other.place = {"other.yaml", 99, 1, {}};
  std::vector<Diagnostic> findings{other};
  const Document document = parse_document("tileflux: 1\nmass: 1\n", "case.yaml", findings);
  read_record(document, every_field(), findings);
  ASSERT_EQ(findings.size(), 2u);
  EXPECT_EQ(findings[0].place.file, "other.yaml");
}

TEST(Reader, StopsAfterAHundredFindings) {
  std::string text = "tileflux: 1\n";
  for (int i = 0; i < 1000; ++i) text += "flurb" + std::to_string(i) + ": 1\n";
  EXPECT_EQ(read(text).size(), 100u);
}

TEST(Reader, DoesNotReadWhatIsIncomplete) {
  EXPECT_EQ(places_of(read("title: a: b\n")), "yaml-syntax 1:9");
  EXPECT_EQ(places_of(read("tileflux: 1\nsun: *x\n")), "yaml-anchor 2:6");
}

TEST(Defaults, AreFilledInAndListed) {
  std::vector<Diagnostic> findings;
  const Document document =
      parse_document("tileflux: 1\nsun: {distance: 1 AU}\nlimits: {a: {hysteresis: 2 K}, b: {}}\nlife: begin\n",
                     "case.yaml", findings);
  const Reading reading = read_record(document, every_field(), findings);
  EXPECT_TRUE(findings.empty());
  std::string listed;
  for (const FilledDefault& filled : reading.defaults) listed += filled.path + " = " + filled.text + '\n';
  EXPECT_EQ(listed, "efficiency = 30 %\nmassless = no\nsun.tilt = 0 deg\nlimits.b.hysteresis = 5 K\n");
  EXPECT_DOUBLE_EQ(reading.record.quantity("efficiency"), 0.3);
  EXPECT_DOUBLE_EQ(reading.record.by_name("limits")[1].second.quantity("hysteresis"), 5.0);
}

TEST(Defaults, OfEveryShapeAreReadByTheSameCode) {
  Section inner;
  inner.title = "Inner";
  inner.fields = {{"tilt", QuantityType{{"rad"}, {}}, "", false, "180 deg"}};
  Section definition;
  definition.fields = {
      {"widths", QuantityListType{input::samples::length(), 1, 3}, "", false, "[1 mm, 2 mm]"},
      {"names", NameListType{}, "", false, "[a, b]"},
      {"table", TableType{{input::samples::temperature()}}, "", false, "[[1 K], [2 K]]"},
      {"inner", SectionType{std::make_shared<const Section>(inner)}, "", false, "{}"},
      {"text", TextType{}, "", false, "plain: text"},
  };
  std::vector<Diagnostic> findings;
  const Reading reading = read_record(parse_document("{}", "case.yaml", findings), definition, findings);
  EXPECT_TRUE(findings.empty());
  EXPECT_EQ(reading.record.quantities("widths"), (std::vector<double>{1e-3, 2e-3}));
  EXPECT_EQ(reading.record.names("names"), (std::vector<std::string>{"a", "b"}));
  EXPECT_EQ(reading.record.table("table").size(), 2u);
  EXPECT_EQ(reading.record.text("text"), "plain: text");
  EXPECT_FALSE(reading.record.stated("inner"));
  EXPECT_NEAR(reading.record.section("inner").quantity("tilt"), 3.141592653589793, 1e-15);
  ASSERT_EQ(reading.defaults.size(), 5u);
  EXPECT_EQ(reading.defaults[3].path, "inner.tilt");
}

TEST(Defaults, ThatCannotBeReadAreInternalErrors) {
  const auto code_with = [](Field field) {
    Section definition;
    definition.fields = {std::move(field)};
    try {
      read("{}", definition);
    } catch (const Error& error) {
      return error.code();
    }
    return Code::file_unreadable;
  };
  EXPECT_EQ(code_with({"a", QuantityType{{"m"}, {}}, "", false, "1 kg"}), Code::internal);
  EXPECT_EQ(code_with({"a", input::samples::length(), "", false, "5 m"}), Code::internal);
  EXPECT_EQ(code_with({"a", NameListType{}, "", false, "[a"}), Code::internal);
  EXPECT_EQ(code_with({"a", SectionType{input::samples::sun()}, "", false, "{}"}), Code::internal);
}

TEST(Definition, WhoseGroupNamesAnUnknownKeyIsAnInternalError) {
  Section definition = every_field();
  definition.together = {{"mass", "flurb"}};
  EXPECT_THROW(read("tileflux: 1\n", definition), Error);
}

RC_GTEST_PROP(Reader, NeverThrowsOnAnyMap, ()) {
  const auto key = rc::gen::element<std::string>("tileflux", "title", "sun", "stack", "limits", "mass", "widths",
                                                 "conductivity", "flurb", "life", "nodes");
  const auto value = rc::gen::element<std::string>("1", "1 kg", "[1 mm, 2 mm]", "{}", "{distance: 1 AU}", "[{}]",
                                                   "[[1 K]]", "", "~", "'x'", "[]", "{a: {below: 1 K}}", "-1 m");
  std::string text;
  for (const auto& [one, other] :
       *rc::gen::container<std::vector<std::pair<std::string, std::string>>>(rc::gen::pair(key, value)))
    text += one + ": " + other + '\n';
  for (const Diagnostic& finding : read(text)) {
    RC_ASSERT(finding.place.line > 0);
    RC_ASSERT(!finding.message.empty());
  }
}

}  // namespace record_reader_test
