#include "tileflux/results/csv.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <charconv>
#include <limits>

namespace tileflux::results::csv_test {

RC_GTEST_PROP(CsvNumber, ReadsBackTheSameDouble, (double value)) {
  const std::string text = csv_number(value);
  double back = 0.0;
  const auto result = std::from_chars(text.data(), text.data() + text.size(), back);
  RC_ASSERT(result.ec == std::errc());
  RC_ASSERT(back == value);
}

TEST(CsvNumber, IsShortAndEmptyForNotANumber) {
  EXPECT_EQ(csv_number(300.0), "300");
  EXPECT_EQ(csv_number(0.1), "0.1");
  EXPECT_EQ(csv_number(-2.5e-12), "-2.5e-12");
  EXPECT_EQ(csv_number(std::numeric_limits<double>::quiet_NaN()), "");
}

TEST(CsvText, IsQuotedOnlyWhereItMustBe) {
  EXPECT_EQ(csv_text("laser.junction"), "laser.junction");
  EXPECT_EQ(csv_text("a,b"), "\"a,b\"");
  EXPECT_EQ(csv_text("say \"on\""), "\"say \"\"on\"\"\"");
  EXPECT_EQ(csv_text("two\nlines"), "\"two\nlines\"");
  EXPECT_EQ(csv_text(""), "");
}

}  // namespace tileflux::results::csv_test
