#include "signal/rank.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>
#include <vector>

namespace goodside::signal {
namespace {

// Second road: the standard library's own order, bit for bit, of powers over many decades and of many alike.
TEST(AtRank, IsWhatSortingBringsThere) {
  std::mt19937 engine{7};
  for (const std::size_t count : {1U, 2U, 3U, 8U, 17U, 162U, 1000U})
    for (const unsigned steps : {3U, 1000000U}) {
      std::vector<float> values(count);
      for (float& value : values) {
        const double share = static_cast<double>(engine() % steps) / static_cast<double>(steps);
        value = engine() % 50 == 0 ? 0.0F : static_cast<float>(std::pow(10.0, 12.0 * share - 9.0));
        if (steps == 3 && engine() % 2 == 0) value = -value;
      }
      std::vector<float> sorted = values;
      std::ranges::sort(sorted);
      for (std::size_t rank = 0; rank < count; rank += 1 + count / 40)
        EXPECT_EQ(at_rank(values, rank), sorted[rank]) << count << " " << rank;
      EXPECT_EQ(median_of(values), sorted[count / 2]);
      EXPECT_EQ(at_rank(values, count - 1), sorted.back());
    }
}

}  // namespace
}  // namespace goodside::signal
