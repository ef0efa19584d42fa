#include "tileflux/devices/conditioning.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "support/random_values.h"

namespace tileflux::devices::conditioning_test {

/// Cancellation-free sums and one square root, relative.
constexpr double round_off = 1e-14;

TEST(Conditioning, LossIsStandbyPlusProportionalPlusQuadratic) {
  const ConditioningLaw law{4.0, 0.02, 5e-5};
  EXPECT_EQ(law.loss_W(0.0), 4.0);
  EXPECT_DOUBLE_EQ(law.loss_W(400.0), 4.0 + 8.0 + 8.0);
}

TEST(Conditioning, DeliversNothingWhereStandbyEatsItUp) {
  const ConditioningLaw law{4.0, 0.02, 5e-5};
  EXPECT_EQ(law.largest_delivered_W(0.0), 0.0);
  EXPECT_EQ(law.largest_delivered_W(3.9), 0.0);
  EXPECT_EQ(law.largest_delivered_W(4.0), 0.0);
  EXPECT_GT(law.largest_delivered_W(4.1), 0.0);
}

TEST(Conditioning, WithoutAnyLossAllIsDelivered) { EXPECT_DOUBLE_EQ(ConditioningLaw{}.largest_delivered_W(123.0), 123.0); }

TEST(Conditioning, WithoutTheQuadraticTermTheLargestIsTheLinearQuotient) {
  EXPECT_DOUBLE_EQ((ConditioningLaw{4.0, 0.02, 0.0}.largest_delivered_W(106.0)), 100.0);
}

RC_GTEST_PROP(Conditioning, TheLargestDeliveredUsesUpWhatIsAvailable, ()) {
  const ConditioningLaw law{test::between(0.0, 10.0), test::between(0.0, 1.0), test::between(0.0, 1e-2)};
  const double available = law.standby_W + test::between(0.0, 1000.0);
  const double delivered = law.largest_delivered_W(available);
  RC_ASSERT(std::abs(delivered + law.loss_W(delivered) - available) <= round_off * available);
}

RC_GTEST_PROP(Conditioning, TheLargestDeliveredIsContinuousAsTheQuadraticTermVanishes, ()) {
  const double available = test::between(10.0, 1000.0);
  const double linear = ConditioningLaw{4.0, 0.02, 0.0}.largest_delivered_W(available);
  const double tiny = ConditioningLaw{4.0, 0.02, 1e-18}.largest_delivered_W(available);
  RC_ASSERT(std::abs(linear - tiny) <= round_off * available);
}

RC_GTEST_PROP(Conditioning, DerivativesEqualDifferenceQuotients, ()) {
  const ConditioningLaw law{test::between(0.0, 5.0), test::between(0.0, 0.2), test::between(0.0, 1e-3)};
  const double P = test::between(10.0, 1000.0);
  const double loss = law.loss_W(variable<1>(P, 0)).derivatives()[0];
  RC_ASSERT(std::abs(loss - test::difference_quotient([&](double p) { return law.loss_W(p); }, P)) <= test::difference_error(law.loss_W(P) + P, P));
  const double most = law.largest_delivered_W(variable<1>(P, 0)).derivatives()[0];
  RC_ASSERT(std::abs(most - test::difference_quotient([&](double p) { return law.largest_delivered_W(p); }, P)) <= test::difference_error(P, P));
}

}  // namespace tileflux::devices::conditioning_test
