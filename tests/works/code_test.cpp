#include "works/code.hpp"

#include <gtest/gtest.h>

#include <fstream>
#include <regex>
#include <set>
#include <sstream>
#include <string>

namespace goodside::works {
namespace {

// Published: the Global Release Identifier standard's own example, A1-2425G-ABC1234002-M, whose
// last character is ISO/IEC 7064 MOD 37,36 over the others. From memory of the standard's text.
TEST(CheckCharacter, AgreesWithThePublishedExample) {
  EXPECT_EQ(check_character("A12425GABC1234002"), 'M');
  EXPECT_TRUE(checks("A1-2425G-ABC1234002-M"));
  EXPECT_FALSE(checks("A1-2425G-ABC1234002-N"));
}

// Second road: the recursion of the standard written backwards, as a weighted sum that must leave 1.
TEST(CheckCharacter, LeavesOneInTheStandardsOwnTest) {
  const std::string alphabet = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ";
  for (const std::string code : {"ST-00001", "K-000412", "R-99999", "0", "ZZZZ", "P-10203"}) {
    int p = 36;
    std::string whole = code + check_character(code);
    std::string plain;
    for (const char c : whole)
      if (alphabet.find(c) != std::string::npos) plain += c;
    for (std::size_t i = 0; i < plain.size(); ++i) {
      int s = (p + static_cast<int>(alphabet.find(plain[i]))) % 36;
      if (i + 1 == plain.size()) {
        EXPECT_EQ(s, 1) << code;
      }
      p = 2 * (s == 0 ? 36 : s) % 37;
    }
  }
}

// Property of the standard: every single substitution is found.
TEST(CheckCharacter, FindsEveryWrongCharacter) {
  const auto pattern = CodePattern::parse("ST-#####-?").value();
  const std::string alphabet = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ";
  for (const int number : {1, 77, 4096, 99999}) {
    const std::string code = pattern.write(number);
    ASSERT_TRUE(checks(code)) << code;
    for (std::size_t i = 0; i < code.size(); ++i)
      for (const char other : alphabet) {
        if (code[i] == '-' || other == code[i]) continue;
        std::string wrong = code;
        wrong[i] = other;
        EXPECT_FALSE(checks(wrong)) << wrong;
      }
  }
}

TEST(CodePattern, WritesNumbersThatOutgrowItAndRefusesWhatIsNoPattern) {
  const auto pattern = CodePattern::parse("K-##-?").value();
  EXPECT_TRUE(pattern.write(7).starts_with("K-07-"));
  EXPECT_TRUE(pattern.write(12345).starts_with("K-12345-"));
  for (const char* wrong : {"",
                            "?",
                            "K-##",
                            "K-##-??",
                            "##-##-?",
                            "k-##-?",
                            "K ##-?",
                            "#-?-A",
                            "AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA-##-?"})
    EXPECT_FALSE(CodePattern::parse(wrong).has_value()) << wrong;
}

TEST(ReadCode, TakesSmallLettersAndNamesTheCharacterThatWouldFit) {
  const std::string code = CodePattern::parse("R-#####-?").value().write(12);
  std::string small = " " + code + " ";
  for (char& c : small) c = static_cast<char>(std::tolower(c));
  EXPECT_EQ(read_code(small).value(), code);
  std::string wrong = code;
  wrong.back() = wrong.back() == 'A' ? 'B' : 'A';
  EXPECT_NE(read_code(wrong).error().text.find(std::string{"end in "} + code.back()),
            std::string::npos);
  EXPECT_FALSE(read_code("").has_value());
  EXPECT_FALSE(read_code("'; DROP TABLE part; --").has_value());
  EXPECT_FALSE(read_code(std::string(5000, '1')).has_value());
}

TEST(TimeOrderedId, SortsByTimeAndIsTheSameForTheSameHistory) {
  const std::string early = time_ordered_id(1'764'115'200'000, "P-1", "head");
  const std::string late = time_ordered_id(1'764'115'200'001, "P-1", "head");
  EXPECT_EQ(early.size(), 32U);
  EXPECT_LT(early, late);
  EXPECT_EQ(early, time_ordered_id(1'764'115'200'000, "P-1", "head"));
  EXPECT_NE(early, time_ordered_id(1'764'115'200'000, "P-2", "head"));
  EXPECT_NE(early, time_ordered_id(1'764'115'200'000, "P-1", "other"));
}

// 2026-11-26: the page's codes had made-up check characters, so that a newcomer who typed them was refused.
TEST(Codes, OfThePageAboutTheRecordBearTheirCheckCharacters) {
  std::stringstream page;
  page << std::ifstream{GOODSIDE_SOURCE_DIR "/docs/works.md"}.rdbuf();
  const std::string text = page.str();
  const std::regex code{R"(\b[A-Z]{1,2}-[0-9]{2,6}-[0-9A-Z]\b)"};
  int seen = 0;
  for (auto found = std::sregex_iterator{text.begin(), text.end(), code};
       found != std::sregex_iterator{};
       ++found, ++seen)
    EXPECT_TRUE(checks(found->str())) << found->str();
  EXPECT_GT(seen, 30);
}

}  // namespace
}  // namespace goodside::works
