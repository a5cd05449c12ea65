#pragma once
#include <span>

namespace goodside::stats {

/// Least-squares line y = intercept + slope x.
struct LineFit {
  double slope{}, intercept{};
  double slope_sigma{};         ///< standard error, s / sqrt(sum (x - mean)^2)
  double residual_deviation{};  ///< s, over n - 2
  int degrees_of_freedom{};     ///< n - 2
};

/// Source: NIST/SEMATECH e-Handbook of Statistical Methods, 4.1.4.1. Sums are two-pass about the
/// means. At least three points, as many of x as of y, and not all at one x.
[[nodiscard]] LineFit fit_line(std::span<const double> x, std::span<const double> y);

}  // namespace goodside::stats
