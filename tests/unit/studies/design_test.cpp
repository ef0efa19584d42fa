#include "tileflux/studies/design.h"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <set>
#include <vector>

#include "tileflux/base/errors.h"

namespace tileflux::studies::design_test {

TEST(Design, OfAGridIsEveryCombinationTheLastInputFastest) {
  const Design grid = Design::grid({{1.0, 2.0}, {10.0, 20.0, 30.0}});
  ASSERT_EQ(grid.rows(), 6);
  const std::vector<std::vector<double>> expected{{1, 10}, {1, 20}, {1, 30}, {2, 10}, {2, 20}, {2, 30}};
  for (long long row = 0; row < 6; ++row) EXPECT_EQ(grid.row(row), expected[static_cast<std::size_t>(row)]);
}

TEST(Design, OfALatinHypercubeHasOneRowInEachStratumOfEachInput) {
  const long long rows = 97;
  const std::vector<SampledRange> ranges{{0.0, 1.0}, {-3.0, 5.0}, {1.0, 100.0, true}};
  const Design sample = Design::latin(ranges, rows, 7);
  for (std::size_t input = 0; input < ranges.size(); ++input) {
    std::set<long> strata;
    for (long long row = 0; row < rows; ++row) {
      const double value = sample.row(row)[input];
      const SampledRange& range = ranges[input];
      const double share = range.logarithmic ? std::log(value / range.from) / std::log(range.to / range.from)
                                             : (value - range.from) / (range.to - range.from);
      strata.insert(std::lround(std::floor(share * static_cast<double>(rows))));
    }
    EXPECT_EQ(strata.size(), static_cast<std::size_t>(rows));
    EXPECT_EQ(*strata.begin(), 0);
    EXPECT_EQ(*strata.rbegin(), rows - 1);
  }
}

TEST(Design, IsTheSameForASeedAndAnotherForAnother) {
  const std::vector<SampledRange> ranges{{0.0, 1.0}, {0.0, 1.0}};
  const Design one = Design::latin(ranges, 10, 3), same = Design::latin(ranges, 10, 3),
               other = Design::latin(ranges, 10, 4);
  EXPECT_EQ(one.row(5), same.row(5));
  EXPECT_NE(one.row(5), other.row(5));
  // The ten-thousandth number of the engine is fixed by the standard: 9981545732273789042 for its default seed.
  constexpr double tenth_thousandth = static_cast<double>(9981545732273789042ULL >> 11) * 0x1p-53;
  EXPECT_EQ(even_shares(10'000, 5489).back(), tenth_thousandth);
}

TEST(Design, OfASobolSequenceBeginsAsPublished) {
  // The van der Corput sequence in Gray-code order (Bratley & Fox 1988, ACM Transactions on Mathematical Software 14, 88).
  const Design sample = Design::sobol({{0.0, 1.0}, {0.0, 1.0}}, 8);
  const std::vector<double> first{0.0, 0.5, 0.75, 0.25, 0.375, 0.875, 0.625, 0.125};
  const std::vector<double> second{0.0, 0.5, 0.25, 0.75, 0.375, 0.875, 0.125, 0.625};
  for (std::size_t row = 0; row < first.size(); ++row) {
    EXPECT_EQ(sample.row(static_cast<long long>(row))[0], first[row]);
    EXPECT_EQ(sample.row(static_cast<long long>(row))[1], second[row]);
  }
}

Code refusal_of_design(const std::function<void()>& made) {
  try {
    made();
  } catch (const Error& error) {
    return error.code();
  }
  return Code::internal;
}

TEST(Design, RefusesMoreRowsThanItsBoundBeforeMakingThem) {
  const std::vector<double> many(10'000, 1.0);
  EXPECT_EQ(refusal_of_design([&] { Design::grid({many, many, many, many, many, many}); }), Code::count_out_of_bounds);
  EXPECT_EQ(refusal_of_design([&] { Design::grid({many, {}}); }), Code::count_out_of_bounds);
  EXPECT_EQ(refusal_of_design([&] { Design::grid({}); }), Code::count_out_of_bounds);
  EXPECT_EQ(refusal_of_design([&] { Design::latin({{0, 1}}, most_rows + 1, 1); }), Code::count_out_of_bounds);
  EXPECT_EQ(refusal_of_design([&] { Design::sobol({{0, 1}}, 0); }), Code::count_out_of_bounds);
}

}  // namespace tileflux::studies::design_test
