#include "tileflux/input/override.h"

#include <gtest/gtest.h>

#include <functional>
#include <string>

#include "definitions.h"
#include "tileflux/input/record.h"

using namespace tileflux;
using namespace tileflux::input;
using tileflux::input::samples::every_field;

namespace override_test {

constexpr const char* sample = R"(tileflux: 1
title: sample
widths: [1 cm, 2 cm]
conductivity: [[77 K, 83 W/(m K)], [300 K, 167 W/(m K)]]
sun: {distance: 1e12 m}
stack:
  - {name: top, thickness: 1 mm}
  - {name: base, thickness: 2 mm}
limits:
  laser.junction: {below: 65 degC}
  laser: {above: -20 degC}
mass: 2 kg
)";

Document document_of(const std::string& text = sample) {
  std::vector<Diagnostic> findings;
  Document document = parse_document(text, "case.yaml", findings);
  EXPECT_TRUE(findings.empty());
  return document;
}

Reading read(const Document& document, std::vector<Diagnostic>& findings) {
  return read_record(document, every_field(), findings);
}

Diagnostic refusal(const std::string& path) {
  try {
    quantity_at(document_of(), every_field(), path);
  } catch (const Error& error) {
    return error.diagnostics().front();
  }
  ADD_FAILURE() << path << " was found";
  return {};
}

double put_and_read(const std::string& path, double value, const std::function<double(const Record&)>& reading) {
  Document document = document_of();
  put_quantity(document, every_field(), path, value);
  std::vector<Diagnostic> findings;
  const Reading read_again = read(document, findings);
  EXPECT_TRUE(findings.empty()) << path;
  return reading(read_again.record);
}

TEST(QuantityAtPath, IsWhatStandsThere) {
  const QuantityAt found = quantity_at(document_of(), every_field(), "stack[1].thickness");
  EXPECT_EQ(found.text, "2 mm");
  EXPECT_DOUBLE_EQ(found.value_si.value(), 2e-3);
  EXPECT_EQ(found.type.dimension.si_unit, "m");
  EXPECT_TRUE(found.stated);
  EXPECT_EQ(found.place.line, 8);
  EXPECT_EQ(found.place.column, 29);
  EXPECT_EQ(found.place.path, "stack[1].thickness");
}

TEST(QuantityAtPath, IsTheDefaultOrNothingWhereTheKeyIsNotStated) {
  const QuantityAt tilt = quantity_at(document_of(), every_field(), "sun.tilt");
  EXPECT_EQ(tilt.text, "0 deg");
  EXPECT_EQ(tilt.value_si, 0.0);
  EXPECT_FALSE(tilt.stated);
  const QuantityAt capacity = quantity_at(document_of(), every_field(), "heat_capacity");
  EXPECT_FALSE(capacity.text.has_value());
  EXPECT_FALSE(capacity.value_si.has_value());
  EXPECT_EQ(capacity.type.dimension.si_unit, "J/K");
}

TEST(QuantityAtPath, ReachesListsTablesAndNamesWithDots) {
  EXPECT_DOUBLE_EQ(quantity_at(document_of(), every_field(), "widths[1]").value_si.value(), 0.02);
  EXPECT_DOUBLE_EQ(quantity_at(document_of(), every_field(), "conductivity[1][0]").value_si.value(), 300.0);
  EXPECT_EQ(quantity_at(document_of(), every_field(), "conductivity[1][1]").type.dimension.si_unit, "W/(m K)");
  EXPECT_DOUBLE_EQ(quantity_at(document_of(), every_field(), "limits.laser.junction.below").value_si.value(), 338.15);
  EXPECT_DOUBLE_EQ(quantity_at(document_of(), every_field(), "limits.laser.above").value_si.value(), 253.15);
}

TEST(QuantityAtPath, RefusesWithTheNearestPath) {
  const Diagnostic misspelt = refusal("sun.distanse");
  EXPECT_EQ(misspelt.code, Code::key_unknown);
  EXPECT_EQ(misspelt.message, "there is no 'distanse' in 'sun'");
  EXPECT_EQ(misspelt.suggestion, "did you mean 'sun.distance'?");
  EXPECT_EQ(refusal("distance").suggestion, "did you mean 'sun.distance'?");
  EXPECT_EQ(refusal("limits.lasr.junction.below").suggestion, "did you mean 'limits.laser.junction.below'?");
  EXPECT_EQ(refusal("mass.of").code, Code::key_unknown);
  EXPECT_EQ(refusal("").code, Code::key_unknown);
  EXPECT_EQ(refusal("zzzzzzzz").suggestion, "");
}

