#include <gtest/gtest.h>

#include <random>

#include "intake/bench_profile.hpp"
#include "intake/limits.hpp"

namespace goodside::intake {
namespace {

/// One to four bytes changed, dropped, doubled or exchanged for a piece that means something to
/// TOML.
std::string mutated(std::string text, std::mt19937& random) {
  constexpr const char* pieces[] = {"[",
                                    "]",
                                    "{",
                                    "\"",
                                    "'''",
                                    "nan",
                                    "=",
                                    ".",
                                    "\n",
                                    "1e999",
                                    "-",
                                    "#",
                                    "\\u",
                                    "\xFF",
                                    "0x",
                                    "limits"};
  const auto below = [&](std::size_t n) { return random() % n; };
  for (std::size_t change = 0; change < 1 + below(4) && !text.empty(); ++change) {
    const auto at = below(text.size());
    switch (below(4)) {
      case 0:
        text[at] = static_cast<char>(below(256));
        break;
      case 1:
        text.erase(at, 1 + below(20));
        break;
      case 2:
        text.insert(at, text.substr(at, 1 + below(40)));
        break;
      default:
        text.insert(at, pieces[below(std::size(pieces))]);
        break;
    }
  }
  return text;
}

// Property: whatever the text, the answer is limits that a person can mean, or one line that names
// the file.
TEST(TomlReaders, AnswerOrRefuseWhateverTheText) {
  const std::string text =
      limits_toml(built_in_limits("12in-33"), "12in-33") +
      "[bench.one]\narm_length = \"230 mm\"\narm_mount = \"215 mm\"\nrpm = 45\n";
  std::mt19937 random{20240607};
  int answered = 0, refused = 0;
  for (int round = 0; round < 1000; ++round) {
    const auto broken = mutated(text, random);
    const auto limits = limits_from_toml(broken, "the file", "12in-33");
    const auto bench = bench_from_toml(broken, "the file", "one");
    for (const Error* error :
         {limits ? nullptr : &limits.error(), bench ? nullptr : &bench.error()}) {
      ++(error == nullptr ? answered : refused);
      if (error == nullptr) continue;
      EXPECT_TRUE(error->text.starts_with("the file:")) << error->text;
      EXPECT_EQ(error->text.find('\n'), std::string::npos) << error->text;
    }
    if (limits) {
      const double offset_m = limits->eccentricity_m.value_or(0.0);
      EXPECT_TRUE(offset_m >= 0.0 && offset_m <= 0.1);
    }
    if (bench && bench->arm_length_m) {
      EXPECT_GT(*bench->arm_length_m, *bench->arm_mount_m);
    }
  }
  EXPECT_GT(answered, 100);
  EXPECT_GT(refused, 100);
}

}  // namespace
}  // namespace goodside::intake
