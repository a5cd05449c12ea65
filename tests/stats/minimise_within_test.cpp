#include "stats/minimise_within.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace goodside::stats {
namespace {

// Published: Powell 1994, section 5, problem B: least x1 x2 within the unit circle, -1/2 at
// (1/sqrt 2, -1/sqrt 2); and problem F: least -x1 - x2 with x2 >= x1^2 and the circle, -sqrt 2.
TEST(MinimiseWithin, SolvesPowellsProblems) {
  const Search search{.start = {1.0, 1.0},
                      .first_step = {0.5, 0.5},
                      .low = {-10.0, -10.0},
                      .high = {10.0, 10.0},
                      .tolerance = 1e-9};
  const auto product = minimise_within(
      [](std::span<const double> x) {
        return Weighed{x[0] * x[1], {1.0 - x[0] * x[0] - x[1] * x[1]}};
      },
      search,
      1,
      2000);
  ASSERT_TRUE(product.has_value());
  EXPECT_NEAR(product->value, -0.5, 1e-6);
  EXPECT_NEAR(std::abs(product->at[0]), std::sqrt(0.5), 1e-3);
  const auto sum = minimise_within(
      [](std::span<const double> x) {
        return Weighed{-x[0] - x[1], {x[1] - x[0] * x[0], 1.0 - x[0] * x[0] - x[1] * x[1]}};
      },
      search,
      2,
      2000);
  ASSERT_TRUE(sum.has_value());
  EXPECT_NEAR(sum->value, -std::sqrt(2.0), 1e-5);
}

}  // namespace
}  // namespace goodside::stats
