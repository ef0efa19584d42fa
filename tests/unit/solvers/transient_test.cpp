#include "tileflux/solvers/transient.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <numbers>

#include "support/small_system.h"
#include "tileflux/base/errors.h"

namespace tileflux::solvers::transient_test {

using test::SmallSystem;
using test::vector_of;
using testing::HasSubstr;

/// The global error of a run over a few time constants, in units of its local tolerance (observed below 10).
constexpr double errors_per_tolerance = 100.0;

constexpr double capacity = 1000.0, emission = 5e-8;

double cool_down_error_K(double relative) {
  const SmallSystem node = test::cooling_node(capacity, emission);
  TransientOptions options;
  options.relative_tolerance = relative;
  options.absolute_tolerance = 1e-3 * relative;
  Transient transient(node, nullptr, nullptr, options);
  transient.start(0.0, std::vector<double>{400.0});
  transient.advance(1000.0);
  return std::abs(transient.state()[0] - test::cooled_K(400.0, capacity, emission, 1000.0));
}

TEST(Transient, FollowsTheRadiativeCoolDownToItsTolerance) {
  for (const double relative : {1e-5, 1e-7, 1e-9}) EXPECT_LT(cool_down_error_K(relative), errors_per_tolerance * relative * 400.0);
}

TEST(Transient, ErrorShrinksWithTheTolerance) {
  // The error of a step is kept proportional to the tolerance: a hundredfold tolerance gives tenfold at the least.
  EXPECT_LT(cool_down_error_K(1e-7), 0.1 * cool_down_error_K(1e-5));
  EXPECT_LT(cool_down_error_K(1e-9), 0.1 * cool_down_error_K(1e-7));
}

TEST(Transient, FollowsTheExchangeOfTwoNodes) {
  Eigen::MatrixXd linear(2, 2);
  linear << -4.0, 4.0, 4.0, -4.0;
  const SmallSystem system(vector_of({100.0, 300.0}), linear, vector_of({0.0, 0.0}));
  TransientOptions options;
  Transient transient(system, nullptr, nullptr, options);
  transient.start(0.0, std::vector<double>{400.0, 300.0});
  transient.advance(30.0);
  // Difference decays with 1/tau = G (1/C1 + 1/C2); the mean by heat capacity stays.
  const double difference = 100.0 * std::exp(-30.0 * 4.0 * (1.0 / 100.0 + 1.0 / 300.0));
  EXPECT_NEAR(transient.state()[0], 325.0 + 0.75 * difference, errors_per_tolerance * options.relative_tolerance * 400.0);
  EXPECT_NEAR(transient.state()[1], 325.0 - 0.25 * difference, errors_per_tolerance * options.relative_tolerance * 400.0);
}

TEST(Transient, FollowsASlowestModeOfALadder) {
  // n equal nodes in a row, both ends held at 300 K: mode sin(pi i / (n + 1)) decays with 4 G/C sin^2(pi / 2(n + 1)).
  constexpr int n = 9;
  Eigen::MatrixXd linear = Eigen::MatrixXd::Zero(n, n);
  for (int i = 0; i < n; ++i) {
    linear(i, i) = -2.0;
    if (i > 0) linear(i, i - 1) = linear(i - 1, i) = 1.0;
  }
  Eigen::VectorXd constant = Eigen::VectorXd::Zero(n);
  constant[0] = constant[n - 1] = 300.0;
  const SmallSystem system(Eigen::VectorXd::Constant(n, 10.0), linear, constant);
  std::vector<double> start;
  for (int i = 1; i <= n; ++i) start.push_back(300.0 + 50.0 * std::sin(std::numbers::pi * i / (n + 1)));
  TransientOptions options;
  Transient transient(system, nullptr, nullptr, options);
  transient.start(0.0, start);
  transient.advance(100.0);
  const double half_sine = std::sin(std::numbers::pi / (2.0 * (n + 1)));
  const double left = std::exp(-100.0 * 4.0 / 10.0 * half_sine * half_sine);
  for (int i = 0; i < n; ++i) {
    EXPECT_NEAR(transient.state()[static_cast<std::size_t>(i)], 300.0 + left * (start[static_cast<std::size_t>(i)] - 300.0), errors_per_tolerance * options.relative_tolerance * 350.0);
  }
}

TEST(Transient, StopsExactlyWhereItIsTold) {
  const SmallSystem node = test::cooling_node(capacity, emission);
  Transient transient(node, nullptr, nullptr, {});
  transient.start(0.0, std::vector<double>{400.0});
  for (const double stop_s : {0.1, 1.0 / 3.0, 77.7, 1e5}) {
    EXPECT_EQ(transient.advance(stop_s), Arrival::stop_time);
    EXPECT_EQ(transient.time_s(), stop_s);
  }
}

TEST(Transient, TakesAStopWithinRoundOffAsReached) {
  const SmallSystem node = test::cooling_node(capacity, emission);
  Transient transient(node, nullptr, nullptr, {});
  transient.start(0.7 * 3.0, std::vector<double>{400.0});
  EXPECT_EQ(transient.advance(2.1), Arrival::stop_time);  // 0.7 x 3 is 2.0999999999999996
  EXPECT_EQ(transient.time_s(), 2.1);
  EXPECT_EQ(transient.advance(3.0), Arrival::stop_time);
  EXPECT_EQ(transient.time_s(), 3.0);
}

class Threshold : public Watch {
 public:
  explicit Threshold(double threshold_K) : threshold_K_(threshold_K) {}
  int count() const override { return 1; }
  void evaluate(double, std::span<const double> x, std::span<double> values) const override { values[0] = x[0] - threshold_K_; }

