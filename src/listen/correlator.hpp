#pragma once
#include <complex>
#include <cstddef>
#include <span>
#include <vector>

#include "signal/fft.hpp"

namespace goodside::listen {

/// What one window says of the delay between two signals.
struct DelayFix {
  double delay_s{};    ///< the heard signal runs late by this
  double sharpness{};  ///< height of the peak in rms of the lags sought, less 5; 0: no better than
                       ///< chance
  int sign{1};         ///< -1: the peak is negative, the polarity inverted
};

/// Generalised cross-correlation in one Hann window, the cross-spectrum's magnitude to the power
/// 0.3:
///     R(lag) = IFFT{ S |S|^-0.7 },  S = heard conj(expected),
/// over 120 Hz to 9 kHz, peak by parabola. Source: Knapp & Carter 1976 (from memory for the
/// exponent's name).
class Correlator {
 public:
  Correlator(std::size_t length, double rate_Hz, double reach_s);

  [[nodiscard]] DelayFix fix(std::span<const float> heard, std::span<const float> expected);

 private:
  const signal::RealFft& fft_;
  double rate_Hz_;
  std::ptrdiff_t reach_;
  std::vector<float> window_;
  signal::Aligned<float> heard_, expected_;
  signal::Aligned<std::complex<float>> heard_spectrum_, expected_spectrum_;
};

}  // namespace goodside::listen
