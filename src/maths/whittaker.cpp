#include "maths/whittaker.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/expects.hpp"

namespace goodside::maths {

std::vector<double> whittaker(std::span<const double> values,
                              std::span<const double> weights,
                              double penalty) {
  const std::size_t n = values.size();
  EXPECTS(n >= 3 && weights.size() == n && penalty > 0.0);
  // A = W + penalty D'D is pentadiagonal: A = L diag(d) L', L with two lower diagonals c and e.
  std::vector<double> d(n);
  std::vector<double> c(n);
  std::vector<double> e(n);
  std::vector<double> z(n);
  const auto diagonal = [&](std::size_t k) {
    const double ends = static_cast<double>(std::min({k, n - 1 - k, std::size_t{2}}));
    const double second = n == 3 ? (k == 1 ? 4.0 : 1.0)
                                 : (ends == 0.0   ? 1.0
                                    : ends == 1.0 ? 5.0
                                                  : 6.0);
    return weights[k] + penalty * second;
  };
  const auto next = [&](std::size_t k) {  // A[k][k+1]
    return penalty * (k == 0 || k + 2 == n ? -2.0 : -4.0);
  };
  for (std::size_t k = 0; k < n; ++k) {
    const double c1 = k >= 1 ? c[k - 1] : 0.0;
    const double e2 = k >= 2 ? e[k - 2] : 0.0;
    d[k] = diagonal(k) - (k >= 1 ? c1 * c1 * d[k - 1] : 0.0) - (k >= 2 ? e2 * e2 * d[k - 2] : 0.0);
    const double e1 = k >= 1 ? e[k - 1] : 0.0;
    if (k + 1 < n) c[k] = (next(k) - (k >= 1 ? d[k - 1] * c1 * e1 : 0.0)) / d[k];
    if (k + 2 < n) e[k] = penalty / d[k];
    z[k] = weights[k] * values[k] - c1 * (k >= 1 ? z[k - 1] : 0.0) - e2 * (k >= 2 ? z[k - 2] : 0.0);
  }
  std::vector<double> smooth(n);
  for (std::size_t k = n; k-- > 0;) {
    smooth[k] = z[k] / d[k];
    if (k + 1 < n) smooth[k] -= c[k] * smooth[k + 1];
    if (k + 2 < n) smooth[k] -= e[k] * smooth[k + 2];
  }
  return smooth;
}

double foretelling_penalty(std::span<const double> values,
                           std::span<const double> weights,
                           std::span<const double> candidates,
                           std::size_t block) {
  EXPECTS(!candidates.empty() && block > 0);
  const std::size_t n = values.size();
  double best = candidates[0];
  double best_error = std::numeric_limits<double>::infinity();
  std::vector<double> kept(n);
  std::vector<double> errors;
  for (const double penalty : candidates) {
    errors.clear();
    for (const std::size_t half : {std::size_t{0}, std::size_t{1}}) {
      for (std::size_t k = 0; k < n; ++k) kept[k] = (k / block) % 2 == half ? 0.0 : weights[k];
      if (std::ranges::count_if(kept, [](double w) { return w > 0.0; }) < 2) return best;
      const std::vector<double> smooth = whittaker(values, kept, penalty);
      for (std::size_t k = block; k + block < n; ++k) {
        const double gap = values[k] - smooth[k];
        if ((k / block) % 2 == half && weights[k] > 0.0) errors.push_back(weights[k] * gap * gap);
      }
    }
    if (errors.empty()) return best;
    const auto middle = errors.begin() + static_cast<std::ptrdiff_t>(errors.size() / 2);
    std::ranges::nth_element(errors, middle);
    const double most = 9.0 * *middle;
    double sum = 0.0;
    for (const double error : errors) sum += std::min(error, most);
    if (sum < best_error) {
      best_error = sum;
      best = penalty;
    }
  }
  return best;
}

}  // namespace goodside::maths
