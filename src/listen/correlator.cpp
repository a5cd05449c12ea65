#include "listen/correlator.hpp"

#include <algorithm>
#include <cmath>

#include "listen/feature_matcher.hpp"
#include "signal/clones.hpp"
#include "signal/fir.hpp"
#include "signal/quick_powers.hpp"
#include "signal/window.hpp"

namespace goodside::listen {
namespace {

constexpr double lowest_Hz = 120.0;
constexpr double highest_Hz = 9000.0;
constexpr double chance_peak =
    5.0;  // noise against noise seldom reaches it among a few thousand lags

/// Each product by its magnitude to the power of -0.7.
GOODSIDE_CLONES void weigh_phases(std::complex<float>* products, std::size_t count) {
  constexpr float half_power = -0.35F;
  auto* parts = reinterpret_cast<float*>(products);  // real and imaginary in turn
#pragma omp simd
  for (std::size_t k = 0; k < count; ++k) {
    const float re = parts[2 * k];
    const float im = parts[2 * k + 1];
    const float power = re * re + im * im;
    const float weight = signal::quick_exp2(half_power * signal::quick_log2(power));
    parts[2 * k] = power > 0.0F ? re * weight : 0.0F;
    parts[2 * k + 1] = power > 0.0F ? im * weight : 0.0F;
  }
}

}  // namespace

Correlator::Correlator(std::size_t length, double rate_Hz, double reach_s)
    : fft_{signal::shared_fft(length)},
      rate_Hz_{rate_Hz},
      reach_{std::min(static_cast<std::ptrdiff_t>(reach_s * rate_Hz),
                      static_cast<std::ptrdiff_t>(length / 2) - 2)},
      window_{signal::hann(length)},
      heard_(length),
      expected_(length),
      heard_spectrum_(fft_.bins()),
      expected_spectrum_(fft_.bins()) {}

DelayFix Correlator::fix(std::span<const float> heard, std::span<const float> expected) {
  signal::apply_window(heard, window_, heard_);
  signal::apply_window(expected, window_, expected_);
  fft_.forward(heard_, heard_spectrum_);
  fft_.forward(expected_, expected_spectrum_);
  const double bin_Hz = rate_Hz_ / static_cast<double>(heard_.size());
  const auto lowest = static_cast<std::size_t>(lowest_Hz / bin_Hz);
  const auto highest = std::min(fft_.bins(), static_cast<std::size_t>(highest_Hz / bin_Hz));
  for (std::size_t k = 0; k < fft_.bins(); ++k) {
    if (k < lowest || k >= highest) {
      heard_spectrum_[k] = {};
      continue;
    }
    const std::complex<float> cross = heard_spectrum_[k] * std::conj(expected_spectrum_[k]);
    heard_spectrum_[k] = cross;
  }
  weigh_phases(heard_spectrum_.data() + lowest, highest - lowest);
  fft_.inverse(heard_spectrum_, heard_);
  const auto value = [&](std::ptrdiff_t lag) {
    const auto n = static_cast<std::ptrdiff_t>(heard_.size());
    return static_cast<double>(heard_[static_cast<std::size_t>(lag < 0 ? lag + n : lag)]);
  };
  std::ptrdiff_t best = 0;
  double power = 0.0;
  for (std::ptrdiff_t lag = -reach_; lag <= reach_; ++lag) {
    power += value(lag) * value(lag);
    if (std::abs(value(lag)) > std::abs(value(best))) best = lag;
  }
  if (!(power > 0.0) || std::abs(best) == reach_) return {};
  const double sign = value(best) < 0.0 ? -1.0 : 1.0;
  const double top =
      parabola_top(sign * value(best - 1), sign * value(best), sign * value(best + 1));
  const double rms = std::sqrt(power / static_cast<double>(2 * reach_ + 1));
  return {(static_cast<double>(best) + top) / rate_Hz_,
          std::max(0.0, sign * value(best) / rms - chance_peak),
          sign < 0.0 ? -1 : 1};
}

}  // namespace goodside::listen
