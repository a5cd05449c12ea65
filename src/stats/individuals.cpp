#include "stats/individuals.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numeric>

#include "base/expects.hpp"
#include "stats/interval.hpp"

namespace goodside::stats {

Individuals individuals(std::span<const double> values) {
  EXPECTS(values.size() >= 2);
  Individuals chart;
  chart.count = static_cast<int>(values.size());
  chart.centre = std::accumulate(values.begin(), values.end(), 0.0) / chart.count;
  double squares = 0.0, ranges = 0.0;
  for (std::size_t i = 0; i < values.size(); ++i) {
    squares += (values[i] - chart.centre) * (values[i] - chart.centre);
    if (i > 0) ranges += std::abs(values[i] - values[i - 1]);
  }
  chart.deviation = std::sqrt(squares / (chart.count - 1));
  chart.moving_range_sigma = ranges / (chart.count - 1) / d2_of_two;
  return chart;
}

double half_width(const Individuals& chart, int family) {
  EXPECTS(chart.count >= 2 && family >= 1);
  constexpr double beyond_three_sigma = 0.00134989803163;
  const double t =
      student_t_quantile(1.0 - beyond_three_sigma / family, static_cast<double>(chart.count - 1));
  return std::max(3.0 * chart.moving_range_sigma,
                  t * chart.deviation * std::sqrt(1.0 + 1.0 / chart.count));
}

}  // namespace goodside::stats
