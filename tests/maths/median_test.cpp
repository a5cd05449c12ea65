#include "maths/median.hpp"

#include <gtest/gtest.h>

namespace goodside::maths {
namespace {

TEST(Median, IsTheMiddleAndOfAnEvenNumberTheUpper) {
  EXPECT_EQ(median(std::vector{5.0, 1.0, 3.0}), 3.0);
  EXPECT_EQ(median(std::vector{4.0, 1.0, 3.0, 2.0}), 3.0);
  EXPECT_EQ(median(std::vector{7.0F}), 7.0F);
}

TEST(Median, OfNothingIsWhatTheCallerSays) {
  EXPECT_EQ(median_or(std::vector<double>{}, -1.0), -1.0);
  EXPECT_EQ(median_or(std::vector{2.0, 9.0, 4.0}, -1.0), 4.0);
}

}  // namespace
}  // namespace goodside::maths