 private:
  double threshold_K_;
};

TEST(Transient, LocatesACrossingAndItsDirection) {
  const SmallSystem node = test::cooling_node(capacity, emission);
  const Threshold watch(350.0);
  TransientOptions options;
  Transient transient(node, &watch, nullptr, options);
  transient.start(0.0, std::vector<double>{400.0});
  EXPECT_EQ(transient.advance(1e4), Arrival::root);
  EXPECT_EQ(transient.roots()[0], -1);
  const double speed_K_per_s = emission * std::pow(350.0, 4) / capacity;
  EXPECT_NEAR(transient.time_s(), test::time_to_cool_s(400.0, 350.0, capacity, emission), errors_per_tolerance * options.relative_tolerance * 400.0 / speed_K_per_s);
  EXPECT_EQ(transient.advance(1e4), Arrival::stop_time);
}

class HeatLost : public Integrands {
 public:
  int count() const override { return 2; }
  void evaluate(double, std::span<const double> x, std::span<double> values) const override {
    values[0] = emission * std::pow(x[0], 4);
    values[1] = 1.0;
  }
};

TEST(Transient, IntegratesAlongAndAcrossRestarts) {
  const SmallSystem node = test::cooling_node(capacity, emission);
  const HeatLost lost;
  TransientOptions options;
  Transient transient(node, nullptr, &lost, options);
  transient.start(0.0, std::vector<double>{400.0});
  transient.advance(300.0);
  transient.start(300.0, std::vector<double>(transient.state().begin(), transient.state().end()));
  transient.advance(1000.0);
  EXPECT_NEAR(transient.integrals()[0], capacity * (400.0 - transient.state()[0]), 1e-6 * capacity * 100.0);  // the ledger's bound
  EXPECT_NEAR(transient.integrals()[1], 1000.0, 1e-6 * 1000.0);
  EXPECT_EQ(transient.counts().restarts, 1);
  EXPECT_GT(transient.counts().steps, 10);
}

TEST(Transient, ShowsEveryStepInOrderAndStopsWhenTheObserverSaysSo) {
  const SmallSystem node = test::cooling_node(capacity, emission);
  Transient transient(node, nullptr, nullptr, {});
  transient.start(0.0, std::vector<double>{400.0});
  double last_s = 0.0;
  std::vector<double> inside(1);
  double worst_K = 0.0;
  transient.advance(500.0, [&](const Step& step) {
    EXPECT_EQ(step.begin_s, last_s);
    last_s = step.end_s;
    const double middle_s = 0.5 * (step.begin_s + step.end_s);
    step.at(middle_s, inside);
    worst_K = std::max(worst_K, std::abs(inside[0] - test::cooled_K(400.0, capacity, emission, middle_s)));
    return true;
  });
  EXPECT_EQ(last_s, 500.0);
  EXPECT_LT(worst_K, errors_per_tolerance * 1e-7 * 400.0);
  int seen = 0;
  EXPECT_EQ(transient.advance(1e6, [&](const Step&) { return ++seen < 3; }), Arrival::observer);
  EXPECT_EQ(seen, 3);
}

TEST(Transient, CarriesMasslessNodesAlong) {
  Eigen::MatrixXd linear(3, 3);
  linear << -2.0, 2.0, 0.0, 2.0, -4.0, 2.0, 0.0, 2.0, -2.0;
  const SmallSystem system(vector_of({100.0, 0.0, 100.0}), linear, vector_of({0.0, 0.0, 0.0}));
  Transient transient(system, nullptr, nullptr, {});
  transient.start(0.0, std::vector<double>{400.0, 10.0, 300.0});
  EXPECT_NEAR(transient.state()[1], 350.0, 1e-9);
  transient.advance(50.0);
  EXPECT_NEAR(transient.state()[0] - transient.state()[2], 100.0 * std::exp(-50.0 * 1.0 * 2.0 / 100.0), errors_per_tolerance * 1e-7 * 400.0);
  EXPECT_NEAR(transient.state()[1], 350.0, errors_per_tolerance * 1e-7 * 400.0);
}

std::string failure_of(const SmallSystem& system, std::vector<double> start, Code& code, TransientOptions options = {}) {
  try {
    Transient transient(system, nullptr, nullptr, options);
    transient.start(0.0, start);
    transient.advance(100.0);
  } catch (const Error& error) {
    code = error.code();
    return error.what();
  }
  return {};
}

TEST(FailedTransient, TellsTimeStepAndTheThreeWorstUnknowns) {
  Eigen::MatrixXd linear = -Eigen::MatrixXd::Identity(4, 4);
  SmallSystem system(vector_of({10.0, 20.0, 30.0, 40.0}), linear, vector_of({1.0, 2.0, 3.0, 4.0}));
  system.hook = [](double time_s, std::span<const double>) { return time_s < 5.0; };
  Code code = Code::internal;
  const std::string text = failure_of(system, {400.0, 400.0, 400.0, 400.0}, code);
  EXPECT_EQ(code, Code::transient_failed);
  EXPECT_THAT(text, HasSubstr(" s with a step of "));
  EXPECT_THAT(text, testing::ContainsRegex("at (4\\.9|5)"));
  int named = 0;
  for (int i = 0; i < 4; ++i) named += text.find("node" + std::to_string(i) + " (") != std::string::npos ? 1 : 0;
  EXPECT_EQ(named, 3) << text;
}

TEST(FailedTransient, SaysThatTheStepsRanOut) {
  const SmallSystem node = test::cooling_node(capacity, emission);
  Code code = Code::internal;
  TransientOptions options;
  options.most_steps_per_segment = 4;
  EXPECT_THAT(failure_of(node, {400.0}, code, options), HasSubstr("too many steps at "));
  EXPECT_EQ(code, Code::transient_failed);
}

TEST(FailedTransient, PassesOnWhatALawThrowsWithItsCodeAndTheTime) {
  SmallSystem node = test::cooling_node(capacity, emission);
  node.hook = [](double time_s, std::span<const double>) -> bool {
    if (time_s > 5.0) throw Error(Code::law_not_finite, "the heat balance of plate is not a number");
    return true;
  };
  Code code = Code::internal;
  const std::string text = failure_of(node, {400.0}, code);
  EXPECT_EQ(code, Code::law_not_finite);
  EXPECT_THAT(text, HasSubstr("the heat balance of plate is not a number at "));
  EXPECT_THAT(text, HasSubstr(" s with a step of "));
  EXPECT_EQ(text.find("law-not-finite"), text.rfind("law-not-finite")) << "the code is told once: " << text;
}

/// One number that turns into none at a time, as what is watched or summed up.
template <class Base>
struct NumberUntil : Base {
  double end_s = 5.0;
  int count() const override { return 1; }
  void evaluate(double time_s, std::span<const double>, std::span<double> values) const override {
    values[0] = time_s > end_s ? std::numeric_limits<double>::quiet_NaN() : 1.0;
  }
};

TEST(FailedTransient, SumsUpAndWatchesNoNumberThatIsNone) {
  const SmallSystem node = test::cooling_node(capacity, emission);
  NumberUntil<Watch> watch;
  NumberUntil<Integrands> integrands;
  const auto go = [&](const Watch* watched, const Integrands* summed) {
    Transient transient(node, watched, summed, {});
    transient.start(0.0, std::vector<double>{400.0});
    transient.advance(100.0);
  };
  for (const bool watched : {true, false}) {
    try {
      go(watched ? &watch : nullptr, watched ? nullptr : &integrands);
      ADD_FAILURE() << "an answer made with what is not a number";
    } catch (const Error& error) {
      EXPECT_EQ(error.code(), Code::law_not_finite);
      EXPECT_THAT(error.what(), HasSubstr(watched ? "what is watched is not a number at " : "a flow that is summed up is not a number at "));
    }
  }
  watch.end_s = integrands.end_s = 1000.0;
  EXPECT_NO_THROW(go(&watch, &integrands));
}

TEST(FailedTransient, PassesOnOtherExceptionsAsTheyAre) {
  SmallSystem node = test::cooling_node(capacity, emission);
  node.hook = [](double time_s, std::span<const double>) -> bool {
    if (time_s > 5.0) throw std::out_of_range("elsewhere");
    return true;
  };
  Transient transient(node, nullptr, nullptr, {});
  transient.start(0.0, std::vector<double>{400.0});
  EXPECT_THROW(transient.advance(100.0), std::out_of_range);
}

}  // namespace tileflux::solvers::transient_test
