#pragma once
#include <Eigen/Core>
#include <array>
#include <span>
#include <vector>

namespace goodside::listen {

/// Least squares of samples on a few given columns beside a free, slow drift.
///
/// The drift is a cubic B-spline with knots about `knot_s` apart, a separate one for each stretch,
/// so jumps between stretches cost nothing. Solved by elimination of the banded spline part (band
/// Cholesky), then the Schur complement of the columns. Cost O(n (4 + q)^2) for n samples and q
/// columns. A piece of the spline without samples is held by a ridge of 1e-8 of the mean diagonal.
class DriftRegression {
 public:
  /// `time_s[n]` ascends within a stretch; rows of one `stretch[n]` stand together.
  DriftRegression(std::span<const double> time_s, std::span<const int> stretch, double knot_s);

  /// Sets the weights [n], inverse variances, and factorises.
  void weigh(std::span<const double> weight);

  struct Fit {
    Eigen::VectorXd coefficient;  ///< [q]
    Eigen::MatrixXd
        covariance;  ///< [q, q] as if the weights were true inverse variances of white noise
    std::vector<double> residual;  ///< [n], drift and columns taken away
  };

  /// `columns[n, q]`, q >= 1; `samples[n]`. Precondition: weigh() was called.
  [[nodiscard]] Fit fit(const Eigen::MatrixXd& columns, std::span<const double> samples) const;

 private:
  struct Place {
    Eigen::Index first{};           ///< of the four spline coefficients that reach here
    std::array<double, 4> value{};  ///< of their B-splines
  };

  void solve_in_place(Eigen::MatrixXd& right) const;

  std::vector<Place> place_;
  std::vector<double> weight_;
  Eigen::MatrixXd band_;  ///< [coefficients, 4]: band of the Cholesky factor, (i, d) = L(i, i - d)
};

}  // namespace goodside::listen
