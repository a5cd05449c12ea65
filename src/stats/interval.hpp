#pragma once

namespace goodside::stats {

struct Interval {
  double low{}, high{};
};

/// Exact interval of a proportion [Clopper and Pearson, Biometrika 26, 1934], both tails alike:
///   low = B(a/2; k, n - k + 1),  high = B(1 - a/2; k + 1, n - k),  a = 1 - confidence
/// with B the quantile of the beta distribution; 0 at k = 0, 1 at k = n. `trials` > 0,
/// 0 <= successes <= trials, 0 < confidence < 1. Holds the stated confidence or more.
[[nodiscard]] Interval proportion_interval(int successes, int trials, double confidence);

/// Interval of a normal population's standard deviation from a sample's:
///   s sqrt(nu / chi2(1 - a/2; nu)) .. s sqrt(nu / chi2(a/2; nu))
/// Source: NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.3 and 1.3.5.8. deviation >= 0, nu >
/// 0.
[[nodiscard]] Interval deviation_interval(double deviation,
                                          double degrees_of_freedom,
                                          double confidence);

/// Quantile of Student's t. 0 < probability < 1, degrees_of_freedom > 0.
[[nodiscard]] double student_t_quantile(double probability, double degrees_of_freedom);

/// P(X <= value) for Student's t. degrees_of_freedom > 0.
[[nodiscard]] double student_t_below(double value, double degrees_of_freedom);

/// P(X <= value) for a standard normal X, and its quantile, 0 < probability < 1.
[[nodiscard]] double normal_below(double value);
[[nodiscard]] double normal_quantile(double probability);

/// P(X >= value) for X ~ chi squared. value >= 0, degrees_of_freedom > 0.
[[nodiscard]] double chi_squared_tail(double value, double degrees_of_freedom);

/// The value that X ~ chi squared stays under with `probability`. 0 < probability < 1,
/// degrees_of_freedom > 0.
[[nodiscard]] double chi_squared_quantile(double probability, double degrees_of_freedom);

}  // namespace goodside::stats
