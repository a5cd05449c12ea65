#include "stats/spread_constants.hpp"

#include <cmath>

#include "base/expects.hpp"
#include "stats/interval.hpp"
#include "stats/quadrature.hpp"

namespace goodside::stats {
namespace {

constexpr double far = 8.5;  // sigma; what lies beyond is under 1e-15 for any n allowed

double power(double base, int n) {
  return base <= 0.0 ? 0.0 : std::pow(base, n);
}

}  // namespace

SpreadConstants spread_constants(int n) {
  EXPECTS(n >= 2 && n <= 100);
  const double d2 = integrate(
      [n](double x) {
        const double below = normal_below(x);
        return 1.0 - power(1.0 - below, n) - power(below, n);
      },
      -far,
      far);
  // E[R^2] with the inner integral on Gauss panels: the integrand is smooth.
  constexpr int panels = 12;
  const double square = 2.0 * integrate(
                                  [n](double y) {
                                    const double top = normal_below(y);
                                    double sum = 0.0;
                                    const double width = (y + far) / panels;
                                    for (int p = 0; p < panels; ++p)
                                      for (const auto& [at, weight] : gauss_legendre()) {
                                        const double bottom = normal_below(-far + width * (p + at));
                                        sum += weight * width *
                                               (1.0 - power(top, n) - power(1.0 - bottom, n) +
                                                power(top - bottom, n));
                                      }
                                    return sum;
                                  },
                                  -far,
                                  far);
  const double c4 =
      std::sqrt(2.0 / (n - 1.0)) * std::exp(std::lgamma(0.5 * n) - std::lgamma(0.5 * (n - 1.0)));
  return {.d2 = d2, .d3 = std::sqrt(square - d2 * d2), .c4 = c4};
}

}  // namespace goodside::stats