TEST(QuantityAtPath, RefusesWhatIsNoQuantity) {
  EXPECT_EQ(refusal("title").code, Code::wrong_kind);
  EXPECT_EQ(refusal("stack[0].name").code, Code::wrong_kind);
  EXPECT_EQ(refusal("stack[0].nodes").code, Code::wrong_kind);
  EXPECT_EQ(refusal("sun").message, "'sun' is no quantity: say which of its keys");
  EXPECT_EQ(refusal("stack.thickness").code, Code::wrong_kind);
  EXPECT_EQ(refusal("stack[].thickness").code, Code::wrong_kind);
  EXPECT_EQ(refusal("stack[0x1].thickness").code, Code::wrong_kind);
  EXPECT_EQ(refusal("stack[-1].thickness").code, Code::wrong_kind);
  EXPECT_EQ(refusal("widths").code, Code::wrong_kind);
  EXPECT_EQ(refusal("conductivity[0]").code, Code::wrong_kind);
  EXPECT_EQ(refusal("stack[2].thickness").code, Code::count_out_of_bounds);
  EXPECT_EQ(refusal("conductivity[0][2]").code, Code::count_out_of_bounds);
  const Document bare = document_of("tileflux: 1\n");
  try {
    quantity_at(bare, every_field(), "sun.distance");
    FAIL();
  } catch (const Error& error) {
    EXPECT_EQ(error.code(), Code::key_missing);
  }
}

TEST(QuantityPaths, NameEveryQuantityThatCanBeFound) {
  const std::vector<std::string> paths = quantity_paths(document_of(), every_field());
  const std::vector<std::string> expected{"efficiency",
                                          "widths[0]",
                                          "widths[1]",
                                          "conductivity[0][0]",
                                          "conductivity[0][1]",
                                          "conductivity[1][0]",
                                          "conductivity[1][1]",
                                          "sun.distance",
                                          "sun.tilt",
                                          "stack[0].thickness",
                                          "stack[1].thickness",
                                          "limits.laser.junction.below",
                                          "limits.laser.junction.above",
                                          "limits.laser.junction.hysteresis",
                                          "limits.laser.below",
                                          "limits.laser.above",
                                          "limits.laser.hysteresis",
                                          "mass",
                                          "heat_capacity",
                                          "period",
                                          "on"};
  EXPECT_EQ(paths, expected);
  for (const std::string& path : paths) EXPECT_NO_THROW(quantity_at(document_of(), every_field(), path)) << path;
}

TEST(PutQuantity, IsReadBackToTheLastDigit) {
  const double odd = 0.1 + 0.2;
  EXPECT_EQ(put_and_read("stack[0].thickness", odd, [](const Record& r) { return r.list("stack")[0].quantity("thickness"); }), odd);
  EXPECT_EQ(put_and_read("sun.tilt", odd, [](const Record& r) { return r.section("sun").quantity("tilt"); }), odd);
  EXPECT_EQ(put_and_read("efficiency", odd, [](const Record& r) { return r.quantity("efficiency"); }), odd);
  EXPECT_EQ(put_and_read("limits.laser.hysteresis", odd, [](const Record& r) { return r.by_name("limits")[1].second.quantity("hysteresis"); }), odd);
  EXPECT_EQ(put_and_read("conductivity[0][1]", odd, [](const Record& r) { return r.table("conductivity")[0][1]; }), odd);
  EXPECT_EQ(put_and_read("widths[1]", odd, [](const Record& r) { return r.quantities("widths")[1]; }), odd);
}

TEST(PutQuantity, LeavesTheRulesToTheReader) {
  const auto first_finding = [](const std::string& path, double value) {
    Document document = document_of();
    put_quantity(document, every_field(), path, value);
    std::vector<Diagnostic> findings;
    read(document, findings);
    return findings.empty() ? Diagnostic{} : findings.front();
  };
  const Diagnostic beyond = first_finding("sun.tilt", 2.0);
  EXPECT_EQ(beyond.code, Code::value_out_of_range);
  EXPECT_EQ(beyond.place.path, "sun.tilt");
  EXPECT_EQ(beyond.place.line, 0);
  EXPECT_EQ(beyond.excerpt, "");
  EXPECT_EQ(first_finding("heat_capacity", 5.0).code, Code::key_conflict);
  EXPECT_EQ(first_finding("conductivity[0][0]", 400.0).code, Code::table_not_rising);
}

}  // namespace override_test
