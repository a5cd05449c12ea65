#include "dispatch/gs1.hpp"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>
#include <numeric>
#include <string>
#include <vector>

#include "dispatch/isrc.hpp"

namespace goodside::dispatch {
namespace {

using testing::HasSubstr;

std::vector<std::string> rows(const std::string& file) {
  std::ifstream in{fmt::format("{}/tests/published/barcodes/{}", GOODSIDE_SOURCE_DIR, file)};
  EXPECT_TRUE(in.good()) << file;
  std::vector<std::string> lines;
  for (std::string line; std::getline(in, line);) lines.push_back(line);
  return lines;
}
std::vector<std::string> cells(const std::string& line) {
  std::vector<std::string> parts{""};
  for (const char letter : line) {
    if (letter == ',')
      parts.emplace_back();
    else
      parts.back() += letter;
  }
  return parts;
}
bool digits_only(const std::string& text) {
  return !text.empty() && text.find_first_not_of("0123456789") == std::string::npos;
}

// Published: GS1's worked examples of check digits (SSCC, GTIN-13, -12, -14) as handed down in public test suites
// [GS1]; the ISBN is that of a well-known book.
TEST(Gs1CheckDigit, AgreesWithPublishedExamples) {
  constexpr std::pair<const char*, char> examples[] = {{"10614141234567890", '8'},
                                                       {"629104150021", '3'},
                                                       {"123456789012", '8'},
                                                       {"400638133393", '1'},
                                                       {"950600013435", '2'},
                                                       {"1061414100041", '5'},
                                                       {"978030640615", '7'}};
  for (const auto& [payload, digit] : examples)
    EXPECT_EQ(gs1_check_digit(payload).value(), digit) << payload;
}

// Published: zint's test vectors (tests/published/barcodes/SOURCE.md): a number with its check digit is taken where the
// library takes it, and the digit that it expects is ours.
TEST(Gs1CheckDigit, AgreesWithTheLibrarysTestVectors) {
  int taken = 0, refused = 0;
  for (const std::string& line : rows("barcode_upcean_cases.csv")) {
    const auto row = cells(line);
    if (row.size() < 3 || !row[0].ends_with("_CHK") || row[0] == "BARCODE_UPCE_CHK") continue;
    if (!digits_only(row[1]) || row[1].size() < 8) continue;
    if (row[2] == "0" && (row[1].size() == 8 || row[1].size() == 12 || row[1].size() == 13)) {
      EXPECT_TRUE(read_gtin(row[1]).has_value()) << line;
      ++taken;
    }
    const auto expecting = line.find("expecting '");
    if (expecting == std::string::npos) continue;
    EXPECT_EQ(gs1_check_digit(row[1].substr(0, row[1].size() - 1)).value(), line[expecting + 11])
        << line;
    if (row[1].size() == 8 || row[1].size() >= 12) {
      EXPECT_FALSE(read_gtin(row[1]).has_value()) << line;
      ++refused;
    }
  }
  for (const std::string& line : rows("barcode_isbn_cases.csv"))
    if (const auto row = cells(line);
        row[0].size() == 13 && row[0].starts_with("978") && row[1] == "0") {
      EXPECT_TRUE(read_gtin(row[0]).has_value()) << line;
      ++taken;
    }
  EXPECT_GE(taken, 4);
  EXPECT_GE(refused, 1);
}

TEST(Gs1CheckDigit, AgreesWithTwentyRandomNumbers) {
  int count = 0;
  for (const std::string& line : rows("ean_upc_modules.csv")) {
    const auto row = cells(line);
    if (row[0] != "UPCA" && row[0] != "EAN13") continue;
    EXPECT_EQ(fmt::format("{}{}", row[1], gs1_check_digit(row[1]).value()), row[2]);
    ++count;
  }
  EXPECT_EQ(count, 20);
}

// Property: every single wrong digit is found, and each swap of neighbours that do not differ by 5.
TEST(Gs1CheckDigit, FindsASlipOfThePen) {
  const std::string good = "106141412345678908";
  ASSERT_TRUE(read_sscc(good).has_value());
  for (std::size_t i = 0; i < good.size(); ++i)
    for (char digit = '0'; digit <= '9'; ++digit) {
      std::string wrong = good;
      wrong[i] = digit;
      EXPECT_EQ(read_sscc(wrong).has_value(), digit == good[i]) << wrong;
    }
  for (std::size_t i = 0; i + 1 < good.size(); ++i) {
    std::string swapped = good;
    std::swap(swapped[i], swapped[i + 1]);
    if (swapped == good || std::abs(good[i] - good[i + 1]) == 5) continue;
    EXPECT_FALSE(read_sscc(swapped).has_value()) << swapped;
  }
}

// Published: GS1's own example, extension 1, prefix 0614141, serial 234567890 [GS1].
TEST(Sscc, IsThatOfThePublishedExample) {
  EXPECT_EQ(make_sscc("0614141", 1'234'567'890).value(), "106141412345678908");
  EXPECT_EQ(read_sscc("(00)106141412345678908").value(), "106141412345678908");
  EXPECT_EQ(read_sscc("00106141412345678908").value(), "106141412345678908");
  EXPECT_EQ(read_sscc("1 0614141 234567890 8").value(), "106141412345678908");
  EXPECT_EQ(element_text({{"00", "106141412345678908"}}), "(00)106141412345678908");
}

// What scanners send of a label of ours. Published: GS1 General Specifications, sections 3 (00 has 18 digits, 02 has 14, 37
// up to 8 and ends with GS or the message) and 7.8 (symbology identifiers ]C1 of GS1-128, ]d2 of GS1 Data Matrix); from memory.
TEST(Sscc, IsFoundInWhatAScannerSends) {
  for (const std::string scanned : {"]C100106141412345678908",
                                    "]d2029312345678900737125\x1d"
                                    "00106141412345678908",
                                    "0293123456789007372500106141412345678908\x1d",
                                    "00106141412345678908029312345678900737125"}) {
    const bool count_runs_on =
        scanned.starts_with("0293");  // without GS the count swallows the rest
    const auto read = read_sscc(scanned);
    EXPECT_EQ(read.value_or(""), count_runs_on ? "" : "106141412345678908") << scanned;
  }
  EXPECT_FALSE(read_sscc("]C10010614141234567890").has_value());  // cut off
  EXPECT_FALSE(read_sscc("]C100106141412345678909").has_value());
  EXPECT_FALSE(read_sscc("]").has_value());
}

TEST(Sscc, NumbersOfAPrefixAreAllDifferentUntilTheyAreUsedUp) {
  std::vector<std::string> all;
  for (std::int64_t serial = 0; serial < 100'000; serial += 97)
    all.push_back(make_sscc("061414112345", serial).value());
  std::sort(all.begin(), all.end());
  EXPECT_EQ(std::unique(all.begin(), all.end()), all.end());
  const auto over = make_sscc("061414112345", 100'000);
  ASSERT_FALSE(over.has_value());
  EXPECT_EQ(over.error().fault, Fault::out_of_range);
  EXPECT_FALSE(make_sscc("0614141", -1).has_value());
  for (const char* prefix : {"", "061", "0614141234567", "06141a1"})
    EXPECT_FALSE(make_sscc(prefix, 1).has_value()) << prefix;
}

TEST(Gtin, IsTakenWithItsCheckDigitAlone) {
  EXPECT_EQ(read_gtin("6291041500213").value(), "6291041500213");
  EXPECT_EQ(read_gtin("4006381-333931").value(), "4006381333931");
  EXPECT_EQ(gtin_14("12345670"), "00000012345670");
  EXPECT_EQ(gtin_14("10614141000415"), "10614141000415");
  EXPECT_THAT(read_gtin("6291041500214").error().text, HasSubstr("would be 3"));
  for (const char* wrong :
       {"", "629104150021x", "62910415002", "629104150021345", "nan", "１２３４５６７０"})
    EXPECT_FALSE(read_gtin(wrong).has_value()) << wrong;
}

// The form of ISO 3901, from memory; the examples are made up of it.
TEST(Isrc, IsReadInEveryUsualSpelling) {
  for (const char* typed : {"AA-6Q7-20-00047",
                            "aa6q72000047",
                            "ISRC AA-6Q7-20-00047",
                            "ISRC AA6Q72000047",
                            "AA 6Q7 20 00047"})
    EXPECT_EQ(read_isrc(typed).value(), "AA6Q72000047") << typed;
  EXPECT_EQ(shown_isrc("AA6Q72000047"), "AA-6Q7-20-00047");
  EXPECT_EQ(read_isrc(shown_isrc("GBAYE6800011")).value(), "GBAYE6800011");
  for (const char* wrong : {"",
                            "A1-6Q7-20-00047",
                            "AA-6Q7-2X-00047",
                            "AA-6Q7-20-0004",
                            "AA-6Q7-20-000471",
                            "AA-6!7-20-00047"})
    EXPECT_FALSE(read_isrc(wrong).has_value()) << wrong;
}

}  // namespace
}  // namespace goodside::dispatch
