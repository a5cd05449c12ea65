#include "stats/linear_fit.hpp"

#include <fmt/format.h>

#include <Eigen/Dense>
#include <cmath>
#include <limits>

#include "base/expects.hpp"
#include "stats/interval.hpp"

namespace goodside::stats {
namespace {

using Rows = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;
constexpr double largest_condition = 1e6;

Eigen::Index index(std::size_t i) {
  return static_cast<Eigen::Index>(i);
}

/// From the Gram matrix of columns of unit length: its eigenvalues are the squares of the singular values.
double condition_of(const Rows& scaled) {
  Eigen::MatrixXd gram = scaled.transpose() * scaled;
  std::vector<double> length;
  for (Eigen::Index c = 0; c < gram.cols(); ++c) {
    length.push_back(std::sqrt(gram(c, c)));
    if (!(length.back() > 0.0)) return std::numeric_limits<double>::infinity();
  }
  for (Eigen::Index r = 0; r < gram.rows(); ++r)
    for (Eigen::Index c = 0; c < gram.cols(); ++c)
      gram(r, c) /= length[static_cast<std::size_t>(r)] * length[static_cast<std::size_t>(c)];
  const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> solver{gram, Eigen::EigenvaluesOnly};
  const auto& values = solver.eigenvalues();
  const double least = values(0);
  return least > 0.0 ? std::sqrt(values(values.size() - 1) / least)
                     : std::numeric_limits<double>::infinity();
}

}  // namespace

Result<LinearFit> fit_linear(std::span<const double> design,
                             std::span<const double> values,
                             std::span<const double> weights) {
  const std::size_t n = values.size();
  EXPECTS(n > 0 && design.size() % n == 0 && design.size() >= n);
  EXPECTS(weights.empty() || weights.size() == n);
  const std::size_t p = design.size() / n;
  if (n < p)
    return Error{Fault::not_converged,
                 fmt::format("{} values cannot settle {} unknowns; give more", n, p)};
  Rows x = Eigen::Map<const Rows>(design.data(), index(n), index(p));
  Eigen::VectorXd y = Eigen::Map<const Eigen::VectorXd>(values.data(), index(n));
  Eigen::VectorXd root = Eigen::VectorXd::Ones(index(n));
  for (std::size_t i = 0; i < weights.size(); ++i) root(index(i)) = std::sqrt(weights[i]);
  const Rows scaled = root.asDiagonal() * x;
  const double condition = condition_of(scaled);
  if (!(condition < largest_condition))
    return Error{Fault::not_converged, "the unknowns cannot be told apart; spread the readings"};
  const Eigen::ColPivHouseholderQR<Eigen::MatrixXd> qr{scaled};
  const Eigen::VectorXd at = qr.solve(root.cwiseProduct(y));
  const Eigen::MatrixXd q = qr.householderQ() * Eigen::MatrixXd::Identity(index(n), index(p));
  const Eigen::MatrixXd inverse = qr.solve(q);  // X^+ Q: its product with itself is (X' W X)^-1
  const Eigen::MatrixXd covariance = inverse * inverse.transpose();
  const Eigen::VectorXd residual = y - x * at;

  LinearFit fit;
  fit.at.assign(at.data(), at.data() + at.size());
  for (std::size_t i = 0; i < p; ++i)
    for (std::size_t j = 0; j < p; ++j) fit.covariance.push_back(covariance(index(i), index(j)));
  fit.residual.assign(residual.data(), residual.data() + residual.size());
  for (std::size_t i = 0; i < n; ++i) fit.leverage.push_back(q.row(index(i)).squaredNorm());
  fit.residual_sum = root.cwiseProduct(residual).squaredNorm();
  fit.degrees_of_freedom = static_cast<int>(n) - static_cast<int>(p);
  fit.condition = condition;
  return fit;
}

double f_quantile_of_two(double probability, double degrees_of_freedom) {
  EXPECTS(probability > 0.0 && probability < 1.0 && degrees_of_freedom > 0.0);
  const double tail_log = -std::log1p(-probability);
  if (std::isinf(degrees_of_freedom)) return tail_log;
  return 0.5 * degrees_of_freedom * std::expm1(2.0 * tail_log / degrees_of_freedom);
}

double f_tail_of_two(double value, double degrees_of_freedom) {
  EXPECTS(value >= 0.0 && degrees_of_freedom > 0.0);
  if (std::isinf(degrees_of_freedom)) return std::exp(-value);
  return std::exp(-0.5 * degrees_of_freedom * std::log1p(2.0 * value / degrees_of_freedom));
}

std::vector<std::size_t> outliers(std::span<const double> design,
                                  std::span<const double> values,
                                  std::size_t most,
                                  double chance) {
  const std::size_t p = design.size() / values.size();
  std::vector<double> x{design.begin(), design.end()}, y{values.begin(), values.end()};
  std::vector<std::size_t> place(values.size()), taken;
  for (std::size_t i = 0; i < place.size(); ++i) place[i] = i;
  std::size_t sure = 0;
  while (taken.size() < most) {
    const auto fit = fit_linear(x, y);
    // Without the one taken out, one degree of freedom must be left.
    if (!fit || fit->degrees_of_freedom < 2) break;
    const double freedom = fit->degrees_of_freedom - 1.0;
    std::size_t worst = 0;
    double largest = -1.0;
    for (std::size_t i = 0; i < y.size(); ++i) {
      const double free = 1.0 - fit->leverage[i];
      if (free < 1e-9) continue;  // the fit goes through it whatever it is
      const double own = fit->residual[i] * fit->residual[i] / free;
      const double others = (fit->residual_sum - own) / freedom;
      const double t = others > 0.0 ? std::sqrt(own / others)
                                    : (own > 0.0 ? std::numeric_limits<double>::infinity() : 0.0);
      if (t > largest) largest = t, worst = i;
    }
    if (largest < 0.0) break;
    const double bound =
        student_t_quantile(1.0 - chance / (2.0 * static_cast<double>(y.size())), freedom);
    taken.push_back(place[worst]);
    if (largest > bound) sure = taken.size();
    const auto at = static_cast<std::ptrdiff_t>(worst);
    const auto row = static_cast<std::ptrdiff_t>(worst * p);
    x.erase(x.begin() + row, x.begin() + row + static_cast<std::ptrdiff_t>(p));
    y.erase(y.begin() + at);
    place.erase(place.begin() + at);
  }
  taken.resize(sure);
  return taken;
}

}  // namespace goodside::stats
