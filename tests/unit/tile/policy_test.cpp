#include "tileflux/tile/policy.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "support/temporary_directory.h"

namespace tileflux::tile::policy_test {

using testing::HasSubstr;

const std::string policies = TILEFLUX_PROJECT_DIR "/materials/policies";

Policy policy_of(const std::string& text) {
  const test::TemporaryDirectory directory;
  test::write_file(directory / "ours.yaml", text);
  return read_policy((directory / "ours.yaml").string());
}

Code refused(const std::string& text) {
  try {
    policy_of(text);
  } catch (const Error& error) {
    EXPECT_GT(error.diagnostics().front().place.line, 0);
    return error.code();
  }
  return Code::internal;
}

std::string number(const std::string& key, const std::string& value) {
  return key + ": {value: " + value + ", source: a rule, basis: practice}\n";
}

const std::string head = "tileflux_policy: 1\ntitle: Ours\n";

TEST(Policies, GiveEveryNumberItsSource) {
  for (const std::string& name : policy_names(policies)) {
    const Policy policy = policy_named(policies, name);
    EXPECT_EQ(policy.name, name);
    for (const auto* one : {&policy.tested, &policy.untested, &policy.sigmas, &policy.active, &policy.acceptance,
                            &policy.qualification, &policy.power_reserve, &policy.heater_duty, &policy.radiator_area,
                            &policy.bounds}) {
      if (*one) {
        EXPECT_FALSE((*one)->source.empty()) << name;
      }
    }
    EXPECT_TRUE(policy.tested || policy.sigmas) << name;
  }
  EXPECT_GE(policy_names(policies).size(), 3u);
}

TEST(Policies, AskForLessOfColdPartsAfterATestOnly) {
  const Policy policy = policy_named(policies, "smc_s_016");
  const auto at_celsius = [&](double celsius, bool tested) { return policy.uncertainty_K(tested, celsius + 273.15); };
  EXPECT_EQ(at_celsius(20.0, true), 11.0);
  EXPECT_EQ(at_celsius(-69.9, true), 11.0);
  EXPECT_EQ(at_celsius(-71.0, true), 10.0);
  EXPECT_EQ(at_celsius(-87.5, true), 10.0);  // between two rows the larger
  EXPECT_EQ(at_celsius(-90.0, true), 9.0);
  EXPECT_EQ(at_celsius(-200.0, true), 3.0);
  EXPECT_EQ(at_celsius(-250.0, true), 1.0);
  EXPECT_EQ(at_celsius(-200.0, false), 17.0);
}

TEST(Policies, AreNamedWithTheNearestSpelling) {
  try {
    policy_named(policies, "smc_s_061");
    FAIL();
  } catch (const Error& error) {
    EXPECT_EQ(error.code(), Code::name_unknown);
    EXPECT_THAT(error.diagnostics().front().suggestion, HasSubstr("smc_s_016"));
  }
}

TEST(Policies, OfAUserAreReadLikeOurs) {
  const Policy policy = policy_of(head + number("tested", "5 K") + number("untested", "8 K") + number("bounds", "2"));
  EXPECT_EQ(policy.name, "ours");
  EXPECT_EQ(policy.uncertainty_K(false, 300.0), 8.0);
  EXPECT_EQ(policy.bound_sigmas(), 2.0);
  EXPECT_EQ(policy_of(head + number("sigmas", "2")).uncertainty_K(false, 300.0), 0.0);
  EXPECT_EQ(policy_of(head + number("sigmas", "2")).bound_sigmas(), 3.0);
}

TEST(Policies, AreRefusedWithoutSourceOrWithHalfOfAPair) {
  EXPECT_EQ(refused(head + "sigmas: {value: 2, basis: practice}\n"), Code::key_missing);
  EXPECT_EQ(refused(head + "sigmas: {value: 2, source: a rule, basis: hearsay}\n"), Code::choice_unknown);
  EXPECT_EQ(refused(head + number("tested", "5 K")), Code::key_conflict);
  EXPECT_EQ(refused(head), Code::key_missing);
  EXPECT_EQ(refused(head + number("sigmas", "2") + number("acceptance", "5 W")), Code::dimension_wrong);
  EXPECT_EQ(refused(head + number("tested", "5 K") + number("untested", "8 K") +
                    "tested_cold: {table: [[100 K, 5 K], [200 K, 4 K]], source: a rule, basis: practice}\n"),
            Code::table_not_rising);
}

}  // namespace tileflux::tile::policy_test
