#include "listen/robust_prediction.hpp"

#include <algorithm>
#include <cmath>

#include "base/expects.hpp"
#include "signal/fir.hpp"
#include "signal/window.hpp"

namespace goodside::listen {
namespace {

constexpr std::size_t order = prediction_order;
constexpr double outlier_sigmas = 4.0;
constexpr int most_refits = 4;
constexpr double settled = 0.9;  // of the last sigma: nothing is gained by another fit
constexpr double longest_outlier_s = 3e-3;
constexpr double least_sigma = 1e-7;
constexpr double whitest = 1e-9;  // of r[0], added: keeps the lags positive definite

}  // namespace

ArModel RobustPredictor::plain_fit(std::span<const float> samples) {
  if (window_.size() != samples.size()) window_ = signal::hann(samples.size());
  windowed_.resize(samples.size());
  signal::apply_window(samples, window_, windowed_);
  std::vector<double> lags(order + 1);
  autocorrelate(windowed_, lags);
  if (!(lags[0] > 1e-12)) {
    ArModel silent{std::vector<double>(order + 1), 0.0};
    silent.taps[0] = 1.0;
    return silent;
  }
  lags[0] *= 1.0 + whitest;
  return levinson(lags);
}

/// e of samples P .. size-1 into error_; its robust scale.
double RobustPredictor::predict(const ArModel& model, std::span<const float> samples) {
  taps_.assign(model.taps.rbegin(), model.taps.rend());
  error_.resize(samples.size() - order);
  signal::slide_filter(samples, 0, 1, taps_, error_);
  sorted_ = error_;
  for (float& value : sorted_) value = std::abs(value);
  const auto middle = sorted_.begin() + static_cast<std::ptrdiff_t>(sorted_.size() / 2);
  std::ranges::nth_element(sorted_, middle);
  return std::max(least_sigma, 1.4826 * static_cast<double>(*middle));
}

/// Replaces outliers in cleaned_ by what the cleaned past predicts. A run longer than `longest` is no click.
void RobustPredictor::clean(const ArModel& model, double line, std::size_t longest) {
  const std::vector<float> original{cleaned_};
  std::size_t run = 0;
  std::size_t disturbed_until = 0;  // its past holds replaced samples up to here
  for (std::size_t n = order; n < cleaned_.size(); ++n) {
    auto error = static_cast<double>(error_[n - order]);
    if (n < disturbed_until) {
      error = 0.0;
      for (std::size_t i = 0; i <= order; ++i)
        error += model.taps[i] * static_cast<double>(cleaned_[n - i]);
    }
    if (std::abs(error) <= line) {
      run = 0;
      continue;
    }
    if (++run > longest) {
      for (std::size_t k = n + 1 - run; k <= n; ++k) cleaned_[k] = original[k];
      run = 0;
      disturbed_until = n;
      continue;
    }
    cleaned_[n] = static_cast<float>(static_cast<double>(cleaned_[n]) - error);
    disturbed_until = n + order + 1;
  }
}

RobustPredictor::Fit RobustPredictor::fit(std::span<const float> samples, double rate_Hz) {
  EXPECTS(samples.size() > 2 * order);
  ArModel model = plain_fit(samples);
  double sigma = predict(model, samples);
  for (int round = 0; round < most_refits; ++round) {
    const double line = outlier_sigmas * sigma;
    if (std::ranges::none_of(error_,
                             [&](float e) { return std::abs(static_cast<double>(e)) > line; }))
      break;
    cleaned_.assign(samples.begin(), samples.end());
    clean(model, line, static_cast<std::size_t>(longest_outlier_s * rate_Hz));
    model = plain_fit(cleaned_);
    const double before = sigma;
    sigma = predict(model, samples);
    if (sigma > settled * before) break;
  }
  return {std::move(model), sigma};
}

void RobustPredictor::whiten(const Fit& fit,
                             std::span<const float> samples,
                             std::size_t from,
                             std::span<float> out) {
  EXPECTS(from >= order && from + out.size() <= samples.size());
  taps_.assign(fit.model.taps.rbegin(), fit.model.taps.rend());
  for (float& tap : taps_) tap = static_cast<float>(static_cast<double>(tap) / fit.sigma);
  signal::slide_filter(samples, from - order, 1, taps_, out);
}

}  // namespace goodside::listen
