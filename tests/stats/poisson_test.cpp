#include "stats/poisson.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace goodside::stats {
namespace {

// Published: SciPy 1.10.1, scipy.stats.poisson.sf(count - 1, mean), to 13 digits.
TEST(PoissonTail, AgreesWithSciPy) {
  struct Row {
    int count;
    double mean, tail;
  };
  constexpr Row rows[] = {
      {1, 0.001, 9.9950016662501e-04},
      {3, 0.02, 1.3134924482407e-06},
      {5, 0.5, 1.7211562995584e-04},
      {12, 0.5, 3.2146973033452e-13},
      {10, 10.0, 5.4207028552815e-01},
      {3, 10.0, 9.9723060428449e-01},
      {60, 10.0, 6.5219033278186e-27},
      {130, 100.0, 2.2820930543170e-03},
  };
  for (const auto& row : rows)
    EXPECT_NEAR(poisson_tail(row.count, row.mean) / row.tail, 1.0, 1e-11)
        << row.count << " of " << row.mean;
}

// Second road: the plain sum of the other side.
TEST(PoissonTail, IsOneMinusTheHeadSummedPlainly) {
  for (const double mean : {0.3, 2.0, 11.5})
    for (int count = 0; count < 25; ++count) {
      double head = 0.0;
      for (int k = 0; k < count; ++k)
        head += std::exp(k * std::log(mean) - mean - std::lgamma(k + 1.0));
      EXPECT_NEAR(poisson_tail(count, mean), 1.0 - head, 1e-12);
    }
}

}  // namespace
}  // namespace goodside::stats
