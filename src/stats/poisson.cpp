#include "stats/poisson.hpp"

#include <algorithm>
#include <cmath>

#include "base/expects.hpp"

namespace goodside::stats {

double poisson_tail(int count, double mean) {
  EXPECTS(mean >= 0.0);
  if (count <= 0) return 1.0;
  if (mean == 0.0) return 0.0;
  double term = std::exp(count * std::log(mean) - mean - std::lgamma(count + 1.0));
  double sum = 0.0;
  if (count > mean) {
    for (int k = count + 1; term > sum * 1e-17; ++k) {
      sum += term;
      term *= mean / k;
    }
    return std::min(sum, 1.0);
  }
  for (int k = count; k > 0 && term > 0.0; --k) {
    term *= k / mean;
    sum += term;
  }
  return std::clamp(1.0 - sum, 0.0, 1.0);
}

}  // namespace goodside::stats
