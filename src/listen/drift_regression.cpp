#include "listen/drift_regression.hpp"

#include <Eigen/Cholesky>
#include <algorithm>
#include <cmath>

#include "base/expects.hpp"

namespace goodside::listen {
namespace {

constexpr Eigen::Index degree = 3;

}  // namespace

DriftRegression::DriftRegression(std::span<const double> time_s,
                                 std::span<const int> stretch,
                                 double knot_s) {
  EXPECTS(time_s.size() == stretch.size() && knot_s > 0.0);
  place_.resize(time_s.size());
  Eigen::Index coefficients = 0;
  for (std::size_t from = 0; from < time_s.size();) {
    std::size_t to = from + 1;
    while (to < time_s.size() && stretch[to] == stretch[from]) ++to;
    const double length_s = time_s[to - 1] - time_s[from];
    const auto intervals =
        std::max<Eigen::Index>(1, static_cast<Eigen::Index>(std::ceil(length_s / knot_s)));
    const double per_s = length_s > 0.0 ? static_cast<double>(intervals) / length_s : 0.0;
    for (std::size_t k = from; k < to; ++k) {
      const double knots = (time_s[k] - time_s[from]) * per_s;
      const auto interval =
          std::clamp<Eigen::Index>(static_cast<Eigen::Index>(knots), 0, intervals - 1);
      const double u = knots - static_cast<double>(interval);
      const double v = 1.0 - u;
      place_[k] = {coefficients + interval,
                   {v * v * v / 6.0,
                    (3.0 * u * u * u - 6.0 * u * u + 4.0) / 6.0,
                    (3.0 * v * v * v - 6.0 * v * v + 4.0) / 6.0,
                    u * u * u / 6.0}};
    }
    coefficients += intervals + degree;
    from = to;
  }
  band_.setZero(coefficients, degree + 1);
}

void DriftRegression::weigh(std::span<const double> weight) {
  EXPECTS(weight.size() == place_.size());
  weight_.assign(weight.begin(), weight.end());
  band_.setZero();
  for (std::size_t k = 0; k < place_.size(); ++k) {
    const Place& at = place_[k];
    for (std::size_t i = 0; i < at.value.size(); ++i)
      for (std::size_t j = 0; j <= i; ++j)
        band_(at.first + static_cast<Eigen::Index>(i), static_cast<Eigen::Index>(i - j)) +=
            weight_[k] * at.value[i] * at.value[j];
  }
  band_.col(0).array() += 1e-8 * band_.col(0).mean() + 1e-300;
  for (Eigen::Index i = 0; i < band_.rows(); ++i) {
    for (Eigen::Index d = std::min(degree, i); d >= 0; --d) {
      const Eigen::Index j = i - d;
      double sum = band_(i, d);
      for (Eigen::Index m = std::max<Eigen::Index>(0, i - degree); m < j; ++m)
        sum -= band_(i, i - m) * band_(j, j - m);
      band_(i, d) = d == 0 ? std::sqrt(std::max(sum, 1e-300)) : sum / band_(j, 0);
    }
  }
}

void DriftRegression::solve_in_place(Eigen::MatrixXd& right) const {
  const Eigen::Index coefficients = band_.rows();
  for (Eigen::Index i = 0; i < coefficients; ++i) {
    for (Eigen::Index d = 1; d <= std::min(degree, i); ++d)
      right.row(i) -= band_(i, d) * right.row(i - d);
    right.row(i) /= band_(i, 0);
  }
  for (Eigen::Index i = coefficients - 1; i >= 0; --i) {
    for (Eigen::Index d = 1; d <= std::min(degree, coefficients - 1 - i); ++d)
      right.row(i) -= band_(i + d, d) * right.row(i + d);
    right.row(i) /= band_(i, 0);
  }
}

DriftRegression::Fit DriftRegression::fit(const Eigen::MatrixXd& columns,
                                          std::span<const double> samples) const {
  const auto n = static_cast<Eigen::Index>(place_.size());
  const Eigen::Index q = columns.cols();
  EXPECTS(weight_.size() == place_.size() && columns.rows() == n && q >= 1);
  EXPECTS(samples.size() == place_.size());

  // One right-hand side for each column, and the last for the samples. Transposed, so that one
  // row's terms lie together.
  Eigen::MatrixXd all(q + 1, n);
  all.topRows(q) = columns.transpose();
  all.row(q) = Eigen::Map<const Eigen::RowVectorXd>(samples.data(), n);
  Eigen::MatrixXd cross = Eigen::MatrixXd::Zero(q + 1, band_.rows());
  Eigen::MatrixXd inner = Eigen::MatrixXd::Zero(q + 1, q + 1);
  Eigen::VectorXd weighted(q + 1);
  for (Eigen::Index k = 0; k < n; ++k) {
    const auto at = static_cast<std::size_t>(k);
    weighted = weight_[at] * all.col(k);
    inner.noalias() += weighted * all.col(k).transpose();
    for (std::size_t i = 0; i < place_[at].value.size(); ++i)
      cross.col(place_[at].first + static_cast<Eigen::Index>(i)) += place_[at].value[i] * weighted;
  }
  Eigen::MatrixXd solved = cross.transpose();
  solve_in_place(solved);
  const Eigen::MatrixXd schur = inner - cross * solved;

  Fit fit;
  const Eigen::LDLT<Eigen::MatrixXd> factor{schur.topLeftCorner(q, q)};
  fit.coefficient = factor.solve(schur.topRightCorner(q, 1));
  fit.covariance = factor.solve(Eigen::MatrixXd::Identity(q, q));
  const Eigen::VectorXd drift = solved.col(q) - solved.leftCols(q) * fit.coefficient;
  const Eigen::VectorXd told = columns * fit.coefficient;
  fit.residual.resize(samples.size());
  for (std::size_t k = 0; k < samples.size(); ++k) {
    double slow = 0.0;
    for (std::size_t i = 0; i < place_[k].value.size(); ++i)
      slow += place_[k].value[i] * drift(place_[k].first + static_cast<Eigen::Index>(i));
    fit.residual[k] = samples[k] - told(static_cast<Eigen::Index>(k)) - slow;
  }
  return fit;
}

}  // namespace goodside::listen
