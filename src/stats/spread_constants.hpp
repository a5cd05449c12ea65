#pragma once

namespace goodside::stats {

/// Constants of control charts for samples of n normal values, 2 <= n <= 100.
///   d2  mean of the range in standard deviations  = int 1 - (1 - F)^n - F^n
///   d3  standard deviation of the range, from  E[R^2] = 2 int int_{x<y} 1 - F(y)^n - (1 - F(x))^n +
///       (F(y) - F(x))^n
///   c4  mean of the sample standard deviation     = sqrt(2/(n-1)) Gamma(n/2) / Gamma((n-1)/2)
/// Source: L. H. C. Tippett, Biometrika 17, 1925; ASTM Manual on Presentation of Data (digits agree).
/// Accuracy: 1e-7 (d2, c4 1e-10), measured by halving.
struct SpreadConstants {
  double d2{}, d3{}, c4{};
};
[[nodiscard]] SpreadConstants spread_constants(int n);

}  // namespace goodside::stats
