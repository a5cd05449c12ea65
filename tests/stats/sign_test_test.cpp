#include "stats/sign_test.hpp"

#include <gtest/gtest.h>

namespace goodside::stats {
namespace {

// Closed form, 2^-n times the binomial sums; also scipy.stats.binomtest(k, n,
// alternative="greater").pvalue.
TEST(SignTest, OfOneWeightIsTheBinomialTail) {
  EXPECT_NEAR(sign_test_chance({5, 0}, {}, 1.0), 1.0 / 32.0, 1e-15);
  EXPECT_NEAR(sign_test_chance({7, 3}, {}, 1.0), 176.0 / 1024.0, 1e-14);
  EXPECT_NEAR(sign_test_chance({4, 1}, {3, 2}, 1.0), 176.0 / 1024.0, 1e-14);
  EXPECT_NEAR(sign_test_chance({}, {}, 1.0), 1.0, 1e-15);
}

// Second road: two light tosses and one of weight 3 told out; of the eight sums -5 -3 -3 -1 1 3 3
// 5, three are >= 3 and five >= -1.
TEST(SignTest, WeighsTheHeavy) {
  EXPECT_NEAR(sign_test_chance({1, 1}, {1, 0}, 3.0), 3.0 / 8.0, 1e-15);
  EXPECT_NEAR(sign_test_chance({2, 0}, {0, 1}, 3.0), 5.0 / 8.0, 1e-15);
}

}  // namespace
}  // namespace goodside::stats
