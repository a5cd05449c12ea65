#include "stats/individuals.hpp"

#include <gtest/gtest.h>

#include <vector>

namespace goodside::stats {
namespace {

// Published: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2, flow rate of ten batches
// (data and limits from memory): centre 50.81, mean moving range 1.8778, limits 55.8041 and
// 45.8159, printed to 1e-4.
const std::vector<double> flow_rate{49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1};

TEST(Individuals, AgreesWithTheHandbooksFlowRates) {
  const auto chart = individuals(flow_rate);
  EXPECT_NEAR(chart.centre, 50.81, 5e-3);
  EXPECT_NEAR(chart.moving_range_sigma * d2_of_two, 1.8778, 5e-5);
  // The handbook rounds d2 to 1.128; the last digit of its limits is moved by that: 5.0 * 3.4e-4 =
  // 1.7e-3.
  EXPECT_NEAR(chart.centre + 3.0 * chart.moving_range_sigma, 55.8041, 2e-3);
  EXPECT_NEAR(chart.centre - 3.0 * chart.moving_range_sigma, 45.8159, 2e-3);
  // numpy.std(ddof=1)
  EXPECT_NEAR(chart.deviation, 2.0338523927649117, 1e-12);
}

// Published: ASTM table of control chart constants, d2 for two: 1.128.
TEST(Individuals, D2IsTheTables) {
  EXPECT_NEAR(d2_of_two, 1.128, 5e-4);
}

// Second road: t from SciPy 1.10, scipy.stats.t.ppf(1 - 0.0013499/31, 9) and for one chart.
TEST(HalfWidth, IsStudentsPredictionWhereThatIsWider) {
  const auto chart = individuals(flow_rate);
  const double one_more = chart.deviation * 1.0488088481701516;  // sqrt(1 + 1/10)
  EXPECT_NEAR(half_width(chart, 1), 4.094255306209379 * one_more, 1e-8);
  EXPECT_NEAR(half_width(chart, 31), 6.71447837583614 * one_more, 1e-8);
}

TEST(HalfWidth, IsTheMovingRangesWhereThatIsWider) {
  const std::vector<double> seesaw(41, 0.0);
  std::vector<double> values = seesaw;
  for (std::size_t i = 0; i < values.size(); ++i) values[i] = i % 2 == 0 ? 1.0 : -1.0;
  const auto chart = individuals(values);
  EXPECT_NEAR(half_width(chart, 1), 3.0 * 2.0 / d2_of_two, 1e-12);
}

}  // namespace
}  // namespace goodside::stats
