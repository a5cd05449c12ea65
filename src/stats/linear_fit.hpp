#pragma once
#include <span>
#include <vector>

#include "base/result.hpp"

namespace goodside::stats {

/// Weighted linear least squares  y = X b + e,  minimising  sum_i w_i (y_i - x_i b)^2.
struct LinearFit {
  std::vector<double> at;          ///< b[p]
  std::vector<double> covariance;  ///< (X' W X)^-1, p x p; times the variance of unit weight
  std::vector<double> residual;    ///< y - X b, [n]
  std::vector<double> leverage;    ///< diagonal of W^1/2 X (X' W X)^-1 X' W^1/2, [n]
  double residual_sum{};           ///< sum w r^2
  int degrees_of_freedom{};        ///< n - p
  double
      condition{};  ///< of W^1/2 X with columns of unit length: largest over smallest singular value

  [[nodiscard]] double covariance_of(std::size_t i, std::size_t j) const {
    return covariance[i * at.size() + j];
  }
};

/// Source:   Householder's QR with column pivoting; leverage as the squared rows of Q.
/// Shapes:   `design` n x p row by row; `values` n; `weights` n or empty (all 1), each > 0.
/// Accuracy: 9 digits and more of NIST's certified values of ENSO (tests/stats/linear_fit_test.cpp).
/// Errors:   Fault::not_converged when n < p or the columns cannot be told apart (condition > 1e6).
Result<LinearFit> fit_linear(std::span<const double> design,
                             std::span<const double> values,
                             std::span<const double> weights = {});

/// The value that F of 2 and nu degrees of freedom stays under with `probability`:
///   nu/2 ((1 - P)^(-2/nu) - 1),
/// and -ln(1 - P) for nu infinite. 0 < probability < 1, nu > 0. Exact (the distribution is a power law).
[[nodiscard]] double f_quantile_of_two(double probability, double degrees_of_freedom);
/// P(F >= value) for 2 and nu degrees of freedom:  (1 + 2 value/nu)^(-nu/2);  exp(-value) for nu infinite.
[[nodiscard]] double f_tail_of_two(double value, double degrees_of_freedom);

/// Which of `values` stand outside a linear model, by the generalized extreme Studentized deviate: one after
/// another the largest externally Studentized residual is taken out, and all up to the last that exceeds
///   t(1 - a/(2 (n - i + 1)); nu_i)
/// are outliers, so that two bad values do not hide each other. Indices in the order found; at most `most`.
/// Source: B. Rosner, Technometrics 25, 1983; NIST/SEMATECH e-Handbook 1.3.5.17.3, whose R_i and lambda_i are these
/// (a monotone transform of both). Columns as in fit_linear; `chance` is that of any false one in a normal sample.
[[nodiscard]] std::vector<std::size_t> outliers(std::span<const double> design,
                                                std::span<const double> values,
                                                std::size_t most,
                                                double chance);

}  // namespace goodside::stats
