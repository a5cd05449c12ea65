#include "stats/line_fit.hpp"

#include <cmath>
#include <cstddef>
#include <numeric>

#include "base/expects.hpp"

namespace goodside::stats {

LineFit fit_line(std::span<const double> x, std::span<const double> y) {
  EXPECTS(x.size() == y.size() && x.size() >= 3);
  const auto n = static_cast<double>(x.size());
  const double mean_x = std::accumulate(x.begin(), x.end(), 0.0) / n;
  const double mean_y = std::accumulate(y.begin(), y.end(), 0.0) / n;
  double xx = 0.0, xy = 0.0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    xx += (x[i] - mean_x) * (x[i] - mean_x);
    xy += (x[i] - mean_x) * (y[i] - mean_y);
  }
  EXPECTS(xx > 0.0);
  LineFit fit;
  fit.slope = xy / xx;
  fit.intercept = mean_y - fit.slope * mean_x;
  fit.degrees_of_freedom = static_cast<int>(x.size()) - 2;
  double rest = 0.0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    const double off = y[i] - mean_y - fit.slope * (x[i] - mean_x);
    rest += off * off;
  }
  fit.residual_deviation = std::sqrt(rest / fit.degrees_of_freedom);
  fit.slope_sigma = fit.residual_deviation / std::sqrt(xx);
  return fit;
}

}  // namespace goodside::stats
