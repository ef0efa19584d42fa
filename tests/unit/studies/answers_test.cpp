#include "tileflux/studies/answers.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <set>
#include <string>
#include <vector>

#include "support/sample_tiles.h"

namespace tileflux::studies::answers_test {

std::vector<double> told(const tile::Case& description, Question question, const std::vector<std::string>& names) {
  tile::TileSystem system(description);
  return Answers(system, question, names).of(system);
}

Error refusal_of(const std::function<void()>& asked) {
  try {
    asked();
  } catch (const Error& error) {
    return error;
  }
  return {Code::internal, "nothing was refused"};
}

TEST(Answers, OfSteadyStatesAreThoseOfTheBalance) {
  const tile::Case description = test::everything();
  const Balance found = balance(description);
  tile::TileSystem system(description);
  const Answers answers(system, Question::steady);
  const std::vector<double> values = answers.of(system);
  ASSERT_EQ(values.size(), answers.fields().size());
  const auto value = [&](const std::string& name) {
    for (std::size_t i = 0; i < values.size(); ++i) {
      if (answers.fields()[i].name == name) return values[i];
    }
    ADD_FAILURE() << "no " << name;
    return std::nan("");
  };
  EXPECT_EQ(value("usable_laser_power"), found.usable_laser_W);
  EXPECT_EQ(value("usable_drive"), found.usable_drive);
  EXPECT_EQ(value("light_at_the_beam"), found.beam_on->chain.light_out);
  EXPECT_EQ(value("regime"), static_cast<double>(found.beam_on->regime));
  EXPECT_EQ(value("absorbed.off"), found.beam_off.ledger.absorbed_W);
  EXPECT_EQ(value("cells.drawn.on"), found.beam_on->chain.drawn);
  const std::vector<std::string> names = limit_names(system);
  ASSERT_EQ(names.size(), found.beam_on->margins.size());
  for (std::size_t i = 0; i < names.size(); ++i) {
    EXPECT_EQ(value("margin." + names[i] + ".off"), found.beam_off.margins[i].margin);
    EXPECT_EQ(value("margin." + names[i] + ".on"), found.beam_on->margins[i].margin);
  }
  for (network::NodeId id = 0; id < system.network().node_count(); ++id) {
    EXPECT_EQ(value("temperature." + system.network().node(id).name + ".on"),
              system.network().temperature_K(id, found.beam_on->x));
  }
}

TEST(Answers, HaveNamesOfTheirOwnAndMeanings) {
  const tile::TileSystem system(test::everything());
  for (const Question question : {Question::steady, Question::duty, Question::run, Question::size}) {
    std::set<std::string> names;
    for (const AnswerField& field : answer_fields(system, question)) {
      EXPECT_TRUE(names.insert(field.name).second) << field.name;
      EXPECT_FALSE(field.unit.empty()) << field.name;
      EXPECT_FALSE(field.meaning.empty()) << field.name;
    }
    EXPECT_EQ(question_named(name_of(question)), question);
  }
}

TEST(Answers, CostlyOnesAreTheirsWhoAskForThem) {
  const tile::Case plate = test::burst_plate(600.0, 0.0);
  tile::TileSystem system(plate);
  const Answers all(system, Question::steady);
  for (const AnswerField& field : all.fields()) EXPECT_FALSE(field.on_request) << field.name;
  const std::vector<double> values =
      told(plate, Question::steady, {"slowest_time_constant.on", "continuous_rating.drive"});
  EXPECT_EQ(values[0], balance(plate).beam_on->slowest_s);
  EXPECT_EQ(values[1], continuous_rating(system).drive);
}

TEST(Answers, OfDutyAreThoseOfTheStudy) {
  const tile::Case plate = test::burst_plate(600.0, 0.0);
  tile::TileSystem system(plate);
  const Duty found = duty(system);
  const std::vector<double> values =
      told(plate, Question::duty,
           {"burst.length", "recovery.time", "sustainable_duty.fraction", "burst.binding_limit", "recovery.never"});
  EXPECT_EQ(values[0], *found.burst.length_s);
  // Cooling to exactly where it began takes for ever without a background.
  EXPECT_EQ(std::isnan(values[1]), !found.recovery.time_s.has_value());
  EXPECT_EQ(values[2], found.sustainable->fraction);
  EXPECT_EQ(values[3], 0.0);
  EXPECT_EQ(values[4], found.recovery.never ? 1.0 : 0.0);
}

TEST(Answers, OfARunAreThoseOfTheStudy) {
  tile::Case plate = test::burst_plate(600.0, 0.0);
  plate.run.duration_s = 900.0;
  tile::TileSystem system(plate);
  const RunResult found = run(system, nullptr);
  const std::vector<double> values =
      told(plate, Question::run, {"temperature.plate.most", "beam_time", "margin.plate.below", "energy.to_space"});
  EXPECT_EQ(values[0], found.ranges[0].highest_K);
  EXPECT_EQ(values[1], found.beam_s);
  EXPECT_EQ(values[2], found.margins[0].margin);
  EXPECT_EQ(values[3], found.books.to_space_J);
}

TEST(Answers, AnUnknownNameIsToldWithTheNearest) {
  const tile::TileSystem system(test::burst_plate(600.0, 0.0));
  const auto asked = [&](std::vector<std::string> names) { Answers(system, Question::steady, names); };
  const Error unknown = refusal_of([&] { asked({"usable_drive", "temperature.plat.on"}); });
  EXPECT_EQ(unknown.code(), Code::name_unknown);
  EXPECT_EQ(unknown.diagnostics().front().suggestion, "did you mean 'temperature.plate.on'?");
  EXPECT_EQ(refusal_of([&] { asked({"usable_drive", "usable_drive"}); }).code(), Code::option_wrong);
  EXPECT_EQ(refusal_of([&] { question_named("steedy"); }).code(), Code::option_wrong);
  const tile::TileSystem sunny(test::plate_in_the_sun());
  EXPECT_EQ(refusal_of([&] { Answers(sunny, Question::duty); }).code(), Code::key_missing);
  EXPECT_EQ(refusal_of([&] { Answers(sunny, Question::size); }).code(), Code::key_missing);
}

}  // namespace tileflux::studies::answers_test
