#include <gtest/gtest.h>

#include <random>

#include "json/listening_report.hpp"
#include "json/sample_report.hpp"

namespace goodside::json {
namespace {

/// One to three bytes changed, dropped, doubled or exchanged for a piece that means something to
/// JSON.
std::string mutated(std::string text, std::mt19937& random) {
  constexpr const char* pieces[] = {"[",
                                    "]",
                                    "{",
                                    "}",
                                    "\"",
                                    "null",
                                    "-",
                                    "1e308",
                                    "1e999",
                                    "true",
                                    ",",
                                    ":",
                                    "\\u",
                                    "\xFF",
                                    "99999999999999999999"};
  const auto below = [&](std::size_t n) { return random() % n; };
  for (std::size_t change = 0; change < 1 + below(3) && !text.empty(); ++change) {
    const auto at = below(text.size());
    switch (below(4)) {
      case 0:
        text[at] = static_cast<char>(below(256));
        break;
      case 1:
        text.erase(at, 1 + below(30));
        break;
      case 2:
        text.insert(at, text.substr(at, 1 + below(60)));
        break;
      default:
        text.replace(at, below(8), pieces[below(std::size(pieces))]);
        break;
    }
  }
  return text;
}

// Property: whatever the text, the answer is a report that writes and reads back, or one line.
TEST(ListeningReportReader, AnswersOrRefusesWhateverTheText) {
  const auto text = write(test::sample_report());
  std::mt19937 random{19481121};
  int answered = 0, refused = 0;
  for (int round = 0; round < 2000; ++round) {
    const auto report = read(mutated(text, random));
    ++(report ? answered : refused);
    if (!report) {
      EXPECT_EQ(report.error().text.find('\n'), std::string::npos) << report.error().text;
      continue;
    }
    const auto again = read(write(*report));
    ASSERT_TRUE(again) << again.error().text;
    EXPECT_EQ(write(*again), write(*report));
  }
  EXPECT_GT(answered, 100);
  EXPECT_GT(refused, 100);
}

}  // namespace
}  // namespace goodside::json
