#include <gtest/gtest.h>

#include <algorithm>
#include <sstream>
#include <string>

#include "definitions.h"

using namespace tileflux::input;

namespace reference_test {

std::string page() { return reference_page(samples::every_field(), "Case reference", "Every key."); }

/// The line of the page that begins so.
std::string line_of(const std::string& beginning) {
  std::istringstream lines(page());
  for (std::string line; std::getline(lines, line);) {
    if (line.starts_with(beginning)) return line;
  }
  return "not found";
}

TEST(Reference, BeginsWithTitleAndIntroduction) {
  EXPECT_TRUE(page().starts_with("# Case reference\n\nEvery key.\n\n## The case\n"));
}

TEST(Reference, HasARowForEveryKey) {
  EXPECT_EQ(
      line_of("| `thickness`"),
      "| `thickness` | a length, `1 mm` | more than 0 m and at most 1 m | **required** | Measured across the layer. |");
  EXPECT_EQ(line_of("| `efficiency`"),
            "| `efficiency` | a number or % | at least 0 and at most 1 | `30 %` | Of the cells. |");
  EXPECT_EQ(line_of("| `tileflux`"),
            "| `tileflux` | a whole number | 1 to 1 | **required** | Version of the format. |");
  EXPECT_EQ(line_of("| `massless`"), "| `massless` | `yes` or `no` |  | `no` | No heat capacity. |");
  EXPECT_EQ(line_of("| `widths`"),
            "| `widths` | a list, each a length, `1 mm` | 2 to 4 entries, each more than 0 m and at most 1 m |  | Of "
            "the strips. |");
  EXPECT_EQ(line_of("| `between`"), "| `between` | a list of names | 2 names |  | The two parts. |");
  EXPECT_EQ(line_of("| `conductivity`"),
            "| `conductivity` | a list of rows: a temperature, `28 degC`; a thermal conductivity, `167 W/(m K)` | 2 to "
            "1000 rows, the first column rising |  | Over temperature. |");
  EXPECT_EQ(line_of("| `stack`"), "| `stack` | a list of maps, see [A layer](#a-layer) | at most 3 |  | Layers, sun side first. |");
  EXPECT_EQ(line_of("| `limits`"), "| `limits` | a map from names to maps, see [A limit](#a-limit) | at most 5 |  | By part. |");
  EXPECT_EQ(line_of("| `title`"), "| `title` | text | at most 20 bytes |  | For people. |");
  EXPECT_EQ(line_of("| `part`"), "| `part` | a name, may be dotted |  |  | Of which part. |");
}

TEST(Reference, EscapesBarsInCells) {
  EXPECT_EQ(line_of("| `life`"), "| `life` | `begin`, `end` |  | `end` | Begin or end \\| of life. |");
}

TEST(Reference, HasASectionForEveryMapOnce) {
  for (const char* heading : {"## The sun", "## A layer", "## A limit"}) EXPECT_EQ(line_of(heading), heading);
  EXPECT_EQ(line_of("At `stack[]`"), "At `stack[]`. One layer of the stack.");
  EXPECT_EQ(line_of("At `limits.<name>`"), "At `limits.<name>`. What a part may bear.");
  EXPECT_EQ(line_of("At `sun`"), "At `sun`. Where the light comes from.");
}

TEST(Reference, SaysWhatKeysOweEachOther) {
  EXPECT_EQ(line_of("- At most one of `mass`"), "- At most one of `mass`, `heat_capacity` may stand.");
  EXPECT_EQ(line_of("- `on`"), "- `on`, `period` stand together or not at all.");
  Section definition = samples::every_field();
  definition.exactly_one_of = {{"title", "part"}};
  EXPECT_NE(reference_page(definition, "x", "").find("- Exactly one of `title`, `part` must stand.\n"),
            std::string::npos);
}

}  // namespace reference_test
