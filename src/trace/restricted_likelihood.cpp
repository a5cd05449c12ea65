#include "trace/restricted_likelihood.hpp"

#include <cmath>
#include <numbers>

#include "base/expects.hpp"

namespace goodside::trace {
namespace {

using Triplet = Eigen::Triplet<double>;

Eigen::Index index(std::size_t i) {
  return static_cast<Eigen::Index>(i);
}

}  // namespace

RestrictedLikelihood::RestrictedLikelihood(const CrossedModel& model)
    : readings_{model.values.size()} {
  const std::size_t columns = model.fixed.size();
  std::vector<Eigen::Index> first;
  for (std::size_t k = 0; k < model.factors.size(); ++k) {
    first.push_back(index(factor_of_level_.size()));
    for (int level = 0; level < model.factors[k].levels; ++level)
      factor_of_level_.push_back(index(k));
  }
  const Eigen::Index levels = index(factor_of_level_.size());
  Eigen::MatrixXd x(index(readings_), index(columns));
  for (std::size_t c = 0; c < columns; ++c)
    x.col(index(c)) = Eigen::Map<const Eigen::VectorXd>(model.fixed[c].data(), index(readings_));
  Eigen::VectorXd y = Eigen::Map<const Eigen::VectorXd>(model.values.data(), index(readings_));

  std::vector<Triplet> entries;
  for (std::size_t i = 0; i < readings_; ++i)
    for (std::size_t k = 0; k < model.factors.size(); ++k)
      entries.emplace_back(index(i), first[k] + model.factors[k].level[i], 1.0);
  Eigen::SparseMatrix<double> z(index(readings_), levels);
  z.setFromTriplets(entries.begin(), entries.end());

  xx_ = x.transpose() * x;
  zx_ = z.transpose() * x;
  zz_ = z.transpose() * z;
  xy_ = x.transpose() * y;
  zy_ = z.transpose() * y;
  yy_ = y.squaredNorm();
  scaled_ = zz_;
  lambda_ = Eigen::VectorXd::Ones(levels);
  factor_.analyzePattern(scaled_);
  scale(std::vector<double>(model.factors.size(), 1.0));
  factor_.factorize(scaled_);
  const auto& lower = factor_.matrixL().nestedExpression();
  for (Eigen::Index j = 0; j < lower.outerSize(); ++j) {
    const double column =
        static_cast<double>(lower.outerIndexPtr()[j + 1] - lower.outerIndexPtr()[j]);
    work_ += column * column;
  }
}

void RestrictedLikelihood::scale(std::span<const double> relative) {
  for (std::size_t j = 0; j < factor_of_level_.size(); ++j)
    lambda_[index(j)] = relative[static_cast<std::size_t>(factor_of_level_[j])];
  for (Eigen::Index column = 0; column < zz_.outerSize(); ++column) {
    Eigen::SparseMatrix<double>::InnerIterator from{zz_, column}, to{scaled_, column};
    for (; from; ++from, ++to)
      to.valueRef() =
          from.value() * lambda_[from.row()] * lambda_[column] + (from.row() == column ? 1.0 : 0.0);
  }
}

RestrictedLikelihood::Parts RestrictedLikelihood::parts(std::span<const double> relative) {
  scale(relative);
  factor_.factorize(scaled_);
  EXPECTS(factor_.info() == Eigen::Success);  // it is at least the unit matrix
  const auto lower = factor_.matrixL();
  const auto& order = factor_.permutationP();
  cu_ = lower.solve((order * lambda_.cwiseProduct(zy_)).eval());
  rzx_ = lower.solve((order * (lambda_.asDiagonal() * zx_)).eval());
  const Eigen::LLT<Eigen::MatrixXd> rx{xx_ - rzx_.transpose() * rzx_};
  const Eigen::VectorXd cb = rx.matrixL().solve(xy_ - rzx_.transpose() * cu_);
  beta_ = rx.matrixU().solve(cb);
  Parts parts;
  const Eigen::VectorXd diagonal = factor_.matrixL().nestedExpression().diagonal();
  parts.determinants =
      2.0 * diagonal.array().log().sum() + 2.0 * rx.matrixLLT().diagonal().array().log().sum();
  parts.squares = yy_ - cu_.squaredNorm() - cb.squaredNorm();
  return parts;
}

double RestrictedLikelihood::best_deviation(const Parts& parts) const {
  return std::sqrt(parts.squares / static_cast<double>(freedom()));
}

double RestrictedLikelihood::criterion(std::span<const double> relative) {
  const Parts found = parts(relative);
  const auto left = static_cast<double>(freedom());
  return found.determinants +
         left * (1.0 + std::log(2.0 * std::numbers::pi * found.squares / left));
}

double RestrictedLikelihood::criterion(std::span<const double> relative, double deviation) {
  const Parts found = parts(relative);
  const double variance = deviation * deviation;
  return found.determinants +
         static_cast<double>(freedom()) * std::log(2.0 * std::numbers::pi * variance) +
         found.squares / variance;
}

Eigen::VectorXd RestrictedLikelihood::effects() {
  const Eigen::VectorXd u =
      factor_.permutationPinv() * factor_.matrixU().solve((cu_ - rzx_ * beta_).eval()).eval();
  return lambda_.cwiseProduct(u);
}

std::vector<double> RestrictedLikelihood::effect_deviations() {
  std::vector<double> deviations;
  Eigen::VectorXd unit = Eigen::VectorXd::Zero(lambda_.size());
  for (Eigen::Index j = 0; j < lambda_.size(); ++j) {
    unit[j] = 1.0;
    const Eigen::VectorXd half = factor_.matrixL().solve((factor_.permutationP() * unit).eval());
    deviations.push_back(lambda_[j] * half.norm());
    unit[j] = 0.0;
  }
  return deviations;
}

}  // namespace goodside::trace
