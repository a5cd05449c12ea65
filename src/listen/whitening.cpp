#include "listen/whitening.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>

#include "base/expects.hpp"
#include "listen/ar_model.hpp"
#include "signal/clones.hpp"
#include "signal/fft.hpp"
#include "signal/fir.hpp"
#include "signal/rank.hpp"
#include "signal/window.hpp"

namespace goodside::listen {
namespace {

constexpr std::size_t order = 32;
constexpr double least_power = 1e-14;
constexpr double audible_from_Hz = 1000.0;
constexpr double bass_Hz =
    300.0;  // below, the spectrum is held at its value here: high_pass has been there

/// Median over Hann frames of the power a bin, scaled so that the bins' sum is the mean square.
std::vector<double> median_spectrum(const signal::Aligned<float>& samples, std::size_t length) {
  const signal::RealFft& fft = signal::shared_fft(length);
  const std::vector<float> window = signal::hann(length);
  const std::size_t hop = std::max(length, samples.size() / 150);
  signal::Aligned<float> frame(length);
  signal::Aligned<std::complex<float>> spectrum(fft.bins());
  std::vector<std::vector<float>> columns(fft.bins());
  for (auto& column : columns) column.reserve(samples.size() / hop + 1);
  for (std::size_t at = 0; at + length <= samples.size(); at += hop) {
    signal::apply_window(std::span{samples}.subspan(at, length), window, frame);
    fft.forward(frame, spectrum);
    if (std::ranges::all_of(frame, [](float sample) { return sample == 0.0F; })) continue;
    for (std::size_t k = 0; k < columns.size(); ++k) columns[k].push_back(std::norm(spectrum[k]));
  }
  std::vector<double> power(fft.bins());
  const double n = static_cast<double>(length);
  if (columns[0].empty()) return power;  // digital silence
  for (std::size_t k = 0; k < columns.size(); ++k) {
    // 1/ln 2: mean of an exponential from its median; 3/8: mean of the squared window; 2: both
    // sides.
    power[k] = 2.0 / std::numbers::ln2 / (0.375 * n * n) *
               static_cast<double>(signal::median_of(columns[k]));
  }
  return power;
}

/// Bilinear transform with the corner prewarped.
struct HighPass {
  HighPass(double corner_Hz, double rate_Hz) {
    const double k = std::tan(std::numbers::pi * corner_Hz / rate_Hz);
    gain = 1.0 / (1.0 + std::numbers::sqrt2 * k + k * k);
    a1 = 2.0 * (k * k - 1.0) * gain;
    a2 = (1.0 - std::numbers::sqrt2 * k + k * k) * gain;
  }
  double gain, a1, a2;
};

/// Keeps a filter's state out of the denormals, which cost ten times the time; a high-pass passes nothing of it.
constexpr double awake = 1e-30;

/// Transposed direct form II, `lanes` signals a sample at a time.
template <std::size_t lanes>
[[gnu::always_inline]] inline void run_lanes(const std::array<const float*, lanes>& from,
                                             const std::array<float*, lanes>& to,
                                             std::size_t length,
                                             const HighPass& filter) {
  double first[lanes] = {};
  double second[lanes] = {};
  for (std::size_t j = 0; j < length; ++j) {
    double in[lanes];
    double out[lanes];
    for (std::size_t s = 0; s < lanes; ++s)
      in[s] = static_cast<double>(from[s][j]) * filter.gain + awake;
    for (std::size_t s = 0; s < lanes; ++s) out[s] = in[s] + first[s];
    for (std::size_t s = 0; s < lanes; ++s) first[s] = second[s] - 2.0 * in[s] - filter.a1 * out[s];
    for (std::size_t s = 0; s < lanes; ++s) second[s] = in[s] - filter.a2 * out[s];
    for (std::size_t s = 0; s < lanes; ++s) to[s][j] = static_cast<float>(out[s]);
  }
}

GOODSIDE_CLONES void run_four(const std::array<const float*, 4>& from,
                              const std::array<float*, 4>& to,
                              std::size_t length,
                              const HighPass& filter) {
  run_lanes<4>(from, to, length, filter);
}

}  // namespace

Whitener fit_whitener(const signal::Aligned<float>& residual, double rate_Hz) {
  std::size_t length = 512;
  while (static_cast<double>(length) < 0.02 * rate_Hz) length *= 2;
  EXPECTS(residual.size() >= 2 * length);
  std::vector<double> power = median_spectrum(residual, length);
  const double bin_Hz = rate_Hz / static_cast<double>(length);
  double sum = 0.0;
  double most = 0.0;
  Whitener whitener;
  for (std::size_t k = 0; k < power.size(); ++k) {
    sum += power[k];
    most = std::max(most, power[k]);
    if (static_cast<double>(k) * bin_Hz >= audible_from_Hz) whitener.noise_power += power[k];
  }
  whitener.noise_power = std::max(whitener.noise_power, least_power);
  const auto bass = static_cast<std::size_t>(std::ceil(bass_Hz / bin_Hz));
  const double floor = std::max(1e-7 * most, least_power / static_cast<double>(power.size()));
  for (std::size_t k = 0; k < power.size(); ++k)
    power[k] = std::max(floor, k < bass ? power[bass] : power[k]);

  const signal::RealFft& fft = signal::shared_fft(length);
  signal::Aligned<std::complex<float>> spectrum(fft.bins());
  signal::Aligned<float> lags(length);
  const double scale = 1.0 / *std::ranges::max_element(power);
  for (std::size_t k = 0; k < power.size(); ++k) spectrum[k] = static_cast<float>(power[k] * scale);
  fft.inverse(spectrum, lags);
  std::vector<double> r(lags.begin(), lags.begin() + order + 1);
  r[0] *= 1.0 + 1e-6;
  const ArModel model = levinson(r);
  // lags[0] stands for 2 sum(power) scale; the mean square is sum(power).
  const double innovation = model.error / (2.0 * scale);
  const double gain = 1.0 / std::sqrt(std::max(innovation, least_power * 1e-3));
  for (const double tap : model.taps) whitener.taps.push_back(static_cast<float>(tap * gain));
  return whitener;
}

void whiten(const Whitener& whitener,
            const signal::Aligned<float>& in,
            signal::Aligned<float>& out) {
  const std::vector<float> reversed{whitener.taps.rbegin(), whitener.taps.rend()};
  out.resize(in.size());
  std::fill_n(out.begin(), std::min(out.size(), reversed.size() - 1), 0.0F);
  if (in.size() < reversed.size()) return;
  signal::slide_filter(in, 0, 1, reversed, std::span{out}.subspan(reversed.size() - 1));
}

void high_pass(std::span<float> samples, double corner_Hz, double rate_Hz) {
  run_lanes<1>({samples.data()}, {samples.data()}, samples.size(), HighPass{corner_Hz, rate_Hz});
}

void high_pass(const std::array<std::span<const float>, 4>& from,
               double corner_Hz,
               double rate_Hz,
               const std::array<std::span<float>, 4>& to) {
  for (std::size_t i = 0; i < 4; ++i)
    EXPECTS(from[i].size() == from[0].size() && to[i].size() == from[0].size());
  run_four({from[0].data(), from[1].data(), from[2].data(), from[3].data()},
           {to[0].data(), to[1].data(), to[2].data(), to[3].data()},
           from[0].size(),
           HighPass{corner_Hz, rate_Hz});
}

}  // namespace goodside::listen
