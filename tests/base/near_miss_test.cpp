#include "base/near_miss.hpp"

#include <gtest/gtest.h>

namespace goodside {
namespace {

// Published: R. A. Wagner, M. J. Fischer, "The String-to-String Correction
// Problem", J. ACM 21 (1974), and R. Lowrance, R. A. Wagner, J. ACM 22 (1975)
// for the swap; the pairs are the textbooks' own (from memory).
TEST(Edits, AgreeWithTheTextbookPairs) {
  EXPECT_EQ(edits("kitten", "sitting"), 3);
  EXPECT_EQ(edits("saturday", "sunday"), 3);
  EXPECT_EQ(edits("ca", "ac"), 1);
  EXPECT_EQ(edits("", "disc"), 4);
}

// Property: a distance is symmetric and zero only between equals.
TEST(Edits, AreSymmetric) {
  EXPECT_EQ(edits("--pitch", "--picture"), edits("--picture", "--pitch"));
  EXPECT_EQ(edits("--pitch", "--pitch"), 0);
}

TEST(Suggestion, NamesTheNearestOptionAndStaysSilentWhenNoneIsNear) {
  const std::vector<std::string> names{"--reference", "--rpm", "--format"};
  EXPECT_EQ(suggestion("--refernece", names), "did you mean `--reference`?");
  EXPECT_EQ(suggestion("--ref", names), "did you mean `--reference`?");
  EXPECT_EQ(suggestion("--colour", names), std::nullopt);
}

}  // namespace
}  // namespace goodside
