#include "intake/csv_file.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <random>

namespace goodside::intake {
namespace {

using testing::HasSubstr;

// Published: the examples of [RFC4180], section 2.
TEST(Csv, ReadsTheExamplesOfTheStandard) {
  const auto table = parse_csv(
      "field_name,other,third\r\naaa,\"b\r\nbb\",ccc\r\n\"aaa\",\"b\"\"bb\",\"ccc\"", "x");
  ASSERT_TRUE(table.has_value()) << table.error().text;
  EXPECT_EQ(table->columns, (std::vector<std::string>{"field_name", "other", "third"}));
  ASSERT_EQ(table->lines.size(), 2U);
  EXPECT_EQ(table->lines[0].cells, (std::vector<std::string>{"aaa", "b\r\nbb", "ccc"}));
  EXPECT_EQ(table->lines[1].cells, (std::vector<std::string>{"aaa", "b\"bb", "ccc"}));
  EXPECT_EQ(table->lines[1].number, 4U);
}

TEST(Csv, TakesAMarkSemicolonsAndEmptyLines) {
  const auto table = parse_csv(
      "\xef\xbb\xbf"
      "a;b\n\n1;\"2;3\"\n",
      "x");
  ASSERT_TRUE(table.has_value());
  EXPECT_EQ(table->columns[0], "a");
  EXPECT_EQ(table->lines.at(0).cells[1], "2;3");
  EXPECT_EQ(table->lines[0].number, 3U);
}

TEST(Csv, RefusesByLine) {
  const auto refused = [](const char* text) { return parse_csv(text, "cards.csv").error().text; };
  EXPECT_THAT(refused("a,b\n1\n"), HasSubstr("cards.csv:2: 1 cells"));
  EXPECT_THAT(refused("a,b\n1,\"2\n"), HasSubstr("cards.csv:2: a quote is opened"));
  EXPECT_THAT(refused("a,b\n1,2\"3\n"), HasSubstr("cards.csv:2: a quote inside"));
  EXPECT_THAT(refused("a,b\n\"1\"2,3\n"), HasSubstr("behind a closing quote"));
  EXPECT_THAT(refused("a,a\n1,2\n"), HasSubstr("two columns"));
  EXPECT_THAT(refused("a,\n1,2\n"), HasSubstr("no name"));
  EXPECT_THAT(refused(""), HasSubstr("no columns"));
}

// Property: read of write is identity, whatever stands in the cells.
TEST(Csv, ReadsBackWhatItWrote) {
  std::mt19937 random{3};
  for (int trial = 0; trial < 300; ++trial) {
    std::vector<std::string> cells(3);
    for (std::string& cell : cells)
      for (int n = 0; n < 8; ++n) cell += "ab,;\"\n\r 1"[random() % 9];
    const auto table = parse_csv("a,b,c\n" + csv_line(cells), "x");
    ASSERT_TRUE(table.has_value()) << table.error().text;
    EXPECT_EQ(table->lines.at(0).cells, cells);
  }
}

}  // namespace
}  // namespace goodside::intake
