/// Negative control: tiles whose equations are wrong on purpose. Studies must refuse them, for their books do not close.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "support/sample_tiles.h"
#include "tileflux/studies/balance.h"
#include "tileflux/studies/duty.h"
#include "tileflux/studies/run.h"

namespace tileflux::studies::negative_control_test {

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

/// The same mistakes in the tile with zones, pipes, stores, heaters and battery, which is run for one cycle of its beam.
tile::Case the_other() {
  tile::Case other = test::everything_else();
  other.run.duration_s = 300.0;
  return other;
}

TEST_P(NegativeControl, TheOtherSampleIsRefusedAsWell) {
  WrongTile still(GetParam(), the_other());
  EXPECT_EQ(code_of([&] { balance(still); }), Code::ledger_open);
  WrongTile moving(GetParam(), the_other());
  EXPECT_EQ(code_of([&] { run(moving, nullptr); }), Code::ledger_open);
}

/// A tile that loses heat or charge where only a store could notice.
class WrongStore : public tile::TileSystem {
 public:
  enum class Where { battery, melting };
  explicit WrongStore(Where where) : tile::TileSystem(the_other()), where_(where) {}
  bool residual(double time_s, std::span<const double> x, std::span<const double> rate, std::span<double> out) const override {
    if (!TileSystem::residual(time_s, x, rate, out)) return false;
    constexpr double share = 0.01;
    if (where_ == Where::battery) out.back() -= share * chain_flows(x).battery_power;
    if (where_ == Where::melting) {
      for (const network::Flow& flow : network().flows(x)) {
        if (flow.path == "sliced.1 - sliced.2") out[static_cast<std::size_t>(network().unknown_of(flow.to))] -= share * flow.power_W;
      }
    }
    return true;
  }

 private:
  Where where_;
};

TEST(NegativeControlOfStores, WhatKeepsLessThanArrivesIsRefused) {
  for (const auto where : {WrongStore::Where::battery, WrongStore::Where::melting}) {
    WrongStore tile(where);
    EXPECT_EQ(code_of([&] { run(tile, nullptr); }), Code::ledger_open);
  }
}

INSTANTIATE_TEST_SUITE_P(Mistakes, NegativeControl, testing::Values(Mistake::wrong_sign, Mistake::dropped_term),
                         [](const auto& which) { return which.param == Mistake::wrong_sign ? "WrongSign" : "DroppedTerm"; });

TEST(PositiveControl, TheRightTileIsAccepted) {
  WrongTile tile(Mistake::none);
  EXPECT_NO_THROW(balance(tile));
  const RunResult result = run(tile, nullptr);
  EXPECT_LE(result.books.relative(), transient_ledger_bound);
}

TEST(PositiveControl, TheOtherRightTileIsAccepted) {
  WrongTile tile(Mistake::none, the_other());
  EXPECT_NO_THROW(balance(tile));
  const RunResult result = run(tile, nullptr);
  EXPECT_LE(result.books.relative(), transient_ledger_bound);
  EXPECT_NE(result.books.to_battery_J, 0.0);
}

}  // namespace tileflux::studies::negative_control_test
