/// What one evaluation of a tile costs: no memory, and little time.

#include "tileflux/tile/tile_system.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <memory>

#include "cost/counted_new.h"
#include "support/sample_tiles.h"
#include "support/slowness.h"
#include "tileflux/tile/case_reader.h"

namespace tileflux::tile::tile_system_test {

Case lamplighter() {
  const materials::Library library = materials::read_library(TILEFLUX_PROJECT_DIR "/materials");
  return read_case(TILEFLUX_PROJECT_DIR "/cases/lamplighter/case.yaml", library).description;
}

/// The sample with a skin of so many slices that its tile has forty nodes.
Case forty_nodes() {
  Case tile = test::everything_else();
  tile.stack->layers[2].slices = 9;
  return tile;
}

/// A tile with room for one evaluation of its residual and Jacobian.
struct Evaluation {
  TileSystem system;
  std::vector<double> x, rate, residual, values;

  explicit Evaluation(const Case& description) : system(description), x(system.uniform_state(298.0)) {
    rate.resize(x.size());
    residual.resize(x.size());
    values.resize(static_cast<std::size_t>(system.pattern().nonzeros()));
    for (std::size_t i = 0; i < x.size(); ++i) x[i] += 0.3 * static_cast<double>(i % 7);  // every flow is alive
  }
  void operator()() {
    system.residual(0.0, x, rate, residual);
    system.jacobian(0.0, x, rate, 0.1, values);
  }
};

TEST(Allocation, IsSeenByTheCounter) {
  const std::size_t before = test::allocations();
  const auto one = std::make_unique<double>(1.0);
  std::vector<double> other(100);
  EXPECT_EQ(test::allocations() - before, 2u) << *one << other[0];
}

TEST(EvaluationOfATile, AllocatesNothing) {
  for (const Case& description : {lamplighter(), test::everything(), test::everything_else()}) {
    Evaluation evaluate(description);
    for (const bool beam : {false, true}) {
      evaluate.system.set_mode({.beam = beam, .drive = 0.9});
      evaluate();  // a fin lays out its quadrature on first use
      const std::size_t before = test::allocations();
      for (int i = 0; i < 10; ++i) evaluate();
      EXPECT_EQ(test::allocations() - before, 0u) << description.title;
    }
  }
}

/// The quickest of many rounds: what else a shared machine does only adds to what an evaluation costs.
double least_us(Evaluation& evaluate) {
  constexpr int rounds = 60, evaluations = 200;
  double least = 1e9;
  for (int round = 0; round < rounds; ++round) {
    const auto begin = std::chrono::steady_clock::now();
    for (int i = 0; i < evaluations; ++i) evaluate();
    least =
        std::min(least, std::chrono::duration<double, std::micro>(std::chrono::steady_clock::now() - begin).count() /
                            evaluations);
  }
  return least;
}

/// Residual and Jacobian of a tile of about forty nodes.
constexpr double evaluation_us = 5.0;

TEST(TimingOfResidualAndJacobian, IsUnderFiveMicroseconds) {
  if (!test::for_release) GTEST_SKIP() << "times count in a release build only";
  for (const Case& description : {lamplighter(), forty_nodes()}) {
    Evaluation evaluate(description);
    evaluate.system.set_mode({.beam = true, .drive = 0.9});
    const double us = least_us(evaluate);
    std::printf("%s: %d unknowns, %.2f us\n", description.title.c_str(), evaluate.system.size(), us);
    EXPECT_LT(us, test::allowed(evaluation_us)) << description.title;
  }
}

}  // namespace tileflux::tile::tile_system_test
