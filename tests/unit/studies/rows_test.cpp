#include "tileflux/studies/rows.h"

#include <gtest/gtest.h>

#include <atomic>
#include <cmath>
#include <vector>

#include "support/swept_plates.h"
#include "tileflux/base/constants.h"
#include "tileflux/tile/case_series.h"

namespace tileflux::studies::rows_test {

/// The tile with a second, hot steady state: where it ends depends on where a search begins.
const tile::CaseTemplate& two_branches() {
  static const tile::CaseTemplate cases(std::string(TILEFLUX_PROJECT_DIR "/cases/lamplighter_full/case.yaml"),
                                        materials::read_library(TILEFLUX_PROJECT_DIR "/materials"));
  return cases;
}

RowQuestion over_distance(const Design& design, const Answers& answers) {
  RowQuestion question{&design, &answers, {}};
  question.make_cases = [] {
    const auto series = std::make_shared<tile::CaseSeries>(two_branches(), std::vector<std::string>{"sun.distance"});
    return [series](std::span<const double> inputs) { return RowCase{series->with(inputs), {}}; };
  };
  return question;
}

std::vector<AnsweredRow> all_rows(const RowQuestion& question, int threads, long long first = 0) {
  std::vector<AnsweredRow> all;
  RowOptions options;
  options.threads = threads;
  solve_rows(question, {first, question.design->rows()}, options, [&](std::vector<AnsweredRow> rows) {
    for (AnsweredRow& row : rows) all.push_back(std::move(row));
  });
  return all;
}

/// Rows from `begin_AU` in steps, every one of `stride` of them held against a balance of its own.
void compare_with_balances(double begin_AU, double step_AU, int count, std::size_t stride) {
  std::vector<double> values;
  for (int i = 0; i < count; ++i) values.push_back(astronomical_unit_m * (begin_AU + step_AU * i));
  const Design design = Design::grid({values});
  const tile::TileSystem system(two_branches().as_written().description);
  const Answers answers(system, Question::steady, std::vector<std::string>{"usable_laser_power", "temperature.bench.on"});
  const std::vector<AnsweredRow> rows = all_rows(over_distance(design, answers), 2);
  ASSERT_EQ(rows.size(), values.size());
  for (std::size_t i = 0; i < rows.size(); i += stride) {
    const tile::Case description = two_branches().with({{"sun.distance", values[i]}}).description;
    tile::TileSystem alone(description);
    try {
      const Balance found = balance(alone);
      ASSERT_FALSE(rows[i].trouble) << values[i];
      // Steady states close to 1e-12 of the power, which is well below a microkelvin and a microwatt here.
      EXPECT_NEAR(rows[i].answers[0], found.usable_laser_W, 1e-6) << values[i] / astronomical_unit_m;
      EXPECT_NEAR(rows[i].answers[1], alone.network().temperature_K(alone.network().find("bench"), found.beam_on->x), 1e-6);
    } catch (const Error& error) {
      ASSERT_TRUE(rows[i].trouble) << values[i];
      EXPECT_EQ(rows[i].trouble->code, error.code());
    }
  }
}

TEST(Rows, OfATileWithTwoBranchesAreWhatTheBalanceFindsAtEachOfThem) {
  compare_with_balances(0.5, 0.02, 70, 5);
  // The fortieth of these has two states 0.03 K apart.
  compare_with_balances(0.9, 0.3 / 63.0, 64, 3);
}

TEST(Rows, AreTheSameForAnyThreadsAndWhereverTheyBegin) {
  std::vector<double> values;
  for (int i = 0; i < 80; ++i) values.push_back(astronomical_unit_m * (0.9 + 0.01 * i));
  const Design design = Design::grid({values});
  const tile::TileSystem system(two_branches().as_written().description);
  const Answers answers(system, Question::steady);
  const RowQuestion question = over_distance(design, answers);
  const std::vector<AnsweredRow> one = all_rows(question, 1), three = all_rows(question, 3),
                                 late = all_rows(question, 2, segment_begin(design, 40));
  ASSERT_EQ(one.size(), three.size());
  for (std::size_t i = 0; i < one.size(); ++i) EXPECT_EQ(one[i].answers, three[i].answers) << i;
  ASSERT_EQ(late.size(), one.size() - 32);
  for (std::size_t i = 0; i < late.size(); ++i) EXPECT_EQ(late[i].answers, one[i + 32].answers) << i;
}

TEST(Rows, AreCutIntoSegmentsAlongTheLastInput) {
  const std::vector<double> seventy(70, 1.0);
  const Design design = Design::grid({{1.0, 2.0}, seventy});
  long long number = 0;
  for (long long first = 0; first < design.rows(); ++number) {
    const RowRange segment = segment_at(design, first);
    EXPECT_LE(segment.last - segment.first, longest_segment);
    for (long long row = segment.first; row < segment.last; ++row) {
      EXPECT_EQ(segment_begin(design, row), segment.first);
      EXPECT_EQ(segment_number(design, row), number);
      EXPECT_EQ(row / 70, first / 70);
    }
    first = segment.last;
  }
  EXPECT_EQ(number, 6);
}

TEST(Rows, WithoutAnAnswerAreKeptWithTheirReason) {
  const Design design = Design::grid({{1.0, 2.0, 3.0}});
  const tile::Case plate = test::limited_plate(400.0);
  const tile::TileSystem system(plate);
  const Answers answers(system, Question::steady);
  RowQuestion question{&design, &answers, {}};
  question.make_cases = [&] {
    return [&](std::span<const double> inputs) {
      if (inputs[0] == 2.0) throw Error(Code::value_out_of_range, "two is too much");
      return RowCase{test::at_distance(plate, inputs[0]), {}};
    };
  };
  const std::vector<AnsweredRow> rows = all_rows(question, 2);
  ASSERT_EQ(rows.size(), 3u);
  EXPECT_FALSE(rows[0].trouble);
  ASSERT_TRUE(rows[1].trouble);
  EXPECT_EQ(rows[1].trouble->message, "two is too much");
  EXPECT_TRUE(std::isnan(rows[1].answers[0]));
  EXPECT_FALSE(rows[2].trouble);
}

TEST(Rows, EndWithAFaultOfTheProgramAndWhereAPersonEndsThem) {
  const Design design = Design::grid({{1.0}, {1.0}, {1.0, 2.0, 3.0}});
  const tile::Case plate = test::limited_plate(400.0);
  const tile::TileSystem system(plate);
  const Answers answers(system, Question::steady);
  RowQuestion question{&design, &answers, {}};
  question.make_cases = [] { return [](std::span<const double>) -> RowCase { throw Error(Code::internal, "a fault"); }; };
  EXPECT_THROW(all_rows(question, 2), Error);
  question.make_cases = [&] { return [&](std::span<const double> inputs) { return RowCase{test::at_distance(plate, inputs[2]), {}}; }; };
  RowOptions options;
  options.stop_requested = [] { return true; };
  EXPECT_EQ(solve_rows(question, {0, 3}, options, [](const std::vector<AnsweredRow>&) {}), 0);
}

}  // namespace tileflux::studies::rows_test
