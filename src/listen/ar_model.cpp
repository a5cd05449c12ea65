#include "listen/ar_model.hpp"

#include <Eigen/Dense>
#include <cmath>
#include <utility>

#include "base/expects.hpp"
#include "signal/clones.hpp"

namespace goodside::listen {
namespace {

GOODSIDE_CLONES double dot(const float* a, const float* b, std::size_t count) {
  double sum = 0.0;
#pragma omp simd reduction(+ : sum)
  for (std::size_t j = 0; j < count; ++j)
    sum += static_cast<double>(a[j]) * static_cast<double>(b[j]);
  return sum;
}

}  // namespace

ArModel levinson(std::span<const double> lags) {
  EXPECTS(!lags.empty() && lags[0] > 0.0);
  const std::size_t order = lags.size() - 1;
  std::vector<double> a(order + 1);
  std::vector<double> next(order + 1);
  a[0] = 1.0;
  double error = lags[0];
  for (std::size_t m = 1; m <= order; ++m) {
    double reflection = lags[m];
    for (std::size_t j = 1; j < m; ++j) reflection += a[j] * lags[m - j];
    reflection = -reflection / error;
    if (!(std::abs(reflection) < 1.0)) break;  // predicted to the last digit
    next = a;
    for (std::size_t j = 1; j < m; ++j) next[j] = a[j] + reflection * a[m - j];
    next[m] = reflection;
    a.swap(next);
    error *= 1.0 - reflection * reflection;
  }
  return {std::move(a), error};
}

void autocorrelate(std::span<const float> samples, std::span<double> lags) {
  EXPECTS(lags.size() <= samples.size());
  for (std::size_t k = 0; k < lags.size(); ++k)
    lags[k] = dot(samples.data(), samples.data() + k, samples.size() - k);
}

std::vector<double> interpolate(const ArModel& model,
                                std::span<const double> samples,
                                std::size_t from,
                                std::size_t to) {
  const std::size_t order = model.taps.size() - 1;
  EXPECTS(from >= order && from < to && to + order <= samples.size());
  const auto gap = static_cast<Eigen::Index>(to - from);
  // A_u^T A_u is Toeplitz: the taps' own correlation. The right side is the correlation of the taps with the
  // error that the known samples leave when the gap is zero.
  std::vector<double> own(order + 1);
  for (std::size_t k = 0; k <= order; ++k)
    for (std::size_t i = 0; i + k <= order; ++i) own[k] += model.taps[i] * model.taps[i + k];
  std::vector<double> error(to - from + order);
  for (std::size_t n = 0; n < error.size(); ++n)
    for (std::size_t i = 0; i <= order; ++i) {
      const std::size_t at = from + n - i;
      if (at < from || at >= to) error[n] += model.taps[i] * samples[at];
    }
  Eigen::MatrixXd normal = Eigen::MatrixXd::Zero(gap, gap);
  Eigen::VectorXd right(gap);
  for (Eigen::Index j = 0; j < gap; ++j) {
    for (std::size_t k = 0; k <= order && j + static_cast<Eigen::Index>(k) < gap; ++k)
      normal(j + static_cast<Eigen::Index>(k), j) = own[k];
    double sum = 0.0;
    for (std::size_t i = 0; i <= order; ++i)
      sum += model.taps[i] * error[static_cast<std::size_t>(j) + i];
    right[j] = -sum;
  }
  const Eigen::VectorXd values = normal.selfadjointView<Eigen::Lower>().ldlt().solve(right);
  return {values.data(), values.data() + values.size()};
}

}  // namespace goodside::listen
