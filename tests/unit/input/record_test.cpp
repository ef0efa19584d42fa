#include "tileflux/input/record.h"

#include <gtest/gtest.h>

#include <functional>
#include <string>
#include <utility>
#include <vector>

#include "definitions.h"

using namespace tileflux;
using namespace tileflux::input;

namespace record_test {

Record read(const std::string& text) {
  std::vector<Diagnostic> findings;
  const Document document = parse_document(text, "case.yaml", findings);
  Reading reading = read_record(document, input::samples::every_field(), findings);
  EXPECT_TRUE(findings.empty()) << (findings.empty() ? "" : describe(findings.front()));
  return std::move(reading.record);
}

const std::string full = R"(tileflux: 1
title: Plate
life: begin
massless: yes
part: laser.junction
widths: [1 mm, 2 mm]
between: [skin, plate]
conductivity: [[100 K, 1 W/(m K)], [200 K, 2 W/(m K)]]
sun: {distance: 1 AU}
stack:
  - {name: skin, thickness: 1 mm}
limits:
  laser.junction: {below: 65 degC}
mass: 2 kg
)";

void expect_internal(const std::function<void()>& question) {
  try {
    question();
    FAIL() << "no error";
  } catch (const Error& error) {
    EXPECT_EQ(error.code(), Code::internal);
  }
}

TEST(ARecord, AnswersByKindInSI) {
  const Record record = read(full);
  EXPECT_EQ(record.count("tileflux"), 1);
  EXPECT_EQ(record.text("title"), "Plate");
  EXPECT_EQ(record.text("life"), "begin");
  EXPECT_TRUE(record.flag("massless"));
  EXPECT_EQ(record.text("part"), "laser.junction");
  EXPECT_EQ(record.quantities("widths"), (std::vector<double>{1e-3, 2e-3}));
  EXPECT_EQ(record.names("between"), (std::vector<std::string>{"skin", "plate"}));
  EXPECT_EQ(record.table("conductivity"), (std::vector<std::vector<double>>{{100.0, 1.0}, {200.0, 2.0}}));
  EXPECT_DOUBLE_EQ(record.section("sun").quantity("distance"), 149597870700.0);
  ASSERT_EQ(record.list("stack").size(), 1u);
  EXPECT_EQ(record.list("stack")[0].text("name"), "skin");
  ASSERT_EQ(record.by_name("limits").size(), 1u);
  EXPECT_EQ(record.by_name("limits")[0].first, "laser.junction");
  EXPECT_DOUBLE_EQ(record.by_name("limits")[0].second.quantity("below"), 338.15);
  EXPECT_EQ(record.quantity_if("mass"), 2.0);
}

TEST(ARecord, TellsStatedFromDefaultFromAbsent) {
  const Record record = read("tileflux: 1\nlife: end\n");
  EXPECT_TRUE(record.has("life"));
  EXPECT_TRUE(record.stated("life"));
  EXPECT_TRUE(record.has("efficiency"));
  EXPECT_FALSE(record.stated("efficiency"));
  EXPECT_FALSE(record.has("mass"));
  EXPECT_FALSE(record.stated("mass"));
  EXPECT_EQ(record.quantity_if("mass"), std::nullopt);
  EXPECT_TRUE(record.list("stack").empty());
  EXPECT_TRUE(record.by_name("limits").empty());
}

TEST(ARecord, KnowsItsPlaces) {
  const Record record = read(full);
  EXPECT_EQ(record.place("title").line, 2);
  EXPECT_EQ(record.place("title").column, 8);
  EXPECT_EQ(record.place("title").path, "title");
  EXPECT_EQ(record.place("title").file, "case.yaml");
  EXPECT_EQ(record.place("widths", 1).column, 16);
  EXPECT_EQ(record.place("widths", 1).path, "widths[1]");
  EXPECT_EQ(record.place("widths", 7).path, "widths");
  EXPECT_EQ(record.place("mass").path, "mass");
  EXPECT_EQ(record.section("sun").place().line, 9);
  EXPECT_EQ(record.section("sun").place().column, 1);
  EXPECT_EQ(record.section("sun").place("distance").path, "sun.distance");
  EXPECT_EQ(record.section("sun").place("tilt").line, 9);
  EXPECT_EQ(record.list("stack")[0].place().line, 11);
  EXPECT_EQ(record.list("stack")[0].place().column, 5);
  EXPECT_EQ(record.list("stack")[0].place("thickness").path, "stack[0].thickness");
  EXPECT_EQ(record.by_name("limits")[0].second.place().line, 13);
  EXPECT_EQ(record.by_name("limits")[0].second.place("below").path, "limits.laser.junction.below");
}

TEST(ARecord, RefusesQuestionsThatAreProgrammingErrors) {
  const Record record = read(full);
  expect_internal([&] { record.has("flurb"); });
  expect_internal([&] { record.quantity("flurb"); });
  expect_internal([&] { record.quantity("heat_capacity"); });
  expect_internal([&] { record.quantity("title"); });
  expect_internal([&] { record.section("stack").place(); });
  expect_internal([&] { record.section("limits").place(); });
  expect_internal([&] { EXPECT_TRUE(record.list("limits").empty()); });
}

TEST(ARecord, CanBeCopiedMovedAndAssigned) {
  const Record record = read(full);
  Record copy(record);
  EXPECT_EQ(copy.section("sun").place().line, 9);
  Record moved(std::move(copy));
  EXPECT_EQ(moved.text("title"), "Plate");
  Record assigned;
  assigned = moved;
  EXPECT_EQ(assigned.text("title"), "Plate");
  assigned = Record();
  expect_internal([&] { assigned.has("title"); });
}

}  // namespace record_test
