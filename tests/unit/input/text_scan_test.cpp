#include "input/text_scan.h"

#include <gtest/gtest.h>

#include <string>
#include <string_view>
#include <utility>
#include <vector>

using namespace tileflux::input;

namespace text_scan_test {

constexpr std::size_t many = 100;

std::string first_fault(std::string_view text) {
  const std::vector<TextFault> faults = scan_text(text, many);
  if (faults.empty()) return "clean";
  return std::to_string(faults[0].line) + ':' + std::to_string(faults[0].column) + ' ' + faults[0].message;
}

TEST(TextScan, AcceptsText) {
  for (const char* text : {"", "a: 1\n", "a: 1\r\nb: 2\r\n", "a:\t1", "title: Größe 漢字 😀 °C\n", "no end of line"})
    EXPECT_EQ(first_fault(text), "clean") << text;
}

TEST(TextScan, RefusesWhatIsNotUtf8) {
  EXPECT_EQ(first_fault("a: \xE4\n"), "1:4 the byte 0xE4 is not UTF-8 text");         // Latin-1
  EXPECT_EQ(first_fault("a\n\xC0\x80"), "2:1 the byte 0xC0 is not UTF-8 text");       // overlong NUL
  EXPECT_EQ(first_fault("\xE0\x80\xAF"), "1:1 the byte 0xE0 is not UTF-8 text");      // overlong /
  EXPECT_EQ(first_fault("\xED\xA0\x80"), "1:1 the byte 0xED is not UTF-8 text");      // surrogate
  EXPECT_EQ(first_fault("\xF4\x90\x80\x80"), "1:1 the byte 0xF4 is not UTF-8 text");  // beyond U+10FFFF
  EXPECT_EQ(first_fault("a\xE2\x82"), "1:2 the byte 0xE2 is not UTF-8 text");         // cut short
  EXPECT_EQ(first_fault("\xFF\xFE"
                        "a"),
            "1:1 the byte 0xFF is not UTF-8 text");  // UTF-16
  EXPECT_EQ(first_fault("\x80"), "1:1 the byte 0x80 is not UTF-8 text");
}

TEST(TextScan, RefusesControlCharacters) {
  EXPECT_EQ(first_fault(std::string_view("a\0b", 3)), "1:2 the control character U+0000 may not stand here");
  EXPECT_EQ(first_fault("a: \x1B[31m"), "1:4 the control character U+001B may not stand here");
  EXPECT_EQ(first_fault("a\rb\n"), "1:2 the control character U+000D may not stand here");
  EXPECT_EQ(first_fault("a\u0085"), "1:2 the control character U+0085 may not stand here");
  EXPECT_EQ(first_fault("a\u2028"), "1:2 the control character U+2028 may not stand here");
  EXPECT_EQ(first_fault("a\u202E"), "1:2 the control character U+202E may not stand here");
  EXPECT_EQ(first_fault("\x7F"), "1:1 the control character U+007F may not stand here");
}

TEST(TextScan, RefusesTabsInTheIndentationOnly) {
  EXPECT_EQ(first_fault("a:\n\tb: 1\n"), "2:1 a tab stands in the indentation: indent with spaces");
  EXPECT_EQ(first_fault("a:\n  \tb: 1\n"), "2:3 a tab stands in the indentation: indent with spaces");
  EXPECT_EQ(first_fault("a: 1\t# remark\n"), "clean");
}

TEST(TextScan, ReportsOneFaultForEachLineUpToABound) {
  std::string text;
  for (int i = 0; i < 10; ++i) text += "\ta\x01\n";
  EXPECT_EQ(scan_text(text, many).size(), 10u);
  EXPECT_EQ(scan_text(text, 3).size(), 3u);
  EXPECT_EQ(scan_text(text, 3)[2].line, 3);
}

TEST(TextScan, FindsForbiddenCharactersInValues) {
  EXPECT_EQ(forbidden_character("two\nlines\tand a tab"), "");
  EXPECT_EQ(forbidden_character("red \x1B[31m"), "the control character U+001B may not stand here");
  EXPECT_EQ(forbidden_character("\xFF"), "an escape makes a byte that is not UTF-8 text");
}

TEST(TextScan, SplitsLinesWithoutTheirEnds) {
  EXPECT_EQ(split_lines("a\r\nb\n\nc"), (std::vector<std::string>{"a", "b", "", "c"}));
  EXPECT_EQ(split_lines("a\n"), (std::vector<std::string>{"a"}));
  EXPECT_TRUE(split_lines("").empty());
}

}  // namespace text_scan_test
