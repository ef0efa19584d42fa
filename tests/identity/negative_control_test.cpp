/// Negative control: tiles whose equations are wrong on purpose. Studies must refuse them, for their books do not close.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "support/sample_tiles.h"
#include "tileflux/studies/balance.h"
#include "tileflux/studies/duty.h"
#include "tileflux/studies/run.h"

namespace tileflux::studies {
namespace {

/// The tile with an error added to its residual. The Jacobian stays that of the right equations: the errors are small
/// beside them, so Newton's method still finds the wrong steady state.
class WrongTile : public tile::TileSystem {
 public:
  enum class Mistake { none, wrong_sign, dropped_term };

  explicit WrongTile(Mistake mistake, tile::Case description = test::everything()) : tile::TileSystem(std::move(description)), mistake_(mistake) {}

  bool residual(double time_s, std::span<const double> x, std::span<const double> rate, std::span<double> out) const override {
    if (!TileSystem::residual(time_s, x, rate, out)) return false;
    for (const network::Flow& flow : network().flows(x)) {
      if (mistake_ == Mistake::wrong_sign && flow.path == "glassware - bench") {
        // Arrives at the bench with the wrong sign.
        out[static_cast<std::size_t>(network().unknown_of(flow.to))] -= 2.0 * flow.power_W;
      }
      if (mistake_ == Mistake::dropped_term && flow.path == "infrared: aperture") {
        out[static_cast<std::size_t>(network().unknown_of(flow.from))] += flow.power_W;
      }
    }
    return true;
  }

 private:
  Mistake mistake_;
};

using Mistake = WrongTile::Mistake;

template <class Study>
Code code_of(Study&& study) {
  try {
    study();
  } catch (const Error& error) {
    EXPECT_THAT(error.what(), testing::HasSubstr("close"));
    return error.code();
  }
  return Code::internal;
}

class NegativeControl : public testing::TestWithParam<Mistake> {};

TEST_P(NegativeControl, OperatingPointIsRefused) {
  WrongTile tile(GetParam());
  EXPECT_EQ(code_of([&] { operating_point(tile); }), Code::ledger_open);
}

TEST_P(NegativeControl, BalanceIsRefused) {
  WrongTile tile(GetParam());
  EXPECT_EQ(code_of([&] { balance(tile); }), Code::ledger_open);
}

TEST_P(NegativeControl, RunIsRefused) {
  WrongTile tile(GetParam());
  EXPECT_EQ(code_of([&] { run(tile, nullptr); }), Code::ledger_open);
}

TEST_P(NegativeControl, ContinuousRatingIsRefusedAndNotJustZero) {
  WrongTile tile(GetParam());
  EXPECT_EQ(code_of([&] { continuous_rating(tile); }), Code::ledger_open);
}

INSTANTIATE_TEST_SUITE_P(Mistakes, NegativeControl, testing::Values(Mistake::wrong_sign, Mistake::dropped_term),
                         [](const auto& which) { return which.param == Mistake::wrong_sign ? "WrongSign" : "DroppedTerm"; });

TEST(PositiveControl, TheRightTileIsAccepted) {
  WrongTile tile(Mistake::none);
  EXPECT_NO_THROW(balance(tile));
  const RunResult result = run(tile, nullptr);
  EXPECT_LE(result.books.relative(), transient_ledger_bound);
}

}  // namespace
}  // namespace tileflux::studies
